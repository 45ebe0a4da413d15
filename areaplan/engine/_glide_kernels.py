"""Compiled loops of `glide.py`. No checks: the public function has made them.

Indices are unsigned inside the loops over columns: numba then leaves out the test for negative
ones, and the loops become vector instructions. A row is worked on in pieces short enough that all
rows which a piece needs stay in the fastest cache.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from areaplan.compiled import compiled

INDEX: Final = np.uint64
UNREACHABLE: Final = np.float32(np.inf)
PIECE: Final = 1024  # columns


class Steps(NamedTuple):
    """The moves of some sectors as arrays, all forward along the rows.

    Move m leads `row_step[m]`, `col_step[m]` cells on and costs `loss[m]`; it crosses the cells
    `crossed_row[j]`, `crossed_col[j]` away for j from `first_crossed[m]` up to
    `first_crossed[m + 1]`, an odd number of them, and has lost `crossed_loss[j]` when it leaves
    them. `is_in[m, s]` says whether it belongs to the sector s of these, `is_ahead[m, s]` whether
    it points within 15 degrees of that sector's centre.
    """

    row_step: Any
    col_step: Any
    is_in: Any
    is_ahead: Any
    loss: Any
    first_crossed: Any
    crossed_row: Any
    crossed_col: Any
    crossed_loss: Any


class GoalRows(NamedTuple):
    """Cells at which glides of single sectors may end, row by row.

    Row r has the goals from `first[r]` up to `first[r + 1]`: each in column `col`, for the sector
    `number` of those swept, at `amsl`, with its `label`.
    """

    first: Any
    col: Any
    number: Any
    amsl: Any
    label: Any


@compiled
def highest_crossed(
    surface: Any, steps: Steps, move: int, row: int, first: int, count: int, clear: Any
) -> None:
    """What a move has to clear, from each cell of a piece of a row."""
    begin, end = steps.first_crossed[move], steps.first_crossed[move + 1]
    row_a, col_a = INDEX(row + steps.crossed_row[begin]), INDEX(first + steps.crossed_col[begin])
    lost_a = steps.crossed_loss[begin]
    for c in range(count):
        clear[c] = surface[row_a, INDEX(c) + col_a] + lost_a
    j = begin + 1
    while j + 4 <= end:
        row_a, col_a = INDEX(row + steps.crossed_row[j]), INDEX(first + steps.crossed_col[j])
        row_b, col_b = (
            INDEX(row + steps.crossed_row[j + 1]),
            INDEX(first + steps.crossed_col[j + 1]),
        )
        row_c, col_c = (
            INDEX(row + steps.crossed_row[j + 2]),
            INDEX(first + steps.crossed_col[j + 2]),
        )
        row_d, col_d = (
            INDEX(row + steps.crossed_row[j + 3]),
            INDEX(first + steps.crossed_col[j + 3]),
        )
        lost_a, lost_b = steps.crossed_loss[j], steps.crossed_loss[j + 1]
        lost_c, lost_d = steps.crossed_loss[j + 2], steps.crossed_loss[j + 3]
        for c in range(count):
            a = surface[row_a, INDEX(c) + col_a] + lost_a
            b = surface[row_b, INDEX(c) + col_b] + lost_b
            x = surface[row_c, INDEX(c) + col_c] + lost_c
            y = surface[row_d, INDEX(c) + col_d] + lost_d
            a = a if a > b else b
            x = x if x > y else y
            a = a if a > x else x
            clear[c] = a if a > clear[c] else clear[c]
        j += 4
    while j < end:
        row_a, col_a = INDEX(row + steps.crossed_row[j]), INDEX(first + steps.crossed_col[j])
        row_b, col_b = (
            INDEX(row + steps.crossed_row[j + 1]),
            INDEX(first + steps.crossed_col[j + 1]),
        )
        lost_a, lost_b = steps.crossed_loss[j], steps.crossed_loss[j + 1]
        for c in range(count):
            a = surface[row_a, INDEX(c) + col_a] + lost_a
            b = surface[row_b, INDEX(c) + col_b] + lost_b
            a = a if a > b else b
            clear[c] = a if a > clear[c] else clear[c]
        j += 2


@compiled
def lower_labels(
    needed: Any, label: Any, row_there: Any, there: Any, within: Any, count: int, loss: Any,
    clear: Any, low: Any, low_label: Any,
) -> None:  # fmt: skip
    """Take over the labels of the cells that a move leads to where it needs less than `low`."""
    for c in range(count):
        after = needed[row_there, INDEX(c) + there] + loss
        after = clear[c] if clear[c] > after else after
        # Both are read first: a read that depends on the comparison would be done cell by cell.
        old, new = low_label[INDEX(c) + within], label[row_there, INDEX(c) + there]
        low_label[INDEX(c) + within] = new if after < low[INDEX(c) + within] else old


@compiled
def lower(
    needed: Any, row_there: Any, there: Any, within: Any, count: int, loss: Any, clear: Any,
    low: Any,
) -> None:  # fmt: skip
    """Lower a piece of a row to what a move needs."""
    for c in range(count):
        after = needed[row_there, INDEX(c) + there] + loss
        after = clear[c] if clear[c] > after else after
        old = low[INDEX(c) + within]
        low[INDEX(c) + within] = after if after < old else old


@compiled
def lower_both(
    needed: Any, row_there: Any, there: Any, within: Any, count: int, loss: Any, clear: Any,
    low: Any, low_ahead: Any,
) -> None:  # fmt: skip
    """Lower two pieces to what a move ahead needs."""
    for c in range(count):
        after = needed[row_there, INDEX(c) + there] + loss
        after = clear[c] if clear[c] > after else after
        old, old_ahead = low[INDEX(c) + within], low_ahead[INDEX(c) + within]
        low[INDEX(c) + within] = after if after < old else old
        low_ahead[INDEX(c) + within] = after if after < old_ahead else old_ahead


@compiled
def finish(surface: Any, limit: Any, r: Any, at: Any, size: int, low: Any, out: Any) -> None:
    """Write a piece of a row, raised to the surface; at the limit and above no way is known."""
    for c in range(size):
        ground, least = surface[r, INDEX(c) + at], low[c]
        least = ground if ground > least else least
        out[r, INDEX(c) + at] = least if least < limit else UNREACHABLE


@compiled
def lower_to_goals(
    goals: GoalRows, row: int, piece: int, size: int, low: Any, low_ahead: Any, low_label: Any
) -> None:
    """Lower a piece of a row to the goals in it."""
    for j in range(goals.first[row], goals.first[row + 1]):
        s, c = goals.number[j], goals.col[j] - piece
        if 0 <= c < size and goals.amsl[j] < low[s, c]:
            low[s, c] = goals.amsl[j]
            low_ahead[s, c] = goals.amsl[j]
            low_label[s, c] = goals.label[j]


@compiled
def sweep(
    surface: Any, arrival: Any, field: Any, goals: GoalRows, steps: Steps,
    is_from_first_row: bool, done: int, limit: Any, required: Any, ahead: Any, label: Any,
) -> None:  # fmt: skip
    """Fill `required`, `ahead` (and `label`, if it has rows) of some sectors in one pass.

    All moves lead to rows that come before in the order of the pass, so each row depends on
    finished ones only, and no cell of a row on another of the same row. The first `done` rows in
    that order are finished already.
    """
    rows, cols = surface.shape
    sectors = required.shape[0]
    is_labelled = label.shape[1] == rows
    clear = np.empty(PIECE, np.float32)
    low, low_ahead = np.empty((sectors, PIECE), np.float32), np.empty((sectors, PIECE), np.float32)
    low_label = np.empty((sectors, PIECE), np.int16)
    for i in range(done, rows):
        row = i if is_from_first_row else rows - 1 - i
        r = INDEX(row)
        for piece in range(0, cols, PIECE):
            piece_end = min(piece + PIECE, cols)
            size, at = piece_end - piece, INDEX(piece)
            for s in range(sectors):
                for c in range(size):
                    low[s, c] = arrival[r, INDEX(c) + at]
                    low_ahead[s, c] = arrival[r, INDEX(c) + at]
                if is_labelled:
                    for c in range(size):
                        low_label[s, c] = field[r, INDEX(c) + at]
            lower_to_goals(goals, row, piece, size, low, low_ahead, low_label)
            for m in range(steps.loss.size):
                forward, aside = row + steps.row_step[m], steps.col_step[m]
                first = max(piece, -aside)
                count = min(piece_end, cols - aside) - first
                if forward < 0 or forward >= rows or count <= 0:
                    continue
                highest_crossed(surface, steps, m, row, first, count, clear)
                there, within = INDEX(first + aside), INDEX(first - piece)
                loss, row_there = steps.loss[m], INDEX(forward)
                for s in range(sectors):
                    if not steps.is_in[m, s]:
                        continue
                    if is_labelled:
                        lower_labels(
                            required[s], label[s], row_there, there, within, count, loss,
                            clear, low[s], low_label[s],
                        )  # fmt: skip
                    if steps.is_ahead[m, s]:
                        lower_both(
                            required[s], row_there, there, within, count, loss, clear,
                            low[s], low_ahead[s],
                        )  # fmt: skip
                    else:
                        lower(required[s], row_there, there, within, count, loss, clear, low[s])
            for s in range(sectors):
                finish(surface, limit, r, at, size, low[s], required[s])
                finish(surface, limit, r, at, size, low_ahead[s], ahead[s])
                if is_labelled:
                    for c in range(size):
                        old = low_label[s, c]
                        is_reached = required[s, r, INDEX(c) + at] < limit
                        label[s, r, INDEX(c) + at] = old if is_reached else -1
