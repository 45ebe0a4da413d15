"""Places, bearings and distances as people read them aloud."""

from __future__ import annotations

import math

from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_places import Place
from areaplan.units import NAUTICAL_MILE_M, Wind


def wind_words(wind: Wind) -> str:
    """A wind with its reference, such as ``210/14 kt true``, or ``calm``."""
    return f"{wind} true" if wind.speed_mps else str(wind)


def degrees_minutes(lat: float, lon: float) -> str:
    """A place in degrees and minutes to the thousandth, such as ``41°09.406'N 100°04.003'W``."""
    return f"{_angle(lat, 'N', 'S', 2)} {_angle(lon, 'E', 'W', 3)}"


def _angle(value: float, plus: str, minus: str, digits: int) -> str:
    thousandths = round(abs(value) * 60_000.0)  # of a minute, so that 60.000' never stands there
    degrees, rest = divmod(thousandths, 60_000)
    return f"{degrees:0{digits}d}°{rest / 1000.0:06.3f}'{minus if value < 0.0 else plus}"


def miles(distance_m: float) -> str:
    """Nautical miles to the tenth."""
    return f"{distance_m / NAUTICAL_MILE_M:.1f} NM"


def miles_down(distance_m: float) -> str:
    """Nautical miles to the tenth, never more than it is: for how far away danger lies."""
    return f"{math.floor(distance_m / NAUTICAL_MILE_M * 10.0 + 1e-9) / 10.0:.1f} NM"


def bearing(deg: float) -> str:
    """Three figures, 360 for north."""
    return f"{round(deg) % 360 or 360:03d}"


def from_aerodrome(briefing: Briefing, place: Place) -> str | None:
    """Bearing and distance, such as ``078 T / 072 M, 4.2 NM``; None without an aerodrome."""
    if place.distance_m is None or place.bearing_deg_true is None:
        return None
    return f"{true_and_magnetic(briefing, place.bearing_deg_true)}, {miles(place.distance_m)}"


def true_and_magnetic(briefing: Briefing, deg_true: float) -> str:
    """A direction from true and from magnetic north; from true alone where the other is unknown."""
    magnetic = briefing.variation.magnetic(deg_true)
    if magnetic is None:
        return f"{bearing(deg_true)} T"
    return f"{bearing(deg_true)} T / {bearing(magnetic)} M"


def gap(place: Place) -> str:
    """Whether a place lies in the area, and how far from it if not."""
    return "in the area" if place.gap_m == 0.0 else f"{miles_down(place.gap_m)} outside"
