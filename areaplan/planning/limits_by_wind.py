"""What wind limits are: by direction, by cell, and as a share of the year."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.tiles import Window
from areaplan.planning.plan import Verdict
from areaplan.sources.wind_climatology import WindClimatology
from areaplan.units import Wind

DIRECTIONS: Final = 16
DIRECTION_STEP_DEG: Final = 360.0 / DIRECTIONS
STEP_KT: Final = 2
HIGHEST_KT: Final = 40

# What a cell's limit is where it is no speed.
NOT_IN_CALM: Final = -1  # no field within gliding distance even in calm
UNKNOWN_IN_CALM: Final = -2  # can't be told even in calm
OUTSIDE: Final = -3  # not in the area

Int8Array = NDArray[np.int8]


@frozen
class DirectionLimit:
    """The limit for winds from one direction, over the whole area.

    Attributes
    ----------
    from_deg_true : float
    limit_kt : int or None
        Strongest wind that holds, and every lighter one tested; None where not even calm does.
    fails_kt : int or None
        The lightest tested wind that does not hold; None where all tested ones do.
    is_unknown : bool
        That wind fails only because something isn't known.
    lat, lon : float or None
        Where the area loses its field first (or where it isn't known): centre of the cell that
        asks for the highest altitude in the failing wind. None where nothing fails.
    required_amsl_ft : int or None
        Asked for there in the failing wind; None where no altitude considered is enough, where it
        is unknown and where nothing fails.
    field : str
        The field within gliding distance from there in the last wind that held (or in calm), by
        the sector that asks for least; "" where there is none.
    share_kept : float
        Share of the area that keeps a field in the failing wind; 1 where nothing fails.
    """

    from_deg_true: float
    limit_kt: int | None
    fails_kt: int | None = None
    is_unknown: bool = False
    lat: float | None = None
    lon: float | None = None
    required_amsl_ft: int | None = None
    field: str = ""
    share_kept: float = 1.0

    def holds(self, speed_kt: float) -> bool:
        """Whether a speed is within the limit."""
        return self.limit_kt is not None and speed_kt <= self.limit_kt


@frozen
class YearShare:
    """How much of the year the whole area keeps a field, by a climatology.

    Attributes
    ----------
    holds, unknown : float
        Shares from 0 to 1: within the limits, and stronger than a limit that is only one for want
        of data. The rest fails, or is stronger than any wind tested, or not in the table.
    source : str
        Where the climatology comes from, in the project's words.
    path, sha256 : str
        Its file.
    """

    holds: float
    unknown: float
    source: str
    path: str
    sha256: str


@frozen(eq=False)
class WindLimits:
    """What was found at one altitude.

    Attributes
    ----------
    altitude_amsl_ft : int
    own_wind : Wind
        The project's.
    verdict : Verdict
        Whether that wind (with the winds aloft, where the project has a table of them), and every
        lighter one tested from exactly its direction, holds.
    step_kt, highest_kt : int
        Winds tested: every step up to the highest, and from each direction the one `between_kt`
        below the first step that fails.
    directions : tuple of DirectionLimit
        All 16, from north clockwise.
    window : Window
        The part of the plan's grid that `cell_limit_kt` covers.
    cell_limit_kt : int8 array, shape (16, window rows, window columns)
        The limit of each cell, knots; NOT_IN_CALM, UNKNOWN_IN_CALM or OUTSIDE where it is none.
    year : YearShare or None
        None where the project names no climatology.
    rules : tuple of str
        Titles of the rules on the choice of fields that had to hold as well.
    """

    altitude_amsl_ft: int
    own_wind: Wind
    verdict: Verdict
    step_kt: int
    highest_kt: int
    directions: tuple[DirectionLimit, ...]
    window: Window
    cell_limit_kt: Int8Array
    year: YearShare | None
    rules: tuple[str, ...] = ()

    @property
    def between_kt(self) -> int:
        """How far below the first step that fails one more wind is tested, knots; 0: none is."""
        return self.step_kt // 2

    @property
    def least_of_cells_kt(self) -> Int8Array:
        """The strongest wind from any direction that each cell is held in, shape of the window.

        The least of the 16 directions, knots; NOT_IN_CALM, UNKNOWN_IN_CALM or OUTSIDE (the same
        for all directions, as calm has none) where `cell_limit_kt` says so.
        """
        return np.asarray(self.cell_limit_kt.min(axis=0))

    def share_of_area(self, direction: int, speed_kt: float) -> float:
        """Share of the area whose own limit from one of the 16 directions is at least a speed."""
        limit = self.cell_limit_kt[direction]
        return float((limit >= speed_kt).sum() / (limit != OUTSIDE).sum())

    def judge(self, wind_from_deg_true: float, speed_kt: float) -> Verdict:
        """Whether a wind is within the limits of the tested directions on either side of it."""
        turn = wind_from_deg_true / DIRECTION_STEP_DEG
        sides = {math.floor(turn) % DIRECTIONS, math.ceil(turn) % DIRECTIONS}
        beyond = [self.directions[one] for one in sides if not self.directions[one].holds(speed_kt)]
        if not beyond:
            return Verdict.MET
        return Verdict.UNKNOWN if all(one.is_unknown for one in beyond) else Verdict.NOT_MET


def year_share(limits: WindLimits, climatology: WindClimatology, source: str) -> YearShare:
    """Sum the shares of the winds that are within the limits.

    A class counts as a whole, by the upper end of its speeds, and against the limits of the tested
    directions on either side of its middle.
    """
    shares = dict.fromkeys(Verdict, 0.0)
    for one in climatology.classes:
        shares[limits.judge(one.from_deg_true, one.speed_kt)] += one.share
    return YearShare(
        shares[Verdict.MET], shares[Verdict.UNKNOWN], source, climatology.path, climatology.sha256
    )
