"""Terrain tiles on common lattices of nodes, and windows cut from them.

Tiles whose nodes fall on the same lattice (same coordinate system, same spacing, whole steps apart)
are one lattice, so that the surface runs across their seam without a gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final, Protocol

import numpy as np
from attrs import frozen

from areaplan.grid import BoolArray, Float64Array

# How far from the lattice, in squares, the nodes of a joined tile may lie, and by how much the
# spacing may differ over a whole tile.
_SAME_LATTICE: Final = 0.01


@frozen(eq=False)
class Placement:
    """Where the nodes of a tile lie in a coordinate system.

    Attributes
    ----------
    crs_text : str
        Horizontal coordinate system, as text that PROJ reads.
    is_geographic : bool
        Its coordinates are degrees of longitude and latitude, in this order.
    matrix : float64 array, shape (2, 3)
        x, y of node (column j, row i) = matrix @ (j, i, 1).
    """

    crs_text: str
    is_geographic: bool
    matrix: Float64Array


class Tile(Protocol):
    """One terrain file, or an array in memory."""

    @property
    def name(self) -> str:
        """The file as the project writes it."""

    @property
    def placement(self) -> Placement:
        """Where its nodes lie."""

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of nodes."""

    def read(self, row: int, col: int, rows: int, cols: int) -> tuple[Float64Array, float | None]:
        """Heights in metres of a window inside the tile, NaN unknown, and an absurd one if any."""


@frozen(eq=False)
class Lattice:
    """Tiles on one lattice.

    Attributes
    ----------
    placement : Placement
        Of the first tile.
    tiles : tuple of (Tile, int, int)
        Each tile with the row and column of its first node on the lattice, in file order.
    """

    placement: Placement
    tiles: tuple[tuple[Tile, int, int], ...]

    def place(self, x: Float64Array, y: Float64Array) -> tuple[Float64Array, Float64Array]:
        """Lattice coordinates u (columns), v (rows) of coordinates of the system."""
        a, b, c = self.placement.matrix[0]
        d, e, f = self.placement.matrix[1]
        determinant = a * e - b * d
        x, y = x - c, y - f
        return (e * x - b * y) / determinant, (a * y - d * x) / determinant

    def touches(self, row: int, col: int, rows: int, cols: int) -> bool:
        """Whether any tile has nodes in a window of the lattice."""
        return any(
            row < first_row + tile.shape[0]
            and first_row < row + rows
            and col < first_col + tile.shape[1]
            and first_col < col + cols
            for tile, first_row, first_col in self.tiles
        )

    def window(
        self, row: int, col: int, rows: int, cols: int
    ) -> tuple[Float64Array, BoolArray, dict[str, float]]:
        """Nodes of a window; the first tile in file order that knows a node gives its height.

        Returns
        -------
        heights : float64 array, shape (rows, cols)
            Metres, NaN where no tile knows the height.
        is_inside : bool array, shape (rows, cols)
            Nodes that belong to a tile, known or not.
        absurd : dict
            An absurd height for each tile that holds one in the window; it counts as unknown.
        """
        heights = np.full((rows, cols), np.nan)
        is_inside = np.zeros((rows, cols), dtype=np.bool_)
        absurd: dict[str, float] = {}
        for tile, first_row, first_col in self.tiles:
            part = _overlap(tile.shape, (first_row - row, first_col - col), (rows, cols))
            if part is None:
                continue
            target, (tile_row, tile_col) = part
            size = heights[target].shape
            values, odd = tile.read(tile_row, tile_col, *size)
            if odd is not None:
                absurd[tile.name] = odd
            heights[target] = np.where(np.isnan(heights[target]), values, heights[target])
            is_inside[target] = True
        return heights, is_inside, absurd


def lattices_of(tiles: Iterable[Tile], shifts_deg: Sequence[float]) -> tuple[Lattice, ...]:
    """Group tiles by lattice, in the order of the first tile of each.

    Parameters
    ----------
    tiles : iterable of Tile
        In file order.
    shifts_deg : sequence of float
        Whole turns, in degrees, added to the longitudes of each tile; 0 for projected ones.
    """
    groups: list[tuple[Placement, list[tuple[Tile, int, int]]]] = []
    for tile, shift_deg in zip(tiles, shifts_deg, strict=True):
        placement = _shifted(tile.placement, shift_deg)
        for first, members in groups:
            offset = _offset(first, placement, tile.shape)
            if offset is not None:
                members.append((tile, *offset))
                break
        else:
            groups.append((placement, [(tile, 0, 0)]))
    return tuple(Lattice(placement, tuple(members)) for placement, members in groups)


def repeat_edges(heights: Float64Array, is_inside: BoolArray) -> Float64Array:
    """Copy of a window in which nodes just outside the tiles repeat the nearest edge node."""
    padded = heights.copy()
    rows, cols = heights.shape
    steps = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1))
    is_filled = is_inside.copy()
    for down, right in steps:
        target = np.s_[max(down, 0) : rows + min(down, 0), max(right, 0) : cols + min(right, 0)]
        origin = np.s_[max(-down, 0) : rows + min(-down, 0), max(-right, 0) : cols + min(-right, 0)]
        is_new = ~is_filled[target] & is_inside[origin]
        padded[target] = np.where(is_new, heights[origin], padded[target])
        is_filled[target] |= is_new
    return padded


def _shifted(placement: Placement, shift_deg: float) -> Placement:
    if shift_deg == 0.0:
        return placement
    matrix = placement.matrix.copy()
    matrix[0, 2] += shift_deg
    return Placement(placement.crs_text, placement.is_geographic, matrix)


def _offset(first: Placement, other: Placement, shape: tuple[int, int]) -> tuple[int, int] | None:
    """Row and column of another tile's first node on the lattice of the first; None if off it."""
    if first.crs_text != other.crs_text:
        return None
    spacing = first.matrix[:, :2]
    steps = np.linalg.solve(spacing, other.matrix[:, 2] - first.matrix[:, 2])
    drift = np.linalg.solve(spacing, other.matrix[:, :2]) - np.eye(2)
    if np.abs(steps - np.round(steps)).max() > _SAME_LATTICE:
        return None
    if np.abs(drift).max() * max(shape) > _SAME_LATTICE:
        return None
    return round(float(steps[1])), round(float(steps[0]))


def _overlap(
    shape: tuple[int, int], first: tuple[int, int], window: tuple[int, int]
) -> tuple[Any, tuple[int, int]] | None:
    """Slice of a window that a tile fills, and the tile's node at its start."""
    row0, col0 = max(first[0], 0), max(first[1], 0)
    row1 = min(first[0] + shape[0], window[0])
    col1 = min(first[1] + shape[1], window[1])
    if row0 >= row1 or col0 >= col1:
        return None
    return np.s_[row0:row1, col0:col1], (row0 - first[0], col0 - first[1])
