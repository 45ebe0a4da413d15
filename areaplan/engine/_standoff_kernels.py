"""Compiled loops of `standoff.py`. No checks: the public functions have made them.

Words used here: a row's *band* is the strip of ground between its south edge (`low`) and its north
edge (`high`); the *capsule* of a segment is all ground within `rho` of it. Lengths are metres.
Every loop works on the rows row0 to row_end alone, so bands of rows can run in threads.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from areaplan.compiled import compiled

# A numpy bool, since numba compiles a function again for each literal True or False.
CLOSED: Any = np.False_


class Frame(NamedTuple):
    """A grid's origin and cell size."""

    x_min: float
    y_max: float
    cell: float


class Shapes(NamedTuple):
    """A feature set's arrays; `boxes` holds x_min, y_min, x_max, y_max of each feature."""

    segments: Any
    first_segment: Any
    is_area: Any
    boxes: Any
    spread: Any
    most_segments: int


@compiled
def reach(ends: Any, rho: float, low: float, high: float, is_open: bool) -> tuple[float, float]:
    """West and east end of the part of a segment's capsule within a band; (inf, -inf) if empty.

    A capsule is convex and its edge is made of two circles and two straight sides, so the ends
    lie on one of those four, each cut to the band. An open capsule leaves out its own edge.
    """
    x0, y0, x1, y1 = ends[0], ends[1], ends[2], ends[3]
    west, east = math.inf, -math.inf
    gap = max(low - max(y0, y1), min(y0, y1) - high)
    if gap > rho or (is_open and gap >= rho):
        return west, east
    for x, y in ((x0, y0), (x1, y1)):
        gap = max(0.0, max(low - y, y - high))
        if gap <= rho:
            half = math.sqrt((rho - gap) * (rho + gap))
            west, east = min(west, x - half), max(east, x + half)
    length = math.sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
    if length == 0.0:
        return west, east
    for side in (-rho, rho):
        xa = x0 + side * (y0 - y1) / length
        ya, yb = y0 + side * (x1 - x0) / length, y1 + side * (x1 - x0) / length
        if max(ya, yb) < low or min(ya, yb) > high:
            continue
        ta, tb = 0.0, 1.0
        if ya != yb:
            ta = min(1.0, max(0.0, (low - ya) / (yb - ya)))
            tb = min(1.0, max(0.0, (high - ya) / (yb - ya)))
        for t in (ta, tb):
            x = xa + t * (x1 - x0)
            west, east = min(west, x), max(east, x)
    return west, east


@compiled
def columns_of(west: float, east: float, frame: Frame, cols: int, is_open: bool) -> tuple[int, int]:
    """First and last column whose cells meet an interval of eastings (with or without its ends)."""
    # Held near the grid before they become integers, which far values would overflow.
    a = min(max((west - frame.x_min) / frame.cell, -2.0), cols + 2.0)
    b = min(max((east - frame.x_min) / frame.cell, -2.0), cols + 2.0)
    if not is_open:
        return max(0, math.ceil(a) - 1), min(cols - 1, math.floor(b))
    return max(0, math.floor(a)), min(cols, math.ceil(b)) - 1


@compiled
def rows_and_segments(
    shapes: Shapes, f: int, rho: float, frame: Frame, row0: int, row_end: int, active: Any
) -> tuple[int, int, int]:
    """First and end row that feature f may come within rho of; its segments near them in `active`.

    The third number counts those segments. Rows are taken generously: `reach` decides.
    """
    first = math.floor((frame.y_max - shapes.boxes[f, 3] - rho) / frame.cell) - 1.0
    end = math.ceil((frame.y_max - shapes.boxes[f, 1] + rho) / frame.cell) + 1.0
    if first >= row_end or end <= row0:
        return 0, 0, 0
    first_row, end_row = int(max(first, float(row0))), int(min(end, float(row_end)))
    low = frame.y_max - end_row * frame.cell - rho
    high = frame.y_max - first_row * frame.cell + rho
    count = 0
    for s in range(shapes.first_segment[f], shapes.first_segment[f + 1]):
        y0, y1 = shapes.segments[s, 1], shapes.segments[s, 3]
        if max(y0, y1) >= low and min(y0, y1) <= high:
            active[count] = s
            count += 1
    return first_row, end_row, count


@compiled
def wind(
    shapes: Shapes, active: Any, y: float, frame: Frame, first: int, last: int, winding: Any
) -> None:
    """Winding numbers of a feature's rings round the centres of a row's columns first to last.

    Each crossing of the row's centre line turns everything east of it (winding-number rule with
    half-open edges; Hormann & Agathos 2001, Computational Geometry 20, 131-144). Only cells that
    no ring touches are judged by it, so the rounding of a crossing's place can't matter.
    """
    for c in range(first, last + 2):
        winding[c] = 0
    for s in active:
        x0, y0 = shapes.segments[s, 0], shapes.segments[s, 1]
        x1, y1 = shapes.segments[s, 2], shapes.segments[s, 3]
        if (y0 <= y) != (y1 <= y):
            x = x0 + (y - y0) / (y1 - y0) * (x1 - x0)
            column = math.ceil((x - frame.x_min) / frame.cell - 0.5)
            east_of_it = int(min(max(float(column), float(first)), last + 1.0))
            winding[east_of_it] += 1 if y1 > y0 else -1
    for c in range(first + 1, last + 1):
        winding[c] += winding[c - 1]


@compiled
def claim(free: Any, first: int, last: int, value: float, f: int, floor: Any, feature: Any) -> None:
    """Give the free cells of a row from first to last to feature f.

    `free[c]` leads to the first free column at or after c, in hops that get longer with use.
    """
    c = first
    while True:
        while free[c] != c:
            free[c] = free[free[c]]
            c = free[c]
        if c > last:
            return
        floor[c] = value
        feature[c] = f
        free[c] = c + 1


@compiled
def level_rows(
    row0: int, row_end: int, frame: Frame, shapes: Shapes, order: Any, radius: float,
    is_open: bool, value: Any, applies: Any, floor: Any, feature: Any,
) -> None:  # fmt: skip
    """Give each cell within the radius of feature f its value[f].

    `order` runs from the most demanding value to the least: the first to reach a cell keeps it,
    and no later feature looks at it again. Cells that have a feature already are left alone.
    """
    cols = floor.shape[1]
    active = np.empty(shapes.most_segments, np.int64)
    winding = np.empty(cols + 2, np.int32)
    free = np.empty((row_end - row0, cols + 1), np.int32)
    for r in range(row0, row_end):
        free[r - row0, cols] = cols
        for c in range(cols):
            free[r - row0, c] = c if applies[r, c] and feature[r, c] < 0 else c + 1
    for f in order:
        rho = radius + shapes.spread[f]
        first_row, end_row, count = rows_and_segments(shapes, f, rho, frame, row0, row_end, active)
        box_first, box_last = columns_of(
            shapes.boxes[f, 0], shapes.boxes[f, 2], frame, cols, CLOSED
        )
        for r in range(first_row, end_row):
            low, high = frame.y_max - (r + 1) * frame.cell, frame.y_max - r * frame.cell
            for s in active[:count]:
                west, east = reach(shapes.segments[s], rho, low, high, is_open)
                first, last = columns_of(west, east, frame, cols, is_open)
                if first <= last:
                    claim(free[r - row0], first, last, value[f], f, floor[r], feature[r])
            if shapes.is_area[f] and box_first <= box_last:
                y = 0.5 * (low + high)
                wind(shapes, active[:count], y, frame, box_first, box_last, winding)
                for c in range(box_first, box_last + 1):
                    if winding[c] != 0:
                        claim(free[r - row0], c, c, value[f], f, floor[r], feature[r])


@compiled
def segment_distances(
    ends: Any, cx0: float, cy: float, cell: float, first: int, last: int, squared: Any
) -> None:
    """Lower `squared` to the squared distances of a row's cells from a segment they don't touch.

    The nearest pair of points of two convex shapes that do not meet has a corner of one of them:
    either an end of the segment, or the corner of the square that is nearest to the segment's
    line, if its foot lies on the segment.
    """
    x0, y0, x1, y1 = ends[0], ends[1], ends[2], ends[3]
    half = 0.5 * cell
    length = math.sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
    ux, uy = 0.0, 0.0
    if length > 0.0:
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
    else:
        length = -1.0  # no foot can lie on it
    # The square reaches `extent` to either side of the parallel through its centre; its corner
    # nearest to the line lies `shift` further along the segment than its centre, or behind.
    extent = half * (abs(ux) + abs(uy))
    shift = half * (np.sign(ux) * uy - np.sign(uy) * ux)
    offset = cy - y0
    gap0_y, gap1_y = max(0.0, abs(offset) - half), max(0.0, abs(cy - y1) - half)
    for c in range(first, last + 1):
        x = cx0 + c * cell
        dx = x - x0
        across = ux * offset - uy * dx
        along = ux * dx + uy * offset
        foot = along - shift if across >= 0.0 else along + shift
        gap = abs(across) - extent
        gap0_x, gap1_x = max(0.0, abs(dx) - half), max(0.0, abs(x - x1) - half)
        nearest = min(gap0_x * gap0_x + gap0_y * gap0_y, gap1_x * gap1_x + gap1_y * gap1_y)
        if gap >= 0.0 and foot >= 0.0 and foot <= length:
            nearest = min(nearest, gap * gap)
        squared[c] = min(squared[c], nearest)


@compiled
def slant_rows(
    row0: int, row_end: int, frame: Frame, shapes: Shapes, order: Any, radius: float,
    top: Any, applies: Any, floor: Any, feature: Any,
) -> None:  # fmt: skip
    """Raise the floor of each cell nearer than the radius to top + sqrt(radius^2 - distance^2).

    `order` runs from the highest top to the lowest, so that many cells are already higher than a
    feature can raise them when it is looked at.
    """
    cols = floor.shape[1]
    active = np.empty(shapes.most_segments, np.int64)
    winding = np.empty(cols + 2, np.int32)
    squared = np.empty(cols, np.float64)
    for f in order:
        rho, highest = radius + shapes.spread[f], top[f] + radius
        first_row, end_row, count = rows_and_segments(shapes, f, rho, frame, row0, row_end, active)
        box_first, box_last = columns_of(
            shapes.boxes[f, 0] - rho, shapes.boxes[f, 2] + rho, frame, cols, CLOSED
        )
        for r in range(first_row, end_row):
            first, last = box_first, box_last
            while first <= last and not (applies[r, first] and floor[r, first] <= highest):
                first += 1
            while first <= last and not (applies[r, last] and floor[r, last] <= highest):
                last -= 1
            if first > last:
                continue
            low, high = frame.y_max - (r + 1) * frame.cell, frame.y_max - r * frame.cell
            y = 0.5 * (low + high)
            for c in range(first, last + 1):
                squared[c] = math.inf
            for s in active[:count]:
                ends = shapes.segments[s]
                west, east = reach(ends, rho, low, high, CLOSED)
                a, b = columns_of(west, east, frame, cols, CLOSED)
                a, b = max(a, first), min(b, last)
                if a > b:
                    continue
                x = frame.x_min + 0.5 * frame.cell
                segment_distances(ends, x, y, frame.cell, a, b, squared)
                west, east = reach(ends, 0.0, low, high, CLOSED)
                a, b = columns_of(west, east, frame, cols, CLOSED)
                for c in range(max(a, first), min(b, last) + 1):
                    squared[c] = 0.0
            if shapes.is_area[f]:
                wind(shapes, active[:count], y, frame, first, last, winding)
                for c in range(first, last + 1):
                    if winding[c] != 0:
                        squared[c] = 0.0
            for c in range(first, last + 1):
                if squared[c] > rho * rho or not applies[r, c]:
                    continue
                distance = max(0.0, math.sqrt(squared[c]) - shapes.spread[f])
                if distance >= radius:
                    continue
                value = top[f] + math.sqrt((radius - distance) * (radius + distance))
                # A floor that is NaN stays: no comparison with it holds.
                if value > floor[r, c] or (value == floor[r, c] and f < feature[r, c]):
                    floor[r, c] = value
                    feature[r, c] = f


@compiled
def inside_rows(
    row0: int, row_end: int, frame: Frame, shapes: Shapes, order: Any, slack: float, feature: Any
) -> None:
    """Give each cell that lies inside area f, its spread away from the rings, to the first such f.

    The square is shrunk by the slack on all sides, so that a ring may run along its edge.
    """
    cols = feature.shape[1]
    active = np.empty(shapes.most_segments, np.int64)
    winding = np.empty(cols + 2, np.int32)
    for f in order:
        rho = shapes.spread[f]
        first, last = columns_of(shapes.boxes[f, 0], shapes.boxes[f, 2], frame, cols, CLOSED)
        if first > last:
            continue
        first_row, end_row, count = rows_and_segments(shapes, f, rho, frame, row0, row_end, active)
        for r in range(first_row, end_row):
            low, high = frame.y_max - (r + 1) * frame.cell, frame.y_max - r * frame.cell
            wind(shapes, active[:count], 0.5 * (low + high), frame, first, last, winding)
            for s in active[:count]:
                west, east = reach(shapes.segments[s], rho, low + slack, high - slack, CLOSED)
                a, b = columns_of(west + slack, east - slack, frame, cols, CLOSED)
                for c in range(max(a, first), min(b, last) + 1):
                    winding[c] = 0
            for c in range(first, last + 1):
                if winding[c] != 0 and feature[r, c] < 0:
                    feature[r, c] = f


@compiled
def highest_rows(row0: int, row_end: int, ground: Any, halves: Any, highest: Any) -> None:
    """Raise `highest` to the highest ground of the cells around.

    In the row k further north or south those are the columns up to halves[k] away. `ground` has
    halves[0] more columns than `highest` on either side. The highest of a window is the higher of
    two overlapping runs whose length is a power of two; runs of 2n come from two runs of n.
    """
    rows, cols = highest.shape
    rows_away, pad = halves.size - 1, halves[0]
    levels = np.empty(rows_away + 1, np.int64)  # of the runs that the row k away needs
    for k in range(rows_away + 1):
        levels[k] = 0
        while 2 << levels[k] <= 2 * halves[k] + 1:
            levels[k] += 1
    wide = cols + 2 * pad
    runs = np.empty((levels[0] + 1, wide), np.float64)
    for source in range(max(0, row0 - rows_away), min(rows, row_end + rows_away)):
        for c in range(wide):
            runs[0, c] = ground[source, c]
        for level in range(levels[0]):
            span = 1 << level
            for c in range(wide - 2 * span + 1):
                runs[level + 1, c] = max(runs[level, c], runs[level, c + span])
        for k in range(rows_away + 1):
            run = runs[levels[k]]
            west, east = pad - halves[k], pad + halves[k] + 1 - (1 << levels[k])
            for r in (source - k, source + k):
                if row0 <= r < row_end:
                    for c in range(cols):
                        around = max(run[c + west], run[c + east])
                        highest[r, c] = max(highest[r, c], around)
