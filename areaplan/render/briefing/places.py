"""Places, bearings and distances as people read them aloud."""

from __future__ import annotations

import math
from typing import Final

from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_places import Neighbour, Place
from areaplan.planning.briefing_spots import Spot
from areaplan.render.text import percent_up
from areaplan.units import NAUTICAL_MILE_M, Wind, bearing_text


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


def from_aerodrome(briefing: Briefing, place: Place) -> str | None:
    """Bearing and distance, such as ``078 T / 072 M, 4.2 NM``; None without an aerodrome."""
    if place.distance_m is None or place.bearing_deg_true is None:
        return None
    return f"{true_and_magnetic(briefing, place.bearing_deg_true)}, {miles(place.distance_m)}"


def true_and_magnetic(briefing: Briefing, deg_true: float) -> str:
    """A direction from true and from magnetic north; from true alone where the other is unknown."""
    magnetic = briefing.variation.magnetic(deg_true)
    if magnetic is None:
        return f"{bearing_text(deg_true)} T"
    return f"{bearing_text(deg_true)} T / {bearing_text(magnetic)} M"


def gap(place: Place) -> str:
    """Whether a place lies in the area, and how far from it if not."""
    return "in the area" if place.gap_m == 0.0 else f"{miles_down(place.gap_m)} outside"


def half_bearing(deg: float) -> str:
    """Three figures, with the half where there is one: ``045``, ``022.5``, 360 for north."""
    whole, half = divmod(round(deg * 2.0) % 720 or 720, 2)
    return f"{whole:03d}.5" if half else f"{whole:03d}"


def the(landmark: str) -> str:
    """A landmark as it is spoken: "pond" as "the pond"; names and articles stay."""
    first = landmark.split(" ", 1)[0]
    is_plain = first[:1].islower() and first not in ("a", "an", "the")
    return f"the {landmark}" if is_plain else landmark


def spot_words(spot: Spot, *, is_numbered: bool = False) -> str:
    """A side of the area and the nearest corner, such as "in the east, 0.4 NM from the pond".

    Parameters
    ----------
    spot : Spot
    is_numbered : bool
        Give a corner's number beside its landmark.
    """
    corner = spot.corner
    words = f"corner {corner.number}"
    if corner.landmark:
        words = the(corner.landmark) + (f" ({words})" if is_numbered else "")
    return f"in the {spot.side}, {miles(spot.corner_distance_m)} from {words}"


def over_words(row: Neighbour) -> str:
    """Over what share of the area a volume lies, or how far away it is."""
    if row.gap_m > 0.0:
        return f"{miles_down(row.gap_m)} away"
    return "over all of it" if row.share > _ALL else f"over {percent_up(row.share)} of it"


_ALL: Final = 1.0 - 1e-6  # nearer to the whole than a drawing is drawn
