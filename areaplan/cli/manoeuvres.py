"""`areaplan manoeuvres PROJECT`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from areaplan.cli.common import (
    Progress,
    json_option,
    leave_with,
    plan_of,
    print_json,
    project_argument,
    wind_option,
)

if TYPE_CHECKING:
    from areaplan.units import Wind


@click.command("manoeuvres")
@project_argument
@click.option(
    "--only",
    multiple=True,
    metavar="ID",
    help="Only this manoeuvre, such as steep-turns; may be given several times.",
)
@click.option(
    "--place",
    "is_placed",
    is_flag=True,
    help="Also find where in the area each fits with its drift: best place, entry and margins.",
)
@wind_option
@json_option
def command(
    project: Path, only: tuple[str, ...], is_placed: bool, wind: Wind | None, as_json: bool
) -> None:
    """Tell which manoeuvres fit over the area of PROJECT, at which entry altitudes.

    Between rules, airspace, completion heights and gliding distance; with what stops the others,
    and the least ceiling and visibility.

    Exit status: 0 every one asked for fits over the whole area at some entry altitude, 1 not every
    one, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        plan = plan_of(project, progress, wind)
        progress("fitting the manoeuvres")
        from areaplan.planning.manoeuvres import answer_manoeuvres, overall

        answers = answer_manoeuvres(plan, only)
        placings = None
        if is_placed:
            progress("looking for their places")
            from areaplan.planning.vertical_placing import place_manoeuvres

            placings = place_manoeuvres(plan, answers)
    verdict = overall(answers)
    if as_json:
        from areaplan.render.manoeuvres import manoeuvres_as_json

        print_json(manoeuvres_as_json(plan, answers, verdict, placings))
    else:
        from areaplan.render.manoeuvres import manoeuvres_text

        click.echo(manoeuvres_text(plan, answers, verdict, placings))
    leave_with(verdict)
