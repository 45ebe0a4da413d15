"""Compiled loop of `glide.py`. No checks: the public function has made them.

Indices are unsigned inside the loops over columns: numba then leaves out the test for negative
ones, and the loops become vector instructions.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from areaplan.compiled import compiled

INDEX: Final = np.uint64
UNREACHABLE: Final = np.float32(np.inf)


class Steps(NamedTuple):
    """The moves of a sector as arrays, all forward along the rows.

    Move m leads `row_step[m]`, `col_step[m]` cells on and costs `loss[m]`; it crosses the cells
    `crossed_row[j]`, `crossed_col[j]` away for j from `first_crossed[m]` up to
    `first_crossed[m + 1]` and has lost `crossed_loss[j]` when it leaves them. `is_ahead[m]` says
    whether it points within 15 degrees of the sector's centre.
    """

    row_step: Any
    col_step: Any
    is_ahead: Any
    loss: Any
    first_crossed: Any
    crossed_row: Any
    crossed_col: Any
    crossed_loss: Any


@compiled
def sweep(
    surface: Any, arrival: Any, field: Any, steps: Steps, is_from_first_row: bool, limit: Any,
    required: Any, ahead: Any, label: Any,
) -> None:  # fmt: skip
    """Fill `required`, `ahead` (and `label`, if it has rows) in one pass over the rows.

    All moves lead to rows that come before in the order of the pass, so each row depends on
    finished ones only, and no cell of a row on another of the same row.
    """
    rows, cols = surface.shape
    is_labelled = label.shape[0] == rows
    after = np.empty(cols, np.float32)
    for i in range(rows):
        r = INDEX(i) if is_from_first_row else INDEX(rows - 1 - i)
        for c in range(cols):
            required[r, c] = arrival[r, c]
            ahead[r, c] = arrival[r, c]
        if is_labelled:
            for c in range(cols):
                label[r, c] = field[r, c]
        for m in range(steps.loss.size):
            forward = np.int64(r) + steps.row_step[m]
            aside = steps.col_step[m]
            first, count = max(0, -aside), cols - abs(aside)
            if forward < 0 or forward >= rows or count <= 0:
                continue
            here, there, row_there = INDEX(first), INDEX(first + aside), INDEX(forward)
            loss = steps.loss[m]
            for c in range(count):
                after[c] = required[row_there, INDEX(c) + there] + loss
            for j in range(steps.first_crossed[m], steps.first_crossed[m + 1]):
                row_over = INDEX(np.int64(r) + steps.crossed_row[j])
                over, loss_over = INDEX(first + steps.crossed_col[j]), steps.crossed_loss[j]
                for c in range(count):
                    clear = surface[row_over, INDEX(c) + over] + loss_over
                    after[c] = clear if clear > after[c] else after[c]
            if is_labelled:
                for c in range(count):
                    is_less = after[c] < required[r, INDEX(c) + here]
                    old = label[r, INDEX(c) + here]
                    label[r, INDEX(c) + here] = (
                        label[row_there, INDEX(c) + there] if is_less else old
                    )
            for c in range(count):
                old = required[r, INDEX(c) + here]
                required[r, INDEX(c) + here] = after[c] if after[c] < old else old
            if steps.is_ahead[m]:
                for c in range(count):
                    old = ahead[r, INDEX(c) + here]
                    ahead[r, INDEX(c) + here] = after[c] if after[c] < old else old
        for out in (required, ahead):
            for c in range(cols):
                least = out[r, c]
                least = surface[r, c] if surface[r, c] > least else least
                out[r, c] = least if least < limit else UNREACHABLE
        if is_labelled:
            for c in range(cols):
                label[r, c] = label[r, c] if required[r, c] < limit else -1
