"""Altitudes from which a field is reached whatever the heading, or on some, when the engine fails.

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

from functools import lru_cache, partial
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import ArrayLike

from areaplan.engine import _heading_kernels as kernels
from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.sweeps import HIGHEST_AMSL_M, altitude_in_steps, loss_in_steps
from areaplan.engine.threads import over_row_bands
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import HEADING_STEP_DEG, HEADINGS, Indices, ways_out
from areaplan.grid import Float32Array, Float64Array

# A block of this width adds about as much to each window: at one in seven, 8 m of height at most.
# The work goes down with the square of it.
BLOCK_M: Final = 60.0

__all__ = ["TurnModel", "block_cells", "reach_cells", "required_for_tracks", "worst_heading"]


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
    return _highest_of(surfaces, surface_amsl_m, cell_m, model, None, threads)


def required_for_tracks(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    tracks_deg: ArrayLike,
    *,
    threads: int | None = None,
) -> Float32Array:
    """Lowest altitude of each cell from which a field is reached on any of some tracks.

    As `worst_heading`, for a manoeuvre whose tracks over the ground at the failure are known. Each
    track stands for all within the 15 degrees of its heading's step (both where it lies between
    two): nobody flies a track to the degree. Never above what `worst_heading` gives.

    Parameters
    ----------
    surfaces, surface_amsl_m, cell_m, model, threads
        As `worst_heading` takes them.
    tracks_deg : float or array of float
        Tracks over the ground, degrees true; at least one.

    Returns
    -------
    float32 array, shape (rows, cols)
        As `worst_heading`.

    Raises
    ------
    ValueError
        As `worst_heading`; or no track, or one that is not finite.
    """
    tracks = np.atleast_1d(np.asarray(tracks_deg, dtype=np.float64))
    if tracks.size == 0 or not np.all(np.isfinite(tracks)):
        raise ValueError(f"tracks {tracks}; expected one or more, in degrees true")
    steps = tracks / HEADING_STEP_DEG
    nearest = np.concatenate([np.ceil(steps - 0.5), np.floor(steps + 0.5)])
    headings = np.unique(nearest.astype(np.int64) % HEADINGS)
    return _highest_of(surfaces, surface_amsl_m, cell_m, model, headings.tolist(), threads)


def _highest_of(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    headings: list[int] | None,
    threads: int | None,
) -> Float32Array:
    """The highest altitude that any of some headings (all, for None) needs."""
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
    block = block_cells(cell_m)
    shape = tuple(-(-count // block) for count in surface_amsl_m.shape)
    sector_squares = np.empty((len(required), *shape), np.float32)
    ground_squares = np.empty(shape, np.float32)
    surface = altitude_in_steps(surface_amsl_m)

    def fill_blocks(first: int, end: int) -> None:
        for k in range(first, end):
            if k == 0:
                _windows(model, cell_m)  # kept; beside the others it costs hardly any time
            else:
                is_ground = k > len(ahead)
                squares = ground_squares if is_ground else sector_squares[k - 1]
                kernels.highest_in_blocks(surface if is_ground else ahead[k - 1], block, squares)

    over_row_bands(fill_blocks, len(required) + 2, threads=threads, band_rows=1)
    plan = _windows(model, cell_m)

    def fill_squares(first: int, end: int) -> None:
        for k in range(first, end):
            is_ground = k == len(required)
            squares = ground_squares if is_ground else sector_squares[k]
            kernels.highest_in_squares(plan.path_side if is_ground else plan.end_side, squares)

    over_row_bands(fill_squares, len(required) + 1, threads=threads, band_rows=1)
    blocks = np.full(shape, -np.inf, np.float32)
    chosen = [plan.first_way]
    if headings is not None:
        chosen = [plan.first_way[h : h + 2] for h in headings]
    some = np.empty(shape, np.float32)

    def judge(first: Indices, row0: int, row_end: int) -> None:
        kernels.worst_of_headings(
            row0, row_end, sector_squares, ground_squares,
            first, plan.sector, plan.loss_m, plan.path, plan.ends, plan.paths, some,
        )  # fmt: skip

    for first in chosen:
        over_row_bands(partial(judge, first), len(blocks), threads=threads)
        np.maximum(blocks, some, out=blocks)
    worst = np.empty(surface_amsl_m.shape, np.float32)

    def spread(row0: int, row_end: int) -> None:
        limit = np.float32(HIGHEST_AMSL_M)
        kernels.spread_blocks(row0, row_end, blocks, block, required, limit, worst)

    over_row_bands(spread, len(worst), threads=threads)
    return worst


def block_cells(cell_m: float) -> int:
    """Cells along the side of the blocks in which cells are judged together."""
    return max(1, int(BLOCK_M / cell_m))


def reach_cells(model: TurnModel, cell_m: float) -> int:
    """How far from a block the windows of its ways reach, cells: a whole number of blocks.

    Parameters
    ----------
    model : TurnModel
    cell_m : float
        Side of a cell, metres, above 0.
    """
    if not model.has_headway:
        return 0
    plan = _windows(model, cell_m)
    farthest = max(np.abs(boxes.edge).max() for boxes in (plan.ends, plan.paths))
    return block_cells(cell_m) * int(farthest)


@frozen(eq=False)
class _Windows:
    """The ways of all headings, by heading, with their boxes as windows of blocks."""

    first_way: Indices
    sector: Indices
    loss_m: Float32Array
    path: Indices
    end_side: int
    ends: kernels.Boxes
    path_side: int
    paths: kernels.Boxes


@lru_cache(maxsize=4)  # asked for by whoever cuts a grid into tiles, and again for each tile
def _windows(model: TurnModel, cell_m: float) -> _Windows:
    ways = ways_out(model)
    order = np.argsort(ways.heading, kind="stable")
    block_m = block_cells(cell_m) * cell_m
    return _Windows(
        np.searchsorted(ways.heading[order], np.arange(HEADINGS + 1)),
        ways.sector[order],
        loss_in_steps(ways.loss_m[order]),
        ways.path[order],
        *_boxes(ways.end_m[order], block_m),
        *_boxes(ways.path_m, block_m),
    )


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
