"""`areaplan point PROJECT LAT LON`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import (
    Progress,
    altitude_option,
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
@altitude_option
@click.option(
    "--track",
    type=click.FloatRange(0.0, 360.0),
    help="Also what the glide needs on this track, degrees true: a manoeuvre's own.",
)
@json_option
def command(
    project: Path,
    lat: float,
    lon: float,
    altitude_ft: int | None,
    track: float | None,
    as_json: bool,
) -> None:
    """Tell everything known at one place of PROJECT.

    LAT and LON are degrees on WGS 84, south and west negative.

    Exit status: 0 legal with a field within gliding distance, 1 not, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        plan = plan_of(project, progress)
        on_track = None
        if track is not None:
            from areaplan.planning.track import answer_track

            on_track = answer_track(plan, lat, lon, track, progress)
    from areaplan.planning.point import answer_point

    if altitude_ft is None:
        altitude_ft = plan.project.planned_altitudes_amsl_ft[0]
    answer = answer_point(plan, lat, lon, altitude_ft)
    if as_json:
        from areaplan.render.as_json import point_as_json, track_as_json

        told = point_as_json(answer) | track_as_json(on_track)
        print_json({**told, "cautions": list(plan.cautions)})
    else:
        from areaplan.render.text import point_text

        click.echo(point_text(answer, plan, on_track))
    leave_with(answer.verdict)
