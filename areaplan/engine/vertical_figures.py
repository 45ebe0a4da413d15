"""Figures that use height: steep turns, stalls, lazy eights and chandelles, in wind.

Flown through the air by a stated law of bank and airspeed and carried off by the wind. They are
envelopes, not a model of an aircraft: what height a figure uses and gains is declared, not
computed (`steep_spiral.py` computes it: there it is that of a glide).

Laws, the same for all:

- A coordinated turn, dh/dt = g tan(bank) / V, which holds in a steady climb or descent too.
- The horizontal airspeed is taken as the airspeed: longer ways and wider turns than flown.
- The wind is steady and the same at all heights; a figure drifts by wind times time.
- Where an airspeed changes it does so as stated in the function, whatever the engine does.

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 5 and 10, for what is flown; "common practice" marks
what no source states.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from attrs import field, frozen, validators

from areaplan.engine.air_phases import Law, Phase, fly_phases, held_turn, rolling_quarter
from areaplan.engine.flight import STANDARD_GRAVITY_MPS2
from areaplan.engine.ground_legs import STEP_M
from areaplan.engine.ground_track import GroundTrack, Side
from areaplan.engine.ranges import within
from areaplan.engine.wind import wind_vectors
from areaplan.grid import Float64Array
from areaplan.units import Wind


@frozen(eq=False)
class VerticalFigure:
    """A figure as flown, with the heights that it takes.

    Attributes
    ----------
    track : GroundTrack
        Relative to the entry, but for the steep spiral: relative to its point.
    height_used_m, height_gained_m : float
        From the entry to the lowest and to the highest point, metres, at least 0.
    drift_east_m, drift_north_m : float
        What the wind carries off in the time of the figure, metres.
    """

    track: GroundTrack
    height_used_m: float = field(validator=validators.ge(0.0))
    height_gained_m: float = field(validator=validators.ge(0.0))
    drift_east_m: float
    drift_north_m: float


@frozen
class Speeds:
    """True airspeeds at the beginning and at the slowest point of a figure.

    Attributes
    ----------
    entry_mps, least_mps : float
        Metres per second; the least above 0 and at most the one at the entry.
    """

    entry_mps: float = field(validator=[validators.gt(0.0), validators.lt(math.inf)])
    least_mps: float = field(validator=validators.gt(0.0))

    @least_mps.validator
    def _check(self, _attribute: object, value: float) -> None:
        if not value <= self.entry_mps:
            raise ValueError(
                f"least airspeed in m/s {value:g}; expected at most {self.entry_mps:g}, the entry's"
            )


@frozen
class Heights:
    """Heights that a figure is declared to use below and to gain above its entry, metres.

    Attributes
    ----------
    used_m, gained_m : float
        At least 0.
    """

    used_m: float = field(validator=[validators.ge(0.0), validators.lt(math.inf)])
    gained_m: float = field(validator=[validators.ge(0.0), validators.lt(math.inf)])


@frozen
class Entry:
    """How a figure is entered, in which wind, and how closely it is sampled.

    Attributes
    ----------
    heading_deg_true : float
        Through the air, degrees true.
    wind : Wind
        Any.
    step_m : float
        Greatest distance between samples through the air, metres, above 0.
    """

    heading_deg_true: float
    wind: Wind
    step_m: float = STEP_M


def steep_turns(
    tas_mps: float,
    entry: Entry,
    bank_deg: float,
    first: Side,
    heights: Heights,
    turns: int = 2,
) -> VerticalFigure:
    """Level full turns at one bank, to alternate sides, one after the other.

    Parameters
    ----------
    tas_mps : float
        Constant true airspeed, m/s, above 0.
    entry : Entry
    bank_deg : float
        Above 0, below 90.
    first : Side
        Of the first turn.
    heights : Heights
        Declared; the track itself is level.
    turns : int
        At least 1.

    Raises
    ------
    ValueError
        A value outside these ranges.
    """
    tas = float(within(tas_mps, "airspeed in m/s", 0.0, is_open=True))
    sides = [first if i % 2 == 0 else first.other for i in range(turns)]
    phases = [
        held_turn(
            entry.heading_deg_true,
            360.0,
            side,
            bank_deg,
            lambda share: np.full_like(share, tas),
            np.zeros_like,
        )
        for side in sides
    ]
    return _flown(phases, entry, heights)


def stall(
    speeds: Speeds,
    entry: Entry,
    slowing_mps2: float,
    recovery_s: float,
    heights: Heights,
    *,
    bank_deg: float = 0.0,
) -> VerticalFigure:
    """Slow down to the stall, straight or in a turn, and recover straight ahead.

    With power off and with power on alike: they differ in the numbers. The height gained is gained
    by the stall, the height used is lost from there in the recovery, at the end of which the
    airspeed is that of the entry again; both evenly in time.

    Parameters
    ----------
    speeds : Speeds
        At the entry, and at the stall.
    entry : Entry
    slowing_mps2 : float
        Loss of airspeed on the way to the stall, m/s in a second, above 0. One knot a second is
        usual in tests of the stall (14 CFR part 23 before 2017, from memory).
    recovery_s : float
        From the stall to the entry's airspeed, s, above 0; common practice, no source.
    heights : Heights
        Declared; common practice.
    bank_deg : float
        On the way to the stall, right positive, between -90 and 90; the recovery is wings level.

    Raises
    ------
    ValueError
        A value outside these ranges.
    """
    within(abs(bank_deg), "bank in degrees", 0.0, below=90.0)
    slowing = float(within(slowing_mps2, "slowing in m/s2", 0.0, is_open=True))
    recovering_s = float(within(recovery_s, "recovery in s", 0.0, is_open=True))
    lost_mps = speeds.entry_mps - speeds.least_mps
    if not lost_mps > 0.0:
        raise ValueError(f"airspeeds {speeds}; expected a stall below the entry")
    # Turning at a steady bank while slowing evenly: h = (g tan(bank) / slowing) ln(entry / V).
    pull = STANDARD_GRAVITY_MPS2 * math.tan(math.radians(bank_deg)) / slowing

    def slowed(share: Float64Array) -> Float64Array:
        return speeds.entry_mps - lost_mps * share

    def turned_deg(share: Float64Array) -> Float64Array:
        return entry.heading_deg_true + np.degrees(pull * np.log(speeds.entry_mps / slowed(share)))

    last_deg = float(turned_deg(np.ones(1))[0])
    to_stall = Phase(
        lambda share: np.full_like(share, lost_mps / slowing),
        turned_deg,
        slowed,
        lambda share: np.full_like(share, bank_deg),
        lambda share: heights.gained_m * share,
    )
    recovery = Phase(
        lambda share: np.full_like(share, recovering_s),
        lambda share: np.full_like(share, last_deg),
        lambda share: slowed(1.0 - share),
        np.zeros_like,
        lambda share: heights.gained_m - (heights.gained_m + heights.used_m) * share,
    )
    return _flown([to_stall, recovery], entry, heights)


def chandelle(
    speeds: Speeds,
    entry: Entry,
    bank_deg: float,
    side: Side,
    height_gained_m: float,
) -> VerticalFigure:
    """Climbing turn through 180 degrees, ended just above the stall.

    The bank is held through the first 90 degrees and rolled off through the second. The airspeed
    falls evenly with the angle turned. The climb steepens through the first half and is held
    through the second.

    Parameters
    ----------
    speeds : Speeds
        At the entry, and at the end.
    entry : Entry
    bank_deg : float
        In the first half, above 0, below 90; about 30 is common practice.
    side : Side
        Of the turn.
    height_gained_m : float
        Declared; common practice.

    Raises
    ------
    ValueError
        A value outside these ranges.
    """
    heights = Heights(0.0, height_gained_m)
    entry_deg = entry.heading_deg_true

    def slowed(quarters: Float64Array) -> Float64Array:
        return speeds.entry_mps - 0.5 * (speeds.entry_mps - speeds.least_mps) * quarters

    # The climb steepens evenly over the first 90 degrees, so these take a third of the gain.
    first_half = held_turn(
        entry_deg, 90.0, side, bank_deg, slowed, lambda q: height_gained_m / 3.0 * q**2
    )
    second_half = rolling_quarter(
        entry_deg + 90.0 * side.sign,
        side,
        bank_deg,
        lambda q: slowed(1.0 + q),
        lambda q: height_gained_m * (1.0 + 2.0 * q) / 3.0,
        is_rolling_in=False,
    )
    return _flown([first_half, second_half], entry, heights)


def lazy_eight(
    speeds: Speeds,
    entry: Entry,
    bank_deg: float,
    first: Side,
    heights: Heights,
) -> VerticalFigure:
    """Two climbing and descending turns through 180 degrees, to one side and to the other.

    Highest, slowest and steepest after 90 degrees of each, level and as fast as at the entry after
    180. With s the angle turned in one of them, the height is the gain times sin(s)^2, steepest
    after 45 and 135 degrees, and the airspeed falls likewise.

    Parameters
    ----------
    speeds : Speeds
        At the entry, and at the top.
    entry : Entry
    bank_deg : float
        Steepest, at the top, above 0, below 90; about 30 is common practice.
    first : Side
        Of the first turn.
    heights : Heights
        Declared; the height used is a margin below the entry that the track does not show.

    Raises
    ------
    ValueError
        A value outside these ranges.
    """
    lost_mps = speeds.entry_mps - speeds.least_mps

    def height(quarters: Float64Array) -> Float64Array:
        return heights.gained_m * np.sin(0.5 * np.pi * quarters) ** 2

    def slowed(quarters: Float64Array) -> Float64Array:
        return speeds.entry_mps - lost_mps * np.sin(0.5 * np.pi * quarters) ** 2

    def later(law: Law) -> Law:
        return lambda quarters: law(1.0 + quarters)

    phases: list[Phase] = []
    for begin_deg, side in ((0.0, first), (180.0 * first.sign, first.other)):
        heading_deg = entry.heading_deg_true + begin_deg
        top_deg = heading_deg + 90.0 * side.sign
        phases += [
            rolling_quarter(heading_deg, side, bank_deg, slowed, height, is_rolling_in=True),
            rolling_quarter(
                top_deg, side, bank_deg, later(slowed), later(height), is_rolling_in=False
            ),
        ]
    return _flown(phases, entry, heights)


def _flown(phases: Sequence[Phase], entry: Entry, heights: Heights) -> VerticalFigure:
    return with_heights(fly_phases(phases, entry.wind, entry.step_m), entry.wind, heights)


def with_heights(track: GroundTrack, wind: Wind, heights: Heights) -> VerticalFigure:
    """A figure from its track and the heights that it takes."""
    east_m, north_m = wind_vectors(wind.speed_mps, wind.from_deg_true) * track.duration_s
    return VerticalFigure(track, heights.used_m, heights.gained_m, float(east_m), float(north_m))
