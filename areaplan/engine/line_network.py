"""Line work of any making as one network: nodes where lines meet, and straight edges between.

Files break a road into features at parish boundaries and bridges, leave gaps of decimetres at
junctions, and cross other roads without a common vertex. Here all that is mended once, so that
straight runs, crossings and blocks of land can be read off the same network.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.engine._network_kernels import meetings, number_places
from areaplan.grid import BoolArray, Float64Array

# Ends nearer than this are one place: what two people digitise of one junction (our choice).
JOIN_M: Final = 1.0
_DECIMALS: Final = 3  # places are told apart to the millimetre
_PIECE_SEGMENTS: Final = 16  # segments whose box is looked up at once


@frozen(eq=False)
class LineNetwork:
    """Nodes and the straight edges that join them.

    Attributes
    ----------
    node_xy_m : float64 array, shape (nodes, 2)
        Local metres.
    edge_nodes : int64 array, shape (edges, 2)
        The two nodes of each edge, never the same; no two edges join the same two nodes.
    edge_line : int64 array, shape (edges,)
        Line, by its position in what was given, that the edge is a part of; where several run over
        it, the first.
    first_half_edge : int64 array, shape (nodes + 1,)
    half_edges : int64 array, shape (2 edges,)
        Node n is left by half_edges[first_half_edge[n]:first_half_edge[n + 1]]; half-edge 2 e
        leaves the first node of edge e, 2 e + 1 the second.
    """

    node_xy_m: Float64Array
    edge_nodes: NDArray[np.int64]
    edge_line: NDArray[np.int64]
    first_half_edge: NDArray[np.int64]
    half_edges: NDArray[np.int64]

    @property
    def arms(self) -> NDArray[np.int64]:
        """Count of edges at each node, shape (nodes,)."""
        return np.diff(self.first_half_edge)

    @classmethod
    def from_lines(cls, lines: Sequence[BaseGeometry], *, join_m: float = JOIN_M) -> LineNetwork:
        """Join lines where they meet.

        Coordinates are rounded to the millimetre. Lines are joined where they share a vertex, where
        their ends lie within `join_m`, where a loose end lies within `join_m` of another line (the
        end is moved on to it), and where two cross, whether on a level or on a bridge: from the air
        both are crossings.

        Parameters
        ----------
        lines : sequence of LineString or MultiLineString
            Local metres; parts of no length are passed over.
        join_m : float
            Metres, at least 0.

        Raises
        ------
        ValueError
            A geometry is not a line, a coordinate is not finite, or `join_m` is negative.
        """
        if not join_m >= 0.0:
            raise ValueError(f"join_m is {join_m}; expected 0 or more")
        xy, part, line_of_part = _vertices(lines)
        xy = _ends_joined(xy, part, join_m)
        xy, part = _met(xy, part, join_m)
        place, count = _places(xy)
        node_xy = np.empty((count, 2))
        node_xy[place] = xy
        is_edge = (part[1:] == part[:-1]) & (place[1:] != place[:-1])
        edge_nodes = np.stack([place[:-1], place[1:]], axis=1)[is_edge]
        edge_line = line_of_part[part[1:][is_edge]]
        key = edge_nodes.min(axis=1) * count + edge_nodes.max(axis=1)
        chosen = np.sort(np.unique(key, return_index=True)[1])
        edge_nodes = np.ascontiguousarray(edge_nodes[chosen])
        return cls._of_edges(node_xy, edge_nodes, edge_line[chosen])

    def made_of(self, is_line: BoolArray) -> LineNetwork:
        """The part of the network that some of the lines make.

        Parameters
        ----------
        is_line : bool array, shape (lines,)
            True for the lines wanted, by their positions in what the network was made of.
        """
        is_edge = is_line[self.edge_line]
        return self._of_edges(
            self.node_xy_m, np.ascontiguousarray(self.edge_nodes[is_edge]), self.edge_line[is_edge]
        )

    @classmethod
    def _of_edges(
        cls,
        node_xy_m: Float64Array,
        edge_nodes: NDArray[np.int64],
        edge_line: NDArray[np.int64],
    ) -> LineNetwork:
        leaves = edge_nodes.ravel()  # half-edge h leaves leaves[h]
        first = np.zeros(len(node_xy_m) + 1, dtype=np.int64)
        np.cumsum(np.bincount(leaves, minlength=len(node_xy_m)), out=first[1:])
        half = np.argsort(leaves, kind="stable")
        return cls(node_xy_m, edge_nodes, edge_line, first, half)


def _vertices(
    lines: Sequence[BaseGeometry],
) -> tuple[Float64Array, NDArray[np.int64], NDArray[np.int64]]:
    """Vertices, the part that each belongs to, and the line of each part."""
    array: NDArray[Any] = np.empty(len(lines), dtype=object)
    array[:] = list(lines)
    wrong = np.flatnonzero(shapely.get_dimensions(array) != 1)
    if wrong.size:
        raise ValueError(f"geometry {int(wrong[0])} is not a line")
    parts, owner = shapely.get_parts(array, return_index=True)
    xy, part = shapely.get_coordinates(parts, return_index=True)
    xy = np.round(xy, _DECIMALS)
    if not np.isfinite(xy).all():
        bad = int(owner[part[np.argmax(~np.isfinite(xy).all(axis=1))]])
        raise ValueError(f"line {bad} has a coordinate that is not finite")
    is_new = np.ones(len(xy), dtype=np.bool_)
    is_new[1:] = (part[1:] != part[:-1]) | (xy[1:] != xy[:-1]).any(axis=1)
    return (
        np.ascontiguousarray(xy[is_new]),
        part[is_new].astype(np.int64),
        owner.astype(np.int64),
    )


def _places(xy: Float64Array) -> tuple[NDArray[np.int64], int]:
    """Number of the place of each of some finite points, in order of appearance, and how many."""
    place, count = number_places((xy + 0.0).view(np.uint64))  # adding 0.0 turns -0.0 into 0.0
    return place, count


def _ends_joined(xy: Float64Array, part: NDArray[np.int64], join_m: float) -> Float64Array:
    """Move ends that lie within `join_m` to the busiest place among them."""
    is_end = np.ones(len(xy), dtype=np.bool_)
    is_end[1:-1] = (part[1:-1] != part[:-2]) | (part[1:-1] != part[2:])
    ends = np.flatnonzero(is_end)
    if ends.size < 2:
        return xy
    place, count = _places(xy)
    uses = np.bincount(place, minlength=count)
    is_passed = np.bincount(place[~is_end], minlength=count) > 0
    places, first = np.unique(place[ends], return_index=True)
    points: Any = shapely.points(xy[ends[first]])
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=join_m)
    is_gap = one < other
    group = groups(places.size, one[is_gap], other[is_gap])
    where = xy[ends[first]]
    order = np.lexsort((where[:, 1], where[:, 0], -uses[places], ~is_passed[places], group))
    _, leads = np.unique(group[order], return_index=True)
    lead = np.empty(places.size, dtype=np.int64)
    lead[group[order][leads]] = order[leads]
    free = ends[~is_passed[place[ends]]]  # the others lie on a line already, and stay there
    moved = xy.copy()
    moved[free] = where[lead[group[np.searchsorted(places, place[free])]]]
    return moved


def groups(count: int, one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.int64]:
    """Lowest member of the group of each of `count` things, some pairs of which belong together.

    Parameters
    ----------
    count : int
    one, other : int64 arrays of one shape
        Pairs that belong to one group.
    """
    lowest = np.arange(count, dtype=np.int64)
    while True:
        before = lowest.copy()
        np.minimum.at(lowest, one, lowest[other])
        np.minimum.at(lowest, other, lowest[one])
        lowest = lowest[lowest]
        if np.array_equal(lowest, before):
            return lowest


def _met(
    xy: Float64Array, part: NDArray[np.int64], join_m: float
) -> tuple[Float64Array, NDArray[np.int64]]:
    """Put a vertex into every line where another meets it, and move loose ends on to lines."""
    place, count = _places(xy)
    start = np.flatnonzero(part[1:] == part[:-1])  # vertex at which each segment starts
    if start.size < 2:
        return xy, part
    segments = np.hstack([xy[start], xy[start + 1]])
    ends = np.stack([place[start], place[start + 1]], axis=1)
    uses = np.bincount(ends.ravel(), minlength=count)
    pieces, pairs = _near_pieces(segments, part[start], join_m)
    capacity = 4 * start.size
    while True:
        who, values, is_crossing, met = meetings(
            segments, ends, uses, pieces, pairs, join_m, capacity
        )
        if met <= capacity:
            break
        capacity = met
    who, values, is_crossing = who[:met], values[:met], is_crossing[:met]
    # A loose end goes to the nearest of the lines within reach, and to no other.
    touch = np.flatnonzero(~is_crossing)
    touch = touch[np.lexsort((values[touch, 0], who[touch, 0], values[touch, 3], who[touch, 1]))]
    is_loose = uses[who[touch, 1]] == 1
    is_first = np.ones(touch.size, dtype=np.bool_)
    is_first[1:] = who[touch[1:], 1] != who[touch[:-1], 1]
    touch = touch[~is_loose | is_first]
    moving = touch[uses[who[touch, 1]] == 1]
    target = np.full((count, 2), np.nan)
    target[who[moving, 1]] = values[moving, 1:3]
    to = target[place]
    xy = np.where(np.isnan(to), xy, to)
    kept = np.concatenate([np.flatnonzero(is_crossing), touch])
    at = start[who[kept, 0]]
    order = np.lexsort((values[kept, 0], at))
    kept, at = kept[order], at[order]
    return np.insert(xy, at + 1, values[kept, 1:3], axis=0), np.insert(part, at + 1, part[at])


def _near_pieces(
    segments: Float64Array, part: NDArray[np.int64], join_m: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Short pieces of the lines, and the pairs of them (each with itself too) whose boxes meet."""
    first_of_part = np.flatnonzero(np.diff(part, prepend=-1))
    rank = np.arange(part.size) - np.repeat(first_of_part, np.diff([*first_of_part, part.size]))
    first = np.flatnonzero(rank % _PIECE_SEGMENTS == 0)
    low = np.minimum(segments[:, :2], segments[:, 2:])
    high = np.maximum(segments[:, :2], segments[:, 2:])
    west, south = np.minimum.reduceat(low, first).T - join_m
    east, north = np.maximum.reduceat(high, first).T + join_m
    boxes = shapely.box(west, south, east, north)
    one, other = shapely.STRtree(boxes).query(boxes)
    pieces = np.stack([first, np.append(first[1:], part.size)], axis=1)
    pairs = np.stack([one, other], axis=1)[one <= other]
    return pieces.astype(np.int64), np.ascontiguousarray(pairs, dtype=np.int64)
