"""Slow twin of `areaplan.engine.bands`: one point of space against one volume at a time.

Plain Python; no interval is ever sorted or joined.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

ONE_FOOT_M = 0.3048  # exact, NIST SP 811, app. B.6


@frozen(eq=False)
class Volume:
    """A closed volume: the cells that it covers and its limits in metres."""

    cover: NDArray[np.bool_]
    lower_m: float
    upper_m: float
    lower_is_agl: bool = False
    upper_is_agl: bool = False
    lower_is_inclusive: bool = True
    upper_is_inclusive: bool = True


def limits_m(volume: Volume, lowest_m: float, highest_m: float) -> tuple[float, float]:
    """Limits above sea level over a piece of ground, on the cautious side."""
    lower_m, upper_m = volume.lower_m, volume.upper_m
    if volume.lower_is_agl and math.isfinite(lower_m):
        lower_m = lowest_m + lower_m
    if volume.upper_is_agl and math.isfinite(upper_m):
        upper_m = highest_m + upper_m
    return lower_m, upper_m


def holds(volume: Volume, z_m: float, lowest_m: float, highest_m: float) -> bool:
    """Whether the volume as published, without any margin, holds an altitude."""
    lower_m, upper_m = limits_m(volume, lowest_m, highest_m)
    is_over = z_m >= lower_m if volume.lower_is_inclusive else z_m > lower_m
    is_under = z_m <= upper_m if volume.upper_is_inclusive else z_m < upper_m
    return lower_m <= upper_m and is_over and is_under


def closes(volume: Volume, z_m: float, lowest_m: float, highest_m: float, margin_m: float) -> bool:
    """Whether the volume, its margin (or the foot next to an inclusive limit) counted, does so."""
    lower_m, upper_m = limits_m(volume, lowest_m, highest_m)
    if lower_m > upper_m:
        return False
    below_m = margin_m if margin_m > 0 else (ONE_FOOT_M if volume.lower_is_inclusive else 0.0)
    above_m = margin_m if margin_m > 0 else (ONE_FOOT_M if volume.upper_is_inclusive else 0.0)
    return lower_m - below_m < z_m < upper_m + above_m


def is_unknown(
    volumes: Sequence[Volume], cell: tuple[int, int], floor_m: float, lowest_m: float,
    highest_m: float,
) -> bool:  # fmt: skip
    """Whether nothing can be said about a cell."""
    limits = [limits_m(v, lowest_m, highest_m) for v in volumes if v.cover[cell]]
    return math.isnan(floor_m) or any(math.isnan(limit) for pair in limits for limit in pair)


def is_open(
    volumes: Sequence[Volume], cell: tuple[int, int], z_m: float, floor_m: float,
    lowest_m: float, highest_m: float, margin_m: float,
) -> bool:  # fmt: skip
    """Whether an altitude in a known cell can be flown."""
    return z_m >= floor_m and not any(
        closes(v, z_m, lowest_m, highest_m, margin_m) for v in volumes if v.cover[cell]
    )
