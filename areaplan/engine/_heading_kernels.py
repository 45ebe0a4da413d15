"""Compiled loops of `worst_heading.py`. No checks: the public function has made them.

Indices are unsigned inside the loops over columns, as in `_glide_kernels.py`. Three kinds of value
stand in the arrays: altitudes, infinity for "no way in what is known", and `UNKNOWN` for "no way,
because the ground is not known". UNKNOWN is the smaller of the two: a heading whose ways all fail,
one of them only for want of data, might do with more data.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np

from areaplan.compiled import compiled

INDEX: Final = np.uint64
# Far above any altitude; adding a loss leaves it as it is.
UNKNOWN: Final = np.float32(1e30)
UNREACHABLE: Final = np.float32(np.inf)


class Boxes(NamedTuple):
    """Windows of cells round a cell, each cut into equal squares whose highest value is known.

    Box i spans rows `edge[i, 0]` to `edge[i, 1]` and columns `edge[i, 2]` to `edge[i, 3]` away,
    ends included. Its squares have their first cell `square[j]` (rows, columns) away, for j from
    `first_square[i]` up to `first_square[i + 1]`.
    """

    edge: Any
    first_square: Any
    square: Any


@compiled
def highest_in_blocks(values: Any, cells: int, highest: Any) -> None:
    """Highest value of each block of cells x cells; NaN counts as UNKNOWN, and so does no cell."""
    rows, cols = values.shape
    tallest = np.empty(highest.shape[1] * cells, np.float32)  # of each column, within the blocks
    for block_row in range(highest.shape[0]):
        end = (block_row + 1) * cells
        tallest[:cols] = -UNREACHABLE if end <= rows else UNKNOWN
        tallest[cols:] = UNKNOWN
        for r in range(block_row * cells, min(end, rows)):
            for c in range(cols):
                value, old = values[r, c], tallest[c]
                value = value if value == value else UNKNOWN
                tallest[c] = value if value > old else old
        for block_col in range(highest.shape[1]):
            top = tallest[block_col * cells]
            for c in range(block_col * cells + 1, (block_col + 1) * cells):
                top = tallest[c] if tallest[c] > top else top
            highest[block_row, block_col] = top


@compiled
def highest_in_squares(side: int, highest: Any) -> None:
    """Raise each value to the highest of the square of given side (2^n) that begins there.

    The last side - 1 rows and columns come to hold nothing of use. The highest of a run of 2n
    comes from two runs of n.
    """
    rows, cols = highest.shape
    run = 1
    while run < side:
        for r in range(rows):
            for c in range(cols - run):
                other = highest[r, INDEX(c) + INDEX(run)]
                highest[r, c] = other if other > highest[r, c] else highest[r, c]
        for r in range(rows - run):
            below = INDEX(r) + INDEX(run)
            for c in range(cols):
                other = highest[below, c]
                highest[r, c] = other if other > highest[r, c] else highest[r, c]
        run *= 2


@compiled
def highest_in_box(squares: Any, boxes: Boxes, box: int, row: int, highest: Any) -> None:
    """Highest value in a box round each block of a row; UNKNOWN where it leaves the grid."""
    rows, cols = squares.shape
    first, end = max(0, -boxes.edge[box, 2]), min(cols, cols - boxes.edge[box, 3])
    if row + boxes.edge[box, 0] < 0 or row + boxes.edge[box, 1] >= rows or first >= end:
        first, end = 0, 0
    for c in range(first):
        highest[c] = UNKNOWN
    for c in range(end, cols):
        highest[c] = UNKNOWN
    if first == end:
        return
    here, begin = INDEX(first), boxes.first_square[box]
    for j in range(begin, boxes.first_square[box + 1], 2):
        row_a, col_a = INDEX(row + boxes.square[j, 0]), INDEX(first + boxes.square[j, 1])
        row_b, col_b = INDEX(row + boxes.square[j + 1, 0]), INDEX(first + boxes.square[j + 1, 1])
        if j == begin:
            for c in range(end - first):
                a, b = squares[row_a, INDEX(c) + col_a], squares[row_b, INDEX(c) + col_b]
                highest[INDEX(c) + here] = a if a > b else b
        else:
            for c in range(end - first):
                a, b = squares[row_a, INDEX(c) + col_a], squares[row_b, INDEX(c) + col_b]
                a = a if a > b else b
                old = highest[INDEX(c) + here]
                highest[INDEX(c) + here] = a if a > old else old


@compiled
def worst_of_headings(
    row0: int, row_end: int, sector_squares: Any, ground_squares: Any,
    first_way: Any, sector: Any, loss: Any, path: Any, ends: Boxes, paths: Boxes, worst: Any,
) -> None:  # fmt: skip
    """Fill rows row0 to row_end of `worst`: max over headings of min over ways.

    The ways of heading h are first_way[h] up to first_way[h + 1].
    """
    cols = worst.shape[1]
    below = np.empty((paths.edge.shape[0], cols), np.float32)
    at_end = np.empty(cols, np.float32)
    least = np.empty(cols, np.float32)
    for row in range(row0, row_end):
        for i in range(below.shape[0]):
            highest_in_box(ground_squares, paths, i, row, below[i])
        for c in range(cols):
            worst[row, c] = -UNREACHABLE
        for h in range(first_way.size - 1):
            for c in range(cols):
                least[c] = UNREACHABLE
            for way in range(first_way[h], first_way[h + 1]):
                highest_in_box(sector_squares[sector[way]], ends, way, row, at_end)
                under, lost = INDEX(path[way]), loss[way]
                for c in range(cols):
                    need = at_end[c] if at_end[c] > below[under, c] else below[under, c]
                    need += lost
                    least[c] = need if need < least[c] else least[c]
            for c in range(cols):
                worst[row, c] = least[c] if least[c] > worst[row, c] else worst[row, c]


@compiled
def spread_blocks(
    row0: int, row_end: int, blocks: Any, cells: int, required: Any, limit: Any, worst: Any
) -> None:
    """Give rows row0 to row_end the value of their block, or the least of the sectors if higher.

    NaN where the block is UNKNOWN or the cell itself is not known in the sectors; infinity from
    the limit on.
    """
    cols = worst.shape[1]
    for r in range(row0, row_end):
        for c in range(cols):
            worst[r, c] = UNREACHABLE
        for k in range(required.shape[0]):
            for c in range(cols):
                # Unknown ground is NaN in all sectors: no comparison holds, and the last is taken.
                value = required[k, r, c]
                worst[r, c] = worst[r, c] if worst[r, c] <= value else value
        for c in range(cols):
            value = blocks[r // cells, c // cells]
            if worst[r, c] == worst[r, c]:
                value = value if value > worst[r, c] else worst[r, c]
                value = UNREACHABLE if limit <= value and value != UNKNOWN else value
                worst[r, c] = np.nan if value == UNKNOWN else value
