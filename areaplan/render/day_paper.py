"""The day sheet as a document: as plain text, and as one page of HTML to print."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from areaplan.planning.day import DaySheet
from areaplan.planning.day_air import AirRow, GlideRow
from areaplan.planning.plan import Verdict
from areaplan.planning.sun import GLARE_HALF_DEG, LOW_SUN_DEG, SunEvent
from areaplan.render.day_fields import FEWER_FIELDS, MOST_FIELDS, bearing, fields_section, signed
from areaplan.render.day_sites import sites_section
from areaplan.render.manoeuvres import weather_words
from areaplan.render.paper import Paper, Section, Table, paper_html, paper_text
from areaplan.render.text import (
    feet_text,
    percent_down,
    percent_up,
    verdict_line,
    verdict_text,
)
from areaplan.render.whole_file import write_whole
from areaplan.rules.model import Severity
from areaplan.units import CELSIUS_ZERO_K, FOOT_M, HPA_PA, INHG_PA, Wind

MOST_REASONS: Final = 4
# Warnings that a sheet for today can't leave to `areaplan check`.
_GRAVE: Final = ("EXPIRED", "NOT YET VALID", "the terrain data leave")
_LATE: Final = "NOT BY DAY"


def day_text(sheet: DaySheet) -> str:
    """The sheet as plain text."""
    return paper_text(day_paper(sheet))


def day_html(sheet: DaySheet) -> str:
    """The sheet as one HTML page that needs nothing else: one sheet of paper when printed."""
    return paper_html(day_paper(sheet))


def write_day_page(sheet: DaySheet, path: Path) -> None:
    """Write the sheet as HTML, whole or not at all; the same bytes for the same inputs.

    Raises
    ------
    InputError
        The folder is missing or can't be written to.
    """
    write_whole(path, day_html(sheet), "the day sheet", "--out")


def day_paper(sheet: DaySheet) -> Paper:
    """What the sheet says, section by section."""
    project, conditions = sheet.plan.project, sheet.conditions
    pressure_pa = conditions.altimeter_setting_pa
    return Paper(
        title=f"Day sheet: {project.name} - {project.school}",
        lines=(
            f"{_moment(conditions.time)}. Wind {wind_words(sheet, project.wind)}; altimeter "
            f"{pressure_pa / INHG_PA:.2f} inHg ({pressure_pa / HPA_PA:.0f} hPa); "
            f"{conditions.temperature_k - CELSIUS_ZERO_K:+.0f} degC at {sheet.station.name} "
            f"({feet_text(sheet.air[0].altitude_amsl_ft)} AMSL). {project.aircraft.name}.",
            "Planning aid only, not for navigation: current charts, notices, weather and the pilot "
            "in command decide.",
        ),
        verdict=f"Today: {verdict_line(sheet.plan)}.",
        sections=(
            *_look_first(sheet),
            _area(sheet),
            _wind(sheet),
            _air(sheet),
            _light(sheet),
            _glide(sheet),
            _weather(sheet),
            fields_section(sheet.fields, MOST_FIELDS if sheet.sites is None else FEWER_FIELDS),
            *(() if sheet.sites is None else (sites_section(sheet.sites),)),
            _fine_print(sheet),
        ),
    )


def wind_words(sheet: DaySheet, wind: Wind) -> str:
    """A wind from true and magnetic north, such as ``240/18 kt true (235 magnetic)``."""
    if wind.speed_mps == 0.0:
        return str(wind)
    return f"{wind} true ({magnetic_words(sheet, wind.from_deg_true)})"


def magnetic_words(sheet: DaySheet, deg_true: float) -> str:
    """A direction from magnetic north in whole degrees, or that it is unknown."""
    magnetic = sheet.variation.magnetic(deg_true)
    return "magnetic unknown" if magnetic is None else f"{bearing(magnetic)} magnetic"


def _moment(when: datetime) -> str:
    """Local time as given, and UTC."""
    local = when.strftime("%A %Y-%m-%d %H:%M")
    utc = when.astimezone(UTC)
    day = "" if utc.date() == when.date() else utc.strftime("%Y-%m-%d ")
    return f"{local} local ({_offset(when)}), {day}{utc:%H:%M} UTC"


def _offset(when: datetime) -> str:
    text = when.strftime("%z")
    return f"UTC{text[:3]}:{text[3:5]}"


def _clock(when: datetime) -> str:
    return f"{when:%H:%M} ({when.astimezone(UTC):%H:%M} UTC)"


def _area(sheet: DaySheet) -> Section:
    plan = sheet.plan
    rows = tuple(
        (
            feet_text(row.altitude_amsl_ft),
            percent_down(row.legal_share),
            percent_down(row.safe_share),
            percent_down(row.legal_and_safe_share),
            percent_up(row.unknown_share),
        )
        for row in plan.planned
    )
    broken = [
        row
        for row in plan.findings
        if row.verdict is Verdict.NOT_MET
        and row.lat is not None
        and row.limit.severity is not Severity.ADVISORY
    ]
    reasons = [
        f"{feet_text(row.altitude_amsl_ft)}: {row.limit.title}: {_margin(row.margin_ft)}"
        f"{f', {row.feature}' if row.feature else ''}; met over {percent_down(row.share_met)}"
        for row in broken[:MOST_REASONS]
    ]
    if len(broken) > MOST_REASONS:
        reasons.append(f"and {len(broken) - MOST_REASONS} more: areaplan check lists them")
    return Section(
        "Usable part of the area today",
        table=Table(("AMSL", "legal", "field in reach", "both", "unknown"), rows),
        after=tuple(reasons),
    )


def _margin(margin_ft: int | None) -> str:
    return "no altitude is enough" if margin_ft is None else f"short by {-margin_ft} ft"


def _wind(sheet: DaySheet) -> Section:
    grave = [
        f"{verdict_text(row.verdict)}: {row.limit.title}: {row.feature} ({row.limit.severity})"
        for row in sheet.wind_findings
        if row.verdict is not Verdict.MET
    ]
    kept = [
        f"{verdict_text(row.verdict)}: {row.limit.title}: {row.feature} ({row.limit.severity})"
        for row in sheet.wind_findings
        if row.verdict is Verdict.MET
    ]
    aloft = [
        f"{feet_text(round(row.height_amsl_m / FOOT_M))} AMSL: {wind_words(sheet, row.wind)}"
        for row in sheet.plan.project.winds_aloft
    ]
    none = () if sheet.wind_findings else ("No rule set in force states a wind limit.",)
    variation = sheet.variation.words
    return Section(
        "Wind and compass",
        grave=tuple(grave),
        sentences=(*kept, *none, *aloft, f"Magnetic variation: {variation}."),
    )


def _air(sheet: DaySheet) -> Section:
    kinds = ("AMSL", "degC", "pressure altitude", "density altitude", "glide TAS", "lesson TAS")
    return Section(
        "Air",
        table=Table(kinds, tuple(_air_row(row) for row in sheet.air)),
        after=(
            f"{signed(sheet.plan.project.isa_deviation_k)} degC from the standard atmosphere. "
            "True airspeeds are in knots, at the best glide speed and at the lesson's speed as "
            "calibrated airspeeds.",
        ),
    )


def _air_row(row: AirRow) -> tuple[str, ...]:
    return (
        feet_text(row.altitude_amsl_ft),
        f"{row.temperature_c:.0f}",
        feet_text(row.pressure_altitude_ft),
        feet_text(row.density_altitude_ft),
        f"{row.best_glide_tas_kt:.0f}",
        f"{row.manoeuvre_tas_kt:.0f}",
    )


def _glide(sheet: DaySheet) -> Section:
    aircraft = sheet.plan.project.aircraft
    rows = tuple(_glide_row(row) for row in sheet.glide)
    return Section(
        "Glide today",
        table=Table(("way", "wind", "track true", "ratio", "lost per NM"), rows),
        after=(
            f"Straight glide over the ground; {aircraft.best_glide_ratio:g}:1 in still air, "
            f"{percent_up(aircraft.glide_derating)} taken off. Reaction and turn come on top.",
        ),
    )


def _glide_row(row: GlideRow) -> tuple[str, ...]:
    track = "any" if row.track_deg_true is None else bearing(row.track_deg_true)
    if row.ratio_over_ground is None or row.loss_ft_per_nm is None:
        return (row.way, str(row.wind), track, "no headway", "-")
    ratio = f"{row.ratio_over_ground:.1f}:1"
    return (row.way, str(row.wind), track, ratio, feet_text(row.loss_ft_per_nm))


def _light(sheet: DaySheet) -> Section:
    sun = sheet.sun
    height = (
        f"{abs(sun.elevation_deg):.0f} degrees {'above' if sun.elevation_deg >= 0 else 'below'}"
    )
    where = (
        f"Sun {bearing(sun.azimuth_deg_true)} true "
        f"({magnetic_words(sheet, sun.azimuth_deg_true)}), {height} the horizon: {sun.light}."
    )
    avoid = sun.headings_to_avoid_deg_true
    if avoid is None:
        glare = f"No low sun (below {LOW_SUN_DEG:.0f} degrees, above the horizon) to look into."
    else:
        first, last = avoid
        glare = (
            f"Do not roll out on {bearing(first)} to {bearing(last)} true ({_pair(sheet, avoid)}): "
            f"into the sun, {GLARE_HALF_DEG:.0f} degrees either side."
        )
    events = tuple(
        (event.value, f"{when:%H:%M}", f"{when.astimezone(UTC):%H:%M}")
        for event, when in sun.events
    )
    missing = [f"No {event} on this day." for event in SunEvent if event not in dict(sun.events)]
    night = sun.night_begins
    left = (
        "Night does not begin within 24 hours."
        if night is None
        else f"Night begins {_clock(night)}, {_hours(night, sun.time)} after the planned time: the "
        "end of evening civil twilight (14 CFR 1.1; sun 6 degrees down, ICAO Annex 2)."
    )
    return Section(
        "Sun and light",
        sentences=(where, glare),
        table=Table(("on this day", "local", "UTC"), events) if events else None,
        after=(*missing, left),
    )


def _pair(sheet: DaySheet, ends: tuple[float, float]) -> str:
    magnetic = [sheet.variation.magnetic(end) for end in ends]
    known = [bearing(value) for value in magnetic if value is not None]
    return f"{' to '.join(known)} magnetic" if len(known) == len(ends) else "magnetic unknown"


def _hours(later: datetime, earlier: datetime) -> str:
    minutes = math.floor((later - earlier).total_seconds() / 60.0)
    return f"{minutes // 60} h {minutes % 60:02d} min"


def _weather(sheet: DaySheet) -> Section:
    return Section(
        "Weather needed",
        sentences=(
            f"From {feet_text(sheet.low_ft)} to {feet_text(sheet.high_ft)} AMSL. "
            f"{weather_words(sheet.weather)}.",
            "Not judged: compare it with the observation and forecast you have.",
            *(f"CONFIRM: {words}" for words in sheet.weather.confirm),
        ),
    )


def _look_first(sheet: DaySheet) -> Iterator[Section]:
    """What may make all the rest worthless."""
    late = [words for words in sheet.notes if words.startswith(_LATE)]
    grave = [words for words in sheet.plan.warnings if words.startswith(_GRAVE)]
    if late or grave:
        yield Section("Before you rely on this", grave=(*late, *grave))


def _fine_print(sheet: DaySheet) -> Section:
    plan = sheet.plan
    left = sum(not words.startswith(_GRAVE) for words in plan.warnings)
    more = (f"{left} more warnings about data and rules: read areaplan check.",) if left else ()
    notes = [words for words in sheet.notes if not words.startswith(_LATE)]
    ends = [record.expires for record in plan.sources if record.expires is not None]
    until = f"; the first of them runs out on {min(ends)}" if ends else ""
    return Section(
        "Taken for granted, and cautions",
        sentences=(
            " ".join(f"{words[0].upper()}{words[1:]}." for words in notes),
            *more,
            " ".join(plan.cautions),
            f"Project {plan.project.path.name}, SHA-256 {plan.project.sha256[:16]}; "
            f"{len(plan.sources)} sources{until}.",
        ),
        is_wide=True,
        is_small=True,
    )
