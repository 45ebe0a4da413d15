"""The low key: where beside the touchdown a gliding approach begins, and how high.

From abeam the touchdown on the downwind track: straight on, a turn of about half a circle on to the
final approach (its middle a straight base leg where the key lies farther out than the turn is
wide), and the final, at least as long as asked. All tracks are held in the wind; the turn is that
of `turns.py`, carried by it. The key is as far out as the widest of all turns considered (airspeeds
and winds of the model), and as high as the costliest approach from there.

With a the turn's displacement along the landing track, f the final and b the downwind leg,
b = f + a, and the height is b, f and the base leg times their losses per metre, the turn's loss and
the height at which the threshold is crossed.

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 9: power-off accuracy approaches, "the normal key
position at a normal traffic pattern altitude"; the 180 degree approach begins abeam the touchdown.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen

from areaplan.engine.flight import loss_per_metre
from areaplan.engine.turns import SampledTurn, TurnModel
from areaplan.engine.ways_aloft import allowances, models_met
from areaplan.grid import Float64Array

_SPEED_SAMPLES: Final = 5
_ARC_SAMPLES: Final = 25
# Farther round than any turn from downwind to final, crabs included; for the winds' change in it.
_WIDEST_DEG: Final = 270.0


@frozen
class LowKey:
    """A key position for landing on one track, on one side.

    Attributes
    ----------
    side : int
        1 where it lies right of the landing track (turns to the right), -1 left.
    lateral_m : float
        From the extended centre line, metres.
    height_m : float
        Above the touchdown; infinity where the wind leaves no such approach.
    final_height_m : float
        Least height above the touchdown at which the final begins: nothing is flown lower before.
    along_m, across_m : tuple of float
        The ground that the approach may cover: along the landing track from the touchdown (ahead
        is positive), and to the right of it. Least and greatest, metres.
    """

    side: int
    lateral_m: float
    height_m: float
    final_height_m: float
    along_m: tuple[float, float]
    across_m: tuple[float, float]


def low_key(
    model: TurnModel, landing_deg_true: float, side: int, *, final_m: float, threshold_m: float
) -> LowKey:
    """Find the key for a landing track.

    Parameters
    ----------
    model : TurnModel
        Turn, glide and winds; with all its winds, and whatever lies between two rows.
    landing_deg_true : float
        Track of the landing.
    side : int
        1 for a key right of the landing track, -1 for one left of it.
    final_m : float
        Shortest final, above 0.
    threshold_m : float
        Height at which the final passes the touchdown, at least 0.

    Raises
    ------
    ValueError
        Side, final or height outside these ranges.
    """
    if side not in (-1, 1) or not final_m > 0.0 or not threshold_m >= 0.0:
        raise ValueError(f"side {side}, final {final_m} m, threshold {threshold_m} m")
    if not model.has_headway:
        return _none(side)
    flown = [
        _fly(one.at_speeds(_SPEED_SAMPLES), landing_deg_true, side, final_m)
        for one in models_met(model)
    ]
    lateral_m = max(_greatest(one.lateral_m) for one in flown)
    if min(float(one.lateral_m.min()) for one in flown) <= 0.0:
        return _none(side)  # the wind carries the turn farther than it is wide
    height_m = max(
        _greatest(one.loss_m + (lateral_m - one.lateral_m) * one.base_per_m) for one in flown
    )
    steepest = max(float(one.steepest_per_m.max()) for one in flown)
    rim_m = 0.0
    if model.winds_aloft:
        # The turn that the changing wind leaves aside or short is put right on straight legs.
        aside_m, lower_m = allowances(model, 0.0, np.array([_WIDEST_DEG]), np.array([height_m]))
        rim_m = float(aside_m[0])
        height_m += float(lower_m[0]) + 2.0 * rim_m * steepest
    least_per_m = min(float(one.final_per_m.min()) for one in flown)
    along = [one.along_m for one in flown]
    across = [one.across_m for one in flown]
    far_m = max(lateral_m, *(high for _, high in across)) + rim_m
    near_m = min(low for low, _ in across) - rim_m
    return LowKey(
        side,
        lateral_m,
        height_m + threshold_m,
        threshold_m + max(0.0, final_m - rim_m) * least_per_m,
        (min(low for low, _ in along) - rim_m, max(high for _, high in along) + rim_m),
        (near_m, far_m) if side > 0 else (-far_m, -near_m),
    )


def _none(side: int) -> LowKey:
    return LowKey(side, np.inf, np.inf, 0.0, (-np.inf, np.inf), (-np.inf, np.inf))


@frozen(eq=False)
class _Flown:
    """Approaches in one wind, at several airspeeds: arrays of shape (speeds,)."""

    lateral_m: Float64Array
    loss_m: Float64Array
    base_per_m: Float64Array
    final_per_m: Float64Array
    steepest_per_m: Float64Array
    along_m: tuple[float, float]
    across_m: tuple[float, float]  # towards the key


def _fly(flown: SampledTurn, landing_deg: float, side: int, final_m: float) -> _Flown:
    model = flown.model

    def per_metre(track_deg: float) -> Float64Array:
        wind_mps, source = model.wind_speed_mps, model.wind_from_deg_true
        return loss_per_metre(track_deg, flown.tas_mps, model.glide_ratio, wind_mps, source)

    begin_deg, _ = flown.headings(landing_deg + 180.0, flown.horizontal_mps)
    end_deg, _ = flown.headings(landing_deg, flown.horizontal_mps)
    angle_deg = (side * (end_deg - begin_deg)) % 360.0
    shares = np.linspace(0.0, 1.0, _ARC_SAMPLES)
    arc = flown.turned(begin_deg[:, np.newaxis], side * angle_deg[:, np.newaxis] * shares)
    # In the frame of the landing: its track along the real axis, the key's side along the other.
    arc = arc * np.exp(1j * np.radians(landing_deg)) / 1j
    along, across = arc.real, -side * arc.imag
    lateral = -across[:, -1]
    downwind_m = np.maximum(0.0, final_m + along[:, -1])
    length_m = downwind_m - along[:, -1]
    final_per_m, downwind_per_m = per_metre(landing_deg), per_metre(landing_deg + 180.0)
    base_per_m = per_metre(landing_deg - 90.0 * side)
    loss_m = downwind_m * downwind_per_m + flown.turn_loss_m(angle_deg) + length_m * final_per_m
    start_m = -downwind_m
    bend_m = float(np.abs(np.diff(arc, 2, axis=1)).max()) if _ARC_SAMPLES > 2 else 0.0
    reach = start_m[:, np.newaxis] + along
    out = lateral[:, np.newaxis] + across
    return _Flown(
        lateral,
        loss_m,
        base_per_m,
        final_per_m,
        np.maximum(np.maximum(final_per_m, downwind_per_m), base_per_m),
        (min(0.0, float(reach.min())) - bend_m, max(0.0, float(reach.max())) + bend_m),
        (min(0.0, float(out.min())) - bend_m, float(out.max()) + bend_m),
    )


def _greatest(values: Float64Array) -> float:
    """Greatest of samples of a smooth curve, and twice what it may swell between them."""
    swell = 0.25 * float(np.abs(np.diff(values, 2)).max()) if values.size > 2 else 0.0
    return float(values.max()) + swell
