"""`areaplan routes PROJECT`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from areaplan.cli.common import (
    Progress,
    file_option,
    json_option,
    leave_with,
    project_argument,
    tell,
    wind_option,
)

if TYPE_CHECKING:
    from areaplan.units import Wind


@click.command("routes")
@project_argument
@wind_option
@file_option(
    "--map",
    "map_path",
    help="Also write the map with every stretch's answer on it as one HTML file.",
)
@json_option
def command(project: Path, wind: Wind | None, map_path: Path | None, as_json: bool) -> None:
    """Judge the routes in and out of PROJECT and its gates, like the area.

    Legal, and with a field within gliding distance all along: a route at its altitude on the track
    flown, in both directions where it is used so; a gate whatever the heading.

    Exit status: 0 all are, 1 not, 2 bad input or none declared, 3 unknown.
    """
    with Progress() as progress:
        progress("loading the geometry libraries")
        from areaplan.planning.evaluation import evaluate
        from areaplan.planning.flown import flown_scene
        from areaplan.planning.project_file import read_project
        from areaplan.planning.routes import judge_all, refuse_nothing

        read = read_project(project)
        refuse_nothing(read)
        answers = judge_all(flown_scene(evaluate(read, progress), wind, progress))
        if map_path is not None:
            progress("drawing the map")
            from areaplan.render.route_map import write_route_map

            write_route_map(answers, map_path)
    from areaplan.render.route_json import routes_as_json
    from areaplan.render.route_text import routes_text

    written = [] if map_path is None else [map_path]
    tell(as_json, lambda: routes_as_json(answers), lambda: routes_text(answers), written)
    leave_with(answers.verdict)
