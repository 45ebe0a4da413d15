"""The day sheet: what an instructor reads before this afternoon's flight to the area."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.errors import InputError
from areaplan.planning.day_air import AirRow, GlideRow, air_row, glide_rows
from areaplan.planning.day_conditions import Conditions, project_on_day, require_usable
from areaplan.planning.day_fields import FieldToday, fields_today
from areaplan.planning.declination import Variation, variation_at
from areaplan.planning.evaluation import evaluate, silent
from areaplan.planning.limits import area_cells, sets_in_force
from areaplan.planning.plan import Finding, Plan
from areaplan.planning.project import Project
from areaplan.planning.reading import read_layers
from areaplan.planning.site import SiteAnswer
from areaplan.planning.sun import GLARE_HALF_DEG, LOW_SUN_DEG, Light, Place, Sun, sun_at
from areaplan.planning.weather_needed import WeatherNeeded, ground_span, weather_needed
from areaplan.rules.loading import load_rule_sets
from areaplan.units import FOOT_M, feet_up

LOWEST_GROUND: Final = "lowest ground of the area"


@frozen
class Station:
    """Where temperature and altimeter setting are taken."""

    name: str
    elevation_amsl_m: float


@frozen(eq=False)
class DaySheet:
    """Everything on the sheet.

    Attributes
    ----------
    plan : Plan
        The area judged in the day's conditions; its verdict is the sheet's.
    conditions : Conditions
    station : Station
    air : tuple of AirRow
        The station first, then the planned altitudes.
    glide : tuple of GlideRow
    fields : tuple of FieldToday
        Those that count first, the ones that most of the area leans on before the others.
    weather : WeatherNeeded
        By day, from `low_ft` to `high_ft`.
    low_ft, high_ft : int
        The block that is legal and safe everywhere, where there is one with a ceiling and it holds
        a planned altitude; else from the lowest to the highest planned altitude. Feet AMSL.
    sun : Sun
        At the middle of the area.
    variation : Variation
    wind_findings : tuple of Finding
        Every wind limit in force, judged once.
    notes : tuple of str
        What the sheet takes for granted, and what speaks against flying now.
    sites : SiteAnswer or None
        Places for ground-reference figures in the day's wind, where they were looked for.
    """

    plan: Plan
    conditions: Conditions
    station: Station
    air: tuple[AirRow, ...]
    glide: tuple[GlideRow, ...]
    fields: tuple[FieldToday, ...]
    weather: WeatherNeeded
    low_ft: int
    high_ft: int
    sun: Sun
    variation: Variation
    wind_findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    sites: SiteAnswer | None = None


def day_sheet(
    project: Project,
    conditions: Conditions,
    station: Station | None = None,
    progress: Callable[[str], None] = silent,
) -> DaySheet:
    """Judge a project in one day's conditions and gather what the sheet tells.

    Parameters
    ----------
    project : Project
        Its own wind, temperature, pressure and time give way to the day's.
    conditions : Conditions
    station : Station or None
        Where temperature and setting are taken; None for the aerodrome of the project's briefing,
        and without one for the lowest ground of the area.
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        Conditions that can't be used, an unusable source, or no ground known to stand in for a
        station.
    """
    require_usable(conditions, project)
    station = station or _station(project, progress)
    today = project_on_day(project, conditions, station.elevation_amsl_m)
    plan = evaluate(today, progress)
    progress("sun, variation and weather")
    low_ft, high_ft = _block(plan)
    sets = sets_in_force(load_rule_sets(today.rule_sets, today.rule_paths), today)
    middle = Place(plan.frame.lat, plan.frame.lon)
    sun = sun_at(middle, conditions.time)
    height_m = station.elevation_amsl_m
    variation = variation_at(middle.lat, middle.lon, height_m, conditions.time.date())
    air = (
        air_row(station.name, feet_up(height_m), conditions, today),
        *(
            air_row("planned altitude", feet, conditions, today)
            for feet in today.planned_altitudes_amsl_ft
        ),
    )
    winds = [today.wind, *(row.wind for row in today.winds_aloft)]
    return DaySheet(
        plan=plan,
        conditions=conditions,
        station=station,
        air=air,
        glide=tuple(glide_rows(winds, air, today.aircraft.glide_ratio_used)),
        fields=fields_today(plan, variation),
        weather=weather_needed(
            plan.layers,
            ground_span(plan.cells),
            sets,
            low_m=low_ft * FOOT_M,
            high_m=high_ft * FOOT_M,
        ),
        low_ft=low_ft,
        high_ft=high_ft,
        sun=sun,
        variation=variation,
        wind_findings=_wind_findings(plan),
        notes=tuple(_notes(project, conditions, station, sun)),
    )


def _station(project: Project, progress: Callable[[str], None]) -> Station:
    aerodrome = project.briefing.aerodrome if project.briefing else None
    if aerodrome is not None and aerodrome.elevation_amsl_ft is not None:
        return Station(aerodrome.name, aerodrome.elevation_amsl_ft * FOOT_M)
    layers, ground = read_layers(project, progress)
    lowest_m = ground.lowest_amsl_m[area_cells(layers.area.rows[0].geometry, ground)]
    known = lowest_m[~np.isnan(lowest_m)]
    if not known.size:
        raise InputError.single(
            "command line",
            "--station",
            found="no elevation, and no ground is known in its place",
            expected="the elevation at which temperature and setting are taken",
            fix='give it, such as --station "1180 ft AMSL"',
        )
    return Station(LOWEST_GROUND, float(known.min()))


def _block(plan: Plan) -> tuple[int, int]:
    planned, block = plan.project.planned_altitudes_amsl_ft, plan.block
    if block is not None and block.ceiling_amsl_ft is not None:
        low, high = block.floor_amsl_ft, block.ceiling_amsl_ft
        if any(low <= altitude <= high for altitude in planned):
            return low, high
    return planned[0], planned[-1]


def _wind_findings(plan: Plan) -> tuple[Finding, ...]:
    """Wind limits have no place, and the same answer at every planned altitude."""
    first_ft = plan.project.planned_altitudes_amsl_ft[0]
    return tuple(
        row
        for row in plan.findings
        if row.lat is None and row.margin_ft is None and row.altitude_amsl_ft == first_ft
    )


def _notes(project: Project, conditions: Conditions, station: Station, sun: Sun) -> list[str]:
    said = []
    if sun.light is not Light.DAY:
        said.append(
            f"NOT BY DAY: at this time it is {sun.light}; weather minima, and fields that must be "
            "seen to be used, are told for the day"
        )
    if station.name == LOWEST_GROUND:
        said.append(
            "temperature and altimeter setting are taken at the lowest ground of the area, as no "
            "station is given (--station, or the aerodrome in [briefing])"
        )
    if not conditions.winds_aloft:
        own = "; the project's own winds aloft are not used" if project.winds_aloft else ""
        said.append(
            f"one wind is taken for all heights{own}: it is usually stronger higher up "
            "(--aloft takes the forecast)"
        )
    said.append(
        "temperature is taken to differ from the standard by as much at every altitude as at the "
        "station"
    )
    if sun.headings_to_avoid_deg_true is not None:
        said.append(
            f"headings into the sun: {GLARE_HALF_DEG:.0f} degrees either side while it is lower "
            f"than {LOW_SUN_DEG:.0f} degrees is areaplan's own convention, from no published source"
        )
    said.append("the horizon is taken as flat: behind hills the sun sets, and light goes, earlier")
    return said
