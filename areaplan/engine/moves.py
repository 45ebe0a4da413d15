"""The steps of a glide over the grid: which way, over which cells, at what loss of height.

A move leads from a cell to one that lies up to four cells away along each axis, in the 48
directions whose two counts share no divisor. Twelve overlapping sectors of 30 degrees, centred on
0, 30, ..., 330 degrees true, each own the moves within 33 degrees of their centre; those reach to
at least 26 degrees either side, so that every track within 15 degrees of the centre lies between
two of them.

Notes
-----
- The frame's north is taken as true north: over the few kilometres of a glide the two differ by
  hundredths of a degree.
- A track between two moves is flown as a mixture of both. The widest gap between moves is 14.04
  degrees, so in still air that is at most 1 / cos(7.02 degrees) = 1.0076 times as long; in wind a
  gap in track is a wider one in heading and the excess grows about as 1 + wind / airspeed.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Final

import numpy as np
from attrs import field, frozen
from numpy.typing import ArrayLike

from areaplan.engine.flight import loss_per_metre
from areaplan.grid import Float64Array

SECTORS: Final = 12
SECTOR_DEG: Final = 30.0
CONE_HALF_DEG: Final = 33.0
AHEAD_HALF_DEG: Final = 15.0
REACH_CELLS: Final = 4


@frozen
class Crossed:
    """A cell that a move passes over.

    Attributes
    ----------
    row_step, col_step : int
        Where it lies from the cell that the move leaves; rows go south, columns east.
    share_until_left : float
        Share of the move flown when the aircraft has left the cell, wherever in its cell it began.
    """

    row_step: int
    col_step: int
    share_until_left: float


@frozen
class Move:
    """A straight step between the centres of two cells, or between like points of them.

    Attributes
    ----------
    row_step, col_step : int
        Cells to the south and to the east.
    crossed : tuple of Crossed
        Every cell that an aircraft may pass over, the one it leaves among them, but not the one
        it comes to. See `crossed_cells`.
    """

    row_step: int
    col_step: int
    crossed: tuple[Crossed, ...]

    @property
    def bearing_deg_true(self) -> float:
        """Track in [0, 360)."""
        return math.degrees(math.atan2(self.col_step, -self.row_step)) % 360.0

    @property
    def length_cells(self) -> float:
        """Length, in sides of a cell."""
        return math.hypot(self.row_step, self.col_step)


def crossed_cells(row_step: int, col_step: int) -> tuple[Crossed, ...]:
    """Cells that a move passes over, from wherever in the first cell it begins.

    An aircraft at any point of a cell flies the move parallel to the line between the centres, so
    what it may pass over is what the cell's square covers when it is slid along the move: a cell
    (i, j) steps away along the axes is passed over while abs(i - t a) < 1 and abs(j - t b) < 1,
    with a and b the move's counts and t the share flown. That holds all cells that the line
    between the centres crosses or touches at a corner, so no wall one cell thick, joined by edges
    or only by corners, has a gap.
    """
    a, b = abs(row_step), abs(col_step)
    south, east = (1 if row_step > 0 else -1), (1 if col_step > 0 else -1)
    crossed = []
    for i in range(a + 1):
        for j in range(b + 1):
            entered = max([0.0] + [(n - 1) / count for n, count in ((i, a), (j, b)) if count])
            left = min([1.0] + [(n + 1) / count for n, count in ((i, a), (j, b)) if count])
            if entered < left and (i, j) != (a, b):
                crossed.append(Crossed(south * i, east * j, left))
    return tuple(crossed)


def _stencil() -> tuple[Move, ...]:
    steps = range(-REACH_CELLS, REACH_CELLS + 1)
    moves = [
        Move(row_step, col_step, crossed_cells(row_step, col_step))
        for row_step in steps
        for col_step in steps
        if math.gcd(row_step, col_step) == 1
    ]
    return tuple(sorted(moves, key=lambda move: move.bearing_deg_true))


MOVES: Final = _stencil()


@cache
def sector_moves(sector: int, half_width_deg: float = CONE_HALF_DEG) -> tuple[int, ...]:
    """Indices into `MOVES` of the moves of a sector.

    Parameters
    ----------
    sector : int
        0 to 11, centred on 30 times that, degrees true.
    half_width_deg : float
        How far from the centre a move may point: that of the cone, or `AHEAD_HALF_DEG` for the
        moves "ahead", whose bearings the neighbouring sectors' do not overlap but at the edge.

    Raises
    ------
    ValueError
        No such sector.
    """
    if sector not in range(SECTORS):
        raise ValueError(f"sector {sector}; expected 0 to {SECTORS - 1}")
    off_deg = [(move.bearing_deg_true - SECTOR_DEG * sector + 180.0) % 360.0 for move in MOVES]
    return tuple(i for i, off in enumerate(off_deg) if abs(off - 180.0) <= half_width_deg)


@frozen(eq=False)
class MoveLosses:
    """Height lost along each move.

    Attributes
    ----------
    per_metre : float64 array, shape (48,)
        Metres per metre of ground along the moves of `MOVES`; infinity where there is no headway.
        All above 0.
    """

    per_metre: Float64Array = field()

    @per_metre.validator
    def _check(self, _attribute: object, value: Float64Array) -> None:
        if value.shape != (len(MOVES),) or not np.all(value > 0.0):
            raise ValueError(f"losses {value}; expected {len(MOVES)} values above 0")


def move_losses(
    tas_mps: ArrayLike,
    glide_ratio: float,
    wind_speed_mps: ArrayLike,
    wind_from_deg_true: ArrayLike,
) -> MoveLosses:
    """Greatest loss along each move over the airspeeds and the winds of the glide.

    Parameters
    ----------
    tas_mps : float or array of float
        True airspeeds, m/s: that at the lowest and that at the highest altitude considered. No
        speed between them loses more than the worse of the two (see `flight.loss_per_metre`).
    glide_ratio : float
        Still-air ratio, as derated by the owner.
    wind_speed_mps, wind_from_deg_true : float or array of float, shape (winds,)
        The wind, m/s and degrees true; or several, among which every wind between them counts as
        met: no mixture of winds loses more than the worst of them.

    Raises
    ------
    ValueError
        An airspeed or ratio not above 0, a negative wind speed, or NaN.

    Notes
    -----
    With u the track's direction, v across it and w the wind (as a vector, blowing to), the
    groundspeed is g(w) = w.u + sqrt(V^2 - (w.v)^2): a linear function plus a concave one, hence
    concave where there is headway at all, which is a convex set of winds. So the winds in which
    the loss V sin(glide angle) / g(w) stays below a bound form a convex set: if it holds the winds
    of two rows it holds all between. The glide through changing winds loses the mean of its losses
    over the ground: not more than the greatest. Winds and airspeeds are paired in all ways.
    """
    bearings = np.array([move.bearing_deg_true for move in MOVES])
    speeds = np.atleast_1d(np.asarray(tas_mps, dtype=np.float64))[:, np.newaxis, np.newaxis]
    wind = np.atleast_1d(np.asarray(wind_speed_mps, dtype=np.float64))[:, np.newaxis]
    source = np.atleast_1d(np.asarray(wind_from_deg_true, dtype=np.float64))[:, np.newaxis]
    losses = loss_per_metre(bearings, speeds, glide_ratio, wind, source)
    return MoveLosses(np.max(losses, axis=(0, 1)))
