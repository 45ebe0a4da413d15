"""`areaplan map PROJECT`."""

from __future__ import annotations

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
    read_altitude_ft,
)

if TYPE_CHECKING:
    from areaplan.planning.limits_by_wind import WindLimits
    from areaplan.planning.plan import Plan


@click.command("map")
@project_argument
@file_option(
    "--out",
    help="Where to write the map (default: PROJECT's folder and name, ending .html).",
)
@click.option(
    "--wind-limits",
    "has_wind_limits",
    is_flag=True,
    help="Also find up to which wind the area keeps a field; show it in the sheet and by place.",
)
@click.option(
    "--altitude",
    help='For --wind-limits, such as "2000 ft AMSL" (default: the lowest planned altitude).',
)
@json_option
def command(
    project: Path, out: Path | None, has_wind_limits: bool, altitude: str | None, as_json: bool
) -> None:
    """Write the map of PROJECT (a TOML file) as one HTML file that needs no network.

    Exit status is the verdict's: 0 met, 1 not met, 3 unknown; 2 bad input, and no map.
    """
    if altitude is not None and not has_wind_limits:
        raise click.UsageError("--altitude is that of the wind limits: add --wind-limits")
    with Progress() as progress:
        altitude_ft = None if altitude is None else read_altitude_ft(altitude)
        plan = plan_of(project, progress)
        wind = _wind_limits(plan, altitude_ft, progress) if has_wind_limits else None
        progress("drawing the map")
        from areaplan.render.map import write_map

        target = out or project.with_suffix(".html")
        write_map(plan, target, wind)
    if as_json:
        print_json({"map": str(target), "verdict": plan.verdict.value})
    else:
        from areaplan.render.text import verdict_line

        click.echo(f"{target}\n{verdict_line(plan)}")
    leave_with(plan.verdict)


def _wind_limits(plan: Plan, altitude_ft: int | None, progress: Progress) -> WindLimits:
    """Limits at an altitude, else the lowest planned one, on the ground of the plan."""
    from areaplan.planning.reading import lay_ground
    from areaplan.planning.wind_limits import wind_limits

    ground = lay_ground(plan.layers.terrain, plan.frame, plan.grid)
    if altitude_ft is None:
        altitude_ft = plan.project.planned_altitudes_amsl_ft[0]
    return wind_limits(plan.project, plan.layers, ground, altitude_ft, progress)
