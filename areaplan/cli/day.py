"""`areaplan day PROJECT`."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areaplan.cli.common import (
    Progress,
    file_option,
    json_option,
    leave_with,
    paper_option,
    print_json,
    project_argument,
    read_quantity,
    read_wind,
)

if TYPE_CHECKING:
    from areaplan.planning.day import DaySheet
    from areaplan.planning.day_conditions import Conditions
    from areaplan.planning.project import WindAloft


@click.command("day")
@project_argument
@click.option(
    "--time",
    "time_text",
    required=True,
    help="When, with its offset from UTC, such as 2026-11-25T15:00-06:00.",
)
@click.option(
    "--wind",
    "wind_text",
    required=True,
    help="At the ground, from degrees true / knots, such as 240/18; with gusts, the gust.",
)
@click.option("--altimeter", required=True, help="Altimeter setting, such as 30.10inHg or 1019hPa.")
@click.option("--temperature", required=True, help="At the station, such as 12C or 54F.")
@click.option(
    "--station",
    help='Elevation of the station, such as "1180 ft AMSL" (default: the aerodrome of the '
    "briefing, else the lowest ground of the area).",
)
@click.option(
    "--aloft",
    multiple=True,
    metavar="ALTITUDE=WIND",
    help='Forecast wind, such as "3000 ft AMSL=250/25"; may be given several times.',
)
@click.option(
    "--sites",
    "has_sites",
    is_flag=True,
    help="Also look for ground-reference sites in the day's wind.",
)
@file_option(
    "--out",
    help="Also write the sheet as a page to print, .html or .pdf.",
)
@paper_option
@json_option
def command(
    project: Path,
    time_text: str,
    wind_text: str,
    altimeter: str,
    temperature: str,
    station: str | None,
    aloft: tuple[str, ...],
    has_sites: bool,
    out: Path | None,
    paper: str,
    as_json: bool,
) -> None:
    """Tell what PROJECT's area is today: air, glide, fields, light, weather to have.

    The day's wind, temperature, pressure and time stand in for the project's own. Give winds from
    true north, as reports and forecasts in writing do; a tower or a recording gives magnetic ones.

    Exit status: 0 met today, 1 not met, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        progress("loading the geometry libraries")
        if out is not None:
            from areaplan.render.document.writing import require_printer

            require_printer(out)
        conditions = _conditions(time_text, wind_text, altimeter, temperature, aloft)
        from areaplan.planning.day import Station, day_sheet
        from areaplan.planning.project_file import read_project
        from areaplan.units import parse_altitude_amsl

        place = None
        if station is not None:
            place = Station(
                "the station",
                read_quantity(station, "--station", parse_altitude_amsl, '"1180 ft AMSL"'),
            )
        sheet = day_sheet(read_project(project), conditions, place, progress)
        if has_sites:
            sheet = _with_sites(sheet, progress)
    if out is not None:
        from areaplan.render.day_paper import write_day_page

        write_day_page(sheet, out, paper)
    if as_json:
        from areaplan.render.day_json import day_as_json

        told: dict[str, Any] = day_as_json(sheet)
        print_json({**told, "page": None if out is None else str(out)})
    else:
        from areaplan.render.day_paper import day_text

        click.echo(day_text(sheet))
        if out is not None:
            click.echo(f"\nPage: {out}")
    leave_with(sheet.plan.verdict)


def _with_sites(sheet: DaySheet, progress: Progress) -> DaySheet:
    from attrs import evolve

    from areaplan.planning.sites import find_sites
    from areaplan.rules.figures_asked import builtin_figures

    figures = builtin_figures().named(())
    conditions = sheet.conditions
    # The strongest: it asks for the steepest banks and the longest way back into the wind.
    winds = [conditions.wind, *(row.wind for row in conditions.winds_aloft)]
    wind = max(winds, key=lambda one: one.speed_mps)
    return evolve(sheet, sites=find_sites(sheet.plan, wind, figures, progress))


def _conditions(
    time_text: str, wind_text: str, altimeter: str, temperature: str, aloft: tuple[str, ...]
) -> Conditions:
    from areaplan.planning.day_conditions import Conditions
    from areaplan.units import parse_pressure, parse_temperature

    return Conditions(
        time=read_quantity(time_text, "--time", _time, "2026-11-25T15:00-06:00"),
        wind=read_wind(wind_text),
        altimeter_setting_pa=read_quantity(altimeter, "--altimeter", parse_pressure, "30.10inHg"),
        temperature_k=read_quantity(temperature, "--temperature", parse_temperature, "12C"),
        winds_aloft=tuple(
            read_quantity(text, "--aloft", _aloft, '"3000 ft AMSL=250/25"') for text in aloft
        ),
    )


def _time(text: str) -> datetime:
    from areaplan.errors import QuantityError

    expected = "a date and time with its offset from UTC, such as 2026-11-25T15:00-06:00"
    try:
        when = datetime.fromisoformat(text.strip())
    except ValueError:
        raise QuantityError(text, expected) from None
    if when.utcoffset() is None:
        raise QuantityError(text, expected)
    return when


def _aloft(text: str) -> WindAloft:
    from areaplan.errors import QuantityError
    from areaplan.planning.day_conditions import SOURCE
    from areaplan.planning.project import WindAloft
    from areaplan.units import parse_altitude_amsl

    height, equals, wind = text.partition("=")
    if not equals:
        raise QuantityError(text, 'an altitude and a wind, such as "3000 ft AMSL=250/25"')
    return WindAloft(parse_altitude_amsl(height), read_wind(wind, "--aloft"), SOURCE)
