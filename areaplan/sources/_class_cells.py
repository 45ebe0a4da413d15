"""Pixels of classes onto the cells of a grid, block by block."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np
from numpy.typing import NDArray

from areaplan.grid import Float64Array, Grid, Int16Array
from areaplan.sources._cell_places import (
    Transform,
    blocks,
    centres,
    corners,
    transform_to,
    turns_deg,
)
from areaplan.sources._lattice import Lattice, Tile, lattices_of
from areaplan.sources.land_cover_legends import NOT_A_CANDIDATE, UNKNOWN_CLASS, UNKNOWN_RANK

if TYPE_CHECKING:
    from areaplan.geodesy import LocalFrame
    from areaplan.sources.land_cover import ClassTile

# Cells and pixels that share an edge to within this many pixels do not touch.
_TOUCH_PIXELS: Final = 1e-6
# A rank is a bit, so that what a cell touches is the union of its pixels.
_NOT_A_CANDIDATE: Final = 1 << 4
_UNKNOWN: Final = 1 << 5


def ranks_on_grid(
    tiles: Sequence[ClassTile], ranks: Int16Array, grid: Grid, frame: LocalFrame
) -> Int16Array:
    """Worst rank of the pixels that each cell touches; see `LandCover.on_grid`.

    Parameters
    ----------
    tiles : sequence of ClassTile
    ranks : int16 array
        Rank of each class of the legend.
    grid : Grid
    frame : LocalFrame
    """
    bit_of = np.full(UNKNOWN_CLASS + 1, _UNKNOWN, dtype=np.uint8)
    is_closed = ranks == NOT_A_CANDIDATE
    bit_of[: ranks.size] = np.where(is_closed, _NOT_A_CANDIDATE, 1 << np.maximum(ranks, 0))
    lattices = _lattices(tiles, frame)
    answer = np.full(grid.shape, UNKNOWN_RANK, dtype=np.int16)
    for block in blocks(grid):
        lon, lat = corners(grid, frame, block)
        bits = np.zeros(answer[block].shape, dtype=np.uint8)
        is_whole = np.zeros(bits.shape, dtype=np.bool_)
        for lattice, transform in lattices:
            u, v = lattice.place(*transform(lon, lat))
            if not (np.isfinite(u).all() and np.isfinite(v).all()):
                continue  # the block lies beyond what the file's projection can tell
            found = _touched_bits(lattice, bit_of, *_boxes(u, v))
            is_whole |= (found & _UNKNOWN) == 0
            bits |= found
        answer[block] = _worst(bits, is_whole, ranks)
    return answer


def classes_at_centres(tiles: Sequence[ClassTile], grid: Grid, frame: LocalFrame) -> Int16Array:
    """Class of the pixel at each cell's centre, -1 for none; see `LandCover.classes_on_grid`."""
    lattices = _lattices(tiles, frame)
    answer = np.full(grid.shape, -1, dtype=np.int16)
    for block in blocks(grid):
        lon, lat = centres(grid, frame, block)
        for lattice, transform in lattices:
            u, v = lattice.place(*transform(lon, lat))
            if not (np.isfinite(u).all() and np.isfinite(v).all()):
                continue
            col, row = _whole(u), _whole(v)
            first_row, first_col = int(row.min()), int(col.min())
            size = int(row.max()) - first_row + 1, int(col.max()) - first_col + 1
            classes, _, _ = lattice.window(first_row, first_col, *size)
            found = classes[row - first_row, col - first_col]
            is_new = (answer[block] == -1) & ~np.isnan(found)
            answer[block][is_new] = found[is_new].astype(np.int16)
    return answer


def _worst(bits: NDArray[np.uint8], is_whole: Any, ranks: Int16Array) -> Int16Array:
    """Rank of each cell from the union of what it touches."""
    is_closed = (bits & _NOT_A_CANDIDATE) != 0
    worst = np.where(is_closed, NOT_A_CANDIDATE, UNKNOWN_RANK).astype(np.int16)
    for rank in sorted({int(rank) for rank in ranks} - {NOT_A_CANDIDATE}):
        worst[is_whole & ~is_closed & ((bits & (1 << rank)) != 0)] = rank
    return worst


def _touched_bits(
    lattice: Lattice,
    bit_of: NDArray[np.uint8],
    low: tuple[NDArray[np.int64], NDArray[np.int64]],
    high: tuple[NDArray[np.int64], NDArray[np.int64]],
) -> NDArray[np.uint8]:
    """Union of the bits of all pixels from low to high (column, row), both included."""
    first_col, first_row = int(low[0].min()), int(low[1].min())
    cols, rows = int(high[0].max()) - first_col + 1, int(high[1].max()) - first_row + 1
    pixels = _window_bits(lattice, bit_of, first_row, first_col, rows, cols)
    found = np.zeros(low[0].shape, dtype=np.uint8)
    for down in range(int((high[1] - low[1]).max()) + 1):
        row = np.minimum(low[1] + down, high[1]) - first_row
        for right in range(int((high[0] - low[0]).max()) + 1):
            found |= pixels[row, np.minimum(low[0] + right, high[0]) - first_col]
    return found


def _window_bits(
    lattice: Lattice, bit_of: NDArray[np.uint8], row: int, col: int, rows: int, cols: int
) -> NDArray[np.uint8]:
    """Bits of a window of the lattice: every file speaks, and nobody's silence is unknown."""
    bits = np.zeros((rows, cols), dtype=np.uint8)
    for member, first_row, first_col in lattice.tiles:
        classes = cast("ClassTile", member).classes
        top, left = max(first_row, row), max(first_col, col)
        bottom = min(first_row + classes.shape[0], row + rows)
        right = min(first_col + classes.shape[1], col + cols)
        if top < bottom and left < right:
            part = classes[
                top - first_row : bottom - first_row, left - first_col : right - first_col
            ]
            known = np.where(part == UNKNOWN_CLASS, np.uint8(0), bit_of[part])
            bits[top - row : bottom - row, left - col : right - col] |= known
    return np.where(bits == 0, np.uint8(_UNKNOWN), bits)


def _boxes(u: Float64Array, v: Float64Array) -> tuple[Any, Any]:
    """First and last pixel (column, row) in the box round each cell, from its corners' places."""
    low, high = [], []
    for places in (u, v):
        four = (places[:-1, :-1], places[1:, :-1], places[:-1, 1:], places[1:, 1:])
        first = _whole(np.minimum.reduce(four) + _TOUCH_PIXELS)
        last = _whole(np.ceil(np.maximum.reduce(four) - _TOUCH_PIXELS)) - 1
        low.append(first)
        high.append(np.maximum(first, last))
    return tuple(low), tuple(high)


def _whole(places: Float64Array) -> NDArray[np.int64]:
    return np.floor(places).astype(np.int64)


def _lattices(tiles: Sequence[ClassTile], frame: LocalFrame) -> list[tuple[Lattice, Transform]]:
    """Lattices of the tiles that hold anything, each with the way from longitude and latitude."""
    solid: list[Tile] = [tile for tile in tiles if tile.classes.size]
    shifts = [turns_deg(tile, frame) for tile in solid]
    return [(lattice, transform_to(lattice, frame)) for lattice in lattices_of(solid, shifts)]
