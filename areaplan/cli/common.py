"""What the verbs share: reading and evaluating a project, progress, JSON, exit status."""

from __future__ import annotations

import json
import sys
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Final, TypeVar

import click

from areaplan.cli.main import EXIT_MET, EXIT_NOT_MET, EXIT_UNKNOWN

if TYPE_CHECKING:
    from areaplan.planning.plan import Plan, Verdict
    from areaplan.units import Wind

Quantity = TypeVar("Quantity")
Command = TypeVar("Command", bound=Callable[..., Any])

PATIENCE_S: Final = 1.0  # work longer than this says what it is doing

project_argument = click.argument("project", type=click.Path(path_type=Path))
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON for programs.")
paper_option = click.option(
    "--paper",
    type=click.Choice(["letter", "a4"]),
    default="letter",
    show_default=True,
    help="Paper that it is laid out for.",
)
altitude_option = click.option(
    "--altitude",
    "altitude_ft",
    callback=lambda _context, _option, text: None if text is None else read_altitude_ft(text),
    help='Altitude to judge, such as "2000 ft AMSL" (default: the lowest planned one).',
)

wind_option = click.option(
    "--wind",
    callback=lambda _context, _option, text: None if text is None else read_wind(text),
    help="Wind to glide in, from degrees true / knots, such as 210/14 (default: the project's).",
)


def file_option(*declarations: str, **more: Any) -> Callable[[Command], Command]:
    """An option that names a file to write, declared as for `click.option`."""
    return click.option(*declarations, type=click.Path(path_type=Path, dir_okay=False), **more)


class Progress:
    """Says on standard error what is being done, once it takes longer than a second.

    Used as a context; call it with a few words at each step.
    """

    def __init__(self) -> None:
        self._step = ""
        self._said = ""
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def __call__(self, step: str) -> None:
        """Name the step that begins."""
        self._step = step

    def __enter__(self) -> Progress:
        self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        where: TracebackType | None,
    ) -> None:
        self._done.set()
        self._thread.join()

    def _watch(self) -> None:
        while not self._done.wait(PATIENCE_S):
            if self._step and self._step != self._said:
                self._said = self._step
                sys.stderr.write(f"areaplan: {self._step} ...\n")
                sys.stderr.flush()


def plan_of(project_path: Path, progress: Progress, wind: Wind | None = None) -> Plan:
    """Read and evaluate a project file; raises InputError for bad input.

    A wind takes the place of the project's own, at all heights.
    """
    progress("loading the geometry libraries")
    from areaplan.planning.evaluation import evaluate
    from areaplan.planning.project_file import read_project

    project = read_project(project_path)
    if wind is not None:
        from attrs import evolve

        project = evolve(project, wind=wind, wind_source="as asked", winds_aloft=())
    return evaluate(project, progress)


def print_json(content: dict[str, Any]) -> None:
    """Write a JSON document; unknown values are null, never NaN."""
    click.echo(json.dumps(content, indent=2, allow_nan=False, ensure_ascii=False))


def tell(
    as_json: bool,
    content: Callable[[], dict[str, Any]],
    words: Callable[[], str],
    written: Iterable[Path],
) -> None:
    """Print an answer as JSON or in words, and which files were written with it."""
    paths = [str(path) for path in written]
    if as_json:
        print_json({**content(), "written": paths})
    else:
        click.echo("\n\n".join([words(), *paths]))


def leave_with(verdict: Verdict) -> None:
    """End the command with the exit status of a verdict."""
    status = {"MET": EXIT_MET, "NOT_MET": EXIT_NOT_MET, "UNKNOWN": EXIT_UNKNOWN}
    click.get_current_context().exit(status[verdict.value])


def read_quantity(
    text: str, option: str, parse: Callable[[str], Quantity], example: str
) -> Quantity:
    """Quantity of an option, as a parser of `units` reads it; raises InputError where it is none.

    The example is how the option could be given, quotation marks and all.
    """
    from areaplan.errors import InputError, QuantityError

    try:
        return parse(text)
    except QuantityError as error:
        raise InputError.single(
            "command line",
            option,
            found=error.found,
            expected=error.expected,
            fix=f"give it as {option} {example}",
        ) from error


def read_altitude_ft(text: str) -> int:
    """Whole feet AMSL of the --altitude option; raises InputError where it is no altitude."""
    from areaplan.units import feet_down, parse_altitude_amsl

    return feet_down(read_quantity(text, "--altitude", parse_altitude_amsl, '"2000 ft AMSL"'))


def read_wind(text: str, option: str = "--wind") -> Wind:
    """Wind of an option, a speed without its unit in knots; raises InputError."""
    from areaplan.units import parse_wind

    is_bare = "/" in text and text.rstrip()[-1:].isdigit()
    whole = f"{text} kt" if is_bare else text
    return read_quantity(whole, option, parse_wind, f'210/14, or {option} "calm"')
