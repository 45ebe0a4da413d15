"""Floors that features throw on the cells around them, exact to the edge of feature and cell.

All distances here run from the *square* of a cell, not from its centre, to a feature: to its
segments, and to the inside of areas (holes left out). So a cell takes the most demanding value
that any point inside it has, whatever the size of the cells. A feature's `spread_m` is taken off
the distance, down to 0.

Notes
-----
- The ground is flat and the local frame true to scale: over the few kilometres that matter the
  error is parts in a million (`areaplan.geodesy`).
- "Within" includes the distance itself, and a micrometre more (`NOISE_M`), so that the rounding of
  a coordinate never opens a cell. "Nearer than" leaves the distance itself out.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine import _standoff_kernels as kernels
from areaplan.engine.features import FeatureSet
from areaplan.engine.threads import over_row_bands
from areaplan.grid import BoolArray, Float64Array, Grid, Int32Array

# Far above the rounding of a local coordinate (1e-11 m), far below anything that is surveyed.
NOISE_M: Final = 1e-6
NO_FEATURE: Final = -1


@frozen(eq=False)
class Floor:
    """The lowest altitude that a set of features leaves to each cell.

    Attributes
    ----------
    amsl_m : float64 array, shape (rows, cols)
        Metres above mean sea level; negative infinity where no feature reaches, NaN where a
        feature of unknown top does, positive infinity where a cell is closed at every altitude.
    feature : int32 array, shape (rows, cols)
        The feature that sets it (the first one of those that tie); NO_FEATURE where none.
    """

    amsl_m: Float64Array
    feature: Int32Array


def standoff_floor(
    grid: Grid,
    features: FeatureSet,
    *,
    radius_m: float,
    height_m: float = 0.0,
    profile: Literal["slant", "level"],
    is_radius_inclusive: bool = True,
    applies: BoolArray | None = None,
    threads: int | None = None,
) -> Floor:
    """Lowest altitude at each cell that keeps its standoff from every feature.

    With t the top of a feature, d its horizontal distance less its spread and R the radius:

    - "slant": no point nearer than R to the top or to what stands below it:
      floor = t + sqrt(R^2 - d^2) for d < R (Pythagoras). At d = R and beyond, nothing.
    - "level": `height_m` above every feature within R: floor = t + height_m for d <= R.

    Parameters
    ----------
    grid : Grid
        Local metres.
    features : FeatureSet
        Local metres; those beyond the grid count as well. A top of NaN makes the floor NaN
        wherever the feature reaches.
    radius_m : float
        R, finite, at least 0, metres.
    height_m : float
        Metres above the top; "level" only. Positive infinity closes the cell at every altitude.
    profile : {"slant", "level"}
        Shape of the floor, see above.
    is_radius_inclusive : bool
        "level" only: False where a feature at the very distance R does not count.
    applies : bool array, shape (rows, cols), optional
        Cells to judge; the others get nothing. None: all.
    threads : int or None
        Threads to share the rows among, one for each core if None. The answer does not depend
        on it.

    Returns
    -------
    Floor

    Raises
    ------
    ValueError
        A parameter breaks what is said above.
    """
    _check_length("radius_m", radius_m)
    if profile not in ("slant", "level"):
        raise ValueError(f"profile is {profile!r}; expected 'slant' or 'level'")
    if math.isnan(height_m) or height_m == -math.inf:
        raise ValueError(f"height_m is {height_m}; expected metres or positive infinity")
    if profile == "slant" and height_m != 0.0:
        raise ValueError(f"height_m is {height_m}; a slant standoff has no height")
    judged = _judged(grid, applies)
    floor = Floor(grid.full(-math.inf), grid.full(NO_FEATURE, np.int32))
    if profile == "level":
        value_m = features.top_amsl_m + height_m
        order = _most_demanding_first(value_m)
        _give_level(grid, features, radius_m, is_radius_inclusive, order, value_m, judged, floor,
                    threads)  # fmt: skip
        return floor

    unknown = np.flatnonzero(np.isnan(features.top_amsl_m))
    known = _most_demanding_first(features.top_amsl_m)[unknown.size :]
    _give_level(grid, features, radius_m, False, unknown, features.top_amsl_m, judged, floor,
                threads)  # fmt: skip
    frame, shapes = _frame(grid), _shapes(features)

    def work(first_row: int, end_row: int) -> None:
        kernels.slant_rows(
            first_row, end_row, frame, shapes, known, float(radius_m),
            features.top_amsl_m, judged, floor.amsl_m, floor.feature,
        )  # fmt: skip

    if known.size:
        over_row_bands(work, grid.rows, threads=threads)
    return floor


def cells_touching_index(grid: Grid, features: FeatureSet, distance_m: float = 0.0) -> Int32Array:
    """Lowest index of the features within a distance of each cell; NO_FEATURE where none is.

    Parameters
    ----------
    grid, features : Grid, FeatureSet
        Local metres; tops play no part.
    distance_m : float
        From the cell's square, less the feature's spread; inclusive, finite, at least 0.

    Returns
    -------
    int32 array, shape (rows, cols)

    Raises
    ------
    ValueError
        The distance is negative or not finite.
    """
    _check_length("distance_m", distance_m)
    # The kernel's values go unread; memory that is never written is never taken.
    floor = Floor(np.empty(grid.shape), grid.full(NO_FEATURE, np.int32))
    order = np.arange(len(features))
    _give_level(grid, features, distance_m, True, order, features.top_amsl_m,
                _judged(grid, None), floor, None)  # fmt: skip
    return floor.feature


def cells_touching(grid: Grid, features: FeatureSet, distance_m: float = 0.0) -> BoolArray:
    """Cells whose square is within a distance of any feature; see `cells_touching_index`."""
    return np.asarray(cells_touching_index(grid, features, distance_m) != NO_FEATURE)


def cells_inside_index(grid: Grid, features: FeatureSet) -> Int32Array:
    """Lowest index of the area features that hold the whole square of each cell.

    An area holds a cell when the square lies in it and no ring comes nearer than the area's
    spread; a ring along the very edge of the square is no harm. Areas are not joined: a cell
    across the common border of two is in neither. Points and lines hold nothing.

    Parameters
    ----------
    grid, features : Grid, FeatureSet
        Local metres; tops play no part.

    Returns
    -------
    int32 array, shape (rows, cols)
        NO_FEATURE where no single area holds the cell.
    """
    feature = grid.full(NO_FEATURE, np.int32)
    areas = np.flatnonzero(features.is_area)
    frame, shapes = _frame(grid), _shapes(features)

    def work(first_row: int, end_row: int) -> None:
        kernels.inside_rows(first_row, end_row, frame, shapes, areas, NOISE_M, feature)

    if areas.size:
        over_row_bands(work, grid.rows)
    return feature


def cells_inside(grid: Grid, features: FeatureSet) -> BoolArray:
    """Cells that lie wholly in some single area feature; see `cells_inside_index`."""
    return np.asarray(cells_inside_index(grid, features) != NO_FEATURE)


def raise_ground(ground_amsl_m: Float64Array, grid: Grid, features: FeatureSet) -> Float64Array:
    """Raise the ground to the tops of the features that touch each cell, their spread counted.

    Parameters
    ----------
    ground_amsl_m : float64 array, shape (rows, cols)
        Highest ground in each cell, metres AMSL; NaN where unknown.
    grid, features : Grid, FeatureSet
        Local metres.

    Returns
    -------
    float64 array, shape (rows, cols)
        NaN where the ground or the top of a feature that touches the cell is unknown.

    Raises
    ------
    ValueError
        The ground does not have the grid's shape.
    """
    _check_shape("ground_amsl_m", ground_amsl_m, grid)
    tops = standoff_floor(grid, features, radius_m=0.0, profile="level").amsl_m
    return np.asarray(np.maximum(ground_amsl_m, tops))


def highest_within(
    ground_amsl_m: Float64Array,
    grid: Grid,
    radius_m: float,
    applies: BoolArray | None = None,
    *,
    threads: int | None = None,
) -> Float64Array:
    """Highest ground of all cells whose square comes within a radius of each cell's square.

    Two squares that touch are 0 m apart, so the eight neighbours always count.

    Parameters
    ----------
    ground_amsl_m : float64 array, shape (rows, cols)
        Highest ground in each cell, metres AMSL; NaN where unknown.
    grid : Grid
        Local metres.
    radius_m : float
        Inclusive, finite, at least 0, metres.
    applies : bool array, shape (rows, cols), optional
        Cells to judge; the others get negative infinity. None: all.
    threads : int or None
        Threads to share the rows among, one for each core if None.

    Returns
    -------
    float64 array, shape (rows, cols)
        NaN where any ground within the radius is unknown. The ground beyond the grid is unknown,
        so cells nearer to its edge than the radius are NaN.

    Raises
    ------
    ValueError
        A shape differs from the grid's, or the radius is negative or not finite.
    """
    _check_length("radius_m", radius_m)
    _check_shape("ground_amsl_m", ground_amsl_m, grid)
    judged = _judged(grid, applies)
    within_m = radius_m + NOISE_M
    # A square k rows away leaves a gap of k - 1 cells; along a row the same holds.
    gaps_m = np.arange(int(within_m / grid.cell_m) + 2) * grid.cell_m - grid.cell_m
    gaps_m = np.maximum(gaps_m, 0.0)
    halves = (np.sqrt(within_m**2 - gaps_m**2) / grid.cell_m).astype(np.int64) + 1
    pad = int(halves[0])
    # Positive infinity stands for unknown: the highest of all, as NaN must be.
    ground = np.full((grid.rows, grid.cols + 2 * pad), math.inf)
    ground[:, pad : pad + grid.cols] = np.where(np.isnan(ground_amsl_m), math.inf, ground_amsl_m)
    highest = grid.full(-math.inf)
    edge = halves.size - 1
    highest[:edge] = highest[max(0, grid.rows - edge) :] = math.inf

    def work(first_row: int, end_row: int) -> None:
        if judged[first_row:end_row].any():
            kernels.highest_rows(first_row, end_row, ground, halves, highest)

    # Each band looks at `edge` rows more on either side: tall bands repeat less of that.
    over_row_bands(work, grid.rows, threads=threads, band_rows=max(64, 4 * edge))
    highest[np.isposinf(highest)] = np.nan
    highest[~judged] = -math.inf
    return highest


def _give_level(
    grid: Grid,
    features: FeatureSet,
    radius_m: float,
    is_radius_inclusive: bool,
    order: NDArray[np.intp],
    value_m: Float64Array,
    applies: BoolArray,
    floor: Floor,
    threads: int | None,
) -> None:
    """Give each free cell within the radius of a feature the value of the first in `order`."""
    if not order.size or (radius_m == 0.0 and not is_radius_inclusive):
        return  # a distance is never below 0
    within_m = radius_m + NOISE_M if is_radius_inclusive else float(radius_m)
    frame, shapes = _frame(grid), _shapes(features)

    def work(first_row: int, end_row: int) -> None:
        kernels.level_rows(
            first_row, end_row, frame, shapes, order, within_m, not is_radius_inclusive,
            value_m, applies, floor.amsl_m, floor.feature,
        )  # fmt: skip

    over_row_bands(work, grid.rows, threads=threads)


def _most_demanding_first(value_m: Float64Array) -> NDArray[np.intp]:
    """Order of features: unknown first, then from the highest value down; ties by index."""
    is_known = ~np.isnan(value_m)
    return np.lexsort((np.where(is_known, -value_m, 0.0), is_known))


def _frame(grid: Grid) -> kernels.Frame:
    return kernels.Frame(float(grid.x_min_m), float(grid.y_max_m), float(grid.cell_m))


def _shapes(features: FeatureSet) -> kernels.Shapes:
    boxes = np.empty((len(features), 4))
    if len(features):
        low = np.minimum(features.segments_m[:, :2], features.segments_m[:, 2:])
        high = np.maximum(features.segments_m[:, :2], features.segments_m[:, 2:])
        starts = features.first_segment[:-1]
        boxes[:, :2] = np.minimum.reduceat(low, starts)
        boxes[:, 2:] = np.maximum.reduceat(high, starts)
    most = int(np.diff(features.first_segment).max(initial=0))
    return kernels.Shapes(
        features.segments_m, features.first_segment, features.is_area, boxes,
        features.spread_m, most,
    )  # fmt: skip


def _judged(grid: Grid, applies: BoolArray | None) -> BoolArray:
    if applies is None:
        return np.ones(grid.shape, dtype=np.bool_)
    _check_shape("applies", applies, grid)
    return np.ascontiguousarray(applies, dtype=np.bool_)


def _check_shape(name: str, array: NDArray[np.generic], grid: Grid) -> None:
    if array.shape != grid.shape:
        raise ValueError(f"{name} has shape {array.shape}; expected {grid.shape}")


def _check_length(name: str, value_m: float) -> None:
    if not (math.isfinite(value_m) and value_m >= 0.0):
        raise ValueError(f"{name} is {value_m}; expected finite metres of 0 or more")
