"""Key positions beside the fields: where a glide may end, as a landing can be flown from there.

With `[fields] arrival = "key"` a glide reaches a field at a key position: a place beside or before
a usable strip, by the sector that the glide comes in, at an altitude from which a turn, a leg, a
turn and a final lead to the strip, in the winds given, from anywhere in the key's cell and on any
track of the sector (`engine.key_positions`).

- The landing passes the touchdown at 50 ft, the height over which landing distances are published:
  past the length lost behind what stands before it, or farther in on a strip with length to spare.
- The touchdown's height is that of the highest ground of its cell.
- The final is `FINALS_M[0]` long, longer where the ground asks for it. Up to the end of the leg,
  and in the last turn, nothing is flown below the surface that every glide has to clear, each with
  the least height that is left there; on the final nothing, margin aside, stands in a corridor as
  wide as the strip. Unknown ground is not clear.
- `arrival_height` is a floor in every case: no key lies lower above the field's highest ground.
- All directions count that are long enough in the wind, level and smooth enough.
- A field without a key in this wind is no field to glide to.

With `arrival = "height"` the glide ends anywhere over the field at the arrival height, and the way
from there on to a strip is not computed.

Assumptions: whoever comes in higher than asked gets rid of the height (slip, flaps, a wider leg);
rolling into and out of turns is not counted.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.engine._approach_kernels import clear_boxes
from areaplan.engine.goals import Goals, Indices
from areaplan.engine.key_positions import KeyPositions, key_positions
from areaplan.engine.moves import SECTORS
from areaplan.engine.strip_table import DIRECTION_STEP_DEG, DIRECTIONS
from areaplan.engine.threads import over_row_bands
from areaplan.engine.turns import TurnModel
from areaplan.errors import OutsideDataError
from areaplan.grid import BoolArray, Float32Array, Float64Array, Int16Array
from areaplan.planning.field_measure import to_spare_in_wind
from areaplan.planning.ground import Ground
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import NOBODY
from areaplan.planning.project import Project
from areaplan.units import FOOT_M, Wind

THRESHOLD_M: Final = 50.0 * FOOT_M
FINALS_M: Final = (200.0, 400.0, 800.0)
# On a strip longer than needed the touchdown may lie farther in: so many places, so far apart.
MOST_TOUCHDOWNS: Final = 5
TOUCHDOWN_STEP_M: Final = 250.0


@frozen(eq=False)
class Landings:
    """Where glides may end in one wind, and for which landing.

    Attributes
    ----------
    goals : Goals
        Labelled with the field's index.
    landing_deg_true, side : int16 array, shape (goals,)
        Direction of the landing, and 1 where the last turn goes to the right, -1 to the left.
    """

    goals: Goals
    landing_deg_true: Int16Array
    side: Int16Array

    def reaches(self, field: int) -> bool:
        """Whether a field has any key position."""
        return bool(np.any(self.goals.label == field))


def find_landings(
    measured: tuple[MeasuredField, ...],
    least_amsl_m: Float64Array,
    surface_amsl_m: Float32Array,
    ground: Ground,
    project: Project,
    model: TurnModel,
    wind: Wind,
) -> Landings:
    """Find the key positions of all fields that count.

    Parameters
    ----------
    measured : tuple of MeasuredField
    least_amsl_m : float64 array, shape (fields,)
        Altitude below which nobody arrives, by field: its highest ground and the arrival height.
        Infinity for a field that is not to be reached at all.
    surface_amsl_m : float32 array of the grid's shape
        What a glide has to clear, the project's margin within; NaN where unknown.
    ground : Ground
    project : Project
    model : TurnModel
        With all winds to be met.
    wind : Wind
        At the ground, to land in.
    """
    scene = _Scene(surface_amsl_m, ground, project, model)
    parts: list[tuple[KeyPositions, BoolArray, Float64Array, float, int]] = []
    nothing_to_spare = np.full(DIRECTIONS, -np.inf)
    to_spare_m = [
        to_spare_in_wind(field, project, wind)
        if field.counts and math.isfinite(least_m)
        else nothing_to_spare
        for field, least_m in zip(measured, least_amsl_m, strict=True)
    ]
    scene.prepare(np.flatnonzero(np.any(np.array(to_spare_m) >= 0.0, axis=0)).tolist())
    for number, (field, spare_m) in enumerate(zip(measured, to_spare_m, strict=True)):
        for direction in np.flatnonzero(spare_m >= 0.0).tolist():
            for touchdown in _touchdowns(field, direction, float(spare_m[direction])):
                for keys, is_clear, floor_m in scene.keys_of(touchdown, direction):
                    if is_clear.any():
                        parts.append((keys, is_clear, touchdown, floor_m, number))
    if not parts:
        nothing = np.empty(0, np.int16)
        return Landings(Goals.none(), nothing, nothing)
    cells, amsl_m, sectors, labels, landings, sides = [], [], [], [], [], []
    for keys, is_clear, touchdown, floor_m, number in parts:
        kept = np.flatnonzero(is_clear)
        cells.append(scene.cells(touchdown + keys.place_m[kept]))
        amsl_m.append(np.maximum(floor_m + keys.height_m[kept], least_amsl_m[number]))
        sectors.append(keys.sector[kept])
        labels.append(np.full(kept.size, number, np.int16))
        landings.append(np.full(kept.size, round(keys.landing_deg_true), np.int16))
        sides.append(keys.side[kept])
    cell = np.concatenate(cells)
    up = np.nextafter(np.concatenate(amsl_m).astype(np.float32), np.float32(np.inf))
    goals = Goals(cell[:, 0], cell[:, 1], np.concatenate(sectors), up, np.concatenate(labels))
    return Landings(goals, np.concatenate(landings), np.concatenate(sides).astype(np.int16))


def least_arrivals(
    measured: tuple[MeasuredField, ...], field_of: Int16Array, arrival_amsl_m: Float32Array
) -> Float64Array:
    """Arrival altitude of each field from that of its cells; infinity where it has none."""
    least = np.full(len(measured), np.inf)
    is_field = field_of != NOBODY
    least[field_of[is_field]] = arrival_amsl_m[is_field]
    return least


def _touchdowns(field: MeasuredField, direction: int, spare_m: float) -> list[Float64Array]:
    """Where along a strip a landing may touch down: past what is lost, up to what is to spare."""
    count = min(MOST_TOUCHDOWNS, 1 + int(spare_m / TOUCHDOWN_STEP_M))
    begin_m = float(field.strips.lost_before_m[direction])
    ahead = _ahead(direction)
    return [
        np.asarray(field.strips.touchdown_m[direction] + (begin_m + on_m) * ahead)
        for on_m in np.linspace(0.0, spare_m if count > 1 else 0.0, count)
    ]


def _ahead(direction: int) -> Float64Array:
    bearing = math.radians(DIRECTION_STEP_DEG * direction)
    return np.array([math.sin(bearing), math.cos(bearing)])


def _sectors_with(keys: KeyPositions, is_clear: BoolArray) -> BoolArray:
    """Which sectors have a clear key."""
    return np.bincount(keys.sector[is_clear], minlength=SECTORS) > 0


@frozen(eq=False)
class _Scene:
    """What stands round the fields, and the aircraft."""

    surface_amsl_m: Float32Array
    ground: Ground
    project: Project
    model: TurnModel

    def prepare(self, directions: list[int]) -> None:
        """Find the keys of some directions, in threads: they are kept for all fields."""

        def work(first: int, end: int) -> None:
            for direction in directions[first:end]:
                self._keys(direction, FINALS_M[0])

        if directions:
            self._keys(directions[0], FINALS_M[0])  # what all share is made once
            over_row_bands(work, len(directions), band_rows=1)

    def _keys(self, direction: int, final_m: float) -> KeyPositions:
        return key_positions(
            self.model,
            DIRECTION_STEP_DEG * direction,
            final_m=final_m,
            threshold_m=THRESHOLD_M,
            # From any point of the cell that holds a place to any other.
            around_m=self.ground.grid.cell_m * math.sqrt(2.0),
        )

    def keys_of(
        self, touchdown: Float64Array, direction: int
    ) -> list[tuple[KeyPositions, BoolArray, float]]:
        """Keys for a landing, which of them are clear, and the touchdown's altitude."""
        ahead = _ahead(direction)
        try:
            row, col = self.ground.grid.cell_of(float(touchdown[0]), float(touchdown[1]))
        except OutsideDataError:
            return []
        floor_m = float(self.ground.highest_amsl_m[row, col])
        if math.isnan(floor_m):
            return []
        found = []
        for final_m in FINALS_M:
            keys = self._keys(direction, final_m)
            if not keys.sector.size or not self._is_final_clear(touchdown, ahead, floor_m, keys):
                break
            is_clear = self._clear_ones(touchdown, floor_m, keys)
            found.append((keys, is_clear, floor_m))
            if _sectors_with(keys, is_clear).all():
                break
        return found

    def cells(self, place_m: Float64Array) -> Indices:
        """Rows and columns of places east and north, off the grid too."""
        grid = self.ground.grid
        col = np.floor((place_m[:, 0] - grid.x_min_m) / grid.cell_m)
        row = np.floor((grid.y_max_m - place_m[:, 1]) / grid.cell_m)
        return np.stack([row, col], axis=-1).astype(np.int64)

    def _clear_ones(self, touchdown: Float64Array, floor_m: float, keys: KeyPositions) -> BoolArray:
        """Clear keys to offer: the best, and all others in sectors that have none of these."""
        is_clear = np.zeros(keys.sector.size, dtype=np.bool_)
        for is_asked in (keys.is_best, ~keys.is_best):
            is_lacking = ~_sectors_with(keys, is_clear)
            asked = np.flatnonzero(is_asked & is_lacking[keys.sector])
            if asked.size:
                is_clear[asked] = self._are_clear(touchdown, floor_m, keys, asked)
        return is_clear

    def _are_clear(
        self, touchdown: Float64Array, floor_m: float, keys: KeyPositions, asked: Indices
    ) -> BoolArray:
        """Which of some keys' ways stay above everything up to the final."""
        grid = self.ground.grid
        boxes_m = np.concatenate([keys.before_m[asked], keys.turn_m[asked]])
        x_m, y_m = touchdown[0] - grid.x_min_m, grid.y_max_m - touchdown[1]
        boxes = np.floor((boxes_m * [1.0, 1.0, -1.0, -1.0] + [x_m, x_m, y_m, y_m]) / grid.cell_m)
        boxes = boxes[:, [3, 2, 0, 1]].astype(np.int64)  # first and last row, first and last column
        left_m = np.full(2 * asked.size, keys.final_height_m)
        left_m[: asked.size] = keys.before_height_m[asked]
        limits = np.nextafter((floor_m + left_m).astype(np.float32), np.float32(-np.inf))
        is_clear = np.empty(limits.size, dtype=np.bool_)
        clear_boxes(self.surface_amsl_m, boxes, limits, is_clear)
        return np.asarray(is_clear[: asked.size] & is_clear[asked.size :])

    def _is_final_clear(
        self, touchdown: Float64Array, ahead: Float64Array, floor_m: float, keys: KeyPositions
    ) -> bool:
        """Whether nothing stands in the corridor of the final; not where that is unknown."""
        grid, rim_m = self.ground.grid, self.ground.grid.cell_m * math.sqrt(0.5)
        half_m = 0.5 * self.project.fields.width_m + rim_m
        far = touchdown - (keys.final_m + rim_m) * ahead
        low = np.minimum(touchdown, far) - half_m
        high = np.maximum(touchdown, far) + half_m
        (row0, col0), (row1, col1) = self.cells(np.array([[low[0], high[1]], [high[0], low[1]]]))
        if row0 < 0 or col0 < 0 or row1 >= grid.rows or col1 >= grid.cols:
            return False
        window = slice(row0, row1 + 1), slice(col0, col1 + 1)
        x_m = grid.centre_x_m()[window[1]] - touchdown[0]
        y_m = grid.centre_y_m()[window[0], np.newaxis] - touchdown[1]
        along = ahead[0] * x_m + ahead[1] * y_m
        across = ahead[1] * x_m - ahead[0] * y_m
        # A cell reaches `rim_m` from its centre.
        is_final = (along < -rim_m) & (np.abs(across) < half_m)
        is_final &= along > -keys.final_m - rim_m
        per_m = (keys.final_height_m - THRESHOLD_M) / keys.final_m
        left_m = -along[is_final] - rim_m
        tops = self.surface_amsl_m[window][is_final] - self.project.margins.glide_clearance_m
        return bool(np.all(tops <= floor_m + THRESHOLD_M + per_m * left_m))
