"""The glide over parts of a grid: bit for bit what the whole gives, in bounded memory.

- Sectors: a sweep goes forward along rows (or columns), and no move leads farther than
  `REACH_CELLS`. So a band of rows needs of what came before it only that many rows: carried over,
  they make the bands together the same pass as the whole.
- Worst heading: a block depends on the windows of its ways, so a tile with a halo as wide as the
  widest window, its edges on edges of blocks, has all that the whole has there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from attrs import frozen

from areaplan.engine._glide_kernels import GoalRows, Steps
from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.goals import Goals
from areaplan.engine.moves import SECTORS, MoveLosses
from areaplan.engine.sweeps import (
    GROUPS,
    Answers,
    Group,
    Rows,
    group_steps,
    passable,
    sweep_in_bands,
    turned,
)
from areaplan.engine.threads import over_row_bands
from areaplan.engine.turns import TurnModel
from areaplan.engine.worst_heading import block_cells, reach_cells, worst_heading
from areaplan.grid import BoolArray, Float32Array, Int16Array

TILE_CELLS: Final = 1024
NO_LABELS: Final[Int16Array] = np.empty((0, 0), np.int16)


@frozen
class Window:
    """A rectangle of cells: rows from `row0` up to, not including, `row_end`; columns alike."""

    row0: int
    row_end: int
    col0: int
    col_end: int

    @property
    def slices(self) -> tuple[slice, slice]:
        """To cut it out of an array of the grid's shape."""
        return slice(self.row0, self.row_end), slice(self.col0, self.col_end)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows, columns."""
        return self.row_end - self.row0, self.col_end - self.col0

    def widened(self, cells: int, multiple: int, grid_shape: tuple[int, int]) -> Window:
        """The window and a rim round it, its edges on whole multiples or on the grid's edge.

        Parameters
        ----------
        cells : int
            Width of the rim, before it is widened to a multiple.
        multiple : int
            Rows and columns counted from the grid's first one.
        grid_shape : tuple of int
            Rows and columns of the grid.
        """
        rows, cols = grid_shape
        low = [max(0, (one - cells) // multiple * multiple) for one in (self.row0, self.col0)]
        high = [-(-(one + cells) // multiple) * multiple for one in (self.row_end, self.col_end)]
        return Window(low[0], min(high[0], rows), low[1], min(high[1], cols))


def window_round(is_wanted: BoolArray) -> Window:
    """The smallest window that holds all cells that are true.

    Raises
    ------
    ValueError
        None is.
    """
    rows, cols = np.flatnonzero(is_wanted.any(axis=1)), np.flatnonzero(is_wanted.any(axis=0))
    if not rows.size:
        raise ValueError("no cell is wanted; expected one or more")
    return Window(int(rows[0]), int(rows[-1]) + 1, int(cols[0]), int(cols[-1]) + 1)


def tiles(shape: tuple[int, int], side: int) -> Iterator[Window]:
    """Windows of up to side x side cells that cover a grid, row by row.

    Raises
    ------
    ValueError
        A side below 1.
    """
    if side < 1:
        raise ValueError(f"tiles of {side} cells; expected 1 or more")
    rows, cols = shape
    for row in range(0, rows, side):
        for col in range(0, cols, side):
            yield Window(row, min(row + side, rows), col, min(col + side, cols))


def worst_heading_in(
    window: Window,
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    *,
    threads: int | None = None,
) -> Float32Array:
    """`worst_heading` over a window only: the same bits as the whole has there.

    Parameters
    ----------
    window : Window
        Which cells to judge.
    surfaces, surface_amsl_m, cell_m, model, threads
        As for `worst_heading`, of the whole grid; memory-mapped arrays will do.

    Returns
    -------
    float32 array of the window's shape

    Raises
    ------
    ValueError
        As `worst_heading`.
    """
    if surfaces.ahead_amsl_m is None:
        return worst_heading(surfaces, surface_amsl_m, cell_m, model, threads=threads)
    shape = (surface_amsl_m.shape[0], surface_amsl_m.shape[1])
    wide = window.widened(reach_cells(model, cell_m), block_cells(cell_m), shape)
    rows, cols = wide.slices
    part = SectorSurfaces(
        np.ascontiguousarray(surfaces.required_amsl_m[:, rows, cols]),
        None,
        np.ascontiguousarray(surfaces.ahead_amsl_m[:, rows, cols]),
    )
    surface = np.ascontiguousarray(surface_amsl_m[rows, cols])
    worst = worst_heading(part, surface, cell_m, model, threads=threads)
    row, col = window.row0 - wide.row0, window.col0 - wide.col0
    return worst[row : row + window.shape[0], col : col + window.shape[1]]


def tiled_sector_surfaces(
    surface_amsl_m: Float32Array,
    arrival_amsl_m: Float32Array,
    cell_m: float,
    losses: MoveLosses,
    folder: Path,
    field_index: Int16Array | None = None,
    *,
    goals: Goals | None = None,
    band_rows: int = TILE_CELLS,
    threads: int | None = None,
) -> SectorSurfaces:
    """`sector_surfaces` for grids beyond memory: the same bits, in files.

    Parameters
    ----------
    surface_amsl_m, arrival_amsl_m, cell_m, losses, field_index, goals, threads
        As for `sector_surfaces`; memory-mapped arrays will do.
    folder : Path
        Where to put `required.f32`, `ahead.f32` and, if asked for, `field.i16`; 8 (or 9.6) bytes a
        cell and sector. Existing ones are replaced.
    band_rows : int
        Rows (columns, for sectors near east and west) held in memory at a time, at least 1.

    Returns
    -------
    SectorSurfaces
        Over memory-mapped arrays, read only.

    Raises
    ------
    ValueError
        Arrays of different shapes, a cell size that is not above 0, goals off the grid, or bands
        below 1 row.
    OSError
        The files can't be written.
    """
    given = [surface_amsl_m, arrival_amsl_m] + ([] if field_index is None else [field_index])
    if {array.shape for array in given} != {surface_amsl_m.shape} or surface_amsl_m.ndim != 2:
        raise ValueError("arrays of different shapes; expected one shape (rows, cols)")
    if not cell_m > 0.0 or band_rows < 1:
        raise ValueError(f"cell of {cell_m} m, bands of {band_rows} rows; expected above 0")
    ends = Goals.none() if goals is None else goals
    ends.require_within(surface_amsl_m.shape)
    shape = (SECTORS, *surface_amsl_m.shape)
    files: dict[str, Any] = {"required.f32": np.float32, "ahead.f32": np.float32}
    if field_index is not None:
        files["field.i16"] = np.int16
    for name, kind in files.items():
        np.memmap(folder / name, kind, "w+", shape=shape).flush()

    def work(first_group: int, end_group: int) -> None:
        for group in GROUPS[first_group:end_group]:
            steps = group_steps(group, cell_m, losses)
            ends_here = ends.rows_for(group, surface_amsl_m.shape)
            _sweep_to_files(group, given, ends_here, steps, folder, band_rows)

    over_row_bands(work, len(GROUPS), threads=threads, band_rows=1)
    found: list[Any] = [
        np.memmap(folder / name, kind, "r", shape=shape) for name, kind in files.items()
    ]
    return SectorSurfaces(found[0], found[2] if field_index is not None else None, found[1])


def _sweep_to_files(
    group: Group,
    given: Sequence[Any],
    goals: GoalRows,
    steps: Steps,
    folder: Path,
    band_rows: int,
) -> None:
    rows, cols = given[0].shape
    is_labelled = len(given) > 2

    def cut(array: Any, first: int, end: int) -> Any:
        return turned(array[:, first:end]) if group.is_turned else array[first:end]

    def read(first: int, end: int) -> Rows:
        surface, arrival = (passable(cut(array, first, end)) for array in given[:2])
        field = np.ascontiguousarray(cut(given[2], first, end)) if is_labelled else NO_LABELS
        return Rows(surface, arrival, field.astype(np.int16))

    def write(first: int, end: int, found: Answers, at: int) -> None:
        unknown = np.isnan(cut(given[0], first, end))
        part = slice(at, at + end - first)
        for name, answer in (("required.f32", found.required), ("ahead.f32", found.ahead)):
            target = np.memmap(folder / name, np.float32, "r+", shape=(SECTORS, rows, cols))
            for number, sector in enumerate(group.sectors):
                known = np.where(unknown, np.float32(np.nan), answer[number, part])
                _put(target[sector], known, first, end, group)
        if is_labelled:
            target = np.memmap(folder / "field.i16", np.int16, "r+", shape=(SECTORS, rows, cols))
            for number, sector in enumerate(group.sectors):
                _put(target[sector], found.label[number, part], first, end, group)

    turned_shape = (cols, rows) if group.is_turned else (rows, cols)
    sweep_in_bands(steps, turned_shape, band_rows, goals, read, write)


def _put(target: Any, values: Any, first: int, end: int, group: Group) -> None:
    if group.is_turned:
        target[:, first:end] = turned(values)
    else:
        target[first:end] = values


def tiled_worst_heading(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    path: Path,
    *,
    side: int = TILE_CELLS,
    threads: int | None = None,
) -> Float32Array:
    """`worst_heading` for grids beyond memory: the same bits, tile by tile, in a file.

    Parameters
    ----------
    surfaces, surface_amsl_m, cell_m, model, threads
        As for `worst_heading`; memory-mapped arrays will do.
    path : Path
        The file to write, 4 bytes a cell; an existing one is replaced.
    side : int
        Side of a tile, cells, at least 1. Each is read with a halo round it.

    Returns
    -------
    float32 array, shape (rows, cols)
        Memory-mapped, read only.

    Raises
    ------
    ValueError
        As `worst_heading`; or a side below 1.
    OSError
        The file can't be written.
    """
    shape = (surface_amsl_m.shape[0], surface_amsl_m.shape[1])
    np.memmap(path, np.float32, "w+", shape=shape).flush()
    for window in tiles(shape, side):
        worst = worst_heading_in(window, surfaces, surface_amsl_m, cell_m, model, threads=threads)
        np.memmap(path, np.float32, "r+", shape=shape)[window.slices] = worst
    return np.memmap(path, np.float32, "r", shape=shape)
