"""A coarse look at many layouts, to find those worth flying exactly.

It takes samples of a track, each by its cell. It can only miss demands: where the exact judgement
of `site_flying.fly_site`, which takes every cell that the track touches, finds a margin, the coarse
look says at least as much.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.ground_track import GroundTrack
from areaplan.grid import Float64Array
from areaplan.planning.point_margins import cells_under
from areaplan.planning.site_flying import SiteScene
from areaplan.planning.site_layouts import Layout
from areaplan.planning.site_room import NO_ROOM_FT, Room
from areaplan.units import FOOT_M

_COARSE_STEP_M: Final = 140.0
_CHUNK: Final = 512  # layouts of one shape looked at together
_MOST_POINTS: Final = 1 << 17  # samples looked at together
_OUTSIDE: Final = -1e6  # less than any room


def coarse_room_ft(scene: SiteScene, layouts: Sequence[Layout]) -> Float64Array:
    """An upper bound of each layout's smallest margin of height, feet.

    Half of the room between its lowest and its highest entry. Layouts with samples outside the
    area, or where nothing is open, come below all others, those with the fewest first.
    """
    found = np.empty(len(layouts))
    by_shape: dict[int, list[int]] = defaultdict(list)
    for index, layout in enumerate(layouts):
        by_shape[id(layout.shape)].append(index)
    waiting: list[_Look] = []
    points = 0
    for indices in by_shape.values():
        track = layouts[indices[0]].shape.fly(_COARSE_STEP_M)
        manoeuvre = layouts[indices[0]].shape.figure.manoeuvre
        for start in range(0, len(indices), _CHUNK):
            waiting.append(_Look(track, indices[start : start + _CHUNK], manoeuvre))
            points += len(waiting[-1].indices) * track.time_s.size
            if points > _MOST_POINTS:
                _look(scene, layouts, waiting, found)
                waiting, points = [], 0
    _look(scene, layouts, waiting, found)
    return found


@frozen(eq=False)
class _Look:
    """Layouts of one shape that wait to be looked at, by their places in a list."""

    track: GroundTrack
    indices: list[int]
    manoeuvre: str


def _look(
    scene: SiteScene, layouts: Sequence[Layout], looks: Sequence[_Look], found: Float64Array
) -> None:
    """Write `coarse_room_ft` of some layouts: all samples of all of them, one after the other."""
    for name in {look.manoeuvre for look in looks}:
        some = [look for look in looks if look.manoeuvre == name]
        at = np.concatenate([np.asarray(look.indices) for look in some])
        places = np.array([(layouts[i].x_m, layouts[i].y_m) for i in at.tolist()])
        counts = np.concatenate([np.full(len(one.indices), one.track.time_s.size) for one in some])
        x_m, y_m, tracks, above_m = (
            np.concatenate([np.tile(getattr(one.track, part), len(one.indices)) for one in some])
            for part in ("east_m", "north_m", "track_deg_true", "above_entry_m")
        )
        x_m += np.repeat(places[:, 0], counts)
        y_m += np.repeat(places[:, 1], counts)
        starts = np.concatenate(([0], np.cumsum(counts)[:-1]))
        found[at] = _height_room_ft(
            scene, scene.rooms[name], (x_m, y_m), tracks, above_m / FOOT_M, starts
        )


def _height_room_ft(
    scene: SiteScene,
    room: Room,
    places: tuple[Float64Array, Float64Array],
    tracks: Float64Array,
    above_ft: Float64Array,
    starts: NDArray[np.int64],
) -> Float64Array:
    """`coarse_room_ft` of tracks that begin at some samples and go on to the next begin."""
    row, col, is_on = cells_under(scene.plan.grid, *places)
    required_ft = scene.flown.headings.required_amsl_m(row, col, tracks) / FOOT_M
    required_ft = np.where(np.isfinite(required_ft), required_ft, float(NO_ROOM_FT))
    low_ft = np.where(is_on, np.maximum(room.low_amsl_ft[row, col], required_ft), NO_ROOM_FT)
    is_closed = low_ft >= NO_ROOM_FT
    lowest_ft = np.maximum.reduceat(np.where(is_closed, -np.inf, low_ft - above_ft), starts)
    highest_ft = np.minimum.reduceat(room.high_amsl_ft[row, col] - above_ft, starts)
    closed = np.add.reduceat(is_closed.astype(np.int64), starts)
    return np.asarray(np.where(closed > 0, _OUTSIDE - closed, 0.5 * (highest_ft - lowest_ft)))
