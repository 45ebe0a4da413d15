"""The frame, the grid and the ground of a project, and which cells its layers speak for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import cells_inside, cells_touching
from areaplan.errors import InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import BoolArray, Float64Array, Grid
from areaplan.planning.project import Project
from areaplan.sources.layers import Layer

MOST_CELLS = 25_000_000  # beyond this the surfaces outgrow an ordinary machine's memory


@frozen(eq=False)
class Ground:
    """The grid and the ground under it.

    Attributes
    ----------
    frame : LocalFrame
    grid : Grid
    lowest_amsl_m, highest_amsl_m : float64 arrays of the grid's shape
        Lowest and highest ground in each cell, metres AMSL; NaN where unknown.
    notes : tuple of str
        What a person must know about the reading of the terrain.
    """

    frame: LocalFrame
    grid: Grid
    lowest_amsl_m: Float64Array
    highest_amsl_m: Float64Array
    notes: tuple[str, ...] = ()


def lay_grid(area_lonlat: BaseGeometry, project: Project) -> tuple[LocalFrame, Grid]:
    """Centre the local frame on the area and lay the grid over it and `project.around_m` beyond.

    Raises
    ------
    InputError
        The grid would have more than `MOST_CELLS` cells.
    """
    west, south, east, north = area_lonlat.bounds
    frame = LocalFrame(lat=(south + north) / 2.0, lon=(west + east) / 2.0)
    x_min, y_min, x_max, y_max = frame.geometry_to_local(area_lonlat).bounds
    reach = project.around_m
    cells = (x_max - x_min + 2 * reach) * (y_max - y_min + 2 * reach) / project.cell_m**2
    if cells > MOST_CELLS:
        raise InputError.single(
            str(project.path),
            "grid.cell",
            found=f"{project.cell_m:g} m cells give {cells / 1e6:.0f} million cells",
            expected=f"at most {MOST_CELLS / 1e6:.0f} million",
            fix="take larger cells, a smaller area or a smaller grid.around",
        )
    grid = Grid.covering(x_min - reach, y_min - reach, x_max + reach, y_max + reach, project.cell_m)
    return frame, grid


def lonlat_bounds(
    frame: LocalFrame, grid: Grid, beyond_m: float
) -> tuple[float, float, float, float]:
    """West, south, east, north in degrees of the grid and a distance beyond it."""
    box = shapely.box(
        grid.x_min_m - beyond_m,
        grid.y_min_m - beyond_m,
        grid.x_max_m + beyond_m,
        grid.y_max_m + beyond_m,
    )
    xy = shapely.get_coordinates(shapely.segmentize(box, grid.cell_m * 50))
    lon, lat = frame.to_lonlat(xy[:, 0], xy[:, 1])
    return float(lon.min()), float(lat.min()), float(lon.max()), float(lat.max())


def highest_under(
    ground: Ground, geometries: Sequence[BaseGeometry], reach_m: Float64Array | float = 0.0
) -> Float64Array:
    """Highest ground in the boxes round geometries (local metres), metres AMSL.

    Taken over every cell that the box, widened by `reach_m`, touches: never below the ground the
    geometry stands on. Where part of a box lies off the grid, the grid's highest ground stands in
    for it; NaN where the ground inside is unknown.

    Parameters
    ----------
    ground : Ground
    geometries : sequence of shapely geometry
        Local metres.
    reach_m : float or float64 array, shape (len(geometries),)
        Horizontal uncertainty in metres.

    Returns
    -------
    float64 array, shape (len(geometries),)
    """
    known = ground.highest_amsl_m[~np.isnan(ground.highest_amsl_m)]
    answer = np.full(len(geometries), float(known.max()) if known.size else np.nan)
    for index, window in _windows(ground.grid, geometries, reach_m):
        answer[index] = ground.highest_amsl_m[window].max()
    return answer


def lowest_under(
    ground: Ground, geometries: Sequence[BaseGeometry], reach_m: Float64Array | float = 0.0
) -> Float64Array:
    """Lowest ground in the same boxes as `highest_under`; NaN for a box that leaves the grid."""
    answer = np.full(len(geometries), np.nan)
    for index, window in _windows(ground.grid, geometries, reach_m):
        answer[index] = ground.lowest_amsl_m[window].min()
    return answer


def _windows(
    grid: Grid, geometries: Sequence[BaseGeometry], reach_m: Float64Array | float
) -> Iterator[tuple[int, tuple[slice, slice]]]:
    """Index of each geometry whose widened box lies on the grid, and the cells that it touches."""
    if not geometries:
        return
    bounds = shapely.bounds(np.asarray(geometries, dtype=object))
    reach = np.broadcast_to(np.asarray(reach_m, dtype=np.float64), len(geometries))
    west = np.floor((bounds[:, 0] - reach - grid.x_min_m) / grid.cell_m).astype(np.int64)
    east = np.floor((bounds[:, 2] + reach - grid.x_min_m) / grid.cell_m).astype(np.int64)
    north = np.floor((grid.y_max_m - bounds[:, 3] - reach) / grid.cell_m).astype(np.int64)
    south = np.floor((grid.y_max_m - bounds[:, 1] + reach) / grid.cell_m).astype(np.int64)
    is_within = (west >= 0) & (north >= 0) & (east < grid.cols) & (south < grid.rows)
    for index in np.flatnonzero(is_within).tolist():
        rows = slice(int(north[index]), int(south[index]) + 1)
        yield index, (rows, slice(int(west[index]), int(east[index]) + 1))


def covered(layers: Iterable[Layer[object]], ground: Ground, within_m: float) -> BoolArray:
    """Cells for which some of the layers speak, all the way to a distance round the cell.

    Parameters
    ----------
    layers : iterable of Layer
        Layers of one kind; none at all means that nobody speaks anywhere.
    ground : Ground
    within_m : float
        Distance in metres up to which a feature would matter.
    """
    regions = []
    for layer in layers:
        if layer.covers is None:
            return np.ones(ground.grid.shape, dtype=np.bool_)
        regions.append(ground.frame.geometry_to_local(layer.covers))
    shrunk = shapely.buffer(shapely.union_all(regions), -within_m) if regions else None
    if shrunk is None or shrunk.is_empty:
        return np.zeros(ground.grid.shape, dtype=np.bool_)
    return cells_inside(ground.grid, FeatureSet.from_geometries([shrunk], 0.0))


def touched(geometries_lonlat: Iterable[BaseGeometry], ground: Ground) -> BoolArray:
    """Cells that any of the longitude/latitude polygons touches."""
    local = [ground.frame.geometry_to_local(geometry) for geometry in geometries_lonlat]
    if not local:
        return np.zeros(ground.grid.shape, dtype=np.bool_)
    return cells_touching(ground.grid, FeatureSet.from_geometries(local, 0.0))


def wholly_inside(geometries_lonlat: Iterable[BaseGeometry], ground: Ground) -> BoolArray:
    """Cells that lie wholly inside one of the longitude/latitude polygons."""
    local = [ground.frame.geometry_to_local(geometry) for geometry in geometries_lonlat]
    if not local:
        return np.zeros(ground.grid.shape, dtype=np.bool_)
    return cells_inside(ground.grid, FeatureSet.from_geometries(local, 0.0))
