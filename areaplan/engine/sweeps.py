"""How the sectors of `glide.py` are swept: three at a time, along rows or along columns, in bands.

- The three sectors round a main direction share most of their moves, and what a move has to clear
  is found once for all three.
- Those round east and west go by columns: rows of the turned arrays.
- A band of rows needs of what came before it only the last `REACH_CELLS` rows. Carried over, they
  make all bands together the same pass as the whole, whatever their height.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypeVar

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine import _glide_kernels as kernels
from areaplan.engine.moves import (
    AHEAD_HALF_DEG,
    MOVES,
    REACH_CELLS,
    MoveLosses,
    sector_moves,
)
from areaplan.grid import Float32Array, Float64Array, Int16Array

STEPS_PER_M: Final = 2048.0
HIGHEST_AMSL_M: Final = 8192.0
_STEPS: Final = np.float32(STEPS_PER_M)
_BLOCK: Final = 32  # rows copied at a time when turning an array: stays in a core's cache

Number = TypeVar("Number", bound=np.generic)


@frozen
class Group:
    """Sectors that are swept together, and whether by columns."""

    sectors: tuple[int, int, int]
    is_turned: bool


GROUPS: Final = (
    Group((11, 0, 1), is_turned=False),
    Group((2, 3, 4), is_turned=True),
    Group((5, 6, 7), is_turned=False),
    Group((8, 9, 10), is_turned=True),
)


@frozen(eq=False)
class Rows:
    """Some rows of what a sweep reads, in steps, infinity for NaN; of the turned arrays if turned.

    `field` has no row where nobody asked for fields.
    """

    surface: Float32Array
    arrival: Float32Array
    field: Int16Array


@frozen(eq=False)
class Answers:
    """Some rows of what a sweep finds: arrays of shape (3, rows, columns), turned if it is."""

    required: Float32Array
    ahead: Float32Array
    label: Int16Array

    @classmethod
    def empty(cls, rows: int, cols: int, *, is_labelled: bool) -> Answers:
        """Room for some rows of three sectors."""
        shape = (3, rows, cols)
        label = np.empty(shape if is_labelled else (3, 0, 0), np.int16)
        return cls(np.empty(shape, np.float32), np.empty(shape, np.float32), label)


def sweep_in_bands(
    steps: kernels.Steps,
    shape: tuple[int, int],
    band_rows: int,
    goals: kernels.GoalRows,
    read: Callable[[int, int], Rows],
    write: Callable[[int, int, Answers, int], None],
) -> None:
    """Sweep three sectors over all rows, a band at a time.

    Parameters
    ----------
    steps : Steps
        Of `group_steps`, for the group that is swept.
    shape : tuple of int
        Rows and columns of all; the turned ones where the group is.
    band_rows : int
        At least 1.
    goals : GoalRows
        Of `goals.Goals.rows_for`, for that group: of all rows.
    read : callable
        Gives the rows from the first up to, not including, the second.
    write : callable
        Takes the rows from the first up to, not including, the second; they begin in the answers
        at the row of its last argument.
    """
    rows, cols = shape
    is_from_first = bool(np.all(steps.row_step < 0))
    room: Answers | None = None
    for start in range(0, rows, band_rows):
        size, done = min(band_rows, rows - start), min(start, REACH_CELLS)
        first = start if is_from_first else rows - start - size
        low, high = (first - done, first + size) if is_from_first else (first, first + size + done)
        part = read(low, high)
        fresh = Answers.empty(size + done, cols, is_labelled=part.field.size > 0)
        if room is not None:
            _carry(room, fresh, done, is_from_first=is_from_first)
        room = fresh
        kernels.sweep(
            part.surface, part.arrival, part.field,
            goals._replace(first=goals.first[low : high + 1]), steps, is_from_first, done,
            np.float32(HIGHEST_AMSL_M), room.required, room.ahead, room.label,
        )  # fmt: skip
        write(first, first + size, room, done if is_from_first else 0)


def _carry(old: Answers, new: Answers, done: int, *, is_from_first: bool) -> None:
    """Copy the rows that the next band looks back to; nobody looks at their `ahead`."""
    for source, target in ((old.required, new.required), (old.label, new.label)):
        if is_from_first:
            target[:, :done] = source[:, source.shape[1] - done :]
        else:
            target[:, target.shape[1] - done :] = source[:, :done]


def group_steps(group: Group, cell_m: float, losses: MoveLosses) -> kernels.Steps:
    """The moves of a group that make headway, as the kernel takes them."""
    of_sector = [sector_moves(sector) for sector in group.sectors]
    indices = sorted({i for moves in of_sector for i in moves if np.isfinite(losses.per_metre[i])})
    moves = [MOVES[i] for i in indices]
    loss_m = [losses.per_metre[i] * MOVES[i].length_cells * cell_m for i in indices]
    crossed = [
        (cell, loss) for move, loss in zip(moves, loss_m, strict=True) for cell in move.crossed
    ]
    row_step = np.array([move.row_step for move in moves], np.int64)
    col_step = np.array([move.col_step for move in moves], np.int64)
    crossed_row = np.array([cell.row_step for cell, _ in crossed], np.int64)
    crossed_col = np.array([cell.col_step for cell, _ in crossed], np.int64)
    if group.is_turned:
        row_step, col_step = col_step, row_step
        crossed_row, crossed_col = crossed_col, crossed_row
    ahead = [sector_moves(sector, AHEAD_HALF_DEG) for sector in group.sectors]
    return kernels.Steps(
        row_step,
        col_step,
        np.array([np.isin(indices, one) for one in of_sector]).T.copy(),
        np.array([np.isin(indices, one) for one in ahead]).T.copy(),
        loss_in_steps(np.array(loss_m)),
        np.cumsum([0] + [len(move.crossed) for move in moves]),
        crossed_row,
        crossed_col,
        loss_in_steps(np.array([loss * cell.share_until_left for cell, loss in crossed])),
    )


def altitude_in_steps(amsl_m: Float32Array) -> Float32Array:
    """Altitudes rounded up to whole steps, metres, in memory order; NaN stays NaN."""
    steps: Float32Array = np.ceil(np.ascontiguousarray(amsl_m, np.float32) * _STEPS)
    steps /= _STEPS
    return steps


def passable(amsl_m: Float32Array) -> Float32Array:
    """Altitudes in steps, infinity for NaN."""
    steps = altitude_in_steps(amsl_m)
    np.copyto(steps, np.float32(np.inf), where=np.isnan(steps))
    return steps


def loss_in_steps(loss_m: Float64Array) -> Float32Array:
    """Losses rounded up to whole steps, metres, so that adding them to altitudes is exact."""
    return (np.ceil(loss_m * STEPS_PER_M) / STEPS_PER_M).astype(np.float32)


def turned(array: NDArray[Number]) -> NDArray[Number]:
    """Columns as rows, in memory order."""
    answer = np.empty(array.shape[::-1], array.dtype)
    for row in range(0, array.shape[0], _BLOCK):
        answer[:, row : row + _BLOCK] = array[row : row + _BLOCK].T
    return answer
