"""`areaplan demo`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import Progress, file_option, json_option, plan_of, print_json


@click.command("demo")
@file_option(
    "--out",
    default=Path("maps/demo.html"),
    show_default=True,
    help="Where to write the map.",
)
@json_option
def command(out: Path, as_json: bool) -> None:
    """Check and map the invented demonstration scenario.

    Exit status 0 when the demonstration ran, whatever its verdict.
    """
    from areaplan.planning.starter import scenario_directory

    with Progress() as progress:
        plan = plan_of(scenario_directory() / "project.toml", progress)
        progress("drawing the map")
        from areaplan.render.map import write_map

        out.parent.mkdir(parents=True, exist_ok=True)
        write_map(plan, out)
    if as_json:
        from areaplan.render.as_json import plan_as_json

        print_json({**plan_as_json(plan), "map": str(out)})
        return
    from areaplan.render.text import plan_text

    click.echo(plan_text(plan))
    click.echo(f"\nMap: {out} (open it in a browser; it needs no network)")
