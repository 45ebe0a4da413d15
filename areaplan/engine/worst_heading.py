"""Altitudes from which a field is reached whatever the heading when the engine fails.

    required(x) = max over headings h of min over ways w of h of
                      max(highest A*_k in the box where w ends, highest S in the box under w)
                      + height lost on w

with A*_k the surfaces of `glide.py` for a first move ahead, S the surface to clear and the ways of
`ways.py`; never below the least of the twelve A_k(x).

What it says: an aircraft at any point over cell x, at or above required(x), on any heading, that
flies on for the reaction time and then turns as the best way has it, ends its turn over a cell y
at or above A*_k(y), on the track of that glide's first move; it has not been below the surface of
any cell on the way, since it has lost less than the whole loss there; and from y it glides to a
field.

- Cells are judged together in blocks of up to 60 m, with the highest A*_k and S of each: read
  "block" for "cell" in all of the above but the last A_k(x).
- A box is measured from the place of the failure, which may be any point of x. Counted in cells,
  the window goes from the floor of the box's low edge to the ceiling of its high edge: that holds
  the box from every point of x.
- A window that leaves the grid or holds unknown ground makes its way unusable. Where some heading
  has no way left and one of them failed for that reason only, the answer is NaN; where no known
  way leads to a field whatever the data might say there, infinity.
- A wind as fast as the aircraft leaves no headway on some tracks: then every cell is unreachable.
- Losses and S are rounded up to the steps in which the surfaces are kept: float32 sums are exact.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from areaplan.engine import _heading_kernels as kernels
from areaplan.engine.glide import (
    HIGHEST_AMSL_M,
    SectorSurfaces,
    altitude_in_steps,
    loss_in_steps,
)
from areaplan.engine.threads import over_row_bands
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import HEADINGS, ways_out
from areaplan.grid import Float32Array, Float64Array

# A block of this width adds about as much to each window: at one in seven, 8 m of height at most.
# The work goes down with the square of it.
BLOCK_M: Final = 60.0

__all__ = ["TurnModel", "worst_heading"]


def worst_heading(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    *,
    threads: int | None = None,
) -> Float32Array:
    """Lowest altitude of each cell from which a field is reached whatever the heading.

    Parameters
    ----------
    surfaces : SectorSurfaces
        From `sector_surfaces`, for the same glide and wind as the model's.
    surface_amsl_m : float32 array, shape (rows, cols)
        The surface to clear that they were made with, NaN where unknown.
    cell_m : float
        Side of a cell, metres, above 0.
    model : TurnModel
        Reaction, turn and wind.
    threads : int or None
        Count of threads; None takes one for each core. The result is the same for any number.

    Returns
    -------
    float32 array, shape (rows, cols)
        Metres AMSL; infinity where no altitude is known to be enough, NaN where the ground within
        reach of the turn is not known and that may be why.

    Raises
    ------
    ValueError
        Arrays of different shapes, a cell size that is not above 0, or surfaces without
        `ahead_amsl_m`.
    """
    required, ahead = surfaces.required_amsl_m, surfaces.ahead_amsl_m
    if ahead is None:
        raise ValueError(
            "surfaces without ahead_amsl_m; expected them as sector_surfaces made them"
        )
    if surface_amsl_m.shape != required.shape[1:]:
        raise ValueError(f"surface {surface_amsl_m.shape}; expected {required.shape[1:]}")
    if not cell_m > 0.0:
        raise ValueError(f"cell of {cell_m} m; expected a side above 0")
    if not model.has_headway:
        return np.where(np.isnan(surface_amsl_m), np.float32(np.nan), np.float32(np.inf))
    block = max(1, int(BLOCK_M / cell_m))
    shape = tuple(-(-count // block) for count in surface_amsl_m.shape)
    ways = ways_out(model)
    order = np.argsort(ways.heading, kind="stable")
    first_way = np.searchsorted(ways.heading[order], np.arange(HEADINGS + 1))
    end_side, ends = _boxes(ways.end_m[order], block * cell_m)
    path_side, paths = _boxes(ways.path_m, block * cell_m)
    loss_m = loss_in_steps(ways.loss_m[order])
    sector_squares = np.empty((len(required), *shape), np.float32)
    ground_squares = np.empty(shape, np.float32)
    surface = altitude_in_steps(surface_amsl_m)

    def fill_squares(first: int, end: int) -> None:
        for k in range(first, end):
            is_ground = k == len(required)
            squares = ground_squares if is_ground else sector_squares[k]
            kernels.highest_in_blocks(surface if is_ground else ahead[k], block, squares)
            kernels.highest_in_squares(path_side if is_ground else end_side, squares)

    over_row_bands(fill_squares, len(required) + 1, threads=threads, band_rows=1)
    blocks = np.empty(shape, np.float32)

    def judge(row0: int, row_end: int) -> None:
        kernels.worst_of_headings(
            row0, row_end, sector_squares, ground_squares,
            first_way, ways.sector[order], loss_m, ways.path[order], ends, paths, blocks,
        )  # fmt: skip

    over_row_bands(judge, len(blocks), threads=threads)
    worst = np.empty(surface_amsl_m.shape, np.float32)

    def spread(row0: int, row_end: int) -> None:
        limit = np.float32(HIGHEST_AMSL_M)
        kernels.spread_blocks(row0, row_end, blocks, block, required, limit, worst)

    over_row_bands(spread, len(worst), threads=threads)
    return worst


def _boxes(boxes_m: Float64Array, cell_m: float) -> tuple[int, kernels.Boxes]:
    """Windows of cells for boxes in metres, and the side of the squares they are cut into.

    Rows go south, so the north edge gives the first row. Windows narrower than a square are
    widened to it, by as much on either side, which only adds to what has to be cleared.
    """
    west, east, south, north = (boxes_m / cell_m).T
    low = np.stack([np.floor(-north), np.floor(west)], axis=1).astype(np.int64)
    high = np.stack([np.ceil(-south), np.ceil(east)], axis=1).astype(np.int64)
    side = 1 << int(np.log2(np.median(high - low + 1)))
    short = np.maximum(side - (high - low + 1), 0)
    low, high = low - (short + 1) // 2, high + (short + 1) // 2
    squares: list[tuple[int, int]] = []
    first_square = [0]
    for (row_low, col_low), (row_high, col_high) in zip(low.tolist(), high.tolist(), strict=True):
        rows = [*range(row_low, row_high - side + 1, side), row_high - side + 1]
        cols = [*range(col_low, col_high - side + 1, side), col_high - side + 1]
        squares += [(row, col) for row in rows for col in cols]
        squares += squares[-1:] * (len(squares) % 2)  # the kernel takes two at a time
        first_square.append(len(squares))
    edge = np.stack([low[:, 0], high[:, 0], low[:, 1], high[:, 1]], axis=1)
    return side, kernels.Boxes(edge, np.array(first_square), np.array(squares))
