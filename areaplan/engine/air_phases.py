"""Flight through the air by stated laws, phase after phase, carried off by the wind.

A phase runs over a share from 0 to 1; its laws give time, heading, airspeed, bank and height. The
laws of heading, time and bank of the quarters below satisfy dh/dt = g tan(bank) / V exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.flight import STANDARD_GRAVITY_MPS2
from areaplan.engine.ground_legs import STEP_DEG
from areaplan.engine.ground_track import GroundTrack, Side
from areaplan.engine.places import Places, bearing_step
from areaplan.engine.quadrature import interval_integrals
from areaplan.engine.ranges import within
from areaplan.engine.wind import track_for_heading, wind_vectors
from areaplan.grid import Float64Array
from areaplan.units import Wind

Law = Callable[[Float64Array], Float64Array]

_FEWEST_STEPS: Final = 8  # so that a law which is not even is followed


@frozen(eq=False)
class Phase:
    """Part of a figure; every law takes shares from 0 to 1 and answers in their shape.

    Attributes
    ----------
    seconds : Law
        Seconds per share; never asked at 0 or at 1 themselves.
    heading_deg : Law
        Degrees true, running on past 360.
    tas_mps : Law
        Horizontal true airspeed, m/s.
    bank_deg : Law
        Right positive.
    height_m : Law
        Above the entry of the figure, metres.
    """

    seconds: Law
    heading_deg: Law
    tas_mps: Law
    bank_deg: Law
    height_m: Law

    def shares(self, step_m: float) -> Float64Array:
        """Even shares, at most `step_m` and the usual angle apart through the air."""
        ends = np.array([0.0, 1.0])
        way_m = interval_integrals(lambda u: self.seconds(u) * self.tas_mps(u), ends[:1], ends[1:])
        angle_deg = abs(float(np.ptp(self.heading_deg(ends))))
        count = math.ceil(max(float(way_m[0]) / step_m, angle_deg / STEP_DEG, _FEWEST_STEPS))
        return np.linspace(0.0, 1.0, count + 1)


def held_turn(
    heading_deg: float, angle_deg: float, side: Side, bank_deg: float, tas: Law, height: Law
) -> Phase:
    """A turn at constant bank, its share even in the angle turned.

    Parameters
    ----------
    heading_deg : float
        At its beginning, degrees true.
    angle_deg : float
        Above 0.
    side : Side
        Of the turn.
    bank_deg : float
        Above 0, below 90.
    tas, height : Law
        Airspeed, m/s, and height, metres, over the share of the angle turned.

    Raises
    ------
    ValueError
        A bank or angle outside these ranges.
    """
    pull_mps2 = STANDARD_GRAVITY_MPS2 * math.tan(_bank_rad(bank_deg))
    angle = math.radians(float(within(angle_deg, "angle in degrees", 0.0, is_open=True)))
    return Phase(
        lambda u: tas(u) * (angle / pull_mps2),
        lambda u: heading_deg + side.sign * angle_deg * u,
        tas,
        lambda u: np.full_like(u, side.sign * bank_deg),
        height,
    )


def rolling_quarter(
    heading_deg: float, side: Side, bank_deg: float, tas: Law, height: Law, *, is_rolling_in: bool
) -> Phase:
    """A turn through 90 degrees from wings level to a bank, or from it to wings level.

    The bank is as the square root of the angle turned (or still to turn), which at one airspeed is
    nearly an even roll. Were it as the angle itself, the turn would never begin.

    Parameters
    ----------
    heading_deg : float
        At its beginning, degrees true.
    side : Side
        Of the turn.
    bank_deg : float
        Steepest, above 0, below 90.
    tas, height : Law
        Airspeed, m/s, and height, metres, over the share of the angle turned.
    is_rolling_in : bool
        Into the turn; else out of it.

    Raises
    ------
    ValueError
        A bank outside its range.
    """
    bank = _bank_rad(bank_deg)

    def rolled(u: Float64Array) -> Float64Array:
        return u if is_rolling_in else 1.0 - u

    def turned(u: Float64Array) -> Float64Array:
        return rolled(u) ** 2 if is_rolling_in else 1.0 - rolled(u) ** 2

    def seconds(u: Float64Array) -> Float64Array:
        # The angle's slope over the share, pi v, over the rate of the turn at bank times v.
        v = rolled(u)
        return tas(turned(u)) * np.pi * v / (STANDARD_GRAVITY_MPS2 * np.tan(bank * v))

    return Phase(
        seconds,
        lambda u: heading_deg + side.sign * 90.0 * turned(u),
        lambda u: tas(turned(u)),
        lambda u: side.sign * bank_deg * rolled(u),
        lambda u: height(turned(u)),
    )


def fly_phases(phases: Sequence[Phase], wind: Wind, step_m: float) -> GroundTrack:
    """Fly phases one after the other from the entry, which is the reference.

    Parameters
    ----------
    phases : sequence of Phase
        At least one, each beginning on the heading and at the height that the last one ended on.
    wind : Wind
        Steady, the same at all heights, of any speed.
    step_m : float
        Greatest distance between samples through the air, metres, above 0.

    Raises
    ------
    ValueError
        No phase, or a step that is not above 0.
    """
    if not (phases and step_m > 0.0):
        raise ValueError(f"{len(phases)} phases, step {step_m:g} m; expected one or more, above 0")
    shares = [phase.shares(step_m) for phase in phases]
    pairs = list(zip(phases, shares, strict=True))
    heading_deg, tas_mps, bank_deg, height_m = (
        np.concatenate([getattr(phase, law)(share) for phase, share in pairs])
        for law in ("heading_deg", "tas_mps", "bank_deg", "height_m")
    )
    time_s = _running([_summed(phase.seconds, share) for phase, share in pairs])
    through_air = _running([_summed(_way(phase), share) for phase, share in pairs])
    east_mps, north_mps = wind_vectors(wind.speed_mps, wind.from_deg_true)
    track_deg, groundspeed = track_for_heading(
        heading_deg, tas_mps, wind.speed_mps, wind.from_deg_true
    )
    return GroundTrack(
        time_s=time_s,
        east_m=through_air.real + east_mps * time_s,
        north_m=through_air.imag + north_mps * time_s,
        above_entry_m=height_m,
        track_deg_true=track_deg,
        heading_deg_true=heading_deg % 360.0,
        groundspeed_mps=groundspeed,
        bank_deg=bank_deg,
    )


def _bank_rad(bank_deg: float) -> float:
    return math.radians(float(within(bank_deg, "bank in degrees", 0.0, below=90.0, is_open=True)))


def _way(phase: Phase) -> Callable[[Float64Array], Places]:
    def way(u: Float64Array) -> Places:
        metres: Places = phase.seconds(u) * phase.tas_mps(u) * bearing_step(phase.heading_deg(u))
        return metres

    return way


def _summed(integrand: Callable[[Float64Array], NDArray[Any]], share: Float64Array) -> NDArray[Any]:
    """The integral from 0 to every share."""
    parts = interval_integrals(integrand, share[:-1], share[1:])
    return np.concatenate((np.zeros(1, parts.dtype), np.cumsum(parts)))


def _running(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
    """Parts that each begin at 0, set on each other's ends."""
    begins = np.cumsum([0.0] + [part[-1] for part in parts[:-1]])
    return np.concatenate([part + begin for part, begin in zip(parts, begins, strict=True)])
