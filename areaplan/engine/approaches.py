"""Ways from the end of a glide on to the final approach, in the wind, with bounds that hold.

A glide ends over some place on some track. From there a way leads on to the final: a turn, a
straight leg, a turn, and then the final itself. The leg's track is one of `LEGS_DEG`, no nearer to
the landing's axis than `NEAREST_LEG_DEG`; the first turn goes the short way or the other one, the
second to the right or to the left. All tracks are held in the wind, turns are those of `turns.py`,
carried by it. With D1, D2 what the turns lead on, u and v the directions of leg and landing, and P
what has to be covered from the place to the latest point at which the final may begin,

    P - D1 - D2 = leg u + rest v,    leg >= 0, rest >= 0

has one solution, linear in P, D1 and D2: the pilot flies the leg so long, and the final by `rest`
longer. So the way's loss, linear in them too, is bounded exactly over a box of all three. A box
holds

- every place within a distance of the one considered (half a cell's diagonal twice);
- arrival tracks within half of `TRACK_STEP_DEG`, and all airspeeds of the model: samples, joined
  and widened by twice what a smooth curve can swell between them, as in `ways.py`;
- all winds of the model: the boxes of each joined, and all widened by `ways_aloft.allowances`.

Which way is the best may differ from box to box, and the pilot takes that of the box he is in: he
sees where he is and on which track. Within the box the way is feasible and loses at most the bound.

Places are complex, east + i north, from where the final begins at the latest. Rolling into and out
of turns is not counted, as nowhere in the engine.

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 9: power-off accuracy approaches (90, 180, 360
degrees) and emergency approaches by way of key positions, which the ways here are.
L. E. Dubins, *On curves of minimal length with a constraint on average curvature*, American Journal
of Mathematics 79, 1957: turn, straight, turn is the shape of shortest ways (not used as a bound).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, Final

import numpy as np
from attrs import evolve, frozen
from numpy.typing import ArrayLike

from areaplan.engine import _approach_kernels as kernels
from areaplan.engine.flight import loss_per_metre
from areaplan.engine.places import Places
from areaplan.engine.turns import SampledTurn, TurnModel
from areaplan.engine.ways import Indices
from areaplan.engine.ways_aloft import allowances, models_met
from areaplan.grid import Float64Array

TRACK_STEP_DEG: Final = 6.0
TRACKS: Final = 60
TRACKS_DEG: Final[Float64Array] = np.linspace(0.0, 360.0, TRACKS, endpoint=False)
LEGS_DEG: Final = tuple(15.0 * n for n in range(24))
NEAREST_LEG_DEG: Final = 9.0
SIDES: Final = (1, -1)  # last turn to the right, to the left
# Nobody goes farther round than this in one turn; and near a full circle the two ways round meet.
MOST_TURN_DEG: Final = 270.0
# Places considered: a lattice in the frame of the landing, in turn radii (drift included).
SPACING_RADII: Final = 1.0 / 3.0
BACK_RADII, AHEAD_RADII, ASIDE_RADII = 5, 5, 4
# Longer straight parts than this, in radii, are left to the glide itself.
MOST_STRAIGHT_RADII: Final = 12.0

_SPEED_SAMPLES: Final = 3
_TRACK_SAMPLES: Final = 3
_ARC_SAMPLES: Final = 9


@frozen(eq=False)
class Approaches:
    """The best ways of one landing direction. Axes: side of `SIDES`, track of `TRACKS`, place.

    Attributes
    ----------
    landing_deg_true : float
    scale_m : float
        Greatest turn radius, and what the wind drifts in a radian of it.
    place_m : complex128 array, shape (places,)
    around_m : float
        Every point within this distance of a place is covered.
    loss_m : float64 array, shape (2, 60, places)
        Most height lost to where the final begins at the latest; infinity where there is no way.
    way : int64 array, same shape
        Twice the leg's index, plus 1 for the long way round. Meaningless where there is no way.
    final_per_m, least_final_per_m : float
        Height lost on each metre of the final, most and least.
    first : Turns or None
        On to each leg, shape (60, ways); None where the wind leaves no headway, and all is
        infinite.
    last : Turns or None
        From each leg on to the final, shape (2, legs).
    aside_m : float64 array, shape (2, 60, ways)
        How far aside of the turns' boxes a way may lead.
    """

    landing_deg_true: float
    scale_m: float
    place_m: Places
    around_m: float
    loss_m: Float64Array
    way: Indices
    final_per_m: float
    least_final_per_m: float
    first: Turns | None
    last: Turns | None
    aside_m: Float64Array


@frozen(eq=False)
class Turns:
    """Turns, in one wind or in all; boxes have west, east, south and north edge on a last axis.

    Attributes
    ----------
    frame_deg : float64 array
        Bearing along which `framed_m` stand.
    framed_m, moved_m : float64 array
        Boxes of where they end, from where they begin: along a bearing, least and greatest, and to
        the left of it; and by points of the compass.
    ground_m : float64 array
        Boxes of all that lies below: from the beginning for first turns, from the end for last.
    loss_m, least_loss_m : float64 array
        Most and least height lost; infinity for turns that nobody flies.
    most_deg : float64 array
        How far round, at most.
    """

    frame_deg: Float64Array
    framed_m: Float64Array
    moved_m: Float64Array
    ground_m: Float64Array
    loss_m: Float64Array
    least_loss_m: Float64Array
    most_deg: Float64Array

    @property
    def middle_m(self) -> Float64Array:
        """Middles of where they end, east and north on the last axis."""
        along, left = np.moveaxis(self._sides.mean(axis=-1), -1, 0)
        middle = (along + 1j * left) * unit(self.frame_deg)
        return np.stack([middle.real, middle.imag], axis=-1)

    @property
    def half_m(self) -> Float64Array:
        """Half widths of where they end, along and across their bearing on the last axis."""
        return np.asarray(0.5 * np.diff(self._sides)[..., 0])

    @property
    def _sides(self) -> Float64Array:
        return self.framed_m.reshape(*self.framed_m.shape[:-1], 2, 2)

    def spread_m(
        self, index: tuple[Indices, Indices], east: Float64Array, north: Float64Array
    ) -> Float64Array:
        """How much (east, north) . end may vary on either side of the middle's, for some turns."""
        bearing = np.radians(np.broadcast_to(self.frame_deg, self.loss_m.shape)[index])
        along = np.abs(east * np.sin(bearing) + north * np.cos(bearing))
        across = np.abs(east * np.cos(bearing) - north * np.sin(bearing))
        half_m = self.half_m[index]
        return np.asarray(along * half_m[..., 0] + across * half_m[..., 1])


@lru_cache(maxsize=128)  # the same for each field; 128 covers all directions in three winds
def approaches(model: TurnModel, landing_deg_true: float, place_m: float) -> Approaches:
    """Find the best way from each place of the lattice, for each arrival track and either side.

    Parameters
    ----------
    model : TurnModel
        Turn, glide and winds; with all its winds, and whatever lies between two rows.
    landing_deg_true : float
        Track of the landing.
    place_m : float
        How far from a place of the lattice the glide may end, metres, at least 0.

    Raises
    ------
    ValueError
        A distance that is not at least 0.
    """
    if not place_m >= 0.0:
        raise ValueError(f"places within {place_m} m; expected at least 0")
    scale_m = _scale(model)
    place = _lattice(scale_m) * unit(landing_deg_true)
    shape = (len(SIDES), TRACKS, 2 * len(LEGS_DEG))
    best = np.full((*shape[:2], place.size), np.inf)
    chosen = np.zeros(best.shape, np.int64)
    if not model.has_headway:
        return Approaches(
            landing_deg_true, scale_m, place, place_m, best, chosen, np.inf, 0.0, None, None,
            np.zeros(shape),
        )  # fmt: skip
    first, last = _first_turns(model), _last_turns(model, landing_deg_true)
    finals = _per_metre(model, np.array([landing_deg_true]))
    final_per_m, least_per_m = float(finals.max()), float(finals.min())
    leg_per_m = _per_metre(model, np.array(LEGS_DEG)).max(axis=(0, 1))
    straight_m = MOST_STRAIGHT_RADII * scale_m
    most_lost_m = straight_m * max(final_per_m, float(leg_per_m.max()))
    aside_m, lower_m = _changes(model, first, last, most_lost_m)
    kernels.best_ways(
        place.real.copy(), place.imag.copy(), aside_m + place_m,
        first.middle_m, first.half_m, first.loss_m + lower_m,
        last.middle_m, last.half_m, last.loss_m, np.radians(TRACKS_DEG),
        np.radians(landing_deg_true), np.radians(LEGS_DEG), leg_per_m, final_per_m, straight_m,
        best, chosen,
    )  # fmt: skip
    return Approaches(
        landing_deg_true, scale_m, place, place_m, best, chosen, final_per_m, least_per_m,
        first, last, aside_m,
    )  # fmt: skip


def unit(bearing_deg: ArrayLike) -> Places:
    """Steps of one metre on bearings, east + i north."""
    step: Places = 1j * np.exp(-1j * np.radians(np.asarray(bearing_deg, dtype=np.float64)))
    return step


def _lattice(scale_m: float) -> Places:
    """Places considered, the landing's track along the real axis."""
    steps = round(1.0 / SPACING_RADII)
    along = np.arange(-BACK_RADII * steps, AHEAD_RADII * steps + 1) / steps
    left = np.arange(-ASIDE_RADII * steps, ASIDE_RADII * steps + 1) / steps
    return np.asarray(scale_m * (along + 1j * left[:, np.newaxis]).ravel())


def _scale(model: TurnModel) -> float:
    sampled = model.at_speeds(2)
    drift_m = model.strongest_wind_mps / sampled.turn_rad_per_s.min()
    return float(sampled.turn_radius_m.max() + drift_m)


def _per_metre(model: TurnModel, track_deg: Float64Array) -> Float64Array:
    """Losses along tracks over all airspeeds and winds: axes winds, speeds, tracks."""
    return np.stack(
        [
            loss_per_metre(
                track_deg,
                np.linspace(*one.tas_mps, _SPEED_SAMPLES)[:, np.newaxis],
                one.glide_ratio,
                one.wind_speed_mps,
                one.wind_from_deg_true,
            )
            for one in models_met(model)
        ]
    )


def _changes(
    model: TurnModel, first: Turns, last: Turns, straight_loss_m: float
) -> tuple[Float64Array, Float64Array]:
    """What winds that change on the way add: aside, shape (2, 60, ways), and lower, (60, ways)."""
    shape = (len(SIDES), *first.loss_m.shape)
    if not model.winds_aloft and model.shear_per_s == 0.0:
        return np.zeros(shape), np.zeros(first.loss_m.shape)
    last_loss = np.repeat(last.loss_m, 2, axis=1)[:, np.newaxis]
    turn_deg = first.most_deg + np.repeat(last.most_deg, 2, axis=1)[:, np.newaxis]
    total_m = first.loss_m + last_loss
    total_m = np.where(np.isfinite(total_m), total_m, 0.0) + straight_loss_m
    aside_m, lower_m = allowances(model, 0.0, turn_deg.ravel(), total_m.ravel())
    return aside_m.reshape(shape), lower_m.reshape(shape).max(axis=0)


@lru_cache(maxsize=4)  # the same for all directions of landing
def _first_turns(model: TurnModel) -> Turns:
    """From each arrival track on to each leg, either way round; shape (60, ways)."""
    offs = np.linspace(-0.5, 0.5, _TRACK_SAMPLES)
    tracks = TRACKS_DEG[:, np.newaxis] + TRACK_STEP_DEG * offs
    # How far round is settled once, so that all winds mean the same way round.
    short = _wrapped(np.array(LEGS_DEG) - tracks[:, [_TRACK_SAMPLES // 2]])
    other = np.where(short > 0.0, short - 360.0, short + 360.0)
    meant = np.stack([short, other], axis=-1).reshape(TRACKS, -1, 1, 1)
    found = []
    for one in models_met(model):
        flown = one.at_speeds(_SPEED_SAMPLES)
        begin = flown.headings(tracks, flown.horizontal_mps)[0][:, np.newaxis]
        end = flown.headings(np.repeat(LEGS_DEG, 2), flown.horizontal_mps)[0]
        off = _wrapped(end[np.newaxis, :, np.newaxis] - begin - meant)
        frame_deg = TRACKS_DEG[:, np.newaxis]
        found.append(_turns(flown, begin, meant + off, frame_deg, is_from_end=False))
    return _joined(found)


def _last_turns(model: TurnModel, landing_deg: float) -> Turns:
    """From each leg on to the final, to either side; shape (2, legs)."""
    side = np.array(SIDES, dtype=np.float64).reshape(-1, 1, 1, 1)
    off_axis = np.abs(_wrapped(2.0 * (np.array(LEGS_DEG) - landing_deg))) / 2.0
    found = []
    for one in models_met(model):
        flown = one.at_speeds(_SPEED_SAMPLES)
        begin = flown.headings(LEGS_DEG, flown.horizontal_mps)[0][np.newaxis, :, np.newaxis]
        end, _ = flown.headings(landing_deg, flown.horizontal_mps)
        angle = side * ((side * (end - begin)) % 360.0)
        found.append(_turns(flown, begin, angle, np.array(landing_deg), is_from_end=True))
    joined = _joined(found)
    return evolve(joined, loss_m=np.where(off_axis >= NEAREST_LEG_DEG, joined.loss_m, np.inf))


def _turns(
    flown: SampledTurn,
    begin: Float64Array,
    angle: Float64Array,
    frame_deg: Float64Array,
    *,
    is_from_end: bool,
) -> Turns:
    """Bounds of turns over their axes sample and speed (the last two)."""
    shares = np.linspace(0.0, 1.0, _ARC_SAMPLES)
    arcs = flown.turned(begin[..., np.newaxis], angle[..., np.newaxis] * shares)
    ends = arcs[..., -1]
    size_deg = np.abs(angle)
    loss_m = flown.turn_loss_m(size_deg)
    most_deg = size_deg.max(axis=(-2, -1))
    return Turns(
        frame_deg,
        _box(ends / unit(frame_deg)[..., np.newaxis, np.newaxis], (-2, -1)),
        _box(ends, (-2, -1)),
        _box(arcs - ends[..., np.newaxis] if is_from_end else arcs, (-3, -2, -1)),
        np.where(most_deg <= MOST_TURN_DEG, _most(loss_m), np.inf),
        np.maximum(0.0, -_most(-loss_m)),
        most_deg,
    )


def _joined(turns: list[Turns]) -> Turns:
    def round_all(boxes: list[Float64Array]) -> Float64Array:
        low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
        return np.asarray(np.where([True, False, True, False], low, high))

    return Turns(
        turns[0].frame_deg,
        round_all([one.framed_m for one in turns]),
        round_all([one.moved_m for one in turns]),
        round_all([one.ground_m for one in turns]),
        np.max([one.loss_m for one in turns], axis=0),
        np.min([one.least_loss_m for one in turns], axis=0),
        np.max([one.most_deg for one in turns], axis=0),
    )


def _wrapped(angle_deg: Any) -> Float64Array:
    return np.asarray((angle_deg + 180.0) % 360.0 - 180.0)


def _swell(values: Float64Array, axes: tuple[int, ...]) -> Float64Array:
    """Twice what smooth curves through samples along the axes may swell beyond them."""
    swell: Any = 0.0
    for axis in axes:
        if values.shape[axis] > 2:
            swell = swell + 0.25 * np.abs(np.diff(values, 2, axis=axis)).max(axis=axes)
    return np.asarray(swell)


def _most(values: Float64Array) -> Float64Array:
    return np.asarray(values.max(axis=(-2, -1)) + _swell(values, (-2, -1)))


def _box(places: Places, axes: tuple[int, ...]) -> Float64Array:
    edges = []
    for values in (places.real, places.imag):
        swell = _swell(values, axes)
        edges += [values.min(axis=axes) - swell, values.max(axis=axes) + swell]
    return np.stack(edges, axis=-1)
