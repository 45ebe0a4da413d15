"""A route as points flown: one for every cell that it crosses, and the turns at its points."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.geodesy import LocalFrame
from areaplan.grid import Float64Array, Grid
from areaplan.planning.flown import Course
from areaplan.planning.gates import LonLat

# Half of a heading's step: no step between two tracks is left out.
TURN_STEP_DEG: Final = 7.5
# From here on nobody knows which way round: tracks all round are taken.
EITHER_WAY_DEG: Final = 150.0
_SHORTEST_M: Final = 1e-6  # a touch of a corner, not a crossing


@frozen(eq=False)
class RouteCourse:
    """A route cut at the edges of cells; arrays of shape (n,), in the order flown.

    Attributes
    ----------
    course : Course
        The middle of each piece, in one cell with one track; and at each point where the route
        bends the tracks between the two legs.
    length_m : float64 array
        Of each piece; 0 for the tracks of a bend.
    begin_m : float64 array
        Distance along the route to where each begins.
    """

    course: Course
    length_m: Float64Array
    begin_m: Float64Array

    @property
    def total_m(self) -> float:
        """Length of the route."""
        return float(self.length_m.sum())


def route_course(
    points: Sequence[LonLat], altitude_amsl_m: float, grid: Grid, frame: LocalFrame
) -> RouteCourse:
    """Cut a route at the edges of the cells that it crosses.

    Within a cell all answers are the same, and so is the track along a leg: what holds at every
    piece's middle holds all along (on the very edge of two cells either answer does: each holds for
    its whole square, edges included). Legs are straight in the local frame. At a bend the tracks
    between both legs are flown over its point, the shorter way round (either way where the route
    nearly doubles back); the ground that a real turn takes is not.

    Parameters
    ----------
    points : sequence of (float, float)
        Longitude and latitude, degrees; two or more, each apart from the one before.
    altitude_amsl_m : float
    grid : Grid
        Also beyond its edges legs are cut in steps of a cell.
    frame : LocalFrame
    """
    lon, lat = zip(*points, strict=True)
    x_m, y_m = (np.asarray(values, dtype=np.float64) for values in frame.to_local(lon, lat))
    corners = list(zip(x_m.tolist(), y_m.tolist(), strict=True))
    parts: list[Float64Array] = []
    along_m = 0.0
    before_deg: float | None = None
    for begin, end in pairwise(corners):
        track_deg = math.degrees(math.atan2(end[0] - begin[0], end[1] - begin[1])) % 360.0
        if before_deg is not None:
            rows = [(*begin, track, 0.0, along_m) for track in _between(before_deg, track_deg)]
            parts.append(np.array(rows).reshape(-1, 5))
        parts.append(_leg(begin, end, track_deg, along_m, grid))
        along_m += math.dist(begin, end)
        before_deg = track_deg
    x, y, track, length_m, begin_m = np.concatenate(parts).T
    return RouteCourse(
        Course(x, y, np.full(x.shape, altitude_amsl_m), track),
        np.ascontiguousarray(length_m),
        np.ascontiguousarray(begin_m),
    )


def _leg(
    begin: tuple[float, float],
    end: tuple[float, float],
    track_deg: float,
    along_m: float,
    grid: Grid,
) -> Float64Array:
    """Rows of x, y, track, length and distance along, one for each cell crossed."""
    (x0, y0), (x1, y1) = begin, end
    length_m = math.dist(begin, end)
    cuts = [0.0, 1.0]
    cuts += _crossings(x0, x1, grid.x_min_m, grid.cell_m)
    cuts += _crossings(y0, y1, grid.y_max_m, grid.cell_m)
    at = np.unique(cuts)
    kept = np.diff(at) * length_m > _SHORTEST_M
    share, middle, first = np.diff(at)[kept], ((at[1:] + at[:-1]) / 2.0)[kept], at[:-1][kept]
    return np.column_stack(
        [
            x0 + (x1 - x0) * middle,
            y0 + (y1 - y0) * middle,
            np.full(middle.shape, track_deg),
            share * length_m,
            along_m + first * length_m,
        ]
    )


def _crossings(low: float, high: float, origin: float, cell_m: float) -> Iterator[float]:
    """Where between 0 and 1 a straight line crosses the lines of the grid along one axis."""
    if low == high:
        return
    first, last = sorted([(low - origin) / cell_m, (high - origin) / cell_m])
    for number in range(math.ceil(first), math.floor(last) + 1):
        share = (origin + number * cell_m - low) / (high - low)
        if 0.0 < share < 1.0:
            yield share


def _between(before_deg: float, after_deg: float) -> Float64Array:
    """Tracks of a turn from one track to another, both ends included."""
    turn_deg = (after_deg - before_deg + 180.0) % 360.0 - 180.0
    if abs(turn_deg) > EITHER_WAY_DEG:
        return np.arange(0.0, 360.0, TURN_STEP_DEG)
    count = max(2, math.ceil(abs(turn_deg) / TURN_STEP_DEG) + 1)
    return np.asarray((before_deg + np.linspace(0.0, turn_deg, count)) % 360.0)
