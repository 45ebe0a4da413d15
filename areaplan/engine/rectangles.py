"""Rectangles on the ground: fields, and the blocks of land that roads enclose.

A shape counts as a rectangle where it fills most of the smallest rectangle round it, and the
sides of that rectangle are as long as a manoeuvre wants them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.engine._block_kernels import faces_of_area, least_rectangles
from areaplan.engine.line_network import LineNetwork
from areaplan.grid import Float64Array

# Our choice: a right-angled block with a corner cut off that is half of each side long fills 7/8.
LEAST_FILL_SHARE: Final = 0.85


@frozen(eq=False)
class Rectangles:
    """Rectangles, in the order of the shapes that they stand for.

    Attributes
    ----------
    corners_xy_m : float64 array, shape (rectangles, 4, 2)
        Counter-clockwise, local metres; the first is the westernmost, of two the southern one.
    length_m, width_m : float64 arrays, shape (rectangles,)
        The longer and the shorter side.
    direction_deg_grid : float64 array, shape (rectangles,)
        Of the longer side, clockwise from grid north, from 0 to below 180.
    fill_share : float64 array, shape (rectangles,)
        Area of the shape over that of the rectangle.
    shape : int64 array, shape (rectangles,)
        Position of the shape among those given; of blocks their number.
    first_line : int64 array, shape (rectangles + 1,)
    lines : int64 array
        Of blocks, the lines round them, as in `StraightRuns`, ascending; empty for other shapes.
    """

    corners_xy_m: Float64Array
    length_m: Float64Array
    width_m: Float64Array
    direction_deg_grid: Float64Array
    fill_share: Float64Array
    shape: NDArray[np.int64]
    first_line: NDArray[np.int64]
    lines: NDArray[np.int64]

    def __len__(self) -> int:
        """Count of rectangles."""
        return int(self.length_m.size)


def rectangles_among(
    polygons: Sequence[BaseGeometry],
    shortest_side_m: float,
    longest_side_m: float,
    *,
    least_fill_share: float = LEAST_FILL_SHARE,
) -> Rectangles:
    """Polygons that are nearly rectangles.

    Parameters
    ----------
    polygons : sequence of Polygon or MultiPolygon
        Local metres. Several parts count as one shape; holes are taken off its area.
    shortest_side_m, longest_side_m : float
        Range of both sides of the rectangle, metres, above 0.
    least_fill_share : float
        From above 0 to 1.

    Raises
    ------
    ValueError
        A limit out of its range.
    """
    _check(shortest_side_m, longest_side_m, least_fill_share)
    shapes: NDArray[Any] = np.empty(len(polygons), dtype=object)
    shapes[:] = list(polygons)
    found = _fitted(
        shapes,
        np.asarray(shapely.area(shapes), dtype=np.float64),
        shortest_side_m,
        longest_side_m,
        least_fill_share,
    )
    none = np.zeros(0, dtype=np.int64)
    return Rectangles(*found, first_line=np.zeros(found[-1].size + 1, dtype=np.int64), lines=none)


def rectangular_blocks(
    network: LineNetwork,
    shortest_side_m: float,
    longest_side_m: float,
    *,
    least_fill_share: float = LEAST_FILL_SHARE,
) -> Rectangles:
    """Blocks of land, enclosed by lines and not divided by any, that are nearly rectangles.

    Parameters, errors as in `rectangles_among`. Lines that end inside a block stay with it; what
    lies inside without touching its outline is not taken off.
    """
    _check(shortest_side_m, longest_side_m, least_fill_share)
    rounds, first, areas = faces_of_area(
        network.node_xy_m,
        network.edge_nodes,
        _next_round_faces(network),
        least_fill_share * shortest_side_m**2,
        longest_side_m**2,
    )
    face = np.repeat(np.arange(areas.size), np.diff(first))
    corners = network.node_xy_m[network.edge_nodes[rounds // 2, rounds % 2]]
    shapes = np.asarray(shapely.linestrings(corners, indices=face), dtype=object)
    found = _fitted(shapes, areas, shortest_side_m, longest_side_m, least_fill_share)
    kept = found[-1]
    rank = np.full(areas.size, -1, dtype=np.int64)
    rank[kept] = np.arange(kept.size)
    is_kept = rank[face] >= 0
    lines = int(network.edge_line.max(initial=0)) + 1
    pair = np.unique(rank[face[is_kept]] * lines + network.edge_line[rounds[is_kept] // 2])
    first_line = np.zeros(kept.size + 1, dtype=np.int64)
    np.cumsum(np.bincount(pair // lines, minlength=kept.size), out=first_line[1:])
    return Rectangles(*found, first_line=first_line, lines=pair % lines)


def _next_round_faces(network: LineNetwork) -> NDArray[np.int64]:
    """For each half-edge the next one round the face on its left."""
    first, ring, arms = network.first_half_edge, network.half_edges.copy(), network.arms
    node = np.repeat(np.arange(arms.size), arms)
    # Two arms follow one another either way round; only where more meet do directions tell.
    busy = np.flatnonzero(arms[node] > 2)
    near, half = node[busy], ring[busy]
    dx, dy = (
        network.node_xy_m[network.edge_nodes[half // 2, 1 - half % 2]] - network.node_xy_m[near]
    ).T
    ring[busy] = half[np.lexsort((np.arctan2(dy, dx), near))]
    # One arrives against a half-edge and leaves by the next clockwise from it.
    clockwise = np.arange(ring.size) - 1
    begins = first[:-1][arms > 0]
    clockwise[begins] = first[1:][arms > 0] - 1
    following = np.empty(ring.size, dtype=np.int64)
    following[ring ^ 1] = ring[clockwise]
    return following


def _check(shortest_side_m: float, longest_side_m: float, least_fill_share: float) -> None:
    if not 0.0 < shortest_side_m <= longest_side_m < np.inf:
        raise ValueError(
            f"sides from {shortest_side_m} to {longest_side_m} m; expected a range above 0"
        )
    if not 0.0 < least_fill_share <= 1.0:
        raise ValueError(f"least_fill_share is {least_fill_share}; expected above 0, at most 1")


_Found = tuple[
    Float64Array, Float64Array, Float64Array, Float64Array, Float64Array, NDArray[np.int64]
]


def _fitted(
    shapes: NDArray[Any],
    area_m2: Float64Array,
    shortest_side_m: float,
    longest_side_m: float,
    least_fill_share: float,
) -> _Found:
    """The first six values of `Rectangles`, of the shapes that pass."""
    hulls = np.asarray(shapely.convex_hull(shapes), dtype=object)
    candidates = np.flatnonzero(shapely.get_dimensions(hulls) == 2)
    xy, ring = shapely.get_coordinates(hulls[candidates], return_index=True)
    first = np.searchsorted(ring, np.arange(candidates.size + 1)).astype(np.int64)
    middle_x, middle_y, ux, uy, half, other = least_rectangles(xy, first).T
    swap = other > half
    ux, uy = np.where(swap, -uy, ux), np.where(swap, ux, uy)
    half, other = np.where(swap, other, half), np.where(swap, half, other)
    share = area_m2[candidates] / (4.0 * half * other)
    is_good = (2.0 * other >= shortest_side_m) & (2.0 * half <= longest_side_m)
    is_good &= share >= least_fill_share
    corners = np.stack(
        [
            np.stack([middle_x + a * half * ux - b * other * uy for a, b in _SIGNS], axis=1),
            np.stack([middle_y + a * half * uy + b * other * ux for a, b in _SIGNS], axis=1),
        ],
        axis=2,
    )[is_good]
    lead = np.lexsort((corners[:, :, 1], np.round(corners[:, :, 0], 3)), axis=1)[:, :1]
    turned = np.take_along_axis(corners, ((lead + np.arange(4)) % 4)[:, :, np.newaxis], axis=1)
    direction = np.degrees(np.arctan2(ux, uy)) % 180.0
    direction[direction == 180.0] = 0.0
    return (
        turned,
        2.0 * half[is_good],
        2.0 * other[is_good],
        direction[is_good],
        share[is_good],
        candidates[is_good].astype(np.int64),
    )


_SIGNS: Final = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
