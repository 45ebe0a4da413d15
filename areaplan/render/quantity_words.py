"""Places, durations, distances and heights in words that several pages share."""

from __future__ import annotations

import math

from areaplan.planning.site_room import NO_ROOM_FT
from areaplan.units import NAUTICAL_MILE_M, feet_text


def decimal_degrees(lat: float, lon: float) -> str:
    """A place in degrees, south and west negative, to a metre or so."""
    return f"{lat:.5f}, {lon:.5f}"


def minutes_seconds(duration_s: float) -> str:
    """Such as ``2 min 05 s``, to the nearest second."""
    minutes, seconds = divmod(round(duration_s), 60)
    return f"{minutes} min {seconds:02d} s"


def inside_area_words(edge_m: float) -> str:
    """How far inside the area a figure stays: hundredths of a mile, never more than it is."""
    return f"inside the area {math.floor(edge_m / NAUTICAL_MILE_M * 100.0) / 100.0:.2f} NM"


def fits_words(lowest_entry_amsl_ft: int, highest_entry_amsl_ft: int) -> str:
    """The entries at which a figure fits; the highest `site_room.NO_ROOM_FT` or near: no limit."""
    low = feet_text(lowest_entry_amsl_ft)
    if is_limited(highest_entry_amsl_ft):
        return f"fits from {low} to {feet_text(highest_entry_amsl_ft)}"
    return f"fits from {low} up"


def is_limited(feet: int) -> bool:
    """Whether anything limits an entry or a ceiling margin from above: not `NO_ROOM_FT` or near."""
    return feet < NO_ROOM_FT // 2
