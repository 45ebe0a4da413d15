"""`areaplan check PROJECT`."""

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


@click.command("check")
@project_argument
@json_option
def command(project: Path, as_json: bool) -> None:
    """Judge the drawn area of PROJECT (a TOML file) at its planned altitudes.

    Exit status: 0 met, 1 not met, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        plan = plan_of(project, progress)
    if as_json:
        from areaplan.render.as_json import plan_as_json

        print_json(plan_as_json(plan))
    else:
        from areaplan.render.text import plan_text

        click.echo(plan_text(plan))
    leave_with(plan.verdict)
