"""What minimum heights are measured from: obstacles, structures, vehicles, wires and the rest.

Each thing gets a top above mean sea level on the cautious side: the higher of what was published
and what the ground below plus its height gives, raised and widened by its accuracy.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final, cast

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.engine.features import FeatureSet
from areaplan.grid import Float64Array
from areaplan.planning.ground import Ground, highest_under, lowest_under
from areaplan.planning.layers import Layers
from areaplan.rules.model import Counted
from areaplan.sources.layers import Layer, Obstacle, Presence, Structure

# Height of a lorry or combine on a road; common practice, no source. Roads carry no heights.
VEHICLE_TOP_AGL_M: Final = 5.0
# Long lines are cut so that each piece takes the ground below itself, not the highest of its run.
PIECE_M: Final = 200.0
# A published height and the ground disagree beyond this, on top of the accuracy code: SRTM's
# vertical accuracy goal, 16 m at 90 % (from memory).
GROUND_ACCURACY_M: Final = 16.0


@frozen(eq=False)
class Things:
    """Things of some kinds on and near the grid.

    Attributes
    ----------
    features : FeatureSet
        In local metres, tops AMSL.
    names : tuple of str
        A name for each feature.
    geometries : tuple of shapely geometry
        Longitude/latitude, in the order of `names`, for drawing.
    sources : tuple of str
        Paths of the files they came from.
    """

    features: FeatureSet
    names: tuple[str, ...]
    geometries: tuple[BaseGeometry, ...]
    sources: tuple[str, ...]


@frozen(eq=False)
class _Batch:
    """Rows of one kind before they become a FeatureSet; geometries in lon/lat and in metres."""

    names: list[str]
    lonlat: list[BaseGeometry]
    local: list[BaseGeometry]
    top_amsl_m: Float64Array
    spread_m: Float64Array
    sources: tuple[str, ...]


def collect(layers: Layers, ground: Ground, kinds: Sequence[Counted]) -> Things:
    """Gather the things of some kinds as features with tops.

    Parameters
    ----------
    layers : Layers
    ground : Ground
        Tops that are given above ground stand on its highest ground.
    kinds : sequence of Counted
        Kinds a rule counts; TERRAIN is not a thing and is passed over.
    """
    batches = [_batch(layers, ground, kind) for kind in kinds if kind is not Counted.TERRAIN]
    local = [geometry for batch in batches for geometry in batch.local]
    return Things(
        FeatureSet.from_geometries(
            local,
            np.concatenate([np.empty(0), *(batch.top_amsl_m for batch in batches)]),
            np.concatenate([np.empty(0), *(batch.spread_m for batch in batches)]),
        ),
        tuple(name for batch in batches for name in batch.names),
        tuple(geometry for batch in batches for geometry in batch.lonlat),
        tuple(dict.fromkeys(path for batch in batches for path in batch.sources)),
    )


def _batch(layers: Layers, ground: Ground, kind: Counted) -> _Batch:
    if kind is Counted.OBSTACLE:
        return _obstacles(layers.obstacles, ground)
    if kind is Counted.WIRE:
        rows = [
            (row.name, row.geometry, row.top_agl_m) for layer in layers.wires for row in layer.rows
        ]
        return _standing(rows, ground, _paths(layers.wires))
    if kind is Counted.VEHICLE:
        rows = [
            (f"vehicle on {row.name}", row.geometry, VEHICLE_TOP_AGL_M)
            for layer in layers.vehicles
            for row in layer.rows
        ]
        rows += _present(layers.persons, Presence.VEHICLE)
        return _standing(rows, ground, _paths([*layers.vehicles, *layers.persons]))
    if kind is Counted.NOISE:
        rows = [(row.name, row.geometry, 0.0) for layer in layers.noise for row in layer.rows]
        return _standing(rows, ground, _paths(layers.noise))
    if kind is Counted.AIRWAY:
        rows = [(row.name, row.geometry, 0.0) for layer in layers.airways for row in layer.rows]
        return _standing(rows, ground, _paths(layers.airways))
    presence = Presence(kind.value)
    chosen = layers.structures if presence is Presence.STRUCTURE else layers.persons
    return _standing(_present(chosen, presence), ground, _paths(chosen))


def woods(layers: Layers, ground: Ground) -> Things:
    """Trees as features; no rule counts them, the glide has to clear them."""
    rows = [(row.name, row.geometry, row.top_agl_m) for layer in layers.woods for row in layer.rows]
    batch = _standing(rows, ground, _paths(layers.woods))
    return Things(
        FeatureSet.from_geometries(batch.local, batch.top_amsl_m, batch.spread_m),
        tuple(batch.names),
        tuple(batch.lonlat),
        batch.sources,
    )


def height_disagreements(layers: Layers, ground: Ground) -> tuple[str, ...]:
    """Sentences about obstacles whose published heights and the ground tell different stories.

    The published height above sea level less that above ground should lie between the lowest and
    the highest ground where the obstacle may stand, within the accuracy code and the terrain's own
    accuracy. The higher top is used in any case.
    """
    rows = [
        row
        for layer in layers.obstacles
        for row in layer.rows
        if row.top_agl_m is not None and row.top_amsl_m is not None
    ]
    points = [shapely.Point(*ground.frame.to_local(row.lon, row.lat)) for row in rows]
    reach_m = np.array([row.horizontal_accuracy_m for row in rows], dtype=np.float64)
    lowest_m = lowest_under(ground, points, reach_m)
    highest_m = highest_under(ground, points, reach_m)
    sentences = []
    for row, low_m, high_m in zip(rows, lowest_m, highest_m, strict=True):
        published_m = cast(float, row.top_amsl_m) - cast(float, row.top_agl_m)
        apart_m = max(low_m - published_m, published_m - high_m)
        if apart_m > row.vertical_accuracy_m + GROUND_ACCURACY_M:  # false where the ground is NaN
            sentences.append(
                f"obstacle {row.name}: its published ground and the terrain data are "
                f"{apart_m:.0f} m apart; the higher top is used"
            )
    return tuple(sentences)


def _present(
    layers: Iterable[Layer[Structure]], presence: Presence
) -> list[tuple[str, BaseGeometry, float]]:
    return [
        (row.name, row.geometry, row.top_agl_m)
        for layer in layers
        for row in layer.rows
        if row.presence is presence
    ]


def _obstacles(layers: Iterable[Layer[Obstacle]], ground: Ground) -> _Batch:
    layers = list(layers)
    rows = [row for layer in layers for row in layer.rows]
    lon = np.array([row.lon for row in rows], dtype=np.float64)
    lat = np.array([row.lat for row in rows], dtype=np.float64)
    local: list[BaseGeometry] = []
    if rows:
        x_m, y_m = ground.frame.to_local(lon, lat)
        local = [shapely.Point(x, y) for x, y in zip(x_m, y_m, strict=True)]
    spread = np.array([row.horizontal_accuracy_m for row in rows], dtype=np.float64)
    agl = np.array([np.nan if row.top_agl_m is None else row.top_agl_m for row in rows])
    amsl = np.array([np.nan if row.top_amsl_m is None else row.top_amsl_m for row in rows])
    on_ground = highest_under(ground, local, spread) + agl
    top = np.fmax(amsl, on_ground) + np.array([row.vertical_accuracy_m for row in rows])
    keep = _near(ground, local, spread)
    return _Batch(
        [f"{rows[i].kind.lower() or 'obstacle'} {rows[i].name}" for i in keep],
        [shapely.Point(lon[i], lat[i]) for i in keep],
        [local[i] for i in keep],
        top[keep],
        spread[keep],
        _paths(layers),
    )


def _standing(
    rows: Sequence[tuple[str, BaseGeometry, float]], ground: Ground, sources: tuple[str, ...]
) -> _Batch:
    """Things given by their height above the ground they stand on."""
    names: list[str] = []
    lonlat: list[BaseGeometry] = []
    heights: list[float] = []
    for name, geometry, height_m in rows:
        pieces = _pieces(geometry)
        names += [name] * len(pieces)
        lonlat += pieces
        heights += [height_m] * len(pieces)
    local = [ground.frame.geometry_to_local(geometry) for geometry in lonlat]
    keep = _near(ground, local, np.zeros(len(local)))
    local = [local[i] for i in keep]
    return _Batch(
        [names[i] for i in keep],
        [lonlat[i] for i in keep],
        local,
        highest_under(ground, local) + np.array([heights[i] for i in keep], dtype=np.float64),
        np.zeros(len(local)),
        sources,
    )


def _pieces(geometry: BaseGeometry) -> list[BaseGeometry]:
    """Cut lines into short pieces (degrees of latitude stand in for metres, which is finer)."""
    if int(shapely.get_dimensions(geometry)) != 1:
        return [geometry]
    step_deg = PIECE_M / 111_320.0
    pieces: list[BaseGeometry] = []
    for line in shapely.get_parts(geometry):
        xy = shapely.get_coordinates(shapely.segmentize(line, step_deg))
        pieces += [shapely.LineString(pair) for pair in pairwise(xy)]
    return pieces


def _near(ground: Ground, local: Sequence[BaseGeometry], spread_m: Float64Array) -> list[int]:
    """Indices of the geometries that can matter to the grid: on it or within its own margin."""
    if not local:
        return []
    grid = ground.grid
    bounds = shapely.bounds(np.asarray(local, dtype=object))
    reach = spread_m + NEAR_M
    is_near = (
        (bounds[:, 0] - reach <= grid.x_max_m)
        & (bounds[:, 2] + reach >= grid.x_min_m)
        & (bounds[:, 1] - reach <= grid.y_max_m)
        & (bounds[:, 3] + reach >= grid.y_min_m)
    )
    return [int(i) for i in np.flatnonzero(is_near)]


# The reach beyond the grid at which things are still read; limits.py refuses rules that reach on.
NEAR_M: Final = 10_000.0


def _paths(layers: Iterable[Layer[object]]) -> tuple[str, ...]:
    return tuple(path for layer in layers for path in layer.record.paths)
