"""`areaplan point PROJECT LAT LON`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import (
    Progress,
    json_option,
    leave_with,
    plan_of,
    print_json,
    project_argument,
)


@click.command("point", context_settings={"ignore_unknown_options": True})
@project_argument
@click.argument("lat", type=click.FloatRange(-90.0, 90.0))
@click.argument("lon", type=click.FloatRange(-180.0, 180.0))
@click.option(
    "--altitude",
    help='Altitude to judge, such as "2000 ft AMSL" (default: the lowest planned one).',
)
@json_option
def command(project: Path, lat: float, lon: float, altitude: str | None, as_json: bool) -> None:
    """Tell everything known at one place of PROJECT.

    LAT and LON are degrees on WGS 84, south and west negative.

    Exit status: 0 legal with a field within gliding distance, 1 not, 2 bad input, 3 unknown.
    """
    altitude_ft = None if altitude is None else _altitude_ft(altitude)
    with Progress() as progress:
        plan = plan_of(project, progress)
    from areaplan.planning.point import answer_point

    if altitude_ft is None:
        altitude_ft = plan.project.planned_altitudes_amsl_ft[0]
    answer = answer_point(plan, lat, lon, altitude_ft)
    if as_json:
        from areaplan.render.as_json import point_as_json

        print_json(point_as_json(answer))
    else:
        from areaplan.render.text import point_text

        click.echo(point_text(answer, plan))
    leave_with(answer.verdict)


def _altitude_ft(text: str) -> int:
    from areaplan.errors import InputError, QuantityError
    from areaplan.units import feet_down, parse_altitude_amsl

    try:
        return feet_down(parse_altitude_amsl(text))
    except QuantityError as error:
        raise InputError.single(
            "command line",
            "--altitude",
            found=error.found,
            expected=error.expected,
            fix='give it with unit and reference, such as --altitude "2000 ft AMSL"',
        ) from error
