"""A path over the ground made of straights and arcs, flown in wind.

Places are complex numbers, metres east + i metres north. A leg of length s that turns evenly
through the angle t from track b ends s sinc(t / 2) away in the direction b + t / 2 (its chord), and
so does every part of it: straights and arcs are one formula.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from attrs import field, frozen, validators
from numpy.typing import ArrayLike

from areaplan.engine.constant_radius import SteadyFlight, circle_bank_deg
from areaplan.engine.ground_track import GroundTrack
from areaplan.engine.places import Places, bearing_step
from areaplan.engine.quadrature import interval_integrals
from areaplan.grid import Float64Array

STEP_M: Final = 40.0  # between samples, about two seconds of flight
STEP_DEG: Final = 12.0  # and no farther round a turn than this
_SAME_SHARE: Final = 1e-6


@frozen
class Leg:
    """A straight, or an arc of constant radius, over the ground.

    Attributes
    ----------
    length_m : float
        Along the path, metres, above 0.
    angle_deg : float
        Turned through, degrees, right positive; 0 on a straight.
    """

    length_m: float = field(validator=validators.gt(0.0))
    angle_deg: float = 0.0

    @classmethod
    def arc(cls, radius_m: float, angle_deg: float) -> Leg:
        """An arc of a radius above 0, metres, through an angle, degrees, right positive."""
        return cls(radius_m * abs(np.radians(angle_deg)), angle_deg)

    def shares(self, begin_deg: float, stops_deg: Sequence[float], step_m: float) -> Float64Array:
        """Shares of the leg at which it is sampled, from 0 to 1.

        Even steps of at most `step_m`, and the directions among `stops_deg` wherever a turn begun
        in the direction `begin_deg` passes them: there the bank is greatest or least, and a track
        that missed it would tell too little.
        """
        size_deg = abs(self.angle_deg)
        count = np.ceil(max(self.length_m / step_m, size_deg / STEP_DEG))
        even = np.linspace(0.0, 1.0, int(count) + 1)
        if not size_deg:
            return even
        ahead_deg = [(stop - begin_deg) * np.sign(self.angle_deg) % 360.0 for stop in stops_deg]
        passed = np.concatenate([np.arange(first, size_deg, 360.0) for first in ahead_deg])
        passed /= size_deg
        is_new = np.abs(passed[:, np.newaxis] - even).min(axis=1) > _SAME_SHARE
        return np.sort(np.concatenate((even, passed[is_new])))


def part_of_leg(track_deg: ArrayLike, length_m: ArrayLike, angle_deg: ArrayLike) -> Places:
    """Displacement along legs, or their first parts, begun on tracks in degrees true."""
    half_deg = 0.5 * np.asarray(angle_deg, dtype=np.float64)
    chord_m = np.asarray(length_m, dtype=np.float64) * np.sinc(half_deg / 180.0)
    displacement: Places = chord_m * bearing_step(np.asarray(track_deg) + half_deg)
    return displacement


def fly_legs(
    flight: SteadyFlight,
    start: complex,
    start_track_deg_true: float,
    legs: Sequence[Leg],
    step_m: float = STEP_M,
) -> GroundTrack:
    """Fly legs one after the other, each beginning on the track that the last one ended on.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind.
    start : complex
        Metres east + i metres north of the reference.
    start_track_deg_true : float
        Degrees true.
    legs : sequence of Leg
        At least one.
    step_m : float
        Greatest distance between samples, metres, above 0.

    Returns
    -------
    GroundTrack
        Level; both ends of every leg are samples, and wherever a turn passes downwind.

    Raises
    ------
    ValueError
        No leg, a step that is not above 0, or a start that is no finite place and track.

    Notes
    -----
    - Coordinated, at constant airspeed and height; the wind steady.
    - The roll from one bank to another takes no time. A real roll takes a second or more, in
      which the path cuts the corner or overshoots by less than half of (groundspeed x roll time)
      times the angle turned in that time.
    """
    if not (legs and step_m > 0.0 and np.isfinite(start) and np.isfinite(start_track_deg_true)):
        raise ValueError(
            f"{len(legs)} legs from {start:g} on {start_track_deg_true:g}, step {step_m:g} m; "
            "expected at least one leg, a finite start and a step above 0"
        )
    length_m = np.array([leg.length_m for leg in legs])
    angle_deg = np.array([leg.angle_deg for leg in legs])
    begin_m = np.concatenate(([0.0], np.cumsum(length_m)[:-1]))
    begin_deg = start_track_deg_true + np.concatenate(([0.0], np.cumsum(angle_deg)[:-1]))
    ends = start + np.cumsum(part_of_leg(begin_deg, length_m, angle_deg))
    begin = np.concatenate(([start], ends[:-1]))

    stops_deg = (flight.downwind_deg_true,)
    shares = [leg.shares(deg, stops_deg, step_m) for leg, deg in zip(legs, begin_deg, strict=True)]
    leg_of = np.repeat(np.arange(len(legs)), [one.size for one in shares])
    way_m = length_m[leg_of] * np.concatenate(shares)
    turned_deg = (angle_deg / length_m)[leg_of] * way_m
    place = begin[leg_of] + part_of_leg(begin_deg[leg_of], way_m, turned_deg)
    return _sampled(
        flight,
        place,
        begin_m[leg_of] + way_m,
        begin_deg[leg_of] + turned_deg,
        np.radians(angle_deg / length_m)[leg_of],
    )


def _sampled(
    flight: SteadyFlight,
    place: Places,
    along_m: Float64Array,
    track_deg: Float64Array,
    curvature_per_m: Float64Array,
) -> GroundTrack:
    """Add time, heading and bank; a sample's curvature holds up to the next sample."""

    def slowness(at_m: Float64Array) -> Float64Array:
        on_deg = track_deg[:-1] + np.degrees(curvature_per_m[:-1]) * (at_m - along_m[:-1])
        return 1.0 / flight.along(on_deg)[1]

    # From a leg's last sample to the next leg's first no way is flown, so no time passes.
    seconds = interval_integrals(slowness, along_m[:-1], along_m[1:])
    heading_deg, groundspeed = flight.along(track_deg)
    return GroundTrack(
        time_s=np.concatenate(([0.0], np.cumsum(seconds))),
        east_m=place.real.copy(),
        north_m=place.imag.copy(),
        above_entry_m=np.zeros(place.size),
        track_deg_true=track_deg % 360.0,
        heading_deg_true=heading_deg,
        groundspeed_mps=groundspeed,
        bank_deg=circle_bank_deg(track_deg, heading_deg, groundspeed, curvature_per_m),
    )
