"""The steep spiral: a glide round a point at constant ground radius, in wind."""

from __future__ import annotations

import numpy as np
from attrs import evolve

from areaplan.engine.constant_radius import SteadyFlight, circle_bank_deg
from areaplan.engine.flight import load_factor
from areaplan.engine.ground_figures import turns_around_point
from areaplan.engine.ground_legs import STEP_M
from areaplan.engine.ground_track import Side
from areaplan.engine.quadrature import interval_integrals
from areaplan.engine.ranges import within
from areaplan.engine.vertical_figures import Heights, VerticalFigure, with_heights
from areaplan.grid import Float64Array


def steep_spiral(
    flight: SteadyFlight,
    glide_ratio: float,
    radius_m: float,
    side: Side,
    turns: float = 3.0,
    step_m: float = STEP_M,
) -> VerticalFigure:
    """Gliding circles of constant ground radius round a point, entered flying downwind.

    The bank at every point is that of `constant_radius.circle_bank_deg`. In a turn of load factor n
    the sink is that of the straight glide times the greater of two factors: (1 + n^2) / 2 where the
    airspeed of best glide is kept (drag over weight of a parabolic polar is (q^2 + n^2 / q^2) / 2 r
    at q times that speed, here q = 1), and n^1.5 where the aircraft is flown faster to keep its
    margin from the stall, as in `flight.gliding_turn_loss`.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed of best glide, held, and wind.
    glide_ratio : float
        Of the straight glide at that speed, engine idle, above 0.
    radius_m : float
        Ground radius, metres, above 0; `least_radius_m` gives the one of a greatest bank.
    side : Side
        Of the turn.
    turns : float
        How many, above 0; the handbook asks for at least three.
    step_m : float
        Greatest distance between samples, metres, above 0.

    Raises
    ------
    ValueError
        A value outside these ranges.

    Notes
    -----
    The airspeed is one number: give the true airspeed at the entry, the highest of the spiral,
    which asks for the steepest banks and loses the most. Nothing here knows the stall: it comes
    at the square root of the load factor times its speed in the straight glide.

    References
    ----------
    FAA-H-8083-3C, ch. 10, "Steep spiral". J. D. Anderson, *Aircraft Performance and Design*, 1999,
    ch. 5, for the polar.
    """
    ratio = float(within(glide_ratio, "glide ratio", 0.0, is_open=True))
    track = turns_around_point(flight, radius_m, side, turns, step_m)
    # The angle turned is even in the way flown, so samples know it without rounding by 360.
    on_deg = np.degrees(np.unwrap(np.radians(track.track_deg_true)))

    def loss_per_deg(track_deg: Float64Array) -> Float64Array:
        heading_deg, groundspeed = flight.along(track_deg)
        bank = circle_bank_deg(track_deg, heading_deg, groundspeed, 1.0 / radius_m)
        load = load_factor(bank)
        factor = np.maximum(0.5 * (1.0 + load**2), load**1.5)
        sink_mps = flight.tas_mps / ratio * factor
        per_deg: Float64Array = sink_mps / groundspeed * np.radians(radius_m)
        return per_deg

    losses_m = np.abs(interval_integrals(loss_per_deg, on_deg[:-1], on_deg[1:]))
    below_m = np.concatenate(([0.0], np.cumsum(losses_m)))
    descending = evolve(track, above_entry_m=-below_m)
    return with_heights(descending, flight.wind, Heights(float(below_m[-1]), 0.0))
