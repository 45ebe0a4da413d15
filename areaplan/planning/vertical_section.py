"""A vertical section through the area along its longest axis: what stands at every cell crossed."""

from __future__ import annotations

import math

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.grid import BoolArray, Float64Array, Int16Array
from areaplan.planning.plan import Plan


@frozen(eq=False)
class VerticalSection:
    """Cells along a straight line, from its western (or southern) end. Arrays of shape (n,).

    Attributes
    ----------
    ends_m : float64 array, shape (2, 2)
        Local metres of the line's two ends.
    ends_lonlat : tuple of (float, float)
        Longitude and latitude of the same.
    bearing_deg_true : float
        From the first end to the second, in [0, 180) but for a line due west's noise.
    along_m : float64 array
        Distance of each sample from the first end, metres; half a cell apart.
    terrain_amsl_ft, glide_required_amsl_ft : int16 arrays
        As of the plan's cells, with its sentinels.
    bands_amsl_ft : int16 array, shape (bands, 2, n)
        As of the plan's cells.
    is_legal_unknown, is_in_area : bool arrays
    """

    ends_m: Float64Array
    ends_lonlat: tuple[tuple[float, float], tuple[float, float]]
    bearing_deg_true: float
    along_m: Float64Array
    terrain_amsl_ft: Int16Array
    glide_required_amsl_ft: Int16Array
    bands_amsl_ft: Int16Array
    is_legal_unknown: BoolArray
    is_in_area: BoolArray


def vertical_section(plan: Plan, beyond_m: float = 0.0) -> VerticalSection:
    """Cut the plan along the long axis of the area's smallest rectangle, through its middle.

    Parameters
    ----------
    plan : Plan
    beyond_m : float
        How far the line goes on beyond the rectangle, metres; cut off at the edge of the grid.
    """
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    ends = _long_axis(area, beyond_m)
    line = shapely.LineString(ends).intersection(_inside(plan))
    ends = shapely.get_coordinates(line)[[0, -1]]
    length_m = float(np.hypot(*(ends[1] - ends[0])))
    grid = plan.grid
    count = max(2, math.ceil(length_m / (0.5 * grid.cell_m)) + 1)
    share = np.linspace(0.0, 1.0, count)
    x_m = ends[0, 0] + share * (ends[1, 0] - ends[0, 0])
    y_m = ends[0, 1] + share * (ends[1, 1] - ends[0, 1])
    cols = _index((x_m - grid.x_min_m) / grid.cell_m, grid.cols)
    rows = _index((grid.y_max_m - y_m) / grid.cell_m, grid.rows)
    lon, lat = plan.frame.to_lonlat(ends[:, 0], ends[:, 1])
    cells = plan.cells
    bearing = math.degrees(math.atan2(ends[1, 0] - ends[0, 0], ends[1, 1] - ends[0, 1])) % 360.0
    return VerticalSection(
        ends_m=ends,
        ends_lonlat=((float(lon[0]), float(lat[0])), (float(lon[1]), float(lat[1]))),
        bearing_deg_true=bearing,
        along_m=share * length_m,
        terrain_amsl_ft=cells.terrain_amsl_ft[rows, cols],
        glide_required_amsl_ft=cells.glide_required_amsl_ft[rows, cols],
        bands_amsl_ft=cells.bands_amsl_ft[:, :, rows, cols],
        is_legal_unknown=cells.is_legal_unknown[rows, cols],
        is_in_area=cells.is_in_area[rows, cols],
    )


def _long_axis(area: BaseGeometry, beyond_m: float) -> Float64Array:
    """Ends of the long middle line of the smallest rectangle, the western or southern first."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))[:4]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    first = 0 if sides[0] >= sides[1] else 1
    corners = np.roll(corners, -first, axis=0)  # the long sides run from 0 to 1 and from 3 to 2
    ends = np.array([(corners[0] + corners[3]) / 2.0, (corners[1] + corners[2]) / 2.0])
    unit = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    ends = ends + np.array([-unit, unit]) * beyond_m
    is_turned = (ends[0, 0], ends[0, 1]) > (ends[1, 0], ends[1, 1])
    return np.asarray(ends[::-1] if is_turned else ends)


def _inside(plan: Plan) -> BaseGeometry:
    grid = plan.grid
    return shapely.box(grid.x_min_m, grid.y_min_m, grid.x_max_m, grid.y_max_m)


def _index(value: Float64Array, count: int) -> NDArray[np.int64]:
    """Whole index; the far edge of the grid belongs to its last cell."""
    return np.clip(np.floor(value).astype(np.int64), 0, count - 1)
