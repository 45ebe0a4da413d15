"""`areaplan brief PROJECT`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import (
    Progress,
    file_option,
    json_option,
    leave_with,
    paper_option,
    plan_of,
    print_json,
    project_argument,
)


@click.command("brief")
@project_argument
@file_option(
    "--out",
    help="Where to write it, .html or .pdf (default: PROJECT's folder and name, -briefing.html).",
)
@paper_option
@click.option(
    "--wind-limits/--no-wind-limits",
    "has_wind_limits",
    default=True,
    show_default=True,
    help="Whether to work out the wind limits, which takes longest.",
)
@click.option(
    "--sites/--no-sites",
    "has_sites",
    default=True,
    show_default=True,
    help="Whether to look for places for ground-reference figures.",
)
@json_option
def command(
    project: Path,
    out: Path | None,
    paper: str,
    has_wind_limits: bool,
    has_sites: bool,
    as_json: bool,
) -> None:
    """Write the local-area briefing of PROJECT (a TOML file) to read, print and sign.

    Its [briefing] table holds what no data file knows; what is not given becomes a line to fill in.

    Exit status is the verdict's: 0 met, 1 not met, 3 unknown; 2 bad input, and no briefing.
    """
    with Progress() as progress:
        progress("loading the geometry libraries")
        from areaplan.render.briefing.writing import write_briefing
        from areaplan.render.document.writing import require_printer

        target = out or project.with_name(f"{project.stem}-briefing.html")
        require_printer(target)
        plan = plan_of(project, progress)
        from areaplan.planning.briefing import make_briefing

        briefing = make_briefing(
            plan, has_wind_limits=has_wind_limits, has_sites=has_sites, progress=progress
        )
        progress("printing the briefing")
        document = write_briefing(briefing, target, paper)
    if as_json:
        from areaplan.render.document.as_json import document_as_json

        told = document_as_json(document)
        print_json({"briefing": str(target), "verdict": plan.verdict.value, "document": told})
    else:
        click.echo(f"{target}\n{document.verdict}")
    leave_with(plan.verdict)
