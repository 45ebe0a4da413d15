"""Compiled loops of `line_network.py`. No checks: the public function has made them."""

from __future__ import annotations

from typing import Any

import numpy as np

from areaplan.compiled import compiled

TOUCH_M = 1e-3  # a vertex this near to another line lies on it: rounding of coordinates, no gap


@compiled
def number_places(bits: Any) -> tuple[Any, int]:
    """Number the different rows among `bits` (n, 2), in order of first appearance."""
    count = bits.shape[0]
    size = 16
    while size < 2 * count:
        size *= 2
    table = np.full(size, -1, dtype=np.int64)
    number = np.empty(count, dtype=np.int64)
    first = np.empty(count, dtype=np.int64)
    found = 0
    for k in range(count):
        mixed = bits[k, 0] * np.uint64(0x9E3779B97F4A7C15)
        mixed ^= mixed >> np.uint64(29)
        mixed = (mixed + bits[k, 1]) * np.uint64(0xBF58476D1CE4E5B9)
        mixed ^= mixed >> np.uint64(32)
        slot = np.int64(mixed & np.uint64(size - 1))
        while True:
            place = table[slot]
            if place < 0:
                table[slot] = found
                first[found] = k
                number[k] = found
                found += 1
                break
            at = first[place]
            if bits[at, 0] == bits[k, 0] and bits[at, 1] == bits[k, 1]:
                number[k] = place
                break
            slot = (slot + 1) & (size - 1)
    return number, found


@compiled
def foot_on(px: float, py: float, seg: Any) -> tuple[float, float, float, float]:
    """Share along a segment of the nearest place to a point, that place, and its distance."""
    x0, y0, x1, y1 = seg[0], seg[1], seg[2], seg[3]
    dx, dy = x1 - x0, y1 - y0
    share = ((px - x0) * dx + (py - y0) * dy) / (dx * dx + dy * dy)
    if share <= 0.0:
        share, x, y = 0.0, x0, y0
    elif share >= 1.0:
        share, x, y = 1.0, x1, y1
    else:
        x, y = x0 + share * dx, y0 + share * dy
    return share, x, y, np.hypot(px - x, py - y)


@compiled
def meetings(
    segments: Any, ends: Any, uses: Any, pieces: Any, pairs: Any, join: float, capacity: int
) -> tuple[Any, Any, Any, int]:
    """Where segments of pairs of pieces meet without sharing a place.

    `segments` (n, 4); `ends` (n, 2) the places that they join; `uses` how many segment ends each
    place has; `pieces` (p, 2) first segment and one past the last; `pairs` (q, 2) of pieces.
    A meeting is (segment, place that it gets, or -1 for a new one); its values are the share
    along the segment, x, y and the distance by which an end is moved. A crossing gives two
    meetings in a row. Meetings beyond the capacity are counted and not kept.
    """
    who = np.empty((capacity, 2), dtype=np.int64)
    values = np.empty((capacity, 4), dtype=np.float64)
    is_crossing = np.zeros(capacity, dtype=np.bool_)
    count = 0
    for q in range(pairs.shape[0]):
        one, other = pairs[q, 0], pairs[q, 1]
        for a in range(pieces[one, 0], pieces[one, 1]):
            west = min(segments[a, 0], segments[a, 2]) - join
            east = max(segments[a, 0], segments[a, 2]) + join
            south = min(segments[a, 1], segments[a, 3]) - join
            north = max(segments[a, 1], segments[a, 3]) + join
            start = a + 1 if one == other else pieces[other, 0]
            for b in range(start, pieces[other, 1]):
                if max(segments[b, 0], segments[b, 2]) < west:
                    continue
                if min(segments[b, 0], segments[b, 2]) > east:
                    continue
                if max(segments[b, 1], segments[b, 3]) < south:
                    continue
                if min(segments[b, 1], segments[b, 3]) > north:
                    continue
                if ends[a, 0] == ends[b, 0] or ends[a, 0] == ends[b, 1]:
                    continue
                if ends[a, 1] == ends[b, 0] or ends[a, 1] == ends[b, 1]:
                    continue
                is_touched = False
                for side in range(4):
                    end_of, onto = (a, b) if side < 2 else (b, a)
                    column = side % 2
                    place = ends[end_of, column]
                    px = segments[end_of, 2 * column]
                    py = segments[end_of, 2 * column + 1]
                    share, x, y, far = foot_on(px, py, segments[onto])
                    is_loose = uses[place] == 1
                    if far <= (join if is_loose else TOUCH_M):
                        # A loose end may yet go to another line and leave the crossing behind.
                        is_touched = is_touched or not is_loose
                        if count < capacity:
                            who[count, 0], who[count, 1] = onto, place
                            values[count, 0], values[count, 3] = share, far
                            values[count, 1] = x if is_loose else px
                            values[count, 2] = y if is_loose else py
                        count += 1
                if is_touched:
                    continue
                ax, ay = segments[a, 2] - segments[a, 0], segments[a, 3] - segments[a, 1]
                bx, by = segments[b, 2] - segments[b, 0], segments[b, 3] - segments[b, 1]
                cx, cy = segments[b, 0] - segments[a, 0], segments[b, 1] - segments[a, 1]
                turn = ax * by - ay * bx
                if turn == 0.0:
                    continue
                s, t = (cx * by - cy * bx) / turn, (cx * ay - cy * ax) / turn
                if 0.0 < s < 1.0 and 0.0 < t < 1.0:
                    x, y = segments[a, 0] + s * ax, segments[a, 1] + s * ay
                    for side in range(2):
                        if count < capacity:
                            who[count, 0], who[count, 1] = a if side == 0 else b, -1
                            values[count, 0], values[count, 1] = s if side == 0 else t, x
                            values[count, 2], values[count, 3] = y, 0.0
                            is_crossing[count] = True
                        count += 1
    return who, values, is_crossing, count
