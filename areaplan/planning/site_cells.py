"""Every cell that a simulated track touches, and how far it may bulge from its straight pieces."""

from __future__ import annotations

import numpy as np
from attrs import frozen

from areaplan.engine.ground_track import GroundTrack
from areaplan.grid import BoolArray, Float64Array, Grid
from areaplan.planning.point_margins import Indices, cells_under


@frozen(eq=False)
class CellsTouched:
    """One point in each cell that a track touches, some cells more than once; arrays, shape (n,).

    Attributes
    ----------
    x_m, y_m : float64 array
        Local metres: places on the track or so near that their cell may be touched.
    row, col : int64 array
        0 off the grid.
    is_on_grid : bool array
    track_deg_true : float64 array
    lowest_above_m, highest_above_m : float64 array
        Range of heights of the piece of track there, relative to the entry, metres.
    """

    x_m: Float64Array
    y_m: Float64Array
    row: Indices
    col: Indices
    is_on_grid: BoolArray
    track_deg_true: Float64Array
    lowest_above_m: Float64Array
    highest_above_m: Float64Array


def bulges_m(track: GroundTrack) -> Float64Array:
    """How far a track may lie from the straight between two samples, metres, at most.

    An arc that turns one way stays in the triangle of its chord and the tangents at its ends, whose
    height is greatest where both angles are equal: half the chord times tan(turn / 2).
    """
    turned_deg = (np.diff(track.track_deg_true) + 180.0) % 360.0 - 180.0
    chord_m = np.hypot(np.diff(track.east_m), np.diff(track.north_m))
    bulge_m: Float64Array = 0.5 * chord_m * np.tan(np.radians(0.5 * turned_deg))
    return bulge_m


def cells_touched(grid: Grid, track: GroundTrack, x_m: float, y_m: float) -> CellsTouched:
    """Find the cells of a track.

    Between two samples, at most half a cell apart, a straight line goes through the cells of its
    ends and perhaps through one that shares a corner with both: both corner cells are taken. The
    same is done for the two tangents that hold the arc.

    Parameters
    ----------
    grid : Grid
    track : GroundTrack
        In steps of at most half a cell.
    x_m, y_m : float
        Local metres of the point that it is relative to.
    """
    x, y, heights = x_m + track.east_m, y_m + track.north_m, track.above_entry_m
    here, there = (x[:-1], y[:-1]), (x[1:], y[1:])
    dx, dy = there[0] - here[0], there[1] - here[1]
    chord_m = np.maximum(np.hypot(dx, dy), 1e-9)
    # A right turn bulges to the left of the chord.
    out = bulges_m(track) / chord_m
    apex = (here[0] + 0.5 * dx - out * dy, here[1] + 0.5 * dy + out * dx)
    more = [apex]
    for begin, end in ((here, there), (here, apex), (apex, there)):
        more += [(begin[0], end[1]), (end[0], begin[1])]
    more_x = np.concatenate([place[0] for place in more])
    more_y = np.concatenate([place[1] for place in more])
    piece = np.tile(np.arange(x.size - 1), len(more))
    row, col, _ = cells_under(grid, x, y)
    more_row, more_col, is_more_on = cells_under(grid, more_x, more_y)
    is_known = np.zeros(piece.shape, dtype=np.bool_)
    for sample in (piece, piece + 1):
        is_known |= is_more_on & (more_row == row[sample]) & (more_col == col[sample])
    is_new = ~is_known
    piece = piece[is_new]
    all_x = np.concatenate([x, more_x[is_new]])
    all_y = np.concatenate([y, more_y[is_new]])
    before, after = np.minimum(heights[:-1], heights[1:]), np.maximum(heights[:-1], heights[1:])
    all_row, all_col, is_on = cells_under(grid, all_x, all_y)
    return CellsTouched(
        all_x,
        all_y,
        all_row,
        all_col,
        is_on,
        np.concatenate([track.track_deg_true, track.track_deg_true[piece]]),
        np.concatenate([heights, before[piece]]),
        np.concatenate([heights, after[piece]]),
    )
