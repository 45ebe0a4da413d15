"""Arrival at the low key: the height over a field from which a landing into the wind can be flown.

Asked for with `[fields] arrival = "low key"`. Each measured field that counts then has to be
reached at or above the height of its best low key (`engine.low_key`): abeam the touchdown of a
strip long enough, on whichever side and for whichever of its directions asks for the least, in the
winds given; never below the arrival height that stands for all fields.

- The landing passes the touchdown, past the length lost behind what stands before it, at 50 ft: the
  height over which landing distances are published.
- The final is `FINALS_M[0]` long, longer where the ground asks for it: before the final nothing is
  flown below the surface that every glide has to clear, and on the final nothing, margin aside,
  stands in a corridor as wide as the strip.
- A field without such a key in this wind is no field to glide to.

Assumption: over the field, at the key's height or above, the pilot gets to the key "by any
combination of normal gliding manoeuvres" (FAA-H-8083-3C, ch. 9, at figure 9-28): that way depends
on where over the field the glide comes in, and is not computed.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np

from areaplan.engine.low_key import LowKey, low_key
from areaplan.engine.strip_table import DIRECTION_STEP_DEG
from areaplan.engine.turns import TurnModel
from areaplan.errors import OutsideDataError
from areaplan.grid import Float32Array, Float64Array
from areaplan.planning.ground import Ground
from areaplan.planning.measured import MeasuredField
from areaplan.planning.project import Project
from areaplan.units import FOOT_M

THRESHOLD_M: Final = 50.0 * FOOT_M
FINALS_M: Final = (200.0, 400.0, 800.0)
# Directions looked at: the nearest to the wind, among those long enough.
MOST_DIRECTIONS: Final = 6

Keys = Callable[[float, int, float], LowKey]


def key_altitudes(
    measured: tuple[MeasuredField, ...],
    surface_amsl_m: Float32Array,
    ground: Ground,
    project: Project,
    model: TurnModel,
) -> Float64Array:
    """Altitude of the lowest low key of each field, metres AMSL.

    Parameters
    ----------
    measured : tuple of MeasuredField
    surface_amsl_m : float32 array of the grid's shape
        What a glide has to clear, the project's margin within; NaN where unknown.
    ground : Ground
    project : Project
    model : TurnModel
        With the winds to land in; the first of them blows at the ground.

    Returns
    -------
    float64 array, shape (fields,)
        Infinity where a field has none, and for fields that don't count.
    """

    @cache
    def keys(direction_deg: float, side: int, final_m: float) -> LowKey:
        return low_key(model, direction_deg, side, final_m=final_m, threshold_m=THRESHOLD_M)

    altitudes = np.full(len(measured), np.inf)
    for i, field in enumerate(measured):
        if field.counts:
            for direction in _into_wind(field, model.wind_from_deg_true):
                found = _lowest(field, direction, surface_amsl_m, ground, project, keys)
                altitudes[i] = min(altitudes[i], found)
    return altitudes


def _into_wind(field: MeasuredField, wind_from_deg_true: float) -> list[int]:
    """Indices of directions that are enough, those nearest to the wind first."""
    enough = [i for i, is_enough in enumerate(field.is_enough) if is_enough]

    def off_deg(i: int) -> float:
        return abs((DIRECTION_STEP_DEG * i - wind_from_deg_true + 180.0) % 360.0 - 180.0)

    return sorted(enough, key=off_deg)[:MOST_DIRECTIONS]


def _lowest(
    field: MeasuredField,
    direction: int,
    surface_amsl_m: Float32Array,
    ground: Ground,
    project: Project,
    keys: Keys,
) -> float:
    """Lowest key of one direction of landing, metres AMSL; infinity if there is none."""
    landing_deg = DIRECTION_STEP_DEG * direction
    bearing = math.radians(landing_deg)
    ahead = np.array([math.sin(bearing), math.cos(bearing)])
    strips = field.strips
    touchdown = strips.touchdown_m[direction] + strips.lost_before_m[direction] * ahead
    try:
        row, col = ground.grid.cell_of(float(touchdown[0]), float(touchdown[1]))
    except (OutsideDataError, ValueError):
        return math.inf
    floor_m = float(ground.highest_amsl_m[row, col])
    if math.isnan(floor_m):
        return math.inf
    lowest = math.inf
    for side in (1, -1):
        for final_m in FINALS_M:
            key = keys(landing_deg, side, final_m)
            if not math.isfinite(key.height_m) or floor_m + key.height_m >= lowest:
                break
            view = _View(ground, surface_amsl_m, touchdown, ahead, key)
            if view.is_clear(floor_m, final_m, project):
                lowest = floor_m + key.height_m
                break
    return lowest


class _View:
    """The surface round a touchdown, in the frame of the landing: along its track, and across."""

    def __init__(
        self,
        ground: Ground,
        surface_amsl_m: Float32Array,
        touchdown: Float64Array,
        ahead: Float64Array,
        key: LowKey,
    ) -> None:
        grid, self.key = ground.grid, key
        corners = [
            touchdown + along * ahead + across * np.array([ahead[1], -ahead[0]])
            for along in key.along_m
            for across in key.across_m
        ]
        (west, south), (east, north) = np.min(corners, axis=0), np.max(corners, axis=0)
        rows = (math.floor((grid.y_max_m - north) / grid.cell_m) - 1,
                math.floor((grid.y_max_m - south) / grid.cell_m) + 2)  # fmt: skip
        cols = (math.floor((west - grid.x_min_m) / grid.cell_m) - 1,
                math.floor((east - grid.x_min_m) / grid.cell_m) + 2)  # fmt: skip
        self.is_on_grid = (
            rows[0] >= 0 and cols[0] >= 0 and rows[1] <= grid.rows and cols[1] <= grid.cols
        )
        window = slice(max(rows[0], 0), rows[1]), slice(max(cols[0], 0), cols[1])
        self.surface = surface_amsl_m[window]
        x_m = grid.centre_x_m()[window[1]] - touchdown[0]
        y_m = grid.centre_y_m()[window[0], np.newaxis] - touchdown[1]
        self.along = ahead[0] * x_m + ahead[1] * y_m
        self.across = ahead[1] * x_m - ahead[0] * y_m
        self.rim_m = grid.cell_m * math.sqrt(0.5)  # a cell reaches so far from its centre

    def is_clear(self, floor_m: float, final_m: float, project: Project) -> bool:
        """Whether the approach from the key stays above everything; not where that is unknown."""
        if not self.is_on_grid:
            return False
        key, rim_m = self.key, self.rim_m
        is_under = (
            (self.along > key.along_m[0] - rim_m)
            & (self.along < key.along_m[1] + rim_m)
            & (self.across > key.across_m[0] - rim_m)
            & (self.across < key.across_m[1] + rim_m)
        )
        if not np.all(self.surface[is_under] <= floor_m + key.final_height_m):
            return False
        half_m = 0.5 * project.fields.width_m + rim_m
        is_final = (self.along < -rim_m) & (np.abs(self.across) < half_m)
        is_final &= self.along > -final_m - rim_m
        per_m = (key.final_height_m - THRESHOLD_M) / final_m
        left_m = -self.along[is_final] - rim_m
        tops = self.surface[is_final] - project.margins.glide_clearance_m
        return bool(np.all(tops <= floor_m + THRESHOLD_M + per_m * left_m))
