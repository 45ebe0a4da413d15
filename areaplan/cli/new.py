"""`areaplan new DIR`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import json_option, print_json


@click.command("new")
@click.argument("directory", type=click.Path(path_type=Path))
@json_option
def command(directory: Path, as_json: bool) -> None:
    """Write a small commented project into DIRECTORY that runs as it stands."""
    from areaplan.planning.starter import write_starter

    written = [str(path) for path in write_starter(directory)]
    if as_json:
        print_json({"written": written})
        return
    for path in written:
        click.echo(path)
    click.echo(f"Now: areaplan check {directory / 'project.toml'}")
