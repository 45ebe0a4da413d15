"""Slow twins of `areaplan.engine.standoff`: one shapely geometry against one square at a time.

Nothing here shares code with the engine: distances and containment come from GEOS, by way of
shapely, whose polygons, lines and points are the ones that the features were made of.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.grid import Grid


def squares(grid: Grid) -> NDArray[np.object_]:
    """The square of every cell, shape (rows, cols)."""
    west = grid.x_min_m + np.arange(grid.cols) * grid.cell_m
    north = grid.y_max_m - np.arange(grid.rows) * grid.cell_m
    west_m, north_m = np.meshgrid(west, north)
    return shapely.box(west_m, north_m - grid.cell_m, west_m + grid.cell_m, north_m)


def distances_m(grid: Grid, geometries: Sequence[BaseGeometry]) -> NDArray[np.float64]:
    """Distance of every cell's square to every geometry, shape (geometries, rows, cols)."""
    cells = squares(grid)
    empty = np.empty((0, *grid.shape))
    return np.stack([shapely.distance(cells, g) for g in geometries]) if geometries else empty


def floor_m(
    distance_m: NDArray[np.float64],
    tops_m: Sequence[float],
    spreads_m: Sequence[float],
    radius_m: float,
    height_m: float,
    profile: str,
    is_radius_inclusive: bool,
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Floor and feature of every cell, by looking at each pair of cell and feature in turn."""
    shape = distance_m.shape[1:]
    floor, feature = np.full(shape, -math.inf), np.full(shape, -1, dtype=np.int32)
    for cell in np.ndindex(*shape):
        for index, (top_m, spread_m) in enumerate(zip(tops_m, spreads_m, strict=True)):
            d_m = max(0.0, distance_m[index][cell] - spread_m)
            if profile == "slant":
                value_m = top_m + math.sqrt(radius_m**2 - d_m**2) if d_m < radius_m else None
            else:
                is_near = d_m <= radius_m if is_radius_inclusive else d_m < radius_m
                value_m = top_m + height_m if is_near else None
            if value_m is None or math.isnan(floor[cell]):
                continue
            if math.isnan(value_m) or value_m > floor[cell]:
                floor[cell], feature[cell] = value_m, index
    return floor, feature


def highest_m(ground_m: NDArray[np.float64], grid: Grid, radius_m: float) -> NDArray[np.float64]:
    """Highest ground within the radius, by the distance of each pair of squares; NaN off the grid.

    The world outside is a frame of cells of unknown ground, wide enough to be reached.
    """
    wide = int(radius_m // grid.cell_m) + 2
    frame = Grid(
        grid.x_min_m - wide * grid.cell_m, grid.y_max_m + wide * grid.cell_m, grid.cell_m,
        grid.rows + 2 * wide, grid.cols + 2 * wide,
    )  # fmt: skip
    known_m = np.pad(ground_m, wide, constant_values=np.nan)
    around = squares(frame)
    answer = np.empty(grid.shape)
    for cell, square in np.ndenumerate(squares(grid)):
        is_near = shapely.distance(around, square) <= radius_m
        answer[cell] = np.max(known_m[is_near])  # the maximum with a NaN is NaN
    return answer
