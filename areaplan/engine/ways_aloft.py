"""The ways out in a wind that changes with height: boxes and losses that hold in all winds met.

The failure happens in some wind of the profile; until the glide begins the aircraft sinks a
little, and the wind changes by no more than the shear times that. So every wind of one way lies
within d of one of the winds sampled along the profile: half a step between samples, and the shear
times the way's loss. Against the same way flown in the sampled wind alone

- the heading that keeps a track differs by at most e = d / sqrt(V^2 - W^2), with V the lowest
  airspeed and W the strongest wind (the slope of asin(w / V) at w, which W bounds);
- the wind carries the aircraft at most d T elsewhere, with T the time of the way;
- the reaction, flown on a heading e aside, ends V e t elsewhere, and so does the stretch; the
  arc, begun e aside, ends at most 2 R e elsewhere; as it may have to go on for 2 e more, another
  2 e (R + W / turn rate) elsewhere, at the height that such a turn costs.

The boxes of all sampled winds are joined and widened by the sum of these, and the greatest loss is
taken. With no shear and one wind nothing is added.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import evolve

from areaplan.engine.turns import TurnModel
from areaplan.engine.wind import winds_between
from areaplan.grid import Float64Array

STEP_MPS: Final = 1.0
# Farther than any grid is wide: a shear that strong leaves nothing to be known of where a way ends.
ANYWHERE_M: Final = 1e6
_OUTWARD: Final = np.array([-1.0, 1.0, -1.0, 1.0])  # west, east, south and north edge


def models_met(model: TurnModel) -> tuple[TurnModel, ...]:
    """The model in each of the winds sampled along its profile, `STEP_MPS` apart at most."""
    rows = ((model.wind_speed_mps, model.wind_from_deg_true), *model.winds_aloft)
    speed_mps, from_deg_true = winds_between(rows, STEP_MPS)
    return tuple(
        evolve(model, wind_speed_mps=speed, wind_from_deg_true=source, winds_aloft=())
        for speed, source in zip(speed_mps.tolist(), from_deg_true.tolist(), strict=True)
    )


def allowances(
    model: TurnModel, stretch_circles: float, turn_deg: Float64Array, loss_m: Float64Array
) -> tuple[Float64Array, Float64Array]:
    """How much farther aside, and lower, ways may end than in the sampled winds.

    Parameters
    ----------
    model : TurnModel
        With its winds aloft.
    stretch_circles : float
        As `turns.SampledTurn.straight` takes it.
    turn_deg : float64 array, shape (ways,)
        Most that each way turns, either side, degrees.
    loss_m : float64 array, shape (ways,)
        Most height lost in the sampled winds.

    Returns
    -------
    aside_m, lower_m : float64 arrays, shape (ways,)
    """
    sampled = evolve(model, winds_aloft=()).at_speeds(2)
    wind_mps, rate = model.strongest_wind_mps, sampled.turn_rad_per_s.min()
    radius_m = sampled.turn_radius_m.max()
    stretch_s = stretch_circles * 2.0 * np.pi / rate
    slowest = min(sampled.horizontal_mps.min(), sampled.manoeuvre_tas_mps.min())
    keen = 1.0 / np.sqrt(slowest**2 - wind_mps**2)
    # Height lost for each m/s that the wind is off, which itself lets the wind change further:
    # off = step / 2 + shear (loss + costs off).
    costs_s = sampled.turn_loss_m(np.array([np.degrees(2.0 * keen)])).max()
    left = 1.0 - model.shear_per_s * costs_s
    if not left > 0.0:
        return np.full_like(loss_m, ANYWHERE_M), np.full_like(loss_m, ANYWHERE_M)
    off_mps = (0.5 * STEP_MPS + model.shear_per_s * loss_m) / left
    off_rad = off_mps * keen
    seconds = model.reaction_time_s + stretch_s + np.radians(turn_deg) / rate + 2.0 * off_rad / rate
    straight_m = (
        sampled.manoeuvre_tas_mps.max() * model.reaction_time_s
        + sampled.horizontal_mps.max() * stretch_s
    )
    aside_m = off_mps * seconds + off_rad * (
        straight_m + 2.0 * radius_m + 2.0 * (radius_m + wind_mps / rate)
    )
    return aside_m, costs_s * off_mps


def widened(boxes_m: Float64Array, aside_m: Float64Array) -> Float64Array:
    """Boxes with all four edges moved outward."""
    wider: Float64Array = boxes_m + aside_m[:, np.newaxis] * _OUTWARD
    return wider


def joined(boxes_m: list[Float64Array]) -> Float64Array:
    """Boxes round the like boxes of several lists."""
    stacked = np.stack(boxes_m)
    round_all: Float64Array = np.where(_OUTWARD < 0.0, stacked.min(axis=0), stacked.max(axis=0))
    return round_all
