"""`areaplan wind PROJECT`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import (
    Progress,
    altitude_option,
    file_option,
    json_option,
    leave_with,
    print_json,
    project_argument,
)


@click.command("wind")
@project_argument
@altitude_option
@file_option(
    "--figure",
    help="Also write the limits as a rose, an SVG file.",
)
@json_option
def command(project: Path, altitude_ft: int | None, figure: Path | None, as_json: bool) -> None:
    """Tell up to which wind from each of 16 directions the area of PROJECT keeps a field.

    From every point of the area, whatever the heading, at one altitude.

    Exit status, for the project's own wind: 0 within the limits, 1 not, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        progress("loading the geometry libraries")
        from areaplan.planning.project_file import read_project
        from areaplan.planning.reading import read_layers
        from areaplan.planning.wind_limits import wind_limits
        from areaplan.render.whole_file import write_whole
        from areaplan.render.wind_rose import wind_rose_svg
        from areaplan.render.wind_text import wind_as_json, wind_text

        read = read_project(project)
        if altitude_ft is None:
            altitude_ft = read.planned_altitudes_amsl_ft[0]
        layers, ground = read_layers(read, progress)
        limits = wind_limits(read, layers, ground, altitude_ft, progress)
        if figure is not None:
            write_whole(figure, wind_rose_svg(limits), "the figure", "--figure")
    if as_json:
        told = wind_as_json(limits, read)
        print_json({**told, "figure": None if figure is None else str(figure)})
    else:
        click.echo(wind_text(limits, read))
        if figure is not None:
            click.echo(f"\nFigure: {figure}")
    leave_with(limits.verdict)
