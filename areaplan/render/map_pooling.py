"""Cutting and coarsening of cells for the page, never to the optimistic side.

A coarse cell stands for every fine cell below it: its floor is the highest of theirs, an altitude
is open only where it is open in all of them, and it is unknown as soon as one of them is.
"""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Grid, Int16Array, Int32Array
from areaplan.planning.plan import NO_BAND_FT, NOBODY, UNKNOWN_FT, UNREACHABLE_FT, Cells


def cut(grid: Grid, cells: Cells, rows: slice, cols: slice) -> tuple[Grid, Cells]:
    """Keep a rectangle of cells.

    Parameters
    ----------
    grid, cells : Grid, Cells
        What to cut from.
    rows, cols : slice
        With both ends given, step 1, inside the grid.

    Returns
    -------
    tuple of Grid, Cells
        The rectangle; cell edges stay where they were.
    """
    smaller = Grid(
        grid.x_min_m + cols.start * grid.cell_m,
        grid.y_max_m - rows.start * grid.cell_m,
        grid.cell_m,
        rows.stop - rows.start,
        cols.stop - cols.start,
    )
    kept = {one.name: getattr(cells, one.name)[..., rows, cols] for one in attrs.fields(Cells)}
    return smaller, Cells(**kept)


def box_of_area(grid: Grid, is_in_area: BoolArray, margin_m: float) -> tuple[slice, slice]:
    """Rows and columns that hold the area and a margin round it, metres, inside the grid."""
    margin = math.ceil(margin_m / grid.cell_m)
    rows = np.flatnonzero(is_in_area.any(axis=1))
    cols = np.flatnonzero(is_in_area.any(axis=0))
    if rows.size == 0:
        return slice(0, grid.rows), slice(0, grid.cols)
    return (
        slice(max(0, int(rows[0]) - margin), min(grid.rows, int(rows[-1]) + 1 + margin)),
        slice(max(0, int(cols[0]) - margin), min(grid.cols, int(cols[-1]) + 1 + margin)),
    )


def coarsened(grid: Grid, cells: Cells, factor: int) -> tuple[Grid, Cells]:
    """Pool square blocks of cells to the cautious side.

    Parameters
    ----------
    grid, cells : Grid, Cells
        What to coarsen.
    factor : int
        Fine cells along the side of a coarse one, at least 2. A block that hangs over the edge of
        the grid is unknown, as part of it is.

    Returns
    -------
    tuple of Grid, Cells
        Terrain, legal floor and required altitudes are the highest of the block with the binder
        or field of that cell, but that sectors which share a field in any cell share one in the
        block; bands are open where they are open in the whole block; a block is in the area when
        one of its cells is.
    """
    rows, cols = -(-grid.rows // factor), -(-grid.cols // factor)
    coarse = Grid(grid.x_min_m, grid.y_max_m, grid.cell_m * factor, rows, cols)

    def blocks(values: NDArray[Any], beyond: Any) -> NDArray[Any]:
        return _blocks(values, coarse, factor, beyond)

    floor, floor_binder = _highest(
        blocks(cells.legal_floor_amsl_ft, UNKNOWN_FT), blocks(cells.legal_floor_binder, NOBODY)
    )
    required, glide_binder = _highest(
        blocks(cells.glide_required_amsl_ft, UNKNOWN_FT), blocks(cells.glide_binder, NOBODY)
    )
    fine_field = blocks(cells.sector_field, NOBODY)
    sector, worst_field = _highest(blocks(cells.sector_amsl_ft, UNKNOWN_FT), fine_field)
    bands, bands_binder = _common_bands(
        blocks(cells.bands_amsl_ft, NO_BAND_FT), blocks(cells.bands_binder, NOBODY)
    )
    return coarse, Cells(
        terrain_amsl_ft=_highest_known(blocks(cells.terrain_amsl_ft, UNKNOWN_FT)),
        legal_floor_amsl_ft=floor,
        legal_floor_binder=floor_binder,
        bands_amsl_ft=bands,
        bands_binder=bands_binder,
        is_legal_unknown=_any(blocks(cells.is_legal_unknown, True)),
        glide_required_amsl_ft=required,
        glide_binder=glide_binder,
        sector_amsl_ft=sector,
        sector_field=_shared_fields(worst_field, fine_field),
        field=_field_of_lowest(sector, worst_field),
        is_in_area=_any(blocks(cells.is_in_area, False)),
    )


def coarsened_limits(values: Int16Array, coarse: Grid, factor: int, nowhere: int) -> Int16Array:
    """The least of each block of cells.

    Parameters
    ----------
    values : int16 array
        A limit for every fine cell; what stands for unknown has to be below every known limit.
    coarse, factor
        The grid and the factor of `coarsened`.
    nowhere : int
        Marks cells that have no limit because none was asked for: a block is so only as a whole.
    """
    fine = _blocks(values, coarse, factor, nowhere)
    least = np.where(fine == nowhere, np.iinfo(np.int16).max, fine).min(axis=-1)
    return np.where((fine == nowhere).all(axis=-1), nowhere, least).astype(np.int16)


def coarsened_flags(
    grid: Grid, flags: BoolArray, factor: int, *, is_of_all: bool
) -> tuple[Grid, BoolArray]:
    """Blocks of cells of which one is flagged, or all are.

    Parameters
    ----------
    grid, flags : Grid, bool array of its shape
    factor : int
        Fine cells along the side of a coarse one, at least 2.
    is_of_all : bool
        Whether all cells of a block must be flagged; beyond the grid none is.
    """
    rows, cols = -(-grid.rows // factor), -(-grid.cols // factor)
    coarse = Grid(grid.x_min_m, grid.y_max_m, grid.cell_m * factor, rows, cols)
    fine = _blocks(flags, coarse, factor, False)
    return coarse, np.asarray(fine.all(axis=-1) if is_of_all else fine.any(axis=-1))


def _blocks(values: NDArray[Any], coarse: Grid, factor: int, beyond: Any) -> NDArray[Any]:
    """Array (..., coarse rows, coarse cols, factor * factor), `beyond` past the edge."""
    height, width = coarse.rows * factor, coarse.cols * factor
    padded = np.full((*values.shape[:-2], height, width), beyond, dtype=values.dtype)
    padded[..., : values.shape[-2], : values.shape[-1]] = values
    split = padded.reshape(*values.shape[:-2], coarse.rows, factor, coarse.cols, factor)
    moved = np.moveaxis(split, -3, -2)
    return moved.reshape(*values.shape[:-2], *coarse.shape, factor * factor)


def _any(flags: BoolArray) -> BoolArray:
    return np.asarray(flags.any(axis=-1))


def _highest(feet: Int16Array, labels: NDArray[Any]) -> tuple[Int16Array, NDArray[Any]]:
    """Highest of each block with its label; unknown (and nobody) where any is unknown."""
    winner = feet.argmax(axis=-1)[..., np.newaxis]
    is_unknown = (feet == UNKNOWN_FT).any(axis=-1)
    top = np.where(is_unknown, UNKNOWN_FT, np.take_along_axis(feet, winner, axis=-1)[..., 0])
    label = np.where(is_unknown, NOBODY, np.take_along_axis(labels, winner, axis=-1)[..., 0])
    return top.astype(np.int16), label.astype(labels.dtype)


def _highest_known(feet: Int16Array) -> Int16Array:
    is_unknown = (feet == UNKNOWN_FT).any(axis=-1)
    return np.where(is_unknown, UNKNOWN_FT, feet.max(axis=-1)).astype(np.int16)


def _shared_fields(worst_field: Int16Array, fine_field: Int16Array) -> Int16Array:
    """One field for all sectors that share one in any cell of their block.

    Different fields counted over a block are then never more than in the cell with the fewest:
    sectors with the same field there have the same here.
    """
    sectors = range(len(fine_field))
    group = np.empty(worst_field.shape, dtype=np.uint16)  # bit j: shares a field with sector j
    for i in sectors:
        group[i] = 1 << i
        for j in range(i):
            shares = (fine_field[i] == fine_field[j]) & (fine_field[i] != NOBODY)
            is_shared = shares.any(axis=-1)
            group[i] |= np.where(is_shared, np.uint16(1 << j), np.uint16(0))
            group[j] |= np.where(is_shared, np.uint16(1 << i), np.uint16(0))
    for k in sectors:  # Warshall: what shares with k shares with all that k shares with
        for i in sectors:
            group[i] |= np.where(group[i] & np.uint16(1 << k) != 0, group[k], np.uint16(0))
    shared = worst_field.copy()
    for i in sectors:
        is_placed = np.zeros(worst_field.shape[1:], dtype=np.bool_)
        for j in range(i):  # the first known field of the group names it
            is_named = (group[i] & np.uint16(1 << j) != 0) & (shared[j] != NOBODY)
            take = is_named & ~is_placed & (worst_field[i] != NOBODY)
            shared[i] = np.where(take, shared[j], shared[i])
            is_placed |= is_named
    return shared


def _field_of_lowest(sector_amsl_ft: Int16Array, sector_field: Int16Array) -> Int16Array:
    """Field of the lowest sector, as `Cells.field` is defined; nobody where none is known."""
    usable = np.where(sector_amsl_ft == UNKNOWN_FT, UNREACHABLE_FT, sector_amsl_ft)
    lowest = usable.argmin(axis=0)[np.newaxis]
    label = np.take_along_axis(sector_field, lowest, axis=0)[0]
    return np.where(usable.min(axis=0) == UNREACHABLE_FT, NOBODY, label).astype(np.int16)


def _common_bands(feet: Int16Array, binder: Int32Array) -> tuple[Int16Array, Int32Array]:
    """Bands open in every cell of each block; shapes (bands, 2, rows, cols, block)."""
    common, common_binder = feet[..., 0], binder[..., 0]
    for index in range(1, feet.shape[-1]):
        common, common_binder = _overlap(
            common, common_binder, feet[..., index], binder[..., index]
        )
    return np.ascontiguousarray(common), np.ascontiguousarray(common_binder)


def _overlap(
    feet: Int16Array, binder: Int32Array, other: Int16Array, other_binder: Int32Array
) -> tuple[Int16Array, Int32Array]:
    """Overlap of two lists of bands, each low to high and apart; so is the answer."""
    found: list[tuple[Int16Array, Int32Array]] = []
    for one, one_by in zip(feet, binder, strict=True):
        for two, two_by in zip(other, other_binder, strict=True):
            floor, ceiling = np.maximum(one[0], two[0]), np.minimum(one[1], two[1])
            by_floor = np.where(one[0] >= two[0], one_by[0], two_by[0])
            by_ceiling = np.where(one[1] <= two[1], one_by[1], two_by[1])
            is_open = (one[0] != NO_BAND_FT) & (two[0] != NO_BAND_FT) & (floor <= ceiling)
            if is_open.any():
                band = np.where(is_open, np.stack([floor, ceiling]), NO_BAND_FT)
                band_by = np.where(is_open, np.stack([by_floor, by_ceiling]), NOBODY)
                found.append((band.astype(np.int16), band_by.astype(np.int32)))
    if not found:
        shape = (1, *feet.shape[1:])
        return np.full(shape, NO_BAND_FT, np.int16), np.full(shape, NOBODY, np.int32)
    bands = np.stack([band for band, _ in found])
    bands_by = np.stack([by for _, by in found])
    # Empty slots go last; the sort is stable, so equal slots keep their order.
    key = np.where(bands[:, 0] == NO_BAND_FT, np.int32(2**30), bands[:, 0].astype(np.int32))
    order = key.argsort(axis=0, kind="stable")[:, np.newaxis]
    used = max(1, int((bands[:, 0] != NO_BAND_FT).sum(axis=0).max()))
    bands = np.take_along_axis(bands, order, axis=0)[:used]
    bands_by = np.take_along_axis(bands_by, order, axis=0)[:used]
    return bands, bands_by
