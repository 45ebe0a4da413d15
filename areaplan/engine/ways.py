"""The ways out of each heading: on to which sector, at what loss, over which ground.

The engine fails while the aircraft is on a track within 7.5 degrees of one of 24 headings (by
track: in a wind slower than the aircraft each heading has exactly one). It flies on and turns as
`turns.py` says, left or right, on to one of the moves ahead of a sector k, and glides on as
`glide.py` says. Each pair of a turn and a sector is one way out. Nobody knows which track it was,
nor which move of the sector is the right one, nor the airspeed within its range: so a way ends
somewhere in a box, and leads over ground somewhere in a wider box.

The boxes are drawn round samples and widened by twice the most that a smooth curve can swell
between them, an eighth of its second differences. Where the wind changes with height they are
drawn round the boxes of all winds, as `ways_aloft.py` says.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.moves import AHEAD_HALF_DEG, MOVES, SECTOR_DEG, SECTORS, sector_moves
from areaplan.engine.places import Places
from areaplan.engine.turns import SampledTurn, TurnModel
from areaplan.engine.ways_aloft import allowances, joined, models_met, widened
from areaplan.grid import Float64Array

Indices = NDArray[np.int64]

HEADINGS: Final = 24
HEADING_STEP_DEG: Final = 360.0 / HEADINGS
# Farther round than this, a turn ends about where it began.
WIDEST_TURN_DEG: Final = 330.0
# A small field close by can't be hit from the end of a turn at once. Turns back therefore come
# also with a stretch flown straight on first, for these shares of a full circle's time.
STRETCHES_CIRCLES: Final = (0.0, 0.4, 0.8)
TURN_BACK_DEG: Final = (150.0, 240.0)
# Ways share the box of the ground below them by how far round they turn: up to here to either
# side together, farther by side and by half circle.
SLIGHT_TURN_DEG: Final = 75.0

_SPEED_SAMPLES: Final = 3
_TRACK_SAMPLES: Final = 5
_ARC_SAMPLES: Final = 37


@frozen(eq=False)
class Ways:
    """Ways out of each heading. Boxes are west, east, south and north edge, metres from the start.

    Attributes
    ----------
    heading : int64 array, shape (ways,)
        Which of the 24; heading i stands for tracks from 15 i - 7.5 to 15 i + 7.5 degrees.
    sector : int64 array, shape (ways,)
        In which the glide goes on.
    loss_m : float64 array, shape (ways,)
        Most height lost until then.
    end_m : float64 array, shape (ways, 4)
        Box in which the turn ends.
    path : int64 array, shape (ways,)
        Row of `path_m`.
    path_m : float64 array, shape (paths, 4)
        Box of all ground that may lie below until the turn ends. Ways of different headings have
        different paths.
    """

    heading: Indices
    sector: Indices
    loss_m: Float64Array
    end_m: Float64Array
    path: Indices
    path_m: Float64Array


def ways_out(model: TurnModel) -> Ways:
    """All ways out of all headings.

    Raises
    ------
    ValueError
        The wind is as fast as the aircraft, so that some track can't be flown.
    """
    if not model.has_headway:
        wind_mps = model.strongest_wind_mps
        raise ValueError(f"wind of {wind_mps:g} m/s; expected less than the airspeeds")
    heading, sector, turn_deg = _turns()
    is_back = (np.abs(turn_deg) >= TURN_BACK_DEG[0]) & (np.abs(turn_deg) <= TURN_BACK_DEG[1])
    parts = []
    for stretch in STRETCHES_CIRCLES:
        kept = is_back | (stretch == 0.0)
        parts.append(_ways_in(model, stretch, heading[kept], sector[kept], turn_deg[kept]))
    first_path = np.cumsum([0] + [len(part.path_m) for part in parts[:-1]])
    return Ways(
        np.concatenate([part.heading for part in parts]),
        np.concatenate([part.sector for part in parts]),
        np.concatenate([part.loss_m for part in parts]),
        np.concatenate([part.end_m for part in parts]),
        np.concatenate([part.path + first for part, first in zip(parts, first_path, strict=True)]),
        np.concatenate([part.path_m for part in parts]),
    )


def _ways_in(
    model: TurnModel, stretch: float, heading: Indices, sector: Indices, turn_deg: Float64Array
) -> Ways:
    """The ways of one stretch in all winds of the model."""
    if not model.winds_aloft and model.shear_per_s == 0.0:
        return _ways(model.at_speeds(_SPEED_SAMPLES), stretch, heading, sector, turn_deg)
    flown = [one.at_speeds(_SPEED_SAMPLES) for one in models_met(model)]
    met = [_ways(one, stretch, heading, sector, turn_deg) for one in flown]
    # A turn meant for the middles of heading and sector goes on for half their widths, and for
    # the crabs of both ends.
    glide_mps = min(float(flown[0].horizontal_mps.min()), model.manoeuvre_tas_mps[0])
    crab_deg = np.degrees(np.arcsin(model.strongest_wind_mps / glide_mps))
    most_deg = np.abs(turn_deg) + HEADING_STEP_DEG / 2.0 + AHEAD_HALF_DEG + 2.0 * crab_deg
    loss_m = np.max([ways.loss_m for ways in met], axis=0)
    aside_m, lower_m = allowances(model, stretch, most_deg, loss_m)
    path_aside_m = np.zeros(len(met[0].path_m))
    np.maximum.at(path_aside_m, met[0].path, aside_m)
    return Ways(
        heading,
        sector,
        loss_m + lower_m,
        widened(joined([ways.end_m for ways in met]), aside_m),
        met[0].path,
        widened(joined([ways.path_m for ways in met]), path_aside_m),
    )


def _turns() -> tuple[Indices, Indices, Float64Array]:
    """Heading, sector and signed angle (right is positive) of every turn considered."""
    heading, sector = np.divmod(np.arange(HEADINGS * SECTORS), SECTORS)
    short_deg = (SECTOR_DEG * sector - HEADING_STEP_DEG * heading + 180.0) % 360.0 - 180.0
    other_way_deg = np.where(short_deg > 0.0, short_deg - 360.0, short_deg + 360.0)
    turn_deg = np.concatenate([short_deg, other_way_deg])
    kept = np.abs(turn_deg) <= WIDEST_TURN_DEG
    return np.tile(heading, 2)[kept], np.tile(sector, 2)[kept], turn_deg[kept]


def _ways(
    flown: SampledTurn, stretch: float, heading: Indices, sector: Indices, turn_deg: Float64Array
) -> Ways:
    """The ways of one stretch. Axes of arrays: way or heading, track, speed, then move or arc."""
    tracks = np.arange(HEADINGS)[:, np.newaxis] + np.linspace(-0.5, 0.5, _TRACK_SAMPLES)
    begin_deg, start, straight_loss_m = flown.straight(tracks * HEADING_STEP_DEG, stretch)
    begin_deg, start = begin_deg[..., np.newaxis], start[..., np.newaxis]
    first_deg, _ = flown.headings(_first_tracks(), flown.horizontal_mps)
    first_deg = np.moveaxis(first_deg, -1, -2)[sector][:, np.newaxis]
    # The angle that a turn meant for this one has, from each track on to each first move.
    meant_deg = turn_deg.reshape(-1, 1, 1, 1)
    off_deg = (first_deg - begin_deg[heading] - meant_deg + 180.0) % 360.0 - 180.0
    angle_deg = meant_deg + off_deg
    end = start[heading] + flown.turned(begin_deg[heading], angle_deg)
    turn_loss_m = flown.turn_loss_m(np.abs(angle_deg).max(axis=(1, 3)))

    side = np.sign(turn_deg) * np.ceil(np.abs(turn_deg) / 180.0)
    group = np.where(np.abs(turn_deg) <= SLIGHT_TURN_DEG, 0.0, side)
    path = np.empty(heading.size, np.int64)
    path_m = []
    for number, one in enumerate(np.unique(group)):
        member = np.flatnonzero(group == one)
        path[member] = HEADINGS * number + heading[member]
        least_deg, most_deg = np.zeros(HEADINGS), np.zeros(HEADINGS)
        np.minimum.at(least_deg, heading[member], angle_deg[member].min(axis=(1, 2, 3)))
        np.maximum.at(most_deg, heading[member], angle_deg[member].max(axis=(1, 2, 3)))
        arc_deg = np.linspace(least_deg, most_deg, _ARC_SAMPLES, axis=-1)
        over = start + flown.turned(begin_deg, arc_deg.reshape(HEADINGS, 1, 1, -1))
        path_m.append(_around(_box(over, (1, 2, 3)), _box(start, (1, 2))))
    loss_m = (straight_loss_m + turn_loss_m).max(axis=1)
    return Ways(heading, sector, loss_m, _box(end, (1, 2)), path, np.concatenate(path_m))


def _first_tracks() -> Float64Array:
    """Tracks of each sector's moves ahead, shape (12, most moves); short rows filled up."""
    tracks = [
        [MOVES[index].bearing_deg_true for index in sector_moves(k, AHEAD_HALF_DEG)]
        for k in range(SECTORS)
    ]
    most = max(len(row) for row in tracks)
    return np.array([row + row[-1:] * (most - len(row)) for row in tracks])


def _box(places: Places, smooth_axes: tuple[int, ...]) -> Float64Array:
    """Boxes round samples of all axes but the first; along smooth ones the curve goes between."""
    edges = []
    for values in (places.real, places.imag):
        swell = np.zeros(len(values))
        for axis in smooth_axes:
            if values.shape[axis] > 2:
                bend = np.abs(np.diff(values, 2, axis=axis)).max(axis=(1, 2, 3))
                swell += 0.25 * bend
        edges += [values.min(axis=(1, 2, 3)) - swell, values.max(axis=(1, 2, 3)) + swell]
    return np.stack(edges, axis=1)


def _around(boxes: Float64Array, others: Float64Array) -> Float64Array:
    """Boxes round two others and the place where the engine failed."""
    low = np.minimum(np.minimum(boxes, others), 0.0)
    high = np.maximum(np.maximum(boxes, others), 0.0)
    return np.where([True, False, True, False], low, high)
