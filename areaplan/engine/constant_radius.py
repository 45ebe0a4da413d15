"""Steady level flight along straights and circular arcs over the ground, in wind.

The airspeed is held and the nose is set so that the path over the ground comes out as drawn. With
V the airspeed, W the wind, k = W / V and a the angle from the downwind direction to the track:

- groundspeed  Vg = V (sqrt(1 - k^2 sin(a)^2) + k cos(a)); crab c = asin(k sin(a)), the sine law in
  the wind triangle (`wind.heading_for_track` solves it).
- bank  tan(b) = Vg^2 / (g R cos(c)) on a ground radius R.

That bank is exact for a constant airspeed, not a handbook shortcut: the wind being steady, the
acceleration is that of the air velocity, V dh/dt square to the heading h, and a coordinated level
turn has tan(b) = V dh/dt / g. Its part square to the *track* is V dh/dt cos(c), which must be
Vg^2 / R; the part along the track is what makes the groundspeed change round the circle. (Banking
by Vg^2 / (g R), without the crab, is right only where the wind is straight ahead or behind.)

The bank is steepest where the track is downwind. With u = cos(c) it is
tan(b) g R / V^2 = (u + k cos(a))^2 / u = 2 u + 2 k cos(a) - (1 - k^2) / u, and every term grows
with u or with cos(a), which are both greatest, 1, at a = 0: there tan(b) = (V + W)^2 / (g R).

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 7 (steepest bank at the highest groundspeed); the
closed forms are DERIVED here and flown again by an ODE solver in `tests/engine`.
"""

from __future__ import annotations

import math

import numpy as np
from attrs import Attribute, field, frozen, validators
from numpy.typing import ArrayLike

from areaplan.engine.flight import STANDARD_GRAVITY_MPS2
from areaplan.engine.ranges import within
from areaplan.engine.wind import heading_for_track
from areaplan.grid import Float64Array
from areaplan.units import Wind


@frozen
class SteadyFlight:
    """An airspeed held in a steady wind that is slower than it.

    Attributes
    ----------
    tas_mps : float
        Horizontal true airspeed, m/s, above 0. Where it varies with height or temperature the
        highest gives the steepest banks and the widest figures.
    wind : Wind
        The same everywhere and all the time.

    Raises
    ------
    ValueError
        An airspeed that is not above 0 or not finite, or a wind that is as fast.
    """

    tas_mps: float = field(validator=[validators.gt(0.0), validators.lt(math.inf)])
    wind: Wind = field()

    @wind.validator
    def _check(self, _attribute: Attribute[Wind], wind: Wind) -> None:
        if not wind.speed_mps < self.tas_mps:
            raise ValueError(
                f"wind speed in m/s {wind.speed_mps:g}; expected below the airspeed "
                f"{self.tas_mps:g}: no circle over the ground can be flown in it"
            )

    @property
    def downwind_deg_true(self) -> float:
        """Where the wind blows to, degrees true in [0, 360)."""
        return (self.wind.from_deg_true + 180.0) % 360.0

    @property
    def wind_share(self) -> float:
        """Wind over airspeed, from 0 to below 1."""
        return self.wind.speed_mps / self.tas_mps

    def along(self, track_deg_true: ArrayLike) -> tuple[Float64Array, Float64Array]:
        """Heading in [0, 360) and groundspeed, m/s, on tracks in degrees true."""
        return heading_for_track(
            track_deg_true, self.tas_mps, self.wind.speed_mps, self.wind.from_deg_true
        )

    def tail_wind_mps(self, track_deg_true: ArrayLike) -> Float64Array:
        """Part of the wind along tracks, m/s, positive from behind."""
        angle = np.radians(np.asarray(track_deg_true, dtype=np.float64) - self.downwind_deg_true)
        tail_mps: Float64Array = self.wind.speed_mps * np.cos(angle)
        return tail_mps


def circle_bank_deg(
    track_deg_true: ArrayLike,
    heading_deg_true: ArrayLike,
    groundspeed_mps: ArrayLike,
    curvature_per_m: ArrayLike,
) -> Float64Array:
    """Bank that bends the path over the ground, degrees, right positive.

    tan(bank) = Vg^2 / (g R cos(crab)), see the module's text.

    Parameters
    ----------
    track_deg_true, heading_deg_true : float or array
        Degrees true; less than 90 degrees apart.
    groundspeed_mps : float or array
        Metres per second, at least 0.
    curvature_per_m : float or array
        One over the ground radius, positive in a right turn, 0 on a straight.

    Raises
    ------
    ValueError
        A negative groundspeed.
    """
    speed = within(groundspeed_mps, "groundspeed in m/s", 0.0)
    heading_deg = np.asarray(heading_deg_true, dtype=np.float64)
    crab = np.radians(heading_deg - np.asarray(track_deg_true, dtype=np.float64))
    pull = speed**2 * np.asarray(curvature_per_m, dtype=np.float64)
    bank: Float64Array = np.degrees(np.arctan(pull / (STANDARD_GRAVITY_MPS2 * np.cos(crab))))
    return bank


def least_radius_m(
    tas_mps: ArrayLike, wind_speed_mps: ArrayLike, greatest_bank_deg: ArrayLike
) -> Float64Array:
    """Smallest ground radius that never asks for more than a bank: (V + W)^2 / (g tan(bank)).

    Parameters
    ----------
    tas_mps : float or array
        True airspeed V, m/s, above 0.
    wind_speed_mps : float or array
        Wind W, m/s, at least 0, below the airspeed.
    greatest_bank_deg : float or array
        Above 0, below 90.

    Returns
    -------
    float or array
        Metres. Exact for whatever passes the downwind direction; an arc that does not, such as
        the corner of a course, could be tighter.

    Raises
    ------
    ValueError
        A value outside these ranges.
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    wind = within(wind_speed_mps, "wind speed in m/s", 0.0)
    within(wind / speed, "wind over airspeed", 0.0, below=1.0)
    bank = within(greatest_bank_deg, "bank in degrees", 0.0, below=90.0, is_open=True)
    return (speed + wind) ** 2 / (STANDARD_GRAVITY_MPS2 * np.tan(np.radians(bank)))
