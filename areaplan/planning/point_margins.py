"""How far points in the air are from the edges of what their cells allow: arrays, whole feet.

The arithmetic of `flown.py`. Points off the grid, or not finite, are given some cell or altitude so
that all arrays keep their shape; the masks tell them, and the caller calls them unknown.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from areaplan.engine.flight import gliding_turn_loss
from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.moves import SECTOR_DEG
from areaplan.engine.turns import TurnModel
from areaplan.grid import BoolArray, Float64Array, Grid, Int16Array, Int32Array
from areaplan.planning.plan import NO_BAND_FT, NO_LIMIT_FT, NOBODY, Cells
from areaplan.units import FOOT_M

Feet = NDArray[np.int64]
Indices = NDArray[np.int64]

NEVER_FT: Final = -32767  # a margin where no altitude is open, or none is known to be enough

_SLACK_FT: Final = 1e-6  # as in units.feet_up: float64 noise is no foot
_HIGHEST_FT: Final = 1_000_000.0  # beyond any flight; keeps whole numbers whole
_FAR_FT: Final = 1 << 24  # farther from a point than any edge
_MOST_TURN_DEG: Final = 180


def cells_under(
    grid: Grid, x_m: Float64Array, y_m: Float64Array
) -> tuple[Indices, Indices, BoolArray]:
    """Rows and columns of the cells that hold places, as `Grid.cell_of`, and which are on the grid.

    Parameters
    ----------
    grid : Grid
    x_m, y_m : float64 arrays of one shape
        Local metres.

    Returns
    -------
    rows, cols : int64 arrays
        0 for places off the grid or not finite.
    is_on_grid : bool array
    """
    col = (x_m - grid.x_min_m) / grid.cell_m
    row = (grid.y_max_m - y_m) / grid.cell_m
    is_on_grid = (col >= 0.0) & (col < grid.cols) & (row >= 0.0) & (row < grid.rows)
    rows = np.where(is_on_grid, row, 0.0).astype(np.int64)
    return rows, np.where(is_on_grid, col, 0.0).astype(np.int64), is_on_grid


def whole_feet(altitude_amsl_m: Float64Array) -> tuple[Feet, Feet, BoolArray]:
    """Altitudes in whole feet AMSL, rounded down and up, and which are finite (0 where not)."""
    is_finite = np.isfinite(altitude_amsl_m)
    feet = np.where(is_finite, altitude_amsl_m, 0.0) / FOOT_M
    feet = np.clip(feet, -_HIGHEST_FT, _HIGHEST_FT)
    down, up = np.floor(feet + _SLACK_FT), np.ceil(feet - _SLACK_FT)
    return down.astype(np.int64), up.astype(np.int64), is_finite


def legal_margins(
    cells: Cells, row: Indices, col: Indices, down_ft: Feet, up_ft: Feet
) -> tuple[Feet, Int32Array]:
    """Distance of points to the edge of their open band, or from outside to the nearest one.

    Parameters
    ----------
    cells : Cells
    row, col : int64 arrays, shape (points,)
        Cells of the points; they must be known, or the caller drops the answer.
    down_ft, up_ft : int64 arrays, shape (points,)
        Altitude in whole feet AMSL: rounded down for floors, up for ceilings.

    Returns
    -------
    margin_ft : int64 array
        0 or more inside a band, negative outside; `NEVER_FT` where the cell has no band. Real
        margins stay above `NEVER_FT`.
    binder : int32 array
        Index into `Plan.binders` of that edge, a floor on a tie; of the legal floor where the cell
        has no band.
    """
    best = np.full(row.shape, -_FAR_FT, np.int64)
    binder = cells.legal_floor_binder[row, col]
    for edges, by in zip(cells.bands_amsl_ft, cells.bands_binder, strict=True):
        floor_ft, ceiling_ft = edges[0, row, col], edges[1, row, col]
        above_floor = down_ft - floor_ft
        below_ceiling = np.where(ceiling_ft == NO_LIMIT_FT, _FAR_FT, ceiling_ft - up_ft)
        margin = np.minimum(above_floor, below_ceiling)
        is_nearer = (floor_ft != NO_BAND_FT) & (margin > best)
        edge_by = np.where(above_floor <= below_ceiling, by[0, row, col], by[1, row, col])
        best = np.where(is_nearer, margin, best)
        binder = np.where(is_nearer, edge_by, binder)
    has_band = best > -_FAR_FT
    return np.where(has_band, np.maximum(best, NEVER_FT + 1), NEVER_FT), binder


def least_turning_field(
    sectors: SectorSurfaces, turn: TurnModel, row: Indices, col: Indices, track_deg: Float64Array
) -> Int16Array:
    """The field of the sector that asks for the least, the height lost turning to it added.

    Parameters
    ----------
    sectors : SectorSurfaces
        Labelled.
    turn : TurnModel
        Whose greatest airspeed is taken; the ground covered in the turn is left out.
    row, col : int64 arrays, shape (points,)
    track_deg : float64 array, shape (points,)
        Degrees true; not finite where there is none.

    Returns
    -------
    int16 array
        Index into `Plan.fields`; NOBODY where no sector leads to a field, or there is no track.

    Raises
    ------
    ValueError
        Surfaces without labels.
    """
    if sectors.field is None:
        raise ValueError("surfaces without labels; expected them from a scene's fields")
    angles = np.arange(_MOST_TURN_DEG + 1.0)
    lost_m = gliding_turn_loss(turn.tas_mps[1], turn.glide_ratio, turn.bank_deg, angles)
    is_track = np.isfinite(track_deg)
    track = np.where(is_track, track_deg, 0.0)
    least = np.full(row.shape, np.inf)
    found = np.full(row.shape, NOBODY, np.int16)
    for number, (required, label) in enumerate(
        zip(sectors.required_amsl_m, sectors.field, strict=True)
    ):
        off_deg = np.abs((track - SECTOR_DEG * number + 180.0) % 360.0 - 180.0)
        needs = required[row, col] + lost_m[np.rint(off_deg).astype(np.int64)]
        is_less = is_track & (needs < least)  # NaN is never less
        least = np.where(is_less, needs, least)
        found = np.where(is_less, label[row, col], found)
    return found
