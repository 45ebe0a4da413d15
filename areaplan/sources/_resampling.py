"""Terrain tiles onto a grid: lowest and highest ground of each cell, block by block."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.geodesy import LocalFrame
from areaplan.grid import BoolArray, Float64Array, Grid
from areaplan.sources._cell_places import Block, blocks, corners, transform_to, turns_deg
from areaplan.sources._kernels import NOTHING, WHOLLY, bound_places, cell_extremes
from areaplan.sources._lattice import Lattice, Tile, lattices_of, repeat_edges

_MAX_WINDOW_NODES: Final = 16_000_000  # 128 MB of heights at a time
_MAX_PLACES: Final = 8_000_000


@frozen(eq=False)
class _View:
    """One lattice as seen from a block of cells.

    `u` and `v` are the corners of the cells on the lattice, counted from the window, whose first
    node is (row, col); `size` is rows and columns of the window.
    """

    lattice: Lattice
    u: Float64Array
    v: Float64Array
    row: int
    col: int
    size: tuple[int, int]

    @property
    def squares_per_edge(self) -> float:
        """Greatest length of a cell's edge along an axis of the lattice, in squares."""
        steps = [np.abs(np.diff(w, axis=k)).max() for w in (self.u, self.v) for k in (0, 1)]
        return float(max(steps))


@frozen(eq=False)
class _Window:
    """Nodes of one lattice under a block, and the corners of its cells, counted from the first."""

    u: Float64Array
    v: Float64Array
    heights: Float64Array
    is_inside: BoolArray

    def repeated(self) -> _Window:
        """Copy with the edge of the model repeated outside it."""
        return _Window(self.u, self.v, repeat_edges(self.heights, self.is_inside), self.is_inside)

    def is_near(self) -> BoolArray:
        """Which cells have all corners within half a square of the model's outer nodes."""
        corners: BoolArray = self.is_inside[
            np.floor(self.v + 0.5).astype(np.intp), np.floor(self.u + 0.5).astype(np.intp)
        ]
        return corners[:-1, :-1] & corners[1:, :-1] & corners[:-1, 1:] & corners[1:, 1:]


def terrain_on_grid(
    tiles: Sequence[Tile], grid: Grid, frame: LocalFrame
) -> tuple[Float64Array, Float64Array, dict[str, float]]:
    """Lowest and highest ground of every cell.

    Parameters
    ----------
    tiles : sequence of Tile
        In file order: where several know a height, the first counts.
    grid : Grid
        Cells in the metres of `frame`.
    frame : LocalFrame

    Returns
    -------
    lowest_m, highest_m : float64 array, shape grid.shape
        Metres above mean sea level; NaN where any part of the cell is unknown.
    absurd : dict of str to float
        One absurd height, taken as unknown, for each file that holds any under the grid.
    """
    lowest = grid.full(np.nan)
    highest = grid.full(np.nan)
    absurd: dict[str, float] = {}
    lattices = lattices_of(tiles, [turns_deg(tile, frame) for tile in tiles])
    transforms = [transform_to(lattice, frame) for lattice in lattices]
    pending = list(blocks(grid))
    while pending:
        block = pending.pop()
        lon, lat = corners(grid, frame, block)
        views: list[_View] = []
        is_small = True
        for lattice, transform in zip(lattices, transforms, strict=True):
            view, fits = _view(lattice, *transform(lon, lat))
            is_small = is_small and fits
            if view is not None:
                views.append(view)
        parts = _split(block)
        if not is_small and parts:
            pending += parts
            continue
        if views:
            low, high = _fill(views, absurd)
            lowest[block], highest[block] = low, high
    return lowest, highest, absurd


def _split(block: Block) -> list[Block]:
    """Halves of a block along its longer side; none of a single cell."""
    rows, cols = block
    height, width = rows.stop - rows.start, cols.stop - cols.start
    if height >= width and height > 1:
        middle = rows.start + height // 2
        return [(slice(rows.start, middle), cols), (slice(middle, rows.stop), cols)]
    if width > 1:
        middle = cols.start + width // 2
        return [(rows, slice(cols.start, middle)), (rows, slice(middle, cols.stop))]
    return []


def _view(lattice: Lattice, x: Any, y: Any) -> tuple[_View | None, bool]:
    """See a lattice from a block: None when it lies elsewhere, and whether the block is small."""
    u, v = lattice.place(x, y)
    is_finite = np.isfinite(u) & np.isfinite(v)
    if not is_finite.all():
        return None, not is_finite.any()
    # Two squares more on each side: places reach half a square beyond the outer cells.
    row, col = int(np.floor(v.min())) - 2, int(np.floor(u.min())) - 2
    rows, cols = int(np.floor(v.max())) + 4 - row, int(np.floor(u.max())) + 4 - col
    if not lattice.touches(row, col, rows, cols):
        return None, True
    view = _View(lattice, u - col, v - row, row, col, (rows, cols))
    return view, rows * cols <= _MAX_WINDOW_NODES


def _fill(views: list[_View], absurd: dict[str, float]) -> tuple[Float64Array, Float64Array]:
    """Lowest and highest ground of the cells of one block."""
    shape = (views[0].u.shape[0] - 1, views[0].u.shape[1] - 1)
    lowest, highest = np.full(shape, np.nan), np.full(shape, np.nan)
    count_touching = np.zeros(shape, dtype=np.intp)
    windows: list[_Window] = []
    touches: list[BoolArray] = []
    for view in views:
        heights, is_inside, odd = view.lattice.window(view.row, view.col, *view.size)
        absurd.update(odd)
        window = _Window(view.u, view.v, heights, is_inside)
        # The first lattice that touches a cell gives its heights, if it knows the cell wholly.
        is_touched = _exact(window, np.isnan(highest), count_touching == 0, lowest, highest)
        windows.append(window)
        touches.append(is_touched)
        count_touching += is_touched
    if len(windows) > 1:
        # Cells that no single lattice knows wholly: at seams between lattices, and at the rim of
        # voids that a later file fills.
        finest = max(view.squares_per_edge for view in views)
        _bound(windows, np.argwhere(np.isnan(highest)), finest, lowest, highest)
    for window, is_touched in zip(windows, touches, strict=True):
        # The half square beyond the outer nodes of a model, away from every other.
        is_alone = count_touching == is_touched
        is_wanted = np.isnan(highest) & window.is_near() & is_alone
        _exact(window.repeated(), is_wanted, is_wanted, lowest, highest)
    return lowest, highest


def _exact(
    window: _Window,
    is_wanted: BoolArray,
    may_fill: BoolArray,
    lowest: Float64Array,
    highest: Float64Array,
) -> BoolArray:
    """Fill in the cells that a lattice knows wholly, where it may; which wanted ones it touches."""
    state = np.full(is_wanted.shape, NOTHING, dtype=np.uint8)
    if is_wanted.any():
        low, high = np.empty_like(lowest), np.empty_like(highest)
        cell_extremes(window.heights, window.u, window.v, is_wanted, low, high, state)
        is_filled = may_fill & (state == WHOLLY)
        lowest[is_filled], highest[is_filled] = low[is_filled], high[is_filled]
    is_touched: BoolArray = state != NOTHING
    return is_touched


def _bound(
    windows: list[_Window],
    cells: NDArray[np.int64],
    finest: float,
    lowest: Float64Array,
    highest: Float64Array,
) -> None:
    """Fill in bounds of the cells that several lattices know together.

    All of them count, not only the first that knows a place: the parts that each contributes can be
    narrower than any spacing of places.

    Places lie a third of a square apart or less, and reach half a square beyond the cell, so that
    at least one falls into every square that the cell touches. `finest` is the greatest count of
    squares along a cell's edge.
    """
    _, _, is_known = _bounds_at(windows, cells, 1, 0.0)
    cells = cells[is_known]
    reach = 0.5 / finest
    places = int(np.ceil(3.0 * finest * (1.0 + 2.0 * reach)))
    step = max(1, _MAX_PLACES // (places + 1) ** 2)
    for first in range(0, len(cells), step):
        part = cells[first : first + step]
        low, high, is_known = _bounds_at(windows, part, places, reach)
        known = part[is_known]
        lowest[known[:, 0], known[:, 1]] = low[is_known]
        highest[known[:, 0], known[:, 1]] = high[is_known]


def _bounds_at(
    windows: list[_Window], cells: NDArray[np.int64], places: int, reach: float
) -> tuple[Float64Array, Float64Array, BoolArray]:
    """Bounds of the ground of cells from all lattices, and which cells are known all over."""
    lowest = np.full(len(cells), np.inf)
    highest = np.full(len(cells), -np.inf)
    is_covered = np.zeros((len(cells), places + 1, places + 1), dtype=np.bool_)
    for window in [*windows, *(window.repeated() for window in windows)]:
        bound_places(
            window.heights,
            window.is_inside,
            window.u,
            window.v,
            cells,
            reach,
            is_covered,
            lowest,
            highest,
        )
    is_known: BoolArray = np.asarray(is_covered.all(axis=(1, 2)))
    return lowest, highest, is_known
