"""Key positions: where beside a strip a glide may end, by the sector it comes in, and how high.

For one direction of landing, from the ways of `approaches.py`: at a key position of sector k, from
every point within `around_m` of it and on every track within 33 degrees of 30 k, some way leads on
to the final and to the threshold at the height asked for; the altitude is that of the costliest
track. There are many such places; kept are those that are the best to go on to from somewhere
around: abeam on the downwind track, on base and on the straight way in, each as far out as the
turns and the wind ask for. Leaving one out never lowers an answer.

Beside each the ground that all its ways may cover is kept as two boxes: up to the end of the leg,
with the least height that is left there, and from there to the final.

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 9: the key positions of power-off approaches, from
which the rest of the glide is judged (wording from memory).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np
from attrs import evolve, frozen
from numpy.typing import NDArray

from areaplan.engine import _approach_kernels as kernels
from areaplan.engine.approaches import (
    LEGS_DEG,
    SIDES,
    TRACK_STEP_DEG,
    TRACKS,
    Approaches,
    Turns,
    approaches,
    unit,
)
from areaplan.engine.flight import loss_per_metre
from areaplan.engine.moves import CONE_HALF_DEG, SECTOR_DEG, SECTORS
from areaplan.engine.places import Places
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import Indices
from areaplan.grid import BoolArray, Float64Array

# Kept are the best places to glide on to from starts of a wider lattice, in turn radii.
STARTS_RADII, START_STEP_RADII = 6.0, 2.0
_IN_CONE: Final = round(CONE_HALF_DEG / TRACK_STEP_DEG - 0.5)  # tracks on either side of the middle
_OUTWARD: Final = np.array([-1.0, 1.0, -1.0, 1.0])  # west, east, south and north edge


@frozen(eq=False)
class KeyPositions:
    """Key positions of one landing direction; arrays of shape (keys,) unless said otherwise.

    Attributes
    ----------
    landing_deg_true : float
    final_m : float
        Shortest final that their ways have.
    final_height_m : float
        Least height above the touchdown at which that final begins.
    sector : int64 array
        In which the glide has to come in.
    side : int64 array
        1 where the last turn goes to the right, -1 to the left.
    is_best : bool array
        Whether it is the best of both sides from somewhere, not of its own side only.
    place_m : float64 array, shape (keys, 2)
        East and north of the touchdown, metres.
    height_m : float64 array
        Needed there, above the touchdown.
    before_m, turn_m : float64 array, shape (keys, 4)
        Boxes of the ground below the ways before their last turn, and from there to the final:
        west, east, south and north edge, metres from the touchdown.
    before_height_m : float64 array
        Least height above the touchdown before the last turn.
    """

    landing_deg_true: float
    final_m: float
    final_height_m: float
    sector: Indices
    side: Indices
    is_best: BoolArray
    place_m: Float64Array
    height_m: Float64Array
    before_m: Float64Array
    turn_m: Float64Array
    before_height_m: Float64Array


def key_positions(
    model: TurnModel,
    landing_deg_true: float,
    *,
    final_m: float,
    threshold_m: float,
    around_m: float,
) -> KeyPositions:
    """Find the key positions for a landing track.

    Parameters
    ----------
    model : TurnModel
        Turn, glide and winds; with all its winds, and whatever lies between two rows.
    landing_deg_true : float
        Track of the landing.
    final_m : float
        Shortest final, above 0.
    threshold_m : float
        Height at which the final passes the touchdown, at least 0.
    around_m : float
        How far from its place a key position holds, metres, at least 0.

    Raises
    ------
    ValueError
        Final, height or distance outside these ranges.
    """
    if not (final_m > 0.0 and threshold_m >= 0.0 and around_m >= 0.0):
        raise ValueError(f"final {final_m} m, threshold {threshold_m} m, around {around_m} m")
    return _with_final(model, landing_deg_true, final_m, threshold_m, around_m)


@lru_cache(maxsize=512)  # the same for each field
def _with_final(
    model: TurnModel, landing_deg: float, final_m: float, threshold_m: float, around_m: float
) -> KeyPositions:
    ways = approaches(model, landing_deg, around_m)
    keys = _to_the_final(model, landing_deg, around_m)
    back = -final_m * unit(landing_deg)
    begins_m = threshold_m + final_m * ways.least_final_per_m
    return evolve(
        keys,
        final_m=final_m,
        final_height_m=begins_m,
        place_m=keys.place_m + np.array([back.real, back.imag]),
        height_m=keys.height_m + threshold_m + final_m * ways.final_per_m,
        before_m=keys.before_m + _edges(back),
        turn_m=keys.turn_m + _edges(back),
        before_height_m=keys.before_height_m + begins_m,
    )


@lru_cache(maxsize=128)
def _to_the_final(model: TurnModel, landing_deg: float, around_m: float) -> KeyPositions:
    """The keys as if the final were 0 m long and ended at 0 m."""
    ways = approaches(model, landing_deg, around_m)
    tracks = _tracks_of_sectors()
    height_m = np.full((len(SIDES), SECTORS, ways.place_m.size), np.inf)
    for number in range(SECTORS):
        height_m[:, number] = ways.loss_m[:, tracks[number]].max(axis=1)
    is_kept = is_best = np.zeros(height_m.shape, dtype=np.bool_)
    if model.has_headway:
        is_kept, is_best = _chosen(height_m, ways, model)
    side, sector, place = np.nonzero(is_kept)
    where_m = ways.place_m[place]
    before_m, turn_m, left_m = _ground(ways, side, tracks[sector], place)
    return KeyPositions(
        landing_deg,
        0.0,
        0.0,
        sector,
        np.array(SIDES)[side],
        is_best[side, sector, place],
        np.stack([where_m.real, where_m.imag], axis=-1),
        height_m[side, sector, place],
        before_m,
        turn_m,
        left_m,
    )


def _tracks_of_sectors() -> Indices:
    """Arrival tracks of each sector's cone, shape (12, tracks)."""
    middle = np.arange(SECTORS) * round(SECTOR_DEG / TRACK_STEP_DEG)
    return (middle[:, np.newaxis] + np.arange(-_IN_CONE, _IN_CONE + 1)) % TRACKS


def _chosen(
    height_m: Float64Array, ways: Approaches, model: TurnModel
) -> tuple[BoolArray, BoolArray]:
    """Which places are the best to go on to from one of the starts: by side, and of both sides."""
    steps = np.arange(-STARTS_RADII, STARTS_RADII + 1e-9, START_STEP_RADII) * ways.scale_m
    starts = (steps + 1j * steps[:, np.newaxis]).ravel() * unit(ways.landing_deg_true)
    is_kept = np.zeros(height_m.shape, dtype=np.bool_)
    is_best = np.zeros(height_m.shape, dtype=np.bool_)
    kernels.best_from_starts(
        ways.place_m.real.copy(), ways.place_m.imag.copy(), starts.real.copy(), starts.imag.copy(),
        _worst_per_metre(model), CONE_HALF_DEG, height_m, is_kept, is_best,
    )  # fmt: skip
    return is_kept, is_best


def _worst_per_metre(model: TurnModel) -> Float64Array:
    """Loss along the tracks of whole degrees, shape (360,): good enough to choose by."""
    speeds = [model.wind_speed_mps, *(speed for speed, _ in model.winds_aloft)]
    sources = [model.wind_from_deg_true, *(source for _, source in model.winds_aloft)]
    degrees = np.arange(360.0)[:, np.newaxis]
    worst = loss_per_metre(degrees, model.tas_mps[0], model.glide_ratio, speeds, sources)
    return np.asarray(worst.max(axis=1))


def _ground(
    ways: Approaches, side: Indices, tracks: Indices, place: Indices
) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Boxes below the ways before the last turn and in it; least height lost from there to final.

    `side`, `place` of shape (keys,), `tracks` of shape (keys, tracks of a sector).
    """
    if ways.first is None or ways.last is None or not place.size:
        return np.empty((0, 4)), np.empty((0, 4)), np.empty(0)
    sides, places = side[:, np.newaxis], place[:, np.newaxis]
    way = ways.way[sides, tracks, places]
    leg = way // 2
    aside_m = ways.aside_m[sides, tracks, way]
    rest_m = _rest(ways, ways.first, ways.last, (sides, tracks, places, way))
    # The last turn ends somewhere on the centre line, `rest_m` before the final begins.
    back = -unit(ways.landing_deg_true)
    end = _hull(_edges(rest_m[..., 0] * back), _edges(rest_m[..., 1] * back))
    arc = _edges(ways.place_m[places]) + ways.around_m * _OUTWARD + ways.first.ground_m[tracks, way]
    moved = ways.last.moved_m[sides, leg]
    begin = end - moved[..., [1, 0, 3, 2]]
    before = _widened(_hull(arc, begin), aside_m)
    turn = _widened(end + ways.last.ground_m[sides, leg], aside_m)
    turn = _hull(turn, np.zeros(4))
    least_m = ways.last.least_loss_m[sides, leg] + rest_m[..., 0] * ways.least_final_per_m
    return _over(before), _over(turn), least_m.min(axis=1)


def _rest(
    ways: Approaches, first: Turns, last: Turns, which: tuple[Indices, Indices, Indices, Indices]
) -> Float64Array:
    """Least and greatest length by which the final is longer, on a new last axis."""
    side, track, place, way = which
    leg = way // 2
    on_leg, ahead = unit(np.array(LEGS_DEG)[leg]), complex(unit(ways.landing_deg_true))
    cross = on_leg.real * ahead.imag - on_leg.imag * ahead.real
    east, north = -on_leg.imag / cross, on_leg.real / cross
    moved_m = first.middle_m[track, way] + last.middle_m[side, leg]
    start = ways.place_m[place]
    middle = -east * (start.real + moved_m[..., 0]) - north * (start.imag + moved_m[..., 1])
    disc_m = ways.around_m + ways.aside_m[side, track, way]
    off = first.spread_m((track, way), east, north) + last.spread_m((side, leg), east, north)
    off = off + disc_m * np.hypot(east, north)
    return np.stack([np.maximum(0.0, middle - off), middle + off], axis=-1)


def _edges(places: Places | NDArray[Any]) -> Float64Array:
    return np.stack([places.real, places.real, places.imag, places.imag], axis=-1)


def _hull(one: Float64Array, other: Float64Array) -> Float64Array:
    low, high = np.minimum(one, other), np.maximum(one, other)
    return np.asarray(np.where([True, False, True, False], low, high))


def _widened(boxes: Float64Array, by_m: Float64Array) -> Float64Array:
    return np.asarray(boxes + by_m[..., np.newaxis] * _OUTWARD)


def _over(boxes: Float64Array) -> Float64Array:
    """The box round those of all tracks (second axis)."""
    low, high = boxes.min(axis=1), boxes.max(axis=1)
    return np.asarray(np.where([True, False, True, False], low, high))
