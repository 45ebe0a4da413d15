"""Eights on pylons: the wing tip held on the pylon, at the pivotal height, in wind.

Round a pylon, with V the airspeed, W the wind, k = W / V, a the angle from the downwind direction
to the *heading*, r the distance to the pylon over the ground and h the height above it:

- The wing points at the pylon: the pylon stands square to the heading, and tan(bank) = h / r.
- The heading keeps up with the bearing of the pylon: da/dt = (V + W cos(a)) / r, the part of the
  groundspeed along the heading over the distance.
- A coordinated turn: da/dt = g tan(bank) / V.

Together h = V (V + W cos(a)) / g: the pivotal height, airspeed times groundspeed over g, with the
groundspeed's part along the heading. The wind's part away from the pylon gives dr/dt, and
r (V + W cos(a)) is constant: r = p / (1 + k cos(a)), an ellipse with the pylon in one focus. The
bank follows, tan(bank) = V^2 (1 + k cos(a))^2 / (g p), steepest at the headings nearest downwind,
which are those at the ends of the straights.

On a straight the heading stays, and so does the pivotal height. Leaving one pylon at the angle b
to the line through both and arriving at the other asks for sin(b) = 2 p / D - w / V, with D their
distance and w the wind's part square to that line, and takes D cos(b) / (V + W cos(a)) seconds.

Notes
-----
Assumed: horizontal airspeed constant although the height follows the groundspeed; the vertical
acceleration that this takes is left out, as in every formula of the pivotal height; wings level in
no time; both pylons on ground of one height; a level fuselage.

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 7, "Eights-on-pylons". The closed forms are DERIVED
here and flown again by an ODE solver in `tests/engine`.
"""

from __future__ import annotations

import math

import numpy as np
from attrs import frozen
from numpy.typing import ArrayLike

from areaplan.engine.constant_radius import SteadyFlight
from areaplan.engine.flight import STANDARD_GRAVITY_MPS2
from areaplan.engine.ground_figures import towards_first_pylon_deg
from areaplan.engine.ground_legs import STEP_M, Leg
from areaplan.engine.ground_track import GroundTrack, Side
from areaplan.engine.places import Places, bearing_step
from areaplan.engine.quadrature import interval_integrals
from areaplan.engine.ranges import within
from areaplan.engine.wind import track_for_heading
from areaplan.grid import Float64Array


def pivotal_height_m(tas_mps: ArrayLike, groundspeed_mps: ArrayLike) -> Float64Array:
    """Height above a pylon at which the wing stays on it, airspeed times groundspeed over g.

    Parameters
    ----------
    tas_mps : float or array
        True airspeed, m/s, at least 0.
    groundspeed_mps : float or array
        Its part along the heading, m/s, at least 0.

    Returns
    -------
    float or array
        Metres.

    Raises
    ------
    ValueError
        A negative speed.

    References
    ----------
    FAA-H-8083-3C, p. 7-15, in calm air: the square of the speed in knots over 11.3, in feet.
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0)
    ground = within(groundspeed_mps, "groundspeed in m/s", 0.0)
    return speed * ground / STANDARD_GRAVITY_MPS2


@frozen(eq=False)
class PylonEight:
    """An eight on pylons as flown.

    Attributes
    ----------
    track : GroundTrack
        From the beginning of the straight that leads to the first pylon, back to that point.
    entry_above_pylons_m : float
        Pivotal height at the entry, metres above the pylons.
    lowest_above_pylons_m, highest_above_pylons_m : float
        Range of the pivotal height, metres above the pylons.
    greatest_vertical_mps : float
        Fastest climb or descent that following the pivotal height takes, m/s, at least 0: W sin(a)
        tan(bank). It tells when the wind is too strong for the figure.
    straights_s : tuple of float
        Seconds of the straight to the first pylon and of the one to the second. They differ where
        the wind is not square to the pair.
    """

    track: GroundTrack
    entry_above_pylons_m: float
    lowest_above_pylons_m: float
    highest_above_pylons_m: float
    greatest_vertical_mps: float
    straights_s: tuple[float, float]


def eights_on_pylons(
    flight: SteadyFlight,
    pair_deg_true: float,
    separation_m: float,
    straight_s: float,
    side: Side,
    eights: int = 1,
    step_m: float = STEP_M,
) -> PylonEight:
    """Fly eights on two pylons, the crossings leading downwind and the turns into the wind.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind; the handbook asks for pylons across the wind.
    pair_deg_true : float
        Either direction of the line through both pylons.
    separation_m : float
        Between the pylons, metres, above 0.
    straight_s : float
        Seconds straight and level on the way to the first pylon, above 0.
    side : Side
        Of the first turn.
    eights : int
        At least 1.
    step_m : float
        Greatest distance between samples, metres, above 0.

    Returns
    -------
    PylonEight
        The bank follows from the distance between the pylons: see its track.

    Raises
    ------
    ValueError
        A straight that takes the aircraft past the second pylon, or a value outside its range.
    """
    if not (straight_s > 0.0 and 0.0 < separation_m < math.inf and step_m > 0.0 and eights >= 1):
        raise ValueError(
            f"{eights} eights, straight for {straight_s:g} s, pylons {separation_m:g} m apart, "
            f"step {step_m:g} m; expected an eight, and all others above 0"
        )
    eight = _lay_out(flight, pair_deg_true, separation_m, straight_s, side)
    parts = [
        eight.crossing(0, step_m),
        eight.turn(0, step_m),
        eight.crossing(1, step_m),
        eight.turn(1, step_m),
    ]
    round_s = sum(part.seconds[-1] for part in parts)
    begin_s = np.cumsum([0.0] + [part.seconds[-1] for part in parts[:-1]])
    once_s = np.concatenate([part.seconds + s for part, s in zip(parts, begin_s, strict=True)])
    time_s = np.concatenate([once_s + i * round_s for i in range(eights)])
    heading, bank, place = (
        np.tile(np.concatenate([getattr(part, name) for part in parts]), eights)
        for name in ("heading_deg", "bank_deg", "place")
    )
    height = eight.height_m(heading)
    track_deg, groundspeed = track_for_heading(
        heading, flight.tas_mps, flight.wind.speed_mps, flight.wind.from_deg_true
    )
    track = GroundTrack(
        time_s=time_s,
        east_m=place.real.copy(),
        north_m=place.imag.copy(),
        above_entry_m=height - height[0],
        track_deg_true=track_deg,
        heading_deg_true=heading % 360.0,
        groundspeed_mps=groundspeed,
        bank_deg=bank,
    )
    across_mps = np.abs(flight.tail_wind_mps(heading + 90.0))
    return PylonEight(
        track,
        entry_above_pylons_m=float(height[0]),
        lowest_above_pylons_m=float(height.min()),
        highest_above_pylons_m=float(height.max()),
        greatest_vertical_mps=float((across_mps * np.tan(np.radians(np.abs(bank)))).max()),
        straights_s=eight.straights_s,
    )


@frozen(eq=False)
class _Part:
    """A straight or a turn: seconds from its own beginning, and what the track needs."""

    seconds: Float64Array
    place: Places
    heading_deg: Float64Array
    bank_deg: Float64Array


@frozen
class _Eight:
    """The shape of one eight; index 0 is the first pylon, 1 the second.

    Attributes
    ----------
    flight : SteadyFlight
    towards_deg : float
        From the second pylon to the first, degrees true.
    separation_m, semi_latus_m : float
        Between the pylons, and p of the module's text, metres.
    slant_deg : float
        Angle between the headings of the crossings and the line through both pylons.
    side : Side
        Of the first turn.
    """

    flight: SteadyFlight
    towards_deg: float
    separation_m: float
    semi_latus_m: float
    slant_deg: float
    side: Side

    def crossing_deg(self, pylon: int) -> float:
        """Heading on the straight that leads to a pylon."""
        turned = self.turn_sign(pylon) * self.slant_deg
        return self.towards_deg + 180.0 * pylon - turned

    def turn_sign(self, pylon: int) -> float:
        """Side of the turn round a pylon, right positive."""
        return self.side.sign * (1.0 - 2.0 * pylon)

    @property
    def straights_s(self) -> tuple[float, float]:
        """Seconds of the straights to either pylon."""
        way_m = self.separation_m * math.cos(math.radians(self.slant_deg))
        first, second = (way_m / self._along_mps(self.crossing_deg(pylon)) for pylon in (0, 1))
        return float(first), float(second)

    def height_m(self, heading_deg: Float64Array) -> Float64Array:
        """Pivotal height at headings."""
        return pivotal_height_m(self.flight.tas_mps, self._along_mps(heading_deg))

    def distance_m(self, heading_deg: ArrayLike) -> Float64Array:
        """Distance to the pylon at headings, over the ground."""
        return self.semi_latus_m * self.flight.tas_mps / self._along_mps(heading_deg)

    def _along_mps(self, heading_deg: ArrayLike) -> Float64Array:
        return self.flight.tas_mps + self.flight.tail_wind_mps(heading_deg)

    def _abeam(self, pylon: int, heading_deg: ArrayLike) -> Places:
        """Place from which a pylon is square to a heading, at the distance that belongs to it."""
        centre = (0.5 - pylon) * self.separation_m * bearing_step(self.towards_deg)
        out_deg = np.asarray(heading_deg) - 90.0 * self.turn_sign(pylon)
        place: Places = centre + self.distance_m(heading_deg) * bearing_step(out_deg)
        return place

    def crossing(self, pylon: int, step_m: float) -> _Part:
        """The straight from the other pylon to this one."""
        heading_deg = self.crossing_deg(pylon)
        begin, end = (complex(self._abeam(which, heading_deg)) for which in (1 - pylon, pylon))
        share = np.linspace(0.0, 1.0, math.ceil(abs(end - begin) / step_m) + 1)
        return _Part(
            share * self.straights_s[pylon],
            np.asarray(begin + (end - begin) * share, dtype=np.complex128),
            np.full(share.size, heading_deg),
            np.zeros(share.size),
        )

    def turn(self, pylon: int, step_m: float) -> _Part:
        """The turn round a pylon, from one straight to the next."""
        sign = self.turn_sign(pylon)
        angle_deg = 180.0 + 2.0 * self.slant_deg
        # A degree of turn is at most so long: the greatest distance, longer by the drift across it.
        share = self.flight.wind_share
        widest_m = self.semi_latus_m / ((1.0 - share) * math.sqrt(1.0 - share**2))
        leg = Leg.arc(widest_m, sign * angle_deg)
        begin_deg = self.crossing_deg(pylon)
        stops_deg = (self.flight.downwind_deg_true, self.flight.wind.from_deg_true)
        turned_deg = angle_deg * leg.shares(begin_deg, stops_deg, step_m)
        heading_deg = begin_deg + sign * turned_deg
        time_scale_s = self.semi_latus_m * self.flight.tas_mps

        def seconds_per_deg(at_deg: Float64Array) -> Float64Array:
            along = self._along_mps(begin_deg + sign * at_deg)
            return np.radians(time_scale_s / along**2)

        seconds = interval_integrals(seconds_per_deg, turned_deg[:-1], turned_deg[1:])
        steepness = self.height_m(heading_deg) / self.distance_m(heading_deg)
        return _Part(
            np.concatenate(([0.0], np.cumsum(seconds))),
            self._abeam(pylon, heading_deg),
            heading_deg,
            sign * np.degrees(np.arctan(steepness)),
        )


def _lay_out(
    flight: SteadyFlight, pair_deg: float, separation_m: float, straight_s: float, side: Side
) -> _Eight:
    """Find the headings of the crossings and the size of the ellipses from the first straight.

    In the air that moves along, the way from pylon to pylon is D less the wind's way in the time:
    one side of it is the straight, V times the time, the other the two distances, square to it.
    """
    towards_deg = towards_first_pylon_deg(flight, pair_deg, side)
    drift = flight.wind.speed_mps * straight_s * bearing_step(flight.downwind_deg_true)
    way = complex(separation_m * bearing_step(towards_deg) - drift)
    if not flight.tas_mps * straight_s < abs(way):
        raise ValueError(
            f"straight for {straight_s:g} s between pylons {separation_m:g} m apart at "
            f"{flight.tas_mps:g} m/s; expected a straight that ends before the pylon"
        )
    lean = math.acos(flight.tas_mps * straight_s / abs(way))
    both_m = abs(way) * math.sin(lean)
    way_deg = math.degrees(math.atan2(way.real, way.imag))
    heading_deg = way_deg - side.sign * math.degrees(lean)
    along_mps = flight.tas_mps + float(flight.tail_wind_mps(heading_deg))
    slant_deg = ((towards_deg - heading_deg) * side.sign + 180.0) % 360.0 - 180.0
    return _Eight(
        flight,
        towards_deg,
        separation_m,
        0.5 * both_m * along_mps / flight.tas_mps,
        slant_deg,
        side,
    )
