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

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from areaplan.engine import _heading_kernels as kernels
from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.heading_blocks import (
    block_cells,
    check_surfaces,
    judged_blocks,
    nearest_headings,
    reach_cells,
)
from areaplan.engine.sweeps import HIGHEST_AMSL_M
from areaplan.engine.threads import over_row_bands
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import HEADINGS
from areaplan.grid import Float32Array

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
    return _highest_of(surfaces, surface_amsl_m, cell_m, model, [(0, HEADINGS)], threads)


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
    headings = np.unique(np.concatenate(nearest_headings(tracks)))
    runs = [(heading, heading + 1) for heading in headings.tolist()]
    return _highest_of(surfaces, surface_amsl_m, cell_m, model, runs, threads)


def _highest_of(
    surfaces: SectorSurfaces,
    surface_amsl_m: Float32Array,
    cell_m: float,
    model: TurnModel,
    runs: Sequence[tuple[int, int]],
    threads: int | None,
) -> Float32Array:
    """The highest altitude that any heading of some runs (first, end) needs."""
    required = surfaces.required_amsl_m
    check_surfaces(surfaces, surface_amsl_m, cell_m)
    if not model.has_headway:
        return np.where(np.isnan(surface_amsl_m), np.float32(np.nan), np.float32(np.inf))
    each = judged_blocks(surfaces, surface_amsl_m, cell_m, model, runs, threads)
    blocks = next(each)
    for some in each:
        np.maximum(blocks, some, out=blocks)
    worst = np.empty(surface_amsl_m.shape, np.float32)

    def spread(row0: int, row_end: int) -> None:
        limit = np.float32(HIGHEST_AMSL_M)
        kernels.spread_blocks(row0, row_end, blocks, block_cells(cell_m), required, limit, worst)

    over_row_bands(spread, len(worst), threads=threads)
    return worst
