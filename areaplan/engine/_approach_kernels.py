"""Compiled loops of `approaches.py`, `key_positions.py` and the looks at the ground below them.

No checks: public functions have made them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from areaplan.compiled import compiled
from areaplan.engine._glide_kernels import INDEX


@compiled
def spread(
    x: float, y: float, one: Any, bearing_one: float, two: Any, bearing_two: float, disc: float
) -> float:
    """How much (x, y) . d may vary, d in two boxes (half along, half across) and a disc."""
    sine, cosine = np.sin(bearing_one), np.cos(bearing_one)
    varied = abs(x * sine + y * cosine) * one[0] + abs(x * cosine - y * sine) * one[1]
    sine, cosine = np.sin(bearing_two), np.cos(bearing_two)
    varied += abs(x * sine + y * cosine) * two[0] + abs(x * cosine - y * sine) * two[1]
    return float(varied + disc * np.hypot(x, y))


@compiled
def best_ways(
    east: Any, north: Any, around: Any, mid_one: Any, half_one: Any, loss_one: Any,
    mid_two: Any, half_two: Any, loss_two: Any, arrivals: Any, landing: float, legs: Any,
    leg_per_m: Any, final_per_m: float, most_straight_m: float, best: Any, chosen: Any,
) -> None:  # fmt: skip
    """For each side, arrival track and place the way that loses least; infinity where none.

    Ways are pairs of a leg and a way round to it: `mid_one` (east, north), `half_one` (along and
    across the arrival track) and `loss_one` by track and way; those of the second turn by side and
    leg, half widths along and across the landing. `around`, by side, track and way, is how far
    aside of its box the way may lead. Bearings in radians.
    """
    sides, tracks, ways = around.shape
    ahead_x, ahead_y = np.sin(landing), np.cos(landing)
    for side in range(sides):
        for track in range(tracks):
            for way in range(ways):
                leg = way // 2
                turns_m = loss_one[track, way] + loss_two[side, leg]
                if not turns_m < np.inf:
                    continue
                # With d what is left to be flown straight: leg = a . d, rest = b . d, and the
                # loss of both is c . d.
                leg_x, leg_y = np.sin(legs[leg]), np.cos(legs[leg])
                cross = leg_x * ahead_y - leg_y * ahead_x
                a_x, a_y = ahead_y / cross, -ahead_x / cross
                b_x, b_y = -leg_y / cross, leg_x / cross
                c_x = leg_per_m[leg] * a_x + final_per_m * b_x
                c_y = leg_per_m[leg] * a_y + final_per_m * b_y
                one, two, disc = half_one[track, way], half_two[side, leg], around[side, track, way]
                a_off = spread(a_x, a_y, one, arrivals[track], two, landing, disc)
                b_off = spread(b_x, b_y, one, arrivals[track], two, landing, disc)
                c_off = spread(c_x, c_y, one, arrivals[track], two, landing, disc)
                longest = spread(a_x + b_x, a_y + b_y, one, arrivals[track], two, landing, disc)
                longest = most_straight_m - longest
                from_x = -mid_one[track, way, 0] - mid_two[side, leg, 0]
                from_y = -mid_one[track, way, 1] - mid_two[side, leg, 1]
                for place in range(east.size):
                    d_x, d_y = from_x - east[place], from_y - north[place]
                    straight_m = c_x * d_x + c_y * d_y + c_off
                    is_flown = a_x * d_x + a_y * d_y >= a_off
                    is_flown &= b_x * d_x + b_y * d_y >= b_off
                    is_flown &= (a_x + b_x) * d_x + (a_y + b_y) * d_y <= longest
                    if is_flown and turns_m + straight_m < best[side, track, place]:
                        best[side, track, place] = turns_m + straight_m
                        chosen[side, track, place] = way


@compiled
def best_from_starts(
    east: Any, north: Any, start_east: Any, start_north: Any, loss_of_degree: Any, half_deg: float,
    height: Any, is_kept: Any, is_best: Any,
) -> None:  # fmt: skip
    """Mark the places that are the best to glide on to from some start, in each sector's cone.

    `height` has axes side, sector, place; `is_kept` marks the best of each side, `is_best` that of
    both.
    """
    sides, sectors, places = height.shape
    step_deg = 360.0 / sectors
    for start in range(start_east.size):
        least = np.full((sides, sectors), np.inf)
        chosen = np.zeros((sides, sectors), np.int64)
        for place in range(places):
            x, y = east[place] - start_east[start], north[place] - start_north[start]
            length = np.hypot(x, y)
            track_deg = np.degrees(np.arctan2(x, y)) % 360.0
            loss = length * loss_of_degree[int(track_deg + 0.5) % 360]
            nearest = int(track_deg / step_deg + 0.5)
            for near in range(nearest - 1, nearest + 2):  # no cone reaches farther
                sector = near % sectors
                if abs(track_deg - step_deg * near) > half_deg:
                    continue
                for side in range(sides):
                    if height[side, sector, place] + loss < least[side, sector]:
                        least[side, sector] = height[side, sector, place] + loss
                        chosen[side, sector] = place
        for sector in range(sectors):
            first = 0
            for side in range(sides):
                if least[side, sector] < np.inf:
                    is_kept[side, sector, chosen[side, sector]] = True
                    first = side if least[side, sector] < least[first, sector] else first
            if least[first, sector] < np.inf:
                is_best[first, sector, chosen[first, sector]] = True


@compiled
def clear_boxes(surface: Any, boxes: Any, limits: Any, is_clear: Any) -> None:
    """Whether the surface is known and at or below a limit in each box of cells.

    Boxes are first and last row, first and last column; one that leaves the grid is not clear.
    """
    rows, cols = surface.shape
    for i in range(limits.size):
        row0, row1, col0, col1 = boxes[i]
        is_clear[i] = row0 >= 0 and col0 >= 0 and row1 < rows and col1 < cols
        row, size = row0, col1 + 1 - col0
        while is_clear[i] and row <= row1:
            r, at, above = INDEX(row), INDEX(col0), np.int32(0)
            for c in range(size):
                # False for NaN, which is ground that nobody knows.
                above += np.int32(0) if surface[r, INDEX(c) + at] <= limits[i] else np.int32(1)
            is_clear[i] = above == 0
            row += 1
