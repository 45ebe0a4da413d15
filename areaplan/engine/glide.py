"""Altitudes from which a power-off glide reaches a field, by the sector that it leaves in.

For each sector k of `moves.py` and each cell x, with S the surface to clear, "arrival" the
altitude at which the glide may end over a field, and the moves m of the sector's cone:

    A_k(x) = max(S(x), min(arrival(x), min over m of max(A_k(x + m) + loss(m), clear(x, m))))
    clear(x, m) = max over the cells c crossed by m of S(c) + loss up to leaving c

What it says: an aircraft at *any* point over cell x, at or above A_k(x), wings level on a track
of the cone, reaches a field at its arrival altitude by tracks that all lie in the cone, and is
nowhere below the surface of the cell that it is over.

The same with the *first* move held to the moves within 15 degrees of the sector's centre is kept
beside it: a turn towards the sector then has a narrow range of tracks to end on.

Why it can be trusted:

- Any point of a cell: the moves are flown parallel to the lines between centres, and a move has to
  clear every cell that its cell's square sweeps (`moves.crossed_cells`); it ends at the like point
  of the next cell, down to the last one, which is the field's.
- While over a crossed cell the aircraft has lost no more than it has lost on leaving it, so it is
  there at or above A_k(x) less that loss, hence at or above S.
- The cone is narrower than 180 degrees: along one axis every move leads forward by a cell or more.
  In the order of that axis all cells that x needs are finished before x. One pass is exact.
- No rounding: surface, arrival and losses are rounded *up* to whole steps of 1/2048 m, which
  float32 holds exactly below 8,192 m, sums included. At and above that the answer is
  "unreachable".
- Unknown ground is never crossed, and neither is the edge of the grid.

Assumptions: the wind is steady and the same at all heights. Moves one after the other that stand
for a straight track between them are flown as that track. A real bend within the cone (60 degrees
at most) is not counted: its arc is shorter than the corner by about as much as its bank costs (60
degrees at 65 kt and 30 degrees of bank lose 2 m more and pass the corner 35 m inside).
"""

from __future__ import annotations

from typing import Final, TypeVar

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine import _glide_kernels as kernels
from areaplan.engine.moves import AHEAD_HALF_DEG, MOVES, SECTORS, MoveLosses, sector_moves
from areaplan.engine.threads import over_row_bands
from areaplan.grid import Float32Array, Float64Array, Int16Array

STEPS_PER_M: Final = 2048.0
HIGHEST_AMSL_M: Final = 8192.0
NO_FIELD: Final = -1
_STEPS: Final = np.float32(STEPS_PER_M)
_BLOCK: Final = 32  # rows copied at a time when turning an array: stays in a core's cache

Number = TypeVar("Number", bound=np.generic)


@frozen(eq=False)
class SectorSurfaces:
    """What a glide needs at each cell, by departure sector.

    Attributes
    ----------
    required_amsl_m : float32 array, shape (12, rows, cols)
        Lowest altitude, metres AMSL, for a glide that leaves in sector k (centred on 30 k degrees
        true), already on a track of its cone. Infinity where no known way leads to a field, NaN
        over unknown ground.
    field : int16 array, shape (12, rows, cols), or None
        Index of the field that this glide ends at, `NO_FIELD` where none; None if not asked for.
    ahead_amsl_m : float32 array, shape (12, rows, cols), or None
        As `required_amsl_m`, for a glide whose first move lies within 15 degrees of the sector's
        centre (the further ones anywhere in the cone). What `worst_heading` needs; None if it
        has been dropped to save memory.
    """

    required_amsl_m: Float32Array
    field: Int16Array | None
    ahead_amsl_m: Float32Array | None = None


def sector_surfaces(
    surface_amsl_m: Float32Array,
    arrival_amsl_m: Float32Array,
    cell_m: float,
    losses: MoveLosses,
    field_index: Int16Array | None = None,
    *,
    threads: int | None = None,
) -> SectorSurfaces:
    """Compute the twelve surfaces; see the module for the recursion and what it promises.

    Parameters
    ----------
    surface_amsl_m : float32 array, shape (rows, cols)
        Altitude to clear: the highest ground, obstacle or tree of the cell and the clearance above
        it. NaN where unknown. Row 0 is the northernmost.
    arrival_amsl_m : float32 array, same shape
        Altitude at which the glide may end over the cell; infinity or NaN where there is no field.
    cell_m : float
        Side of a cell, metres, above 0.
    losses : MoveLosses
        Loss along each move in the wind considered.
    field_index : int16 array, same shape, or None
        Number of the field of a cell, `NO_FIELD` where none, to be told which field each glide
        ends at.
    threads : int or None
        Count of threads; None takes one for each core. The result is the same for any number.

    Raises
    ------
    ValueError
        Arrays of different shapes, or a cell size that is not above 0.
    """
    given = [surface_amsl_m, arrival_amsl_m] + ([] if field_index is None else [field_index])
    shapes = {array.shape for array in given}
    if len(shapes) != 1 or surface_amsl_m.ndim != 2:
        raise ValueError(f"arrays of shapes {sorted(shapes)}; expected one shape (rows, cols)")
    if not cell_m > 0.0:
        raise ValueError(f"cell of {cell_m} m; expected a side above 0")
    field = np.empty((0, 0), np.int16) if field_index is None else field_index.astype(np.int16)
    upright = (_passable(surface_amsl_m), _passable(arrival_amsl_m), field)
    turned = (_turned(upright[0]), _turned(upright[1]), _turned(field))
    unknown = np.isnan(surface_amsl_m)
    has_unknown = bool(unknown.any())
    required = np.empty((SECTORS, *surface_amsl_m.shape), np.float32)
    ahead = np.empty_like(required)
    label = np.empty((SECTORS, *field.shape), np.int16)

    def work(first: int, end: int) -> None:
        for sector in range(first, end):
            # Sectors within 45 degrees of east or west go by columns: rows of the turned arrays.
            is_turned = sector in (2, 3, 4, 8, 9, 10)
            steps = _steps(sector, cell_m, losses, is_turned=is_turned)
            is_from_first_row = bool(np.all(steps.row_step < 0))
            surface, arrival, fields = turned if is_turned else upright
            out, out_ahead, out_label = required[sector], ahead[sector], label[sector]
            if is_turned:
                out, out_ahead = np.empty_like(surface), np.empty_like(surface)
                out_label = np.empty_like(fields)
            kernels.sweep(
                surface, arrival, fields, steps,
                is_from_first_row, np.float32(HIGHEST_AMSL_M), out, out_ahead, out_label,
            )  # fmt: skip
            if is_turned:
                _turn_into(required[sector], out)
                _turn_into(ahead[sector], out_ahead)
                _turn_into(label[sector], out_label)
            if has_unknown:
                np.copyto(required[sector], np.float32(np.nan), where=unknown)
                np.copyto(ahead[sector], np.float32(np.nan), where=unknown)

    over_row_bands(work, SECTORS, threads=threads, band_rows=1)
    return SectorSurfaces(required, None if field_index is None else label, ahead)


def sectors_reached(surfaces: SectorSurfaces, altitude_amsl_m: float) -> NDArray[np.int8]:
    """Count the sectors, 0 to 12, in which a field is within gliding distance at an altitude.

    Unknown ground counts 0: nothing is known to be reached from there.
    """
    count = np.zeros(surfaces.required_amsl_m.shape[1:], np.int8)
    for required in surfaces.required_amsl_m:
        count += required <= altitude_amsl_m
    return count


def altitude_in_steps(amsl_m: Float32Array) -> Float32Array:
    """Altitudes rounded up to whole steps, metres, in memory order; NaN stays NaN."""
    steps: Float32Array = np.ceil(np.ascontiguousarray(amsl_m, np.float32) * _STEPS)
    steps /= _STEPS
    return steps


def loss_in_steps(loss_m: Float64Array) -> Float32Array:
    """Losses rounded up to whole steps, metres, so that adding them to altitudes is exact."""
    return (np.ceil(loss_m * STEPS_PER_M) / STEPS_PER_M).astype(np.float32)


def _passable(amsl_m: Float32Array) -> Float32Array:
    """Altitudes in steps, infinity for NaN."""
    steps = altitude_in_steps(amsl_m)
    np.copyto(steps, np.float32(np.inf), where=np.isnan(steps))
    return steps


def _steps(sector: int, cell_m: float, losses: MoveLosses, *, is_turned: bool) -> kernels.Steps:
    """The moves of a sector that make headway, as the kernel takes them."""
    indices = [i for i in sector_moves(sector) if np.isfinite(losses.per_metre[i])]
    moves = [MOVES[i] for i in indices]
    loss_m = [losses.per_metre[i] * MOVES[i].length_cells * cell_m for i in indices]
    crossed = [
        (cell, loss) for move, loss in zip(moves, loss_m, strict=True) for cell in move.crossed
    ]
    row_step = np.array([move.row_step for move in moves], np.int64)
    col_step = np.array([move.col_step for move in moves], np.int64)
    crossed_row = np.array([cell.row_step for cell, _ in crossed], np.int64)
    crossed_col = np.array([cell.col_step for cell, _ in crossed], np.int64)
    if is_turned:
        row_step, col_step = col_step, row_step
        crossed_row, crossed_col = crossed_col, crossed_row
    return kernels.Steps(
        row_step,
        col_step,
        np.isin(indices, sector_moves(sector, AHEAD_HALF_DEG)),
        loss_in_steps(np.array(loss_m)),
        np.cumsum([0] + [len(move.crossed) for move in moves]),
        crossed_row,
        crossed_col,
        loss_in_steps(np.array([loss * cell.share_until_left for cell, loss in crossed])),
    )


def _turned(array: NDArray[Number]) -> NDArray[Number]:
    """Columns as rows, in memory order."""
    turned = np.empty(array.shape[::-1], array.dtype)
    _turn_into(turned, array)
    return turned


def _turn_into(turned: NDArray[Number], array: NDArray[Number]) -> None:
    for row in range(0, array.shape[0], _BLOCK):
        turned[:, row : row + _BLOCK] = array[row : row + _BLOCK].T
