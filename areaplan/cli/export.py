"""`areaplan export PROJECT --to DIR`."""

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
    read_altitude_ft,
)

_FORMATS = ("geojson", "kml", "gpx", "geopackage", "geotiff")


@click.command("export")
@project_argument
@click.option(
    "--to",
    "folder",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the files; made where it is missing.",
)
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(_FORMATS),
    help="Which format; may be given several times (default: all).",
)
@click.option(
    "--altitude",
    "altitudes",
    multiple=True,
    help='Where the classes are drawn, such as "2000 ft AMSL"; may be given several times '
    "(default: the planned altitudes).",
)
@click.option("--sectors", "has_sectors", is_flag=True, help="Also the twelve sector surfaces.")
@click.option(
    "--standoffs", "has_standoffs", is_flag=True, help="Also the ground that standoffs close."
)
@click.option("--replace", "is_replacing", is_flag=True, help="Replace files that are there.")
@json_option
def command(
    project: Path,
    folder: Path,
    formats: tuple[str, ...],
    altitudes: tuple[str, ...],
    has_sectors: bool,
    has_standoffs: bool,
    is_replacing: bool,
    as_json: bool,
) -> None:
    """Write area, fields, airspace, obstacles, findings, classes and surfaces of PROJECT as files.

    GeoJSON (a file a layer), KML, GPX (areas as closed tracks), GeoPackage (all layers with their
    styles) and GeoTIFF (surfaces on the project's own cells). Each carries the cautions, the
    editions of the data with their digests, and the rule sets.

    Exit status is the verdict's: 0 met, 1 not met, 3 unknown; 2 bad input, and no file.
    """
    altitudes_ft = sorted({read_altitude_ft(text) for text in altitudes})
    with Progress() as progress:
        plan = plan_of(project, progress)
        progress("making the files")
        from areaplan.render.exports import Format, export_files, write_export

        chosen = [Format(name) for name in formats or _FORMATS]
        files = export_files(
            plan,
            project.stem,
            chosen,
            altitudes_ft,
            has_sectors=has_sectors,
            has_standoffs=has_standoffs,
        )
        written = write_export(files, folder, is_replacing=is_replacing)
    if as_json:
        print_json(
            {
                "files": [str(path) for path in written],
                "verdict": plan.verdict.value,
                "cautions": list(plan.cautions),
            }
        )
    else:
        from areaplan.render.text import bullets, verdict_line

        click.echo("\n".join(map(str, written)))
        click.echo(f"\n{verdict_line(plan)}\n")
        click.echo("\n".join(bullets(plan.cautions)))
    leave_with(plan.verdict)
