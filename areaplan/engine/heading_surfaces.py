"""All 24 headings' surfaces of `worst_heading.py` at once, for points that each have a track.

A flight, flown or simulated, asks at every point for its own track. The surfaces are kept as they
are computed, by blocks of cells, and put together with the cell's own least altitude only when
asked: the same answer, bit for bit, as `required_for_tracks` gives for the whole grid.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import ArrayLike, NDArray

from areaplan.engine._heading_kernels import UNKNOWN
from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.heading_blocks import (
    block_cells,
    check_surfaces,
    judged_blocks,
    nearest_headings,
)
from areaplan.engine.sweeps import HIGHEST_AMSL_M
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import HEADINGS
from areaplan.grid import Float32Array


@frozen(eq=False)
class HeadingSurfaces:
    """What a cell asks for on each track; made by `required_by_heading`.

    Attributes
    ----------
    block_amsl_m : float32 array, shape (24, block rows, block cols)
        Of heading i, tracks from 15 i - 7.5 to 15 i + 7.5 degrees true, what every block of cells
        asks for: metres AMSL, infinity, or the kernels' own mark for unknown ground.
    least_amsl_m : float32 array, shape (rows, cols)
        Lowest of the twelve sector surfaces, below which no track needs less; NaN over unknown
        ground.
    block_cells : int
        Cells along the side of a block.
    """

    block_amsl_m: Float32Array
    least_amsl_m: Float32Array
    block_cells: int

    def required_amsl_m(
        self, rows: ArrayLike, cols: ArrayLike, tracks_deg: ArrayLike
    ) -> Float32Array:
        """Lowest altitude of places on the grid from which a field is reached on their tracks.

        Parameters
        ----------
        rows, cols : int arrays of one shape
            Cells of the places, inside the grid.
        tracks_deg : float array of the same shape
            Tracks over the ground when the engine fails, degrees true; each stands for all within
            its step of 15 degrees, both where it lies between two.

        Returns
        -------
        float32 array of the same shape
            Metres AMSL; infinity where no altitude is known to be enough, NaN where that can't be
            told or the track is not finite.

        Raises
        ------
        IndexError
            A cell outside the grid.
        """
        row, col = (
            _indices(rows, len(self.least_amsl_m)),
            _indices(cols, self.least_amsl_m.shape[1]),
        )
        tracks = np.asarray(tracks_deg, dtype=np.float64)
        is_track = np.isfinite(tracks)
        low, high = nearest_headings(np.where(is_track, tracks, 0.0))
        block_row, block_col = row // self.block_cells, col // self.block_cells
        block = np.maximum(
            self.block_amsl_m[low, block_row, block_col],
            self.block_amsl_m[high, block_row, block_col],
        )
        least = self.least_amsl_m[row, col]
        value = np.maximum(block, least)  # NaN, for unknown ground, stays
        is_too_high = (value >= np.float32(HIGHEST_AMSL_M)) & (value != UNKNOWN)
        value = np.where(is_too_high, np.float32(np.inf), value)
        return np.where(is_track & (value != UNKNOWN), value, np.float32(np.nan))


def required_by_heading(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    *,
    threads: int | None = None,
) -> HeadingSurfaces:
    """Compute what every cell asks for on each of the 24 headings.

    Takes about as long as `worst_heading`, and 96 bytes a block of cells.

    Parameters
    ----------
    surfaces, surface_amsl_m, cell_m, model, threads
        As `worst_heading` takes them.

    Raises
    ------
    ValueError
        As `worst_heading`.
    """
    check_surfaces(surfaces, surface_amsl_m, cell_m)
    side = block_cells(cell_m)
    shape = tuple(-(-count // side) for count in surface_amsl_m.shape)
    blocks = np.full((HEADINGS, *shape), np.float32(np.inf))
    if not model.has_headway:
        never = np.where(np.isnan(surface_amsl_m), np.float32(np.nan), np.float32(np.inf))
        return HeadingSurfaces(blocks, never, side)
    runs = [(heading, heading + 1) for heading in range(HEADINGS)]
    found = judged_blocks(surfaces, surface_amsl_m, cell_m, model, runs, threads)
    for heading, some in enumerate(found):
        blocks[heading] = some
    least = surfaces.required_amsl_m[0].copy()
    for one in surfaces.required_amsl_m[1:]:
        np.minimum(least, one, out=least)
    return HeadingSurfaces(blocks, least, side)


def _indices(values: ArrayLike, count: int) -> NDArray[Any]:
    """Cell numbers, checked: numpy would count negative ones from the other edge."""
    found = np.asarray(values)
    if found.size and not (found.min() >= 0 and found.max() < count):
        raise IndexError(f"cells {found.min()} to {found.max()}; expected 0 to {count - 1}")
    return found
