"""The longest usable strip of a field for each landing direction, and the ground along it.

The strip is a rectangle of the needed width that lies wholly inside the field (holes are
outside). Things that stand in or near it shorten it in three ways:

- it may not come nearer to them than asked, sideways or along;
- landing over them, the aircraft comes down no nearer than where a line that falls from their
  tops at the approach slope meets the ground: h / slope beyond a thing that stands h above level
  ground, hence h / slope - d of a strip whose threshold lies d beyond the thing;
- what stands in the field cuts the strip.

Notes
-----
The longest is found by branch and bound over the sideways offset. Each strip tried is exact, so
the answer is never longer than the true longest; it is at most `BETTER` (0.5 %) shorter, or by
what the last tenth of a millimetre sideways would bring.

For what is lost behind things the ground is a plane, fitted to the lowest ground of the field's
cells and lowered until it lies at or below all of it. So height above the ground is never
understated, and landing downhill costs more: the line that falls at slope s meets ground of
slope g (positive uphill) after h / (s + g).

Bearings are from grid north, less than a degree from true north on any grid that fits in memory.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from areaplan.engine import _strip_ground_kernels as ground_kernels
from areaplan.engine import _strip_kernels as kernels
from areaplan.engine.features import FeatureSet
from areaplan.engine.strip_table import DIRECTION_STEP_DEG, DIRECTIONS, Strips
from areaplan.grid import BoolArray, Float64Array, Grid

BETTER: Final = kernels.BETTER
# Slopes are told over stretches of two cells: less is the noise of the cells themselves.
STRETCH_CELLS: Final = 2
_ANGLES: Final = np.radians(np.arange(DIRECTIONS) * DIRECTION_STEP_DEG)
# Directions that are exact where sine and cosine of the rounded radians are not: 0 and 1.
_SINES: Final = np.round(np.sin(_ANGLES), 15)
_COSINES: Final = np.round(np.cos(_ANGLES), 15)


def measure_strips(
    polygon_local: BaseGeometry,
    *,
    width_m: float,
    approach_slope: float,
    obstructions: FeatureSet,
    keep_clear_m: ArrayLike,
    lowest_amsl_m: Float64Array,
    highest_amsl_m: Float64Array,
    grid: Grid,
) -> Strips:
    """Measure a field in 36 landing directions.

    Parameters
    ----------
    polygon_local : shapely Polygon or MultiPolygon
        The field, local metres, valid.
    width_m : float
        Width of the strip, above 0.
    approach_slope : float
        Height over distance of the approach over what stands before the strip, above 0; 0.1 is
        10 m along for each metre of height.
    obstructions : FeatureSet
        Trees, structures, wires and obstacles near the field; tops AMSL, NaN where unknown: such
        a thing leaves nothing of a strip that is landed on over it.
    keep_clear_m : float or float64 array, shape (len(obstructions),)
        The strip comes no nearer to each than this, at least 0; their spread is added.
    lowest_amsl_m, highest_amsl_m : float64 arrays of the grid's shape
        Ground in each cell; NaN unknown.
    grid : Grid

    Returns
    -------
    Strips
        Of all strips of the width in a direction the one with the longest usable part; where none
        has any, the longest. `slope` is that of the least-squares plane through the usable part
        (the whole strip where there is none), `steepest` the greatest over any stretch of
        `STRETCH_CELLS` cells or more in its profile, `roughness_m` the standard deviation about
        the plane, with what cells vary by beyond it. NaN where any of that ground is unknown.

    Raises
    ------
    ValueError
        Width or approach slope are not above 0, a distance to keep is negative or NaN, the
        geometry is no polygon, or an array is not of the grid's shape.
    """
    _check(polygon_local, width_m, approach_slope, grid, (lowest_amsl_m, highest_amsl_m))
    keep_m = np.broadcast_to(np.asarray(keep_clear_m, dtype=np.float64), len(obstructions))
    if not (keep_m >= 0.0).all() or np.isinf(keep_m).any():
        raise ValueError("keep_clear_m must be finite and at least 0 for every obstruction")
    rings = FeatureSet.from_geometries([polygon_local], 0.0).segments_m
    centre = np.array(polygon_local.centroid.coords[0])
    of_segment = np.repeat(np.arange(len(obstructions)), np.diff(obstructions.first_segment))
    things = np.empty((of_segment.size, kernels.COLUMNS))
    things[:, :4] = obstructions.segments_m - np.tile(centre, 2)
    things[:, kernels.SPREAD] = obstructions.spread_m[of_segment]
    things[:, kernels.REACH] = (keep_m + obstructions.spread_m)[of_segment]
    things[:, kernels.IS_AREA] = _may_hold(obstructions, polygon_local)[of_segment]
    things[:, kernels.TOP] = obstructions.top_amsl_m[of_segment]
    plane = _plane_below(polygon_local, centre, lowest_amsl_m, grid, bool(len(obstructions)))
    scene = kernels.Scene(rings - np.tile(centre, 2), things, plane, approach_slope, width_m)
    found = np.empty((DIRECTIONS, 5))
    segment = np.empty(DIRECTIONS, dtype=np.int64)
    kernels.best_strips(scene, _SINES, _COSINES, found, segment)
    costly = np.full(DIRECTIONS, -1, dtype=np.int32)
    costly[segment >= 0] = of_segment[segment[segment >= 0]]
    return _as_table(found, costly, centre, width_m, lowest_amsl_m, highest_amsl_m, grid)


def _may_hold(features: FeatureSet, polygon: BaseGeometry) -> BoolArray:
    """Which polygons among the features may hold some of a field: their boxes meet."""
    if not len(features):
        return features.is_area
    west, south, east, north = polygon.bounds
    x, y = features.segments_m[:, [0, 2]], features.segments_m[:, [1, 3]]
    first = features.first_segment[:-1]
    is_meeting = (
        (np.minimum.reduceat(x.min(axis=1), first) <= east)
        & (np.maximum.reduceat(x.max(axis=1), first) >= west)
        & (np.minimum.reduceat(y.min(axis=1), first) <= north)
        & (np.maximum.reduceat(y.max(axis=1), first) >= south)
    )
    return features.is_area & is_meeting


def _as_table(
    found: Float64Array,
    costly: np.ndarray[tuple[int, ...], np.dtype[np.int32]],
    centre: Float64Array,
    width_m: float,
    lowest_amsl_m: Float64Array,
    highest_amsl_m: Float64Array,
    grid: Grid,
) -> Strips:
    offset, start, end, use_start, use_end = found.T
    has_strip = end > start
    middle_v = offset + 0.5 * width_m
    # u runs along (sin, cos), v to its left along (-cos, sin).
    along = np.stack([_SINES, _COSINES], axis=1)
    foot = centre + np.stack([-_COSINES, _SINES], axis=1) * middle_v[:, np.newaxis]

    def place(u_m: Float64Array) -> Float64Array:
        xy = foot + along * u_m[:, np.newaxis]
        return np.where(has_strip[:, np.newaxis], xy, np.nan)

    has_use = use_end > use_start
    ground = _ground_along(
        place(np.where(has_use, use_start, start)),
        place(np.where(has_use, use_end, end)),
        width_m,
        lowest_amsl_m,
        highest_amsl_m,
        grid,
    )
    return Strips(
        touchdown_m=place(start),
        rollout_m=place(end),
        length_m=end - start,
        lost_before_m=use_start - start,
        lost_after_m=end - use_end,
        usable_m=use_end - use_start,
        slope=ground[:, 0],
        steepest=ground[:, 1],
        roughness_m=ground[:, 2],
        obstacle=np.where(has_strip, costly, -1).astype(np.int32),
    )


def _ground_along(
    first_m: Float64Array,
    last_m: Float64Array,
    width_m: float,
    lowest_amsl_m: Float64Array,
    highest_amsl_m: Float64Array,
    grid: Grid,
) -> Float64Array:
    """Slope, steepest and roughness for each direction, NaN where there is no strip."""
    answer = np.full((DIRECTIONS, 3), np.nan)
    ends = np.stack([first_m, last_m])
    if np.isnan(ends).all():
        return answer
    # Only the window round the strips is worked on, with a cell more for the interpolation.
    reach = width_m + 2.0 * grid.cell_m
    west, south = np.nanmin(ends, axis=(0, 1)) - reach
    east, north = np.nanmax(ends, axis=(0, 1)) + reach
    rows, cols, origin = _window(grid, float(west), float(south), float(east), float(north))
    lowest, highest = lowest_amsl_m[rows, cols], highest_amsl_m[rows, cols]
    if not lowest.size:
        return answer
    middle, relief = 0.5 * (lowest + highest), highest - lowest
    stretch = 2 * STRETCH_CELLS  # samples lie half a cell apart
    for i in np.flatnonzero(~np.isnan(first_m[:, 0])).tolist():
        x0, y0 = (first_m[i] - origin) * (1.0, -1.0)
        x1, y1 = (last_m[i] - origin) * (1.0, -1.0)
        answer[i] = ground_kernels.ground_along(
            middle, relief, x0, y0, x1, y1, width_m, grid.cell_m, stretch
        )
    return answer


def _plane_below(
    polygon: BaseGeometry,
    centre: Float64Array,
    lowest_amsl_m: Float64Array,
    grid: Grid,
    is_needed: bool,
) -> Float64Array:
    """Height at the centre and slopes east and north of a plane at or below the field's ground.

    NaN where any of it is unknown or off the grid.
    """
    unknown = np.full(3, np.nan)
    if not is_needed:
        return unknown
    touched = shapely.buffer(polygon, grid.cell_m * math.sqrt(0.5))  # cells by their centres
    west, south, east, north = polygon.bounds
    if west < grid.x_min_m or east > grid.x_max_m or south < grid.y_min_m or north > grid.y_max_m:
        return unknown
    rows, cols, origin = _window(grid, *touched.bounds)
    lowest = lowest_amsl_m[rows, cols]
    x_m = origin[0] + (np.arange(lowest.shape[1]) + 0.5) * grid.cell_m
    y_m = origin[1] - (np.arange(lowest.shape[0]) + 0.5) * grid.cell_m
    x, y = np.meshgrid(x_m, y_m)
    shapely.prepare(touched)
    is_field = shapely.contains_xy(touched, x, y)
    z = lowest[is_field]
    if not z.size or np.isnan(z).any():
        return unknown
    terms = np.stack([np.ones(z.size), x[is_field] - centre[0], y[is_field] - centre[1]], axis=1)
    plane = np.linalg.lstsq(terms, z, rcond=None)[0]
    plane[0] -= max(0.0, float((terms @ plane - z).max()))
    # A cell's lowest ground may lie at its edge: the plane must be below it there too.
    plane[0] -= 0.5 * grid.cell_m * (abs(plane[1]) + abs(plane[2]))
    return np.asarray(plane)


def _window(
    grid: Grid, west_m: float, south_m: float, east_m: float, north_m: float
) -> tuple[slice, slice, Float64Array]:
    """Rows and columns of the cells that a box touches, and their north-west corner."""
    first_col = max(0, math.floor((west_m - grid.x_min_m) / grid.cell_m))
    first_row = max(0, math.floor((grid.y_max_m - north_m) / grid.cell_m))
    end_col = max(first_col, min(grid.cols, math.ceil((east_m - grid.x_min_m) / grid.cell_m)))
    end_row = max(first_row, min(grid.rows, math.ceil((grid.y_max_m - south_m) / grid.cell_m)))
    corner = [grid.x_min_m + first_col * grid.cell_m, grid.y_max_m - first_row * grid.cell_m]
    return slice(first_row, end_row), slice(first_col, end_col), np.array(corner)


def _check(
    polygon: BaseGeometry,
    width_m: float,
    approach_slope: float,
    grid: Grid,
    arrays: tuple[Float64Array, ...],
) -> None:
    if not 0.0 < width_m < math.inf:
        raise ValueError(f"the width of the strip is {width_m} m; expected more than 0")
    if not 0.0 < approach_slope < math.inf:
        raise ValueError(f"the approach slope is {approach_slope}; expected more than 0")
    if polygon.geom_type not in ("Polygon", "MultiPolygon") or polygon.is_empty:
        raise ValueError(f"the field is {polygon.geom_type}, empty: {polygon.is_empty}")
    if any(array.shape != grid.shape for array in arrays):
        raise ValueError(f"ground of shape {[array.shape for array in arrays]} on {grid.shape}")
