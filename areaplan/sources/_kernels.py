"""Kernels that carry the surface of a terrain model to the cells of a grid. No checks here.

A model is a lattice of nodes. Between four nodes the surface is bilinear; `u` counts columns and
`v` counts rows of the lattice, so that node (j, i) lies at u = j, v = i. NaN is unknown.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from areaplan.compiled import compiled

Array = NDArray[np.float64]

NOTHING = 0  # the cell touches no known node
PARTLY = 1  # known and unknown places in one cell
WHOLLY = 2  # known all over


@compiled
def _bilinear(heights: Array, i: int, j: int, u: float, v: float) -> float:
    """Surface of the lattice square whose north-west node is (i, j)."""
    a = u - j
    b = v - i
    north = heights[i, j] * (1.0 - a) + heights[i, j + 1] * a
    south = heights[i + 1, j] * (1.0 - a) + heights[i + 1, j + 1] * a
    height: float = north * (1.0 - b) + south * b
    return height


@compiled
def _next_crossing(start: float, step: float, count: int) -> float:
    """Share of a segment at which it crosses its (count + 1)-th lattice line; past 1 when none."""
    if step > 0.0:
        return (math.floor(start) + 1.0 + count - start) / step
    if step < 0.0:
        return (math.ceil(start) - 1.0 - count - start) / step
    return math.inf


@compiled
def _along(
    heights: Array, u0: float, v0: float, u1: float, v1: float, low: float, high: float
) -> tuple[float, float, int, int]:
    """Least and greatest height along a straight segment, exactly.

    Inside one lattice square a bilinear surface along a straight line is a quadratic, so that its
    extremes lie at the ends of the piece or at the vertex.
    """
    du = u1 - u0
    dv = v1 - v0
    known = 0
    unknown = 0
    crossed_u = 0
    crossed_v = 0
    t = 0.0
    while t < 1.0:
        t_u = _next_crossing(u0, du, crossed_u)
        t_v = _next_crossing(v0, dv, crossed_v)
        t_next = min(t_u, t_v, 1.0)
        if t_u <= t_next:
            crossed_u += 1
        if t_v <= t_next:
            crossed_v += 1
        if t_next <= t:
            continue
        middle = 0.5 * (t + t_next)
        i = math.floor(v0 + middle * dv)
        j = math.floor(u0 + middle * du)
        start = _bilinear(heights, i, j, u0 + t * du, v0 + t * dv)
        half = _bilinear(heights, i, j, u0 + middle * du, v0 + middle * dv)
        end = _bilinear(heights, i, j, u0 + t_next * du, v0 + t_next * dv)
        t = t_next
        if math.isnan(half):
            unknown += 1
            continue
        known += 1
        low = min(low, start, half, end)
        high = max(high, start, half, end)
        # Quadratic through the three heights at s = 0, 1/2, 1: vertex at s = -slope / (2 bend).
        bend = 2.0 * (start - 2.0 * half + end)
        slope = -3.0 * start + 4.0 * half - end
        if bend != 0.0 and 0.0 < -slope / (2.0 * bend) < 1.0:
            vertex = start - slope * slope / (4.0 * bend)
            low = min(low, vertex)
            high = max(high, vertex)
    return low, high, known, unknown


@compiled
def _side(u0: float, v0: float, u1: float, v1: float, u: float, v: float) -> float:
    """Positive when a place lies on one side of a directed line, negative on the other."""
    return (u1 - u0) * (v - v0) - (v1 - v0) * (u - u0)


@compiled
def cell_extremes(
    heights: Array, u: Array, v: Array, is_wanted: Any, lowest: Array, highest: Array, state: Any
) -> None:
    """Least and greatest height of the surface over each wanted cell, exactly.

    A bilinear surface has no extreme inside a lattice square, only saddles. So over a cell the
    extremes lie on the cell's edges or at the nodes inside it.

    Parameters
    ----------
    heights : float64 array, shape (n, m)
        Nodes; every corner lies at least one square inside the array.
    u, v : float64 array, shape (rows + 1, cols + 1)
        Lattice coordinates of the corners of the cells.
    is_wanted : bool array, shape (rows, cols)
        Cells to do.
    lowest, highest : float64 array, shape (rows, cols)
        Written for wanted cells whose state becomes WHOLLY.
    state : uint8 array, shape (rows, cols)
        Written for wanted cells: NOTHING, PARTLY or WHOLLY.
    """
    rows, cols = is_wanted.shape
    for r in range(rows):
        for c in range(cols):
            if not is_wanted[r, c]:
                continue
            ua, ub, uc, ud = u[r, c], u[r, c + 1], u[r + 1, c + 1], u[r + 1, c]
            va, vb, vc, vd = v[r, c], v[r, c + 1], v[r + 1, c + 1], v[r + 1, c]
            low = math.inf
            high = -math.inf
            known = 0
            unknown = 0
            for _ in range(4):
                low, high, yes, no = _along(heights, ua, va, ub, vb, low, high)
                known += yes
                unknown += no
                ua, ub, uc, ud = ub, uc, ud, ua
                va, vb, vc, vd = vb, vc, vd, va
            for i in range(math.ceil(min(va, vb, vc, vd)), math.floor(max(va, vb, vc, vd)) + 1):
                for j in range(math.ceil(min(ua, ub, uc, ud)), math.floor(max(ua, ub, uc, ud)) + 1):
                    ab = _side(ua, va, ub, vb, j, i)
                    bc = _side(ub, vb, uc, vc, j, i)
                    cd = _side(uc, vc, ud, vd, j, i)
                    da = _side(ud, vd, ua, va, j, i)
                    if min(ab, bc, cd, da) < 0.0 < max(ab, bc, cd, da):
                        continue
                    if math.isnan(heights[i, j]):
                        unknown += 1
                    else:
                        known += 1
                        low = min(low, heights[i, j])
                        high = max(high, heights[i, j])
            if known == 0:
                state[r, c] = NOTHING
            elif unknown > 0:
                state[r, c] = PARTLY
            else:
                state[r, c] = WHOLLY
                lowest[r, c] = low
                highest[r, c] = high


@compiled
def bound_places(
    heights: Array,
    is_inside: Any,
    u: Array,
    v: Array,
    cells: Any,
    reach: float,
    is_covered: Any,
    lowest: Array,
    highest: Array,
) -> None:
    """Bound the surface of one model at places in each cell, where it is known.

    Each place is bounded by the four nodes round it, which bound the bilinear surface of the whole
    square.

    Parameters
    ----------
    heights : float64 array, shape (n, m)
        Nodes, those just outside the model repeating its edge or NaN.
    is_inside : bool array, shape (n, m)
        Which nodes belong to the model. A place counts when its nearest node does: so the model
        reaches half a square beyond its outer nodes, where these are repeated.
    u, v : float64 array, shape (rows + 1, cols + 1)
        Lattice coordinates of the corners of the cells.
    cells : int64 array, shape (k, 2)
        Rows and columns of the cells to do.
    reach : float
        How far beyond the cell's edges the places go, in lengths of an edge.
    is_covered : bool array, shape (k, n + 1, n + 1)
        Places of each cell, evenly over it and its surroundings; set where a height is known.
    lowest, highest : float64 array, shape (k,)
        Bounds, widened in place.
    """
    count = is_covered.shape[1] - 1
    for k in range(cells.shape[0]):
        r = cells[k, 0]
        c = cells[k, 1]
        for a in range(count + 1):
            p = a / count * (1.0 + 2.0 * reach) - reach
            for b in range(count + 1):
                q = b / count * (1.0 + 2.0 * reach) - reach
                x = (u[r, c] * (1.0 - q) + u[r, c + 1] * q) * (1.0 - p)
                x += (u[r + 1, c] * (1.0 - q) + u[r + 1, c + 1] * q) * p
                y = (v[r, c] * (1.0 - q) + v[r, c + 1] * q) * (1.0 - p)
                y += (v[r + 1, c] * (1.0 - q) + v[r + 1, c + 1] * q) * p
                i = math.floor(y)
                j = math.floor(x)
                if not is_inside[math.floor(y + 0.5), math.floor(x + 0.5)]:
                    continue
                nw, ne = heights[i, j], heights[i, j + 1]
                sw, se = heights[i + 1, j], heights[i + 1, j + 1]
                if math.isnan(nw + ne + sw + se):
                    continue
                is_covered[k, a, b] = True
                lowest[k] = min(lowest[k], nw, ne, sw, se)
                highest[k] = max(highest[k], nw, ne, sw, se)
