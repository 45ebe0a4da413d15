"""What each heading asks for in each block of cells: the common ground of the heading surfaces.

`worst_heading.py` says what is computed and why it holds; `heading_surfaces.py` keeps them all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Final, cast

import numpy as np
from attrs import frozen

from areaplan.engine import _heading_kernels as kernels
from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.sweeps import altitude_in_steps, loss_in_steps
from areaplan.engine.threads import over_row_bands
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import HEADING_STEP_DEG, HEADINGS, Indices, ways_out
from areaplan.grid import Float32Array, Float64Array

# A block of this width adds about as much to each window: at one in seven, 8 m of height at most.
# The work goes down with the square of it.
BLOCK_M: Final = 60.0


def nearest_headings(tracks_deg: Float64Array) -> tuple[Indices, Indices]:
    """The headings whose steps hold each track: the same twice, but for a track between two."""
    steps = tracks_deg / HEADING_STEP_DEG
    below = np.ceil(steps - 0.5).astype(np.int64) % HEADINGS
    above = np.floor(steps + 0.5).astype(np.int64) % HEADINGS
    return below, above


def check_surfaces(surfaces: SectorSurfaces, surface_amsl_m: Float32Array, cell_m: float) -> None:
    """Refuse surfaces that no heading can be judged with.

    Raises
    ------
    ValueError
        Arrays of different shapes, a cell size that is not above 0, or surfaces without
        `ahead_amsl_m`.
    """
    if surfaces.ahead_amsl_m is None:
        raise ValueError(
            "surfaces without ahead_amsl_m; expected them as sector_surfaces made them"
        )
    if surface_amsl_m.shape != surfaces.required_amsl_m.shape[1:]:
        expected = surfaces.required_amsl_m.shape[1:]
        raise ValueError(f"surface {surface_amsl_m.shape}; expected {expected}")
    if not cell_m > 0.0:
        raise ValueError(f"cell of {cell_m} m; expected a side above 0")


def judged_blocks(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    runs: Sequence[tuple[int, int]],
    threads: int | None,
) -> Iterator[Float32Array]:
    """For each run of headings, what the worst of them needs in each block of cells.

    Surfaces as `check_surfaces` passes them, and a model with headway. Altitudes in metres AMSL,
    infinity, or `kernels.UNKNOWN`; the arrays are the caller's to keep.

    Parameters
    ----------
    surfaces, surface_amsl_m, cell_m, model, threads
        As `worst_heading` takes them.
    runs : sequence of (int, int)
        First heading of each run and the one after its last.
    """
    ahead = cast(Float32Array, surfaces.ahead_amsl_m)
    block = block_cells(cell_m)
    shape = tuple(-(-count // block) for count in surface_amsl_m.shape)
    sector_squares = np.empty((len(ahead), *shape), np.float32)
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

    over_row_bands(fill_blocks, len(ahead) + 2, threads=threads, band_rows=1)
    plan = _windows(model, cell_m)

    def fill_squares(first: int, end: int) -> None:
        for k in range(first, end):
            is_ground = k == len(ahead)
            squares = ground_squares if is_ground else sector_squares[k]
            kernels.highest_in_squares(plan.path_side if is_ground else plan.end_side, squares)

    over_row_bands(fill_squares, len(ahead) + 1, threads=threads, band_rows=1)
    for first, end in runs:
        some = np.empty(shape, np.float32)
        path0, paths = plan.paths_of(first, end)

        def judge(
            row0: int, row_end: int, some: Float32Array = some,
            ways: Indices = plan.first_way[first : end + 1],
            path: Indices = plan.path - path0, paths: kernels.Boxes = paths,
        ) -> None:  # fmt: skip
            kernels.worst_of_headings(
                row0, row_end, sector_squares, ground_squares,
                ways, plan.sector, plan.loss_m, path, plan.ends, paths, some,
            )  # fmt: skip

        over_row_bands(judge, len(some), threads=threads)
        yield some


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
    """The ways of all headings, by heading, with their boxes as windows of blocks.

    Ways and paths of heading h begin at `first_way[h]` and `first_path[h]`.
    """

    first_way: Indices
    sector: Indices
    loss_m: Float32Array
    path: Indices
    end_side: int
    ends: kernels.Boxes
    path_side: int
    paths: kernels.Boxes
    first_path: Indices

    def paths_of(self, first: int, end: int) -> tuple[int, kernels.Boxes]:
        """Number of the first path of a run of headings, and the boxes of all its paths."""
        path0, path_end = self.first_path[first], self.first_path[end]
        edge, square0 = (
            self.paths.edge[path0:path_end],
            self.paths.first_square[path0 : path_end + 1],
        )
        return int(path0), kernels.Boxes(edge, square0, self.paths.square)


@lru_cache(maxsize=4)  # asked for by whoever cuts a grid into tiles, and again for each tile
def _windows(model: TurnModel, cell_m: float) -> _Windows:
    ways = ways_out(model)
    order = np.argsort(ways.heading, kind="stable")
    block_m = block_cells(cell_m) * cell_m
    heading_of_path = np.full(len(ways.path_m), HEADINGS)  # a path that no way takes comes last
    heading_of_path[ways.path] = ways.heading
    path_order = np.argsort(heading_of_path, kind="stable")
    place = np.argsort(path_order, kind="stable")
    return _Windows(
        np.searchsorted(ways.heading[order], np.arange(HEADINGS + 1)),
        ways.sector[order],
        loss_in_steps(ways.loss_m[order]),
        place[ways.path[order]],
        *_boxes(ways.end_m[order], block_m),
        *_boxes(ways.path_m[path_order], block_m),
        np.searchsorted(heading_of_path[path_order], np.arange(HEADINGS + 1)),
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
