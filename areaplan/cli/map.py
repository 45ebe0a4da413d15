"""`areaplan map PROJECT`."""

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


@click.command("map")
@project_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the map (default: PROJECT's folder and name, ending .html).",
)
@json_option
def command(project: Path, out: Path | None, as_json: bool) -> None:
    """Write the map of PROJECT (a TOML file) as one HTML file that needs no network.

    Exit status is the verdict's: 0 met, 1 not met, 3 unknown; 2 bad input, and no map.
    """
    with Progress() as progress:
        plan = plan_of(project, progress)
        progress("drawing the map")
        from areaplan.render.map import write_map

        target = out or project.with_suffix(".html")
        write_map(plan, target)
    if as_json:
        print_json({"map": str(target), "verdict": plan.verdict.value})
    else:
        from areaplan.render.text import verdict_line

        click.echo(f"{target}\n{verdict_line(plan)}")
    leave_with(plan.verdict)
