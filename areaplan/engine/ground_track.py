"""One simulated manoeuvre, point by point over the ground."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from attrs import Attribute, field, fields, frozen

from areaplan.grid import Float64Array


class Side(StrEnum):
    """Which way a turn goes."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def sign(self) -> float:
        """+1 to the right, -1 to the left: the sign of bank and of the angle turned through."""
        return 1.0 if self is Side.RIGHT else -1.0

    @property
    def other(self) -> Side:
        """The opposite side."""
        return Side.LEFT if self is Side.RIGHT else Side.RIGHT


@frozen(eq=False)
class GroundTrack:
    """Where a manoeuvre leads; float64 arrays of one shape (n,), index 0 the entry.

    Attributes
    ----------
    time_s : float64 array
        Seconds since the entry, never falling. Where a turn begins or ends the same instant stands
        twice, with the bank before and after it: bank over time is then a true function.
    east_m, north_m : float64 array
        Metres from the manoeuvre's reference: its point, the middle of its line, the centre of its
        rectangle, the middle between its pylons, or the entry where it has none.
    above_entry_m : float64 array
        Height relative to the entry, metres.
    track_deg_true, heading_deg_true : float64 array
        Over the ground and through the air, degrees true in [0, 360).
    groundspeed_mps : float64 array
        Metres per second.
    bank_deg : float64 array
        Degrees, right positive.

    Raises
    ------
    ValueError
        No sample, or arrays of different shapes.
    """

    time_s: Float64Array = field()
    east_m: Float64Array
    north_m: Float64Array
    above_entry_m: Float64Array
    track_deg_true: Float64Array
    heading_deg_true: Float64Array
    groundspeed_mps: Float64Array
    bank_deg: Float64Array

    @time_s.validator
    def _check(self, _attribute: Attribute[Float64Array], time_s: Float64Array) -> None:
        shapes = {one.name: getattr(self, one.name).shape for one in fields(GroundTrack)}
        if time_s.ndim != 1 or not time_s.size or len(set(shapes.values())) > 1:
            raise ValueError(f"shapes {shapes}; expected one shape (n,) with n of at least 1")

    @property
    def greatest_bank_index(self) -> int:
        """Sample of the steepest bank to either side; the first of equals."""
        return int(np.argmax(np.abs(self.bank_deg)))

    @property
    def greatest_bank_deg(self) -> float:
        """Steepest bank to either side, degrees, at least 0."""
        return abs(float(self.bank_deg[self.greatest_bank_index]))

    @property
    def duration_s(self) -> float:
        """Seconds from the entry to the last sample."""
        return float(self.time_s[-1] - self.time_s[0])

    @property
    def reach_m(self) -> float:
        """Greatest distance of a sample from the reference, metres."""
        return float(np.hypot(self.east_m, self.north_m).max())
