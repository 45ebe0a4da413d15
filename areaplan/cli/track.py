"""`areaplan track PROJECT FILE`."""

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
    project_argument,
    read_quantity,
    tell,
    wind_option,
)

if TYPE_CHECKING:
    from areaplan.units import Wind

# Common practice, no source: altimeter, setting, temperature and recorder together.
_UNCERTAINTY = "100 ft"


@click.command("track")
@project_argument
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--altimeter",
    help='What the altimeter was set to, such as "29.92 inHg" or "1013.2 hPa": applied to '
    "pressure altitudes. Without it satellite altitudes are taken.",
)
@click.option(
    "--uncertainty",
    default=_UNCERTAINTY,
    show_default=True,
    help="Of the altitudes, either way: margins nearer to 0 than this prove nothing.",
)
@wind_option
@file_option(
    "--map",
    "map_path",
    help="Also write the map with the flight on it as one HTML file.",
)
@file_option(
    "--figure",
    "figure_path",
    help="Also write the profile of the flight as SVG.",
)
@json_option
def command(
    project: Path,
    file: Path,
    altimeter: str | None,
    uncertainty: str,
    wind: Wind | None,
    map_path: Path | None,
    figure_path: Path | None,
    as_json: bool,
) -> None:
    """Hold a recorded flight (GPX or IGC) against PROJECT's rules and fields.

    For debriefing, not for enforcement: a recording proves neither place nor height. Where it holds
    satellite altitudes above mean sea level that contradict the altimeter setting, the answer is
    never "met".

    Exit status: 0 met inside the area, 1 not, 2 bad input, 3 not known for certain.
    """
    from areaplan.units import parse_length, parse_pressure

    setting = None
    if altimeter is not None:
        setting = read_quantity(altimeter, "--altimeter", parse_pressure, '"29.92 inHg"')
    uncertainty_m = read_quantity(uncertainty, "--uncertainty", parse_length, f'"{_UNCERTAINTY}"')
    with Progress() as progress:
        progress("reading the flight")
        from areaplan.sources.recorded_flight import read_flight

        flight = read_flight(file, str(file))
        plan = plan_of(project, progress)
        from areaplan.planning.flight_review import review_flight
        from areaplan.planning.flown import flown_scene

        scene = flown_scene(plan, wind, progress)
        progress("judging the flight")
        review = review_flight(scene, flight, setting, uncertainty_m)
        written = []
        if map_path is not None:
            progress("drawing the map")
            from areaplan.render.flight_map import write_flight_map

            write_flight_map(review, map_path)
            written.append(map_path)
        if figure_path is not None:
            progress("drawing the profile")
            from areaplan.render.flight_figure import write_profile

            write_profile(review, figure_path)
            written.append(figure_path)
    from areaplan.render.flight_json import flight_as_json
    from areaplan.render.flight_text import flight_text

    tell(as_json, lambda: flight_as_json(review), lambda: flight_text(review), written)
    leave_with(review.verdict)
