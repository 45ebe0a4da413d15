"""Spells of a recorded flight in which something was not met, and the lowest it came."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.plan import Binder

JOINED_S: Final = 5.0  # spells nearer to each other than this are one
APART_S: Final = 60.0  # low points nearer to each other than this are one


class SpellKind(StrEnum):
    """What a spell is about."""

    NOT_LEGAL = "outside the open altitudes"
    NO_FIELD = "no field within gliding distance"
    UNKNOWN = "not known"
    NOT_RECORDED = "not recorded"


@frozen
class Moment:
    """One point of a flight.

    Attributes
    ----------
    time_s : float
        Seconds since the recording began.
    lat, lon : float
        Degrees, WGS 84.
    altitude_amsl_ft, height_agl_ft : int or None
        Whole feet, rounded down; above the highest ground of the cell. None where unknown.
    track_deg_true : float or None
    """

    time_s: float
    lat: float
    lon: float
    altitude_amsl_ft: int | None
    height_agl_ft: int | None
    track_deg_true: float | None


@frozen
class Spell:
    """A piece of the flight in which one thing was not met.

    Attributes
    ----------
    kind : SpellKind
    begin_s, end_s : float
        Seconds since the recording began.
    worst_margin_ft : int or None
        Negative; None where unknown, or where no altitude would have been enough.
    is_certain : bool
        The margin is beyond the uncertainty of the altitudes, and by both of them where two
        contradict each other; False for a spell not known.
    worst : Moment
        Where the margin was worst; of a spell not known its beginning, of one not recorded the
        nearest piece inside the area.
    binder : Binder or None
        What set the limit there.
    """

    kind: SpellKind
    begin_s: float
    end_s: float
    worst_margin_ft: int | None
    is_certain: bool
    worst: Moment
    binder: Binder | None = None

    @property
    def lasts_s(self) -> float:
        """Seconds from the first to the last piece, both included."""
        return self.end_s - self.begin_s


def runs(
    is_in: BoolArray, time_s: Float64Array, lasts_s: Float64Array
) -> tuple[NDArray[np.int64], ...]:
    """Indices of each run of true values, runs nearer than `JOINED_S` put together.

    Parameters
    ----------
    is_in : bool array, shape (n,)
    time_s, lasts_s : float64 arrays, shape (n,)
        Middle and length of each piece, seconds.

    Returns
    -------
    tuple of int64 arrays
        The true indices of each run, rising.
    """
    chosen = np.flatnonzero(is_in)
    if chosen.size == 0:
        return ()
    begin, end = time_s - lasts_s / 2.0, time_s + lasts_s / 2.0
    is_apart = begin[chosen[1:]] - end[chosen[:-1]] > JOINED_S
    return tuple(np.split(chosen, np.flatnonzero(is_apart) + 1))


def lowest_apart(height: NDArray[np.int32], time_s: Float64Array, most: int) -> tuple[int, ...]:
    """Indices of the lowest heights at least `APART_S` from one another, the lowest first."""
    taken: list[int] = []
    for index in np.argsort(height, kind="stable").tolist():
        if len(taken) == most:
            break
        if all(abs(time_s[index] - time_s[other]) >= APART_S for other in taken):
            taken.append(index)
    return tuple(taken)
