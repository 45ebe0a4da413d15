"""Directions, winds and times as the sections of the day sheet print them."""

from __future__ import annotations

from datetime import UTC, datetime

from areaplan.planning.day import DaySheet
from areaplan.units import Wind, bearing_text


def signed(value: float) -> str:
    """A whole number with its sign, 0 without."""
    rounded = round(value)
    return f"{rounded:+d}" if rounded else "0"


def wind_words(sheet: DaySheet, wind: Wind) -> str:
    """A wind from true and magnetic north, such as ``240/18 kt true (235 magnetic)``."""
    if wind.speed_mps == 0.0:
        return str(wind)
    return f"{wind} true ({magnetic_words(sheet, wind.from_deg_true)})"


def magnetic_words(sheet: DaySheet, deg_true: float) -> str:
    """A direction from magnetic north in whole degrees, or that it is unknown."""
    magnetic = sheet.variation.magnetic(deg_true)
    return "magnetic unknown" if magnetic is None else f"{bearing_text(magnetic)} magnetic"


def moment_words(when: datetime) -> str:
    """Local time as given, and UTC."""
    local = when.strftime("%A %Y-%m-%d %H:%M")
    utc = when.astimezone(UTC)
    day = "" if utc.date() == when.date() else utc.strftime("%Y-%m-%d ")
    return f"{local} local ({_offset(when)}), {day}{utc:%H:%M} UTC"


def _offset(when: datetime) -> str:
    text = when.strftime("%z")
    return f"UTC{text[:3]}:{text[3:5]}"


def clock_words(when: datetime) -> str:
    """Local time as given, and UTC, without the day."""
    return f"{when:%H:%M} ({when.astimezone(UTC):%H:%M} UTC)"
