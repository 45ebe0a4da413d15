"""Sun and light on the day sheet: where not to look, and when the day ends."""

from __future__ import annotations

import math
from datetime import UTC, datetime

from areaplan.planning.day import DaySheet
from areaplan.planning.sun import GLARE_HALF_DEG, LOW_SUN_DEG, SunEvent
from areaplan.render.day_words import clock_words, magnetic_words
from areaplan.render.document.model import Section, TableBlock, paragraphs
from areaplan.units import bearing_text


def light_section(sheet: DaySheet) -> Section:
    """The section of the sheet."""
    sun = sheet.sun
    height = (
        f"{abs(sun.elevation_deg):.0f} degrees {'above' if sun.elevation_deg >= 0 else 'below'}"
    )
    where = (
        f"Sun {bearing_text(sun.azimuth_deg_true)} true "
        f"({magnetic_words(sheet, sun.azimuth_deg_true)}), {height} the horizon: {sun.light}."
    )
    avoid = sun.headings_to_avoid_deg_true
    if avoid is None:
        glare = f"No low sun (below {LOW_SUN_DEG:.0f} degrees, above the horizon) to look into."
    else:
        first, last = avoid
        glare = (
            f"Do not roll out on {bearing_text(first)} to {bearing_text(last)} true "
            f"({_pair(sheet, avoid)}): into the sun, {GLARE_HALF_DEG:.0f} degrees either side."
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
        else f"Night begins {clock_words(night)}, {_hours(night, sun.time)} after the planned "
        "time: the end of evening civil twilight (14 CFR 1.1; sun 6 degrees down, ICAO Annex 2)."
    )
    table = TableBlock("", ("on this day", "local", "UTC"), events, (4, 1, 1), right=(1, 2))
    return Section(
        "Sun and light",
        (
            *paragraphs((where, glare)),
            *((table,) if events else ()),
            *paragraphs((*missing, left)),
        ),
    )


def _pair(sheet: DaySheet, ends: tuple[float, float]) -> str:
    magnetic = [sheet.variation.magnetic(end) for end in ends]
    known = [bearing_text(value) for value in magnetic if value is not None]
    return f"{' to '.join(known)} magnetic" if len(known) == len(ends) else "magnetic unknown"


def _hours(later: datetime, earlier: datetime) -> str:
    minutes = math.floor((later - earlier).total_seconds() / 60.0)
    return f"{minutes // 60} h {minutes % 60:02d} min"
