"""`areaplan fields PROJECT`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import (
    Progress,
    file_option,
    json_option,
    leave_with,
    print_json,
    project_argument,
)


@click.command("fields")
@project_argument
@click.option(
    "--candidates/--no-candidates",
    "has_candidates",
    default=True,
    show_default=True,
    help="Whether to list what land cover proposes and nobody has confirmed.",
)
@file_option(
    "--export",
    help="Write the candidates as GeoJSON for a person to confirm.",
)
@click.option("--field", "name", help="Show this field alone, with all 36 landing directions.")
@json_option
def command(
    project: Path, has_candidates: bool, export: Path | None, name: str | None, as_json: bool
) -> None:
    """Measure and rank the fields of PROJECT (a TOML file) in its wind.

    A person who has looked at an exported candidate sets its property `confirmed` to true, writes
    name, surface and consent, and names the file as a source of kind "fields".

    Exit status: 0 at least one field counts, 1 none, 2 bad input, 3 unknown terrain everywhere.
    """
    if export is not None and not has_candidates:
        raise click.UsageError("--export writes the candidates: leave --no-candidates out")
    if name is not None and (as_json or export is not None):
        raise click.UsageError("--field is for reading: --json tells every field in full")
    with Progress() as progress:
        progress("loading the geometry libraries")
        from areaplan.planning.field_list import list_fields
        from areaplan.planning.project_file import read_project

        found = list_fields(read_project(project), progress)
    if export is not None:
        from areaplan.render.field_json import write_candidates

        write_candidates(found, export)
    if as_json:
        from areaplan.render.field_json import fields_as_json

        print_json(fields_as_json(found, has_candidates=has_candidates))
    elif name is not None:
        from areaplan.render.field_table import one_field_text

        click.echo(one_field_text(found, name))
    else:
        from areaplan.render.field_text import fields_text

        click.echo(fields_text(found, has_candidates=has_candidates))
        if export is not None:
            click.echo(f"\n{len(found.candidates)} candidates written to {export}, to confirm")
    leave_with(found.verdict)
