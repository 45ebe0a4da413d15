"""Places that a pilot can turn round: crossings, things that stand alone, and pairs of them."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.line_network import LineNetwork, groups
from areaplan.grid import BoolArray, Float64Array


@frozen(eq=False)
class Crossings:
    """Places where at least three arms of lines meet.

    Attributes
    ----------
    xy_m : float64 array, shape (crossings, 2)
        Local metres, from west to east, then from south to north.
    arms : int64 array, shape (crossings,)
        The most arms that meet in one place of the crossing.
    first_line : int64 array, shape (crossings + 1,)
    lines : int64 array
        The lines that meet there, as in `StraightRuns`, ascending.
    """

    xy_m: Float64Array
    arms: NDArray[np.int64]
    first_line: NDArray[np.int64]
    lines: NDArray[np.int64]

    def __len__(self) -> int:
        """Count of crossings."""
        return int(self.arms.size)


def crossings(network: LineNetwork, *, one_within_m: float, least_arms: int = 3) -> Crossings:
    """Crossings of a network; those near one another are one, such as on a dual carriageway.

    Parameters
    ----------
    network : LineNetwork
    one_within_m : float
        Places with at least `least_arms` arms no farther apart are one crossing, and so is a chain
        of them. It lies at the place nearest to the middle of its places. Metres, at least 0.
    least_arms : int
        At least 3.

    Raises
    ------
    ValueError
        A limit out of its range.
    """
    if not one_within_m >= 0.0:
        raise ValueError(f"one_within_m is {one_within_m}; expected 0 or more")
    if least_arms < 3:
        raise ValueError(f"least_arms is {least_arms}; expected 3 or more")
    nodes = np.flatnonzero(network.arms >= least_arms)
    xy, arms = network.node_xy_m[nodes], network.arms[nodes]
    points: Any = shapely.points(xy)
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=one_within_m)
    _, group = np.unique(groups(nodes.size, one, other), return_inverse=True)
    count = int(group.max(initial=-1)) + 1
    sizes = np.bincount(group, minlength=count)
    middle = np.stack([np.bincount(group, part, minlength=count) / sizes for part in xy.T], axis=1)
    off = np.hypot(*(xy - middle[group]).T)
    nearest = np.lexsort((xy[:, 1], xy[:, 0], off, group))
    lead = nearest[np.searchsorted(group[nearest], np.arange(count))]
    most = np.zeros(count, dtype=np.int64)
    np.maximum.at(most, group, arms)
    order = np.lexsort((xy[lead, 1], xy[lead, 0]))
    rank = np.empty(count, dtype=np.int64)
    rank[order] = np.arange(count)
    first_line, lines = _lines_at(network, nodes, rank[group], count)
    return Crossings(xy[lead[order]], most[order], first_line, lines)


def _lines_at(
    network: LineNetwork, nodes: NDArray[np.intp], group: NDArray[np.int64], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Lines that meet at the nodes of each group, ascending."""
    owned = network.arms[nodes]
    ends = np.cumsum(owned)
    at = np.arange(int(owned.sum())) + np.repeat(
        network.first_half_edge[nodes] - (ends - owned), owned
    )
    line = network.edge_line[network.half_edges[at] // 2]
    most = int(network.edge_line.max(initial=0)) + 1
    pair = np.unique(np.repeat(group, owned) * most + line)
    first = np.zeros(count + 1, dtype=np.int64)
    np.cumsum(np.bincount(pair // most, minlength=count), out=first[1:])
    return first, pair % most


def stands_alone(
    points_xy_m: Float64Array, others_xy_m: Float64Array, least_apart_m: float
) -> BoolArray:
    """Which points have none of the others within a distance.

    Parameters
    ----------
    points_xy_m : float64 array, shape (n, 2)
        Local metres.
    others_xy_m : float64 array, shape (m, 2)
        Everything that could be mistaken for them; the points themselves may be among these: what
        lies in the very place of a point does not count.
    least_apart_m : float
        Metres, at least 0; something exactly as far away is within.

    Returns
    -------
    bool array, shape (n,)

    Raises
    ------
    ValueError
        `least_apart_m` is negative.
    """
    if not least_apart_m >= 0.0:
        raise ValueError(f"least_apart_m is {least_apart_m}; expected 0 or more")
    is_alone = np.ones(len(points_xy_m), dtype=np.bool_)
    if len(points_xy_m) == 0 or len(others_xy_m) == 0:
        return is_alone
    points: Any = shapely.points(points_xy_m)
    others: Any = shapely.points(others_xy_m)
    tree = shapely.STRtree(others)
    # The nearest that is not in the very place; all of them where several are as near.
    at, _ = tree.query_nearest(
        points, max_distance=np.nextafter(least_apart_m, np.inf), exclusive=True
    )
    is_alone[at] = False
    return is_alone


def pairs_apart(
    points_xy_m: Float64Array,
    nearest_m: float,
    farthest_m: float,
    *,
    clear_within_m: float | None = None,
    most_partners: int | None = None,
) -> NDArray[np.int64]:
    """Pairs of points whose distance lies in a range.

    Parameters
    ----------
    points_xy_m : float64 array, shape (n, 2)
        Local metres.
    nearest_m, farthest_m : float
        Least and greatest distance, metres, above 0.
    clear_within_m : float, optional
        Where given, no other of the points may lie within this distance of the straight between
        the two, metres.
    most_partners : int, optional
        Where given, a pair counts only if one of the two is among so many nearest partners of the
        other, after everything else: it keeps dense country from giving every pair there is.

    Returns
    -------
    int64 array, shape (pairs, 2)
        Positions, the lower one first, in ascending order.

    Raises
    ------
    ValueError
        A limit out of its range.
    """
    if not 0.0 < nearest_m <= farthest_m < np.inf:
        raise ValueError(f"distances from {nearest_m} to {farthest_m} m; expected a range above 0")
    if clear_within_m is not None and not clear_within_m >= 0.0:
        raise ValueError(f"clear_within_m is {clear_within_m}; expected 0 or more")
    if most_partners is not None and most_partners < 1:
        raise ValueError(f"most_partners is {most_partners}; expected 1 or more")
    if len(points_xy_m) < 2:
        return np.empty((0, 2), dtype=np.int64)
    points: Any = shapely.points(points_xy_m)
    tree = shapely.STRtree(points)
    one, other = tree.query(points, predicate="dwithin", distance=farthest_m)
    pairs = np.stack([one, other], axis=1)[one < other]
    apart_m = np.hypot(*(points_xy_m[pairs[:, 0]] - points_xy_m[pairs[:, 1]]).T)
    pairs = pairs[(apart_m >= nearest_m) & (apart_m <= farthest_m)]
    pairs = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))].astype(np.int64)
    if clear_within_m is not None and len(pairs):
        between = shapely.linestrings(points_xy_m[pairs])
        pair, near = tree.query(between, predicate="dwithin", distance=clear_within_m)
        is_third = (near != pairs[pair, 0]) & (near != pairs[pair, 1])
        is_clear = np.ones(len(pairs), dtype=np.bool_)
        is_clear[pair[is_third]] = False
        pairs = pairs[is_clear]
    if most_partners is not None and len(pairs):
        pairs = pairs[_is_among_nearest(points_xy_m, pairs, most_partners)]
    return np.ascontiguousarray(pairs)


def _is_among_nearest(
    points_xy_m: Float64Array, pairs: NDArray[np.int64], most_partners: int
) -> BoolArray:
    apart_m = np.hypot(*(points_xy_m[pairs[:, 0]] - points_xy_m[pairs[:, 1]]).T)
    point = pairs.T.ravel()
    order = np.lexsort((np.tile(apart_m, 2), point))
    begins = np.searchsorted(point[order], point[order])
    is_near = np.empty(point.size, dtype=np.bool_)
    is_near[order] = np.arange(point.size) - begins < most_partners
    one_is_near, other_is_near = is_near.reshape(2, -1)
    return one_is_near | other_is_near
