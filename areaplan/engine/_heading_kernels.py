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
def columns_inside(
    rows: int, cols: int, row_low: int, row_high: int, col_low: int, col_high: int
) -> Any:
    """First column, and the one after the last, whose box is on the grid; equal where none is.

    The box spans rows `row_low` to `row_high`, and columns `col_low` to `col_high` away.
    """
    first, end = max(0, -col_low), min(cols, cols - col_high)
    is_inside = row_low >= 0 and row_high < rows and first < end
    return (first, end) if is_inside else (0, 0)


@compiled
def highest_below(row: int, ground: Any, paths: Boxes, below: Any) -> None:
    """Highest value in each box round each block of a row; UNKNOWN where it leaves the grid."""
    rows, cols = ground.shape
    edge, first_square, square = paths.edge, paths.first_square, paths.square
    for i in range(edge.shape[0]):
        first, end = columns_inside(
            rows, cols, row + edge[i, 0], row + edge[i, 1], edge[i, 2], edge[i, 3]
        )
        here, begin = INDEX(first), first_square[i]
        for c in range(first):
            below[i, c] = UNKNOWN
        for c in range(end, cols):
            below[i, c] = UNKNOWN
        for j in range(begin, first_square[i + 1] if first < end else begin, 2):
            row_a, col_a = INDEX(row + square[j, 0]), INDEX(first + square[j, 1])
            row_b, col_b = INDEX(row + square[j + 1, 0]), INDEX(first + square[j + 1, 1])
            if j == begin:
                for c in range(end - first):
                    a, b = ground[row_a, INDEX(c) + col_a], ground[row_b, INDEX(c) + col_b]
                    below[i, INDEX(c) + here] = a if a > b else b
            else:
                for c in range(end - first):
                    a, b = ground[row_a, INDEX(c) + col_a], ground[row_b, INDEX(c) + col_b]
                    a = a if a > b else b
                    old = below[i, INDEX(c) + here]
                    below[i, INDEX(c) + here] = a if a > old else old


@compiled
def least_of_ways(
    row: int, way0: int, way_end: int, squares: Any, sector: Any, loss: Any, path: Any, ends: Boxes,
    below: Any, at_end: Any, least: Any,
) -> int:  # fmt: skip
    """Least that one of some ways needs from each block of a row; the row of `least` it is in.

    The last two squares of the box where a way ends are not stored first. `least` has two rows that
    take turns: written to the row that was read, a result would become a slow masked store.
    """
    rows, cols = squares.shape[1], squares.shape[2]
    edge, first_square, square = ends.edge, ends.first_square, ends.square
    old, new = INDEX(0), INDEX(1)
    for c in range(cols):
        least[old, c] = UNREACHABLE
    for way in range(way0, way_end):
        first, end = columns_inside(
            rows, cols, row + edge[way, 0], row + edge[way, 1], edge[way, 2], edge[way, 3]
        )
        here, begin, last = INDEX(first), first_square[way], first_square[way + 1] - 2
        k, under, lost = INDEX(sector[way]), INDEX(path[way]), loss[way]
        for c in range(first):
            x = least[old, INDEX(c)]
            least[new, INDEX(c)] = UNKNOWN if x > UNKNOWN else x
        for c in range(cols - end):
            x = least[old, INDEX(c) + INDEX(end)]
            least[new, INDEX(c) + INDEX(end)] = UNKNOWN if x > UNKNOWN else x
        for j in range(begin, last + 2 if first < end else begin, 2):
            row_a, col_a = INDEX(row + square[j, 0]), INDEX(first + square[j, 1])
            row_b, col_b = INDEX(row + square[j + 1, 0]), INDEX(first + square[j + 1, 1])
            if j == begin and j < last:
                for c in range(end - first):
                    a, b = squares[k, row_a, INDEX(c) + col_a], squares[k, row_b, INDEX(c) + col_b]
                    at_end[c] = a if a > b else b
            elif j < last:
                for c in range(end - first):
                    a, b = squares[k, row_a, INDEX(c) + col_a], squares[k, row_b, INDEX(c) + col_b]
                    a = a if a > b else b
                    at_end[c] = a if a > at_end[c] else at_end[c]
            else:
                for c in range(end - first):
                    a, b = squares[k, row_a, INDEX(c) + col_a], squares[k, row_b, INDEX(c) + col_b]
                    x = below[under, INDEX(c) + here]
                    a, b = a if a > b else b, at_end[c] if j > begin else x
                    a = a if a > b else b
                    a = (a if a > x else x) + lost
                    x = least[old, INDEX(c) + here]
                    least[new, INDEX(c) + here] = a if a < x else x
        old, new = new, old
    return int(old)


@compiled
def worst_of_headings(
    row0: int, row_end: int, sector_squares: Any, ground_squares: Any,
    first_way: Any, sector: Any, loss: Any, path: Any, ends: Boxes, paths: Boxes, worst: Any,
) -> None:  # fmt: skip
    """Fill rows row0 to row_end of `worst`: max over headings of min over ways.

    The ways of heading h are first_way[h] up to first_way[h + 1]. No function is called for a
    single way: references to its arrays would be counted, which threads wait for each other to do.
    """
    cols = worst.shape[1]
    below = np.empty((paths.edge.shape[0], cols), np.float32)
    at_end, least = np.empty(cols, np.float32), np.empty((2, cols), np.float32)
    for row in range(row0, row_end):
        highest_below(row, ground_squares, paths, below)
        for c in range(cols):
            worst[row, c] = -UNREACHABLE
        for h in range(first_way.size - 1):
            now = least_of_ways(
                row, first_way[h], first_way[h + 1], sector_squares, sector, loss, path, ends,
                below, at_end, least,
            )  # fmt: skip
            for c in range(cols):
                worst[row, c] = least[now, c] if least[now, c] > worst[row, c] else worst[row, c]


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
