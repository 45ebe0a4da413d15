"""The flight between an engine failure and the glide: reaction, then one gliding turn.

In the air, and then carried off by the wind:

- Reaction: straight, the heading held, at the manoeuvre's airspeed.
- Turn: steady, at the given bank and the lift coefficient of the straight glide. With n the load
  factor, r the glide ratio, G the glide angle in the turn (tan G = n / r) and G1 that of the
  straight glide, the balance of forces gives the airspeed V sqrt(n cos G / cos G1), the rate
  g tan(bank) / airspeed and the radius airspeed cos G / rate.
- Height: `flight.gliding_turn_loss` for the turn, which is a little more than this model's own.
  For the reaction the balance of energy: a parabolic polar sinks (q^3 + 1/q) / 2 times as fast at
  q times the speed of best glide (drag over weight is (q^2 + q^-2) / 2r; J. D. Anderson,
  *Aircraft Performance and Design*, 1999, ch. 5), not taken below 1; then the turn's speed has to
  be gained. Speed to spare is credited against that faster sink, never below the glide's own.

Places are complex numbers here, metres east + i metres north: a unit step on bearing b is
i exp(-ib), and the way round a turn from bearing b through an angle a (right is positive) is the
radius times sign(a) (exp(-ib) - exp(-i(b + a))).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from attrs import field, frozen, validators
from numpy.typing import ArrayLike

from areaplan.engine.flight import (
    STANDARD_GRAVITY_MPS2,
    glide_speeds,
    gliding_turn_loss,
    kinetic_height,
    load_factor,
)
from areaplan.engine.places import Places, bearing_step
from areaplan.engine.wind import heading_for_track
from areaplan.grid import Float64Array


def _speed_range(speeds_mps: float | Sequence[float]) -> tuple[float, float]:
    values = np.atleast_1d(np.asarray(speeds_mps, dtype=np.float64))
    return float(values.min()), float(values.max())


@frozen
class TurnModel:
    """How the aircraft gets from any heading on to the glide.

    Attributes
    ----------
    bank_deg : float
        Bank of the gliding turn, above 0, at most 60.
    tas_mps : tuple of float
        Lowest and highest true airspeed of the straight glide over the altitudes considered, m/s.
        Given as one number or several.
    glide_ratio : float
        Still-air ratio of the straight glide, as derated.
    reaction_time_s : float
        Seconds flown straight on before the turn; the roll into it belongs to them.
    manoeuvre_tas_mps : tuple of float
        Lowest and highest true airspeed at which the engine may fail, at the same altitudes as
        `tas_mps`. Given as one number or several.
    wind_speed_mps, wind_from_deg_true : float
        The wind, m/s and degrees true; the one at the ground where more are given.
    winds_aloft : tuple of (float, float)
        Winds higher up, from below upwards, each as speed and where it blows from; between two
        rows that follow each other the wind vector changes evenly. `ways.py` takes them all.
    shear_per_s : float
        Greatest change of the wind vector with height, m/s per metre. `glide_ratio` has to hold
        it already (`flight.glide_ratio_in_shear`).
    """

    bank_deg: float = field(validator=[validators.gt(0.0), validators.le(60.0)])
    tas_mps: tuple[float, float] = field(converter=_speed_range)
    glide_ratio: float = field(validator=validators.gt(0.0))
    reaction_time_s: float = field(validator=validators.ge(0.0))
    manoeuvre_tas_mps: tuple[float, float] = field(converter=_speed_range)
    wind_speed_mps: float = field(validator=validators.ge(0.0))
    wind_from_deg_true: float
    winds_aloft: tuple[tuple[float, float], ...] = field(
        default=(),
        validator=validators.deep_iterable(validators.deep_iterable(validators.instance_of(float))),
    )
    shear_per_s: float = field(default=0.0, validator=validators.ge(0.0))

    @winds_aloft.validator
    def _check_winds(self, _attribute: object, value: tuple[tuple[float, float], ...]) -> None:
        if not all(speed >= 0.0 for speed, _ in value):
            raise ValueError(f"winds_aloft {value}; expected speeds of at least 0")

    @tas_mps.validator
    @manoeuvre_tas_mps.validator
    def _check(self, attribute: object, value: tuple[float, float]) -> None:
        if not value[0] > 0.0:
            raise ValueError(f"{getattr(attribute, 'name', '')} {value}; expected speeds above 0")

    @property
    def has_headway(self) -> bool:
        """Whether every track can be flown: the wind is slower than each airspeed."""
        glide_mps, _ = glide_speeds(self.tas_mps[0], self.glide_ratio)
        return self.strongest_wind_mps < min(float(glide_mps), self.manoeuvre_tas_mps[0])

    @property
    def strongest_wind_mps(self) -> float:
        """Speed of the strongest wind; none between two rows is stronger than both."""
        return max([self.wind_speed_mps] + [speed for speed, _ in self.winds_aloft])

    def at_speeds(self, count: int) -> SampledTurn:
        """Evaluate the model at evenly spaced speeds between the lowest and the highest.

        Parameters
        ----------
        count : int
            How many; only one is taken where lowest and highest are the same.
        """
        ranges = (self.tas_mps, self.manoeuvre_tas_mps)
        samples = count if any(low < high for low, high in ranges) else 1
        tas = np.linspace(*self.tas_mps, samples)
        horizontal, sink = glide_speeds(tas, self.glide_ratio)
        load = float(load_factor(self.bank_deg))
        cos_straight = math.cos(math.atan(1.0 / self.glide_ratio))
        cos_turn = math.cos(math.atan(load / self.glide_ratio))
        turn_tas = tas * math.sqrt(load * cos_turn / cos_straight)
        rate = STANDARD_GRAVITY_MPS2 * math.tan(math.radians(self.bank_deg)) / turn_tas
        return SampledTurn(
            self,
            tas,
            horizontal,
            sink,
            np.linspace(*self.manoeuvre_tas_mps, samples),
            turn_tas,
            rate,
            turn_tas * cos_turn / rate,
        )


@frozen(eq=False)
class SampledTurn:
    """The model at some speeds; every array has the shape (speeds,).

    Attributes
    ----------
    model : TurnModel
    tas_mps, horizontal_mps, sink_mps : float64 array
        Of the straight glide: along its path, and its two parts.
    manoeuvre_tas_mps, turn_tas_mps : float64 array
        Before the turn, and in it.
    turn_rad_per_s, turn_radius_m : float64 array
        Rate and radius of the turn through the air.
    """

    model: TurnModel
    tas_mps: Float64Array
    horizontal_mps: Float64Array
    sink_mps: Float64Array
    manoeuvre_tas_mps: Float64Array
    turn_tas_mps: Float64Array
    turn_rad_per_s: Float64Array
    turn_radius_m: Float64Array

    def headings(
        self, track_deg: ArrayLike, tas_mps: Float64Array
    ) -> tuple[Float64Array, Float64Array]:
        """Heading and groundspeed along tracks in the model's wind; speeds on a new last axis."""
        tracks = np.asarray(track_deg, dtype=np.float64)[..., np.newaxis]
        model = self.model
        return heading_for_track(tracks, tas_mps, model.wind_speed_mps, model.wind_from_deg_true)

    def straight(
        self, track_deg: Float64Array, stretch_circles: float
    ) -> tuple[Float64Array, Places, Float64Array]:
        """Fly on along tracks for the reaction time, and for a stretch after it.

        Parameters
        ----------
        track_deg : float64 array
            Degrees true.
        stretch_circles : float
            How long the stretch lasts, as a share of the time of a full turn.

        Returns
        -------
        heading_deg, place, loss_m : tuple of array
            Heading when the turn begins and place, both of shape (*tracks, speeds); height lost,
            of shape (speeds,).
        """
        seconds = self.model.reaction_time_s
        heading_deg, groundspeed = self.headings(track_deg, self.manoeuvre_tas_mps)
        length_m = groundspeed * seconds
        quotient = self.manoeuvre_tas_mps / self.tas_mps
        steeper = np.maximum(1.0, 0.5 * (quotient**3 + 1.0 / quotient))
        gained = kinetic_height(self.turn_tas_mps) - kinetic_height(self.manoeuvre_tas_mps)
        loss_m = self.sink_mps * seconds
        loss_m = np.maximum(loss_m, loss_m * steeper + gained)
        if stretch_circles > 0.0:
            heading_deg, groundspeed = self.headings(track_deg, self.horizontal_mps)
            on_s = stretch_circles * 2.0 * np.pi / self.turn_rad_per_s
            length_m = length_m + groundspeed * on_s
            loss_m = loss_m + self.sink_mps * on_s
        return heading_deg, length_m * bearing_step(track_deg[..., np.newaxis]), loss_m

    def turned(self, heading_deg: Float64Array, angle_deg: Float64Array) -> Places:
        """Displacement over the ground by a turn from a heading, right positive.

        Shapes (..., speeds, 1) and (..., speeds, angles), broadcast.
        """
        begin, end = np.radians(heading_deg), np.radians(heading_deg + angle_deg)
        radius = self.turn_radius_m[:, np.newaxis] * np.sign(angle_deg)
        through_air: Places = radius * (np.exp(-1j * begin) - np.exp(-1j * end))
        seconds = np.abs(np.radians(angle_deg)) / self.turn_rad_per_s[:, np.newaxis]
        drift_mps = -self.model.wind_speed_mps * bearing_step(self.model.wind_from_deg_true)
        return through_air + drift_mps * seconds

    def turn_loss_m(self, angle_deg: Float64Array) -> Float64Array:
        """Height lost in turns through angles of at least 0; shape (..., speeds)."""
        model = self.model
        return gliding_turn_loss(self.tas_mps, model.glide_ratio, model.bank_deg, angle_deg)
