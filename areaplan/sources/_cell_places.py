"""Where the cells of a grid lie in the coordinates of a raster file, block by block."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, Final

import numpy as np

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.sources._coordinates import parse_crs, strict_transformer
from areaplan.sources._lattice import Lattice, Tile

BLOCK_CELLS: Final = 512
_TURN_DEG: Final = 360.0

Transform = Callable[[Any, Any], tuple[Any, Any]]
Block = tuple[slice, slice]


def blocks(grid: Grid) -> Iterator[Block]:
    """Rows and columns of blocks of at most `BLOCK_CELLS` by `BLOCK_CELLS` cells."""
    for row in range(0, grid.rows, BLOCK_CELLS):
        for col in range(0, grid.cols, BLOCK_CELLS):
            yield (
                slice(row, min(row + BLOCK_CELLS, grid.rows)),
                slice(col, min(col + BLOCK_CELLS, grid.cols)),
            )


def corners(grid: Grid, frame: LocalFrame, block: Block) -> tuple[Any, Any]:
    """Longitude and latitude of the corners of a block's cells."""
    return _lonlat(grid, frame, block, 1, 0.0)


def centres(grid: Grid, frame: LocalFrame, block: Block) -> tuple[Any, Any]:
    """Longitude and latitude of the centres of a block's cells."""
    return _lonlat(grid, frame, block, 0, 0.5)


def _lonlat(grid: Grid, frame: LocalFrame, block: Block, more: int, half: float) -> tuple[Any, Any]:
    rows, cols = block
    x_m = grid.x_min_m + (np.arange(cols.start, cols.stop + more) + half) * grid.cell_m
    y_m = grid.y_max_m - (np.arange(rows.start, rows.stop + more) + half) * grid.cell_m
    return frame.to_lonlat(*np.meshgrid(x_m, y_m))


def turns_deg(tile: Tile, frame: LocalFrame) -> float:
    """Whole turns that bring a tile's longitudes nearest to the centre of the frame."""
    placement = tile.placement
    if not placement.is_geographic:
        return 0.0
    middle = placement.matrix @ (tile.shape[1] / 2.0, tile.shape[0] / 2.0, 1.0)
    return _TURN_DEG * round((frame.lon - float(middle[0])) / _TURN_DEG)


def transform_to(lattice: Lattice, frame: LocalFrame) -> Transform:
    """Way from longitude/latitude to the coordinates of a lattice."""
    placement = lattice.placement
    name = lattice.tiles[0][0].name
    transformer = strict_transformer(parse_crs(placement.crs_text, name, "", ""), name, "")

    def transform(lon: Any, lat: Any) -> tuple[Any, Any]:
        x, y = transformer.transform(lon, lat)
        if placement.is_geographic:
            x = x + _TURN_DEG * np.round((frame.lon - x) / _TURN_DEG)
        return x, y

    return transform
