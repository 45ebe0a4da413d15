"""`areaplan sites PROJECT`."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from areaplan.cli.common import (
    Progress,
    file_option,
    json_option,
    leave_with,
    plan_of,
    print_json,
    project_argument,
    read_quantity,
    tell,
    wind_option,
)

if TYPE_CHECKING:
    from areaplan.planning.plan import Plan
    from areaplan.rules.figures_asked import Figure
    from areaplan.units import Wind


@click.command("sites")
@project_argument
@wind_option
@click.option(
    "--manoeuvre",
    "only",
    multiple=True,
    help="Identifier of a ground-reference figure, such as s-turns; may be repeated "
    "(default: all of them).",
)
@file_option(
    "--export",
    help="Also write the tracks: a file named *.geojson, *.kml or *.gpx.",
)
@file_option(
    "--map",
    "map_path",
    help="Also write the map with the tracks on it as one HTML file.",
)
@click.option(
    "--all-winds",
    "greatest",
    help="In place of one wind: which places serve winds from 16 directions up to a speed, such "
    'as "15 kt", and the fewest that serve them all.',
)
@json_option
def command(
    project: Path,
    wind: Wind | None,
    only: tuple[str, ...],
    export: Path | None,
    map_path: Path | None,
    greatest: str | None,
    as_json: bool,
) -> None:
    """Find where in PROJECT to fly ground-reference figures in a wind: which way round, how steep.

    Every place is flown in simulation and judged point by point: legal, a field within gliding
    distance on the track flown there, inside the area.

    Exit status: 0 every figure has a site, 1 not, 2 bad input, 3 unknown.
    """
    if greatest is not None and (wind or export or map_path):
        raise click.UsageError("--all-winds takes the place of --wind, --export and --map")
    from areaplan.rules.figures_asked import builtin_figures

    figures = builtin_figures().named(only)
    greatest_mps = None if greatest is None else _read_speed_mps(greatest)
    with Progress() as progress:
        plan = plan_of(project, progress)
        if greatest_mps is not None:
            _by_wind(plan, figures, greatest_mps, progress, as_json=as_json)
            return
        from areaplan.planning.sites import find_sites

        answer = find_sites(plan, wind or plan.project.wind, figures, progress)
        if export is not None:
            from areaplan.render.site_files import write_sites

            write_sites(answer, plan, export)
        if map_path is not None:
            from areaplan.render.site_map import write_site_map

            write_site_map(answer, plan, map_path)
    from areaplan.render.site_json import sites_as_json
    from areaplan.render.site_text import sites_text

    tell(
        as_json,
        lambda: sites_as_json(answer, plan),
        lambda: sites_text(answer, plan),
        [path for path in (export, map_path) if path is not None],
    )
    leave_with(answer.verdict)


def _by_wind(
    plan: Plan,
    figures: Sequence[Figure],
    greatest_mps: float,
    progress: Progress,
    *,
    as_json: bool,
) -> None:
    """Print which places serve which winds, and leave with the verdict."""
    from areaplan.planning.site_winds import places_by_wind
    from areaplan.render import site_winds

    answers = places_by_wind(plan, greatest_mps, figures, progress)
    if as_json:
        print_json(site_winds.places_by_wind_json(answers, plan))
    else:
        click.echo(site_winds.places_by_wind_text(answers, plan))
    leave_with(site_winds.overall_by_wind(answers))


def _read_speed_mps(text: str) -> float:
    """Speed of the --all-winds option; raises InputError where it is none above 0."""
    from areaplan.errors import InputError
    from areaplan.units import parse_speed

    speed_mps = read_quantity(text, "--all-winds", parse_speed, '"15 kt"')
    if speed_mps > 0.0:
        return speed_mps
    raise InputError.single(
        "command line",
        "--all-winds",
        found=repr(text),
        expected="a speed above 0",
        fix="for calm air ask with --wind calm",
    )
