"""Compiled loops of `bands.py`. No checks: the public functions have made them."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from areaplan.compiled import compiled

# Two volumes may leave one altitude between them, such as 2100 ft over 2000 ft + 100 ft and under
# 2200 ft - 100 ft. Feet in metres carry rounding of 1e-12 m, which must not decide about it.
NOISE_M = 1e-9


class Limits(NamedTuple):
    """Published limits of each volume, the gap to keep from each, and who covers which cell.

    A volume closes what lies strictly between lower - lower_gap and upper + upper_gap: the ends
    themselves can be flown.
    """

    lower: Any
    upper: Any
    lower_gap: Any
    upper_gap: Any
    lower_is_agl: Any
    upper_is_agl: Any
    group: Any
    first_of_group: Any
    volume_of_group: Any


@compiled
def closed_intervals(
    limits: Limits, group: int, lowest_ground: float, highest_ground: float,
    volume: Any, low: Any, high: Any,
) -> int:  # fmt: skip
    """Write the closed intervals of a cell, sorted by their lower end; -1 if one is unknown."""
    count = 0
    for i in range(limits.first_of_group[group], limits.first_of_group[group + 1]):
        v = limits.volume_of_group[i]
        lower, upper = limits.lower[v], limits.upper[v]
        # An infinite limit stays where it is, whatever the ground.
        if limits.lower_is_agl[v] and not math.isinf(lower):
            lower += lowest_ground
        if limits.upper_is_agl[v] and not math.isinf(upper):
            upper += highest_ground
        if math.isnan(lower) or math.isnan(upper):
            return -1
        a, b = lower - limits.lower_gap[v], upper + limits.upper_gap[v]
        # Limits that cross (a base above ground over a top above sea level): no volume here.
        if lower > upper or a >= b:
            continue
        slot = count
        while slot > 0 and low[slot - 1] > a:
            volume[slot], low[slot], high[slot] = volume[slot - 1], low[slot - 1], high[slot - 1]
            slot -= 1
        volume[slot], low[slot], high[slot] = v, a, b
        count += 1
    return count


@compiled
def band_rows(
    row0: int, row_end: int, floor: Any, limits: Limits, lowest_ground: Any, highest_ground: Any,
    top: float, most_volumes: int, edges: Any, by: Any, is_unknown: Any,
) -> int:  # fmt: skip
    """Write the open bands of each cell, if there are slots, and return the most of any cell."""
    volume = np.empty(most_volumes, np.int64)
    low, high = np.empty(most_volumes), np.empty(most_volumes)
    most = 0
    for r in range(row0, row_end):
        for c in range(floor.shape[1]):
            start, starter = floor[r, c], -1
            count = closed_intervals(
                limits, limits.group[r, c], lowest_ground[r, c], highest_ground[r, c],
                volume, low, high,
            )  # fmt: skip
            if math.isnan(start) or count < 0:
                is_unknown[r, c] = True
                continue
            slot = 0
            for i in range(count + 1):
                # Past the last interval, the band that ends at the top of what is looked at.
                end = min(low[i], top) if i < count else top
                ender = volume[i] if i < count and low[i] <= top else -1
                if start <= end + NOISE_M and start < math.inf and end > -math.inf:
                    if slot < edges.shape[0]:
                        edges[slot, 0, r, c], edges[slot, 1, r, c] = start, max(start, end)
                        by[slot, 0, r, c], by[slot, 1, r, c] = starter, ender
                    slot += 1
                if i < count and (high[i] > start or (high[i] == start and volume[i] < starter)):
                    start, starter = high[i], volume[i]
            most = max(most, slot)
    return most
