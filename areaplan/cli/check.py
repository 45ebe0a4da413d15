"""`areaplan check PROJECT`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import (
    Progress,
    file_option,
    json_option,
    leave_with,
    plan_of,
    print_json,
    project_argument,
)


@click.command("check")
@project_argument
@file_option(
    "--save",
    help="Also save the result, for a later: areaplan compare FILE PROJECT.",
)
@json_option
def command(project: Path, save: Path | None, as_json: bool) -> None:
    """Judge the drawn area of PROJECT (a TOML file) at its planned altitudes.

    Exit status: 0 met, 1 not met, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        plan = plan_of(project, progress)
        if save is not None:
            progress("saving the result")
            from areaplan.planning.result import result_of
            from areaplan.render.result_writing import write_result

            write_result(result_of(plan), save)
    if as_json:
        from areaplan.render.as_json import plan_as_json

        print_json({**plan_as_json(plan), "saved": None if save is None else str(save)})
    else:
        from areaplan.render.text import plan_text

        click.echo(plan_text(plan))
        if save is not None:
            click.echo(f"\nSaved: {save} (for a later: areaplan compare {save} {project})")
    leave_with(plan.verdict)
