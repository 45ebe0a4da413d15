"""Straight runs in line work: what a pilot can see from the air as one straight line.

The edges of a network are first strung into paths: two arms at a node go on into one another
unless they make a corner, and where more meet, those with the least bend do, so that a road runs
on through its crossings and from one feature of the file into the next. On a path a run is a
stretch from vertex to vertex that fits into a straight band, as wide as twice the tolerance, and
that no further vertex of the path would fit into. The longest is taken first, then the longest of
what remains, and so on: runs of one path do not overlap.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine._straight_run_kernels import (
    bands_over,
    farthest_ends,
    longest_runs,
    pair_arms,
    paths_of,
)
from areaplan.engine.line_network import LineNetwork
from areaplan.grid import Float64Array

# Our choices. A line 15 m off its straight is half a wide road's reserve, seen from the heights at
# which ground reference is flown.
TOLERANCE_M: Final = 15.0
GREATEST_BEND_DEG: Final = 30.0
# Two arms part where their line bends by more than the greatest bend and, seen from some way off,
# turns by more than this: a corner, and no wobble of the pen.
SHARPEST_TURN_DEG: Final = 60.0
_LOOKS_PER_TOLERANCE: Final = 2.0  # how far an arm is looked along for its direction
_ROUNDING_M: Final = 1e-3  # far above rounding in the sum of all lengths of a county


@frozen(eq=False)
class StraightRuns:
    """Straight runs, longest first.

    Attributes
    ----------
    start_xy_m, end_xy_m : float64 arrays, shape (runs, 2)
        Ends of the run on the middle line of the narrowest band over its vertices, local metres;
        the start is the western end, of a run due north the southern one.
    length_m : float64 array, shape (runs,)
        Distance between them.
    off_straight_m : float64 array, shape (runs,)
        Farthest that any vertex of the run lies from the middle line: half the band.
    first_line : int64 array, shape (runs + 1,)
    lines : int64 array
        Run i is made of the lines lines[first_line[i]:first_line[i + 1]], by their positions in
        what the network was made of, the one with the greatest share first.
    """

    start_xy_m: Float64Array
    end_xy_m: Float64Array
    length_m: Float64Array
    off_straight_m: Float64Array
    first_line: NDArray[np.int64]
    lines: NDArray[np.int64]

    def __len__(self) -> int:
        """Count of runs."""
        return int(self.length_m.size)


def straight_runs(
    network: LineNetwork,
    least_length_m: float,
    *,
    tolerance_m: float = TOLERANCE_M,
    greatest_bend_deg: float = GREATEST_BEND_DEG,
) -> StraightRuns:
    """Find the straight runs of a network.

    Parameters
    ----------
    network : LineNetwork
    least_length_m : float
        Shortest run wanted, metres, above 0.
    tolerance_m : float
        Farthest that a vertex may lie from the run's straight line, metres, at least 0.
    greatest_bend_deg : float
        Where three or more arms meet, two of them are one line only if it bends no more than
        this, degrees from 0 to 90.

    Returns
    -------
    StraightRuns
        A run ends at a vertex, so that it may be shorter than the straight by a part of the edge
        beyond. The answer depends neither on the order nor on the direction of the lines, except
        where two choices are equally long or bent.

    Raises
    ------
    ValueError
        A limit outside its range.

    References
    ----------
    The band is the width of a point set: Houle and Toussaint (1988), "Computing the width of a
    set", IEEE Transactions on Pattern Analysis and Machine Intelligence 10, 761-765. Stringing
    edges by the least bend is common practice in the study of street networks.
    """
    if not least_length_m > 0.0:
        raise ValueError(f"least_length_m is {least_length_m}; expected more than 0")
    if not tolerance_m >= 0.0:
        raise ValueError(f"tolerance_m is {tolerance_m}; expected 0 or more")
    if not 0.0 <= greatest_bend_deg <= 90.0:
        raise ValueError(f"greatest_bend_deg is {greatest_bend_deg}; expected 0 to 90")
    partner = pair_arms(
        network.node_xy_m,
        network.edge_nodes,
        network.first_half_edge,
        network.half_edges,
        _LOOKS_PER_TOLERANCE * tolerance_m,
        float(np.radians(greatest_bend_deg)),
        float(np.radians(SHARPEST_TURN_DEG)),
    )
    nodes, edges, first = paths_of(network.node_xy_m, network.edge_nodes, partner)
    xy = network.node_xy_m[nodes]
    far = _reaches(xy, first, float(tolerance_m), float(least_length_m))
    path, span = longest_runs(xy, far, first, float(least_length_m))
    begin, end = first[path] + span[:, 0], first[path] + span[:, 1]
    run, at = _ranges(begin, end - begin + 1)
    band = _bands(xy[at], run, begin.size)
    middle, unit = band[:, 1:3], band[:, 3:5]
    ends = [
        middle + unit * ((place - middle) * unit).sum(axis=1, keepdims=True)
        for place in (xy[begin], xy[end])
    ]
    run, at = _ranges(begin - path, span[:, 1] - span[:, 0])
    return _in_order(network, ends, band[:, 0], (run, edges[at]), least_length_m)


def straight_fit(xy_m: Float64Array) -> tuple[Float64Array, float]:
    """Straight line along some points, and how far off it they lie.

    Parameters
    ----------
    xy_m : float64 array, shape (n, 2)
        At least two points, not all the same, local metres.

    Returns
    -------
    ends_xy_m : float64 array, shape (2, 2)
        Feet of the first and the last point on the middle line of the narrowest band over all.
    off_straight_m : float
        Half the width of that band, metres.

    Raises
    ------
    ValueError
        Fewer than two different points, or one that is not finite.
    """
    if not np.isfinite(xy_m).all() or len(np.unique(xy_m, axis=0)) < 2:
        raise ValueError("the points are fewer than two different ones, or not all finite")
    xy_m = np.asarray(xy_m, dtype=np.float64)
    half, *line = _bands(xy_m, np.zeros(len(xy_m), dtype=np.int64), 1)[0]
    middle, unit = np.array(line[:2]), np.array(line[2:])
    along = (xy_m[[0, -1]] - middle) @ unit
    return middle + along[:, np.newaxis] * unit, float(half)


def _reaches(
    xy_m: Float64Array, first: NDArray[np.int64], tolerance_m: float, least_length_m: float
) -> NDArray[np.int64]:
    """How far along its path each point reaches; on paths too short for a run only to itself."""
    far = np.arange(xy_m.shape[0]) - np.repeat(first[:-1], np.diff(first))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))))
    # A path may count for longer than it is by what rounding adds: then no run is found on it.
    is_long = along[first[1:] - 1] - along[first[:-1]] >= least_length_m - _ROUNDING_M
    for path in np.flatnonzero(is_long).tolist():
        points = slice(first[path], first[path + 1])
        far[points] = farthest_ends(xy_m[points], tolerance_m)
    return far


def _bands(xy_m: Float64Array, group: NDArray[np.int64], groups: int) -> Float64Array:
    """Narrowest band over each group of points: half its width, its middle line, its direction."""
    order = np.lexsort((xy_m[:, 1], xy_m[:, 0], group))
    xy_m, group = xy_m[order], group[order]
    is_new = np.ones(group.size, dtype=np.bool_)
    is_new[1:] = (group[1:] != group[:-1]) | (xy_m[1:] != xy_m[:-1]).any(axis=1)
    first = np.searchsorted(group[is_new], np.arange(groups + 1)).astype(np.int64)
    bands: Float64Array = bands_over(xy_m[is_new], first)
    return bands


def _ranges(
    begin: NDArray[np.int64], count: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Range and position, for every position of ranges that begin somewhere."""
    owner = np.repeat(np.arange(begin.size), count)
    ends = np.cumsum(count)
    return owner, np.arange(int(count.sum())) + np.repeat(begin - (ends - count), count)


def _in_order(
    network: LineNetwork,
    ends: list[Float64Array],
    off_straight_m: Float64Array,
    run_edges: tuple[NDArray[np.int64], NDArray[np.int64]],
    least_length_m: float,
) -> StraightRuns:
    one, other = ends
    is_west = (one[:, 0] < other[:, 0]) | ((one[:, 0] == other[:, 0]) & (one[:, 1] <= other[:, 1]))
    start = np.where(is_west[:, np.newaxis], one, other)
    end = np.where(is_west[:, np.newaxis], other, one)
    length = np.hypot(*(end - start).T)
    order = np.lexsort((start[:, 1], start[:, 0], -length))
    order = order[length[order] >= least_length_m]
    first_line, lines = _lines_of(network, run_edges, order, length.size)
    return StraightRuns(
        start[order], end[order], length[order], off_straight_m[order], first_line, lines
    )


def _lines_of(
    network: LineNetwork,
    run_edges: tuple[NDArray[np.int64], NDArray[np.int64]],
    order: NDArray[np.intp],
    runs: int,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Lines of each run in the new order, the one with the greatest share first."""
    run, edge = run_edges
    rank = np.full(runs, -1, dtype=np.int64)
    rank[order] = np.arange(order.size)
    run = rank[run]
    edge, run = edge[run >= 0], run[run >= 0]
    share = np.hypot(*np.diff(network.node_xy_m[network.edge_nodes[edge]], axis=1)[:, 0].T)
    line = network.edge_line[edge]
    lines = int(network.edge_line.max(initial=0)) + 1
    pair, back = np.unique(run * lines + line, return_inverse=True)
    total = np.bincount(back, share, minlength=pair.size)
    sorting = np.lexsort((pair % lines, -total, pair // lines))
    first = np.zeros(order.size + 1, dtype=np.int64)
    np.cumsum(np.bincount(pair // lines, minlength=order.size), out=first[1:])
    return first, pair[sorting] % lines
