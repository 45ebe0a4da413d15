"""Rows of the layers that references are found in, in local metres."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.sources.layers import Layer, Obstacle, Road

# Where two kinds run over the same ground the first is the one seen. Lines of a group run on into
# one another: a road goes on as a track, but not as a fence.
_LINE_GROUPS: Final = ("roads", "rails", "section_lines", "canals", "fences")
# Kinds of road, in OpenStreetMap's words, too narrow to be made out from the air (our judgement).
_TOO_NARROW: Final = frozenset(
    {"path", "footway", "steps", "cycleway", "bridleway", "pedestrian", "via_ferrata"}
)
_CROSSING_GROUPS: Final = ("roads", "rails", "canals")  # a gap in a fence is not seen


@frozen(eq=False)
class Lines:
    """Line work of all kinds.

    Attributes
    ----------
    local : tuple of shapely geometry
        Local metres.
    names : tuple of str
    sources : tuple of tuple of str
        Paths for each line.
    group : int64 array, shape (lines,)
        Roads, rails, section lines, canals and fences are 0 to 4.
    """

    local: tuple[BaseGeometry, ...]
    names: tuple[str, ...]
    sources: tuple[tuple[str, ...], ...]
    group: NDArray[np.int64]

    def groups(self) -> list[BoolArray]:
        """For each kind of line that there is, which lines are of it."""
        return [self.group == number for number in np.unique(self.group)]

    def makes_crossings(self) -> BoolArray:
        """Which lines make a place that is seen where they meet."""
        return np.isin(self.group, [_LINE_GROUPS.index(name) for name in _CROSSING_GROUPS])


@frozen(eq=False)
class PointRows:
    """Small things of one kind: names, places in local metres and paths of their files."""

    names: tuple[str, ...]
    xy_m: Float64Array
    sources: tuple[tuple[str, ...], ...]
    is_small: BoolArray


def to_local(geometries: Sequence[BaseGeometry], ground: Ground) -> list[BaseGeometry]:
    """Move longitude/latitude geometries into local metres, all at once."""
    if not geometries:
        return []
    # A collection of all is moved in one call of PROJ, which a call for each would outlast.
    moved = ground.frame.geometry_to_local(shapely.GeometryCollection(list(geometries)))
    return list(shapely.get_parts(moved))


def gather_lines(layers: Layers, ground: Ground) -> Lines:
    """Roads, rails, section lines, canals and fences that can be seen from the air."""
    lonlat: list[BaseGeometry] = []
    names: list[str] = []
    sources: list[tuple[str, ...]] = []
    group: list[int] = []
    for number, place in enumerate(_LINE_GROUPS):
        found: tuple[Layer[Road], ...] = getattr(layers, place)
        for layer in found:
            rows = [r for r in layer.rows if not r.is_in_tunnel and r.kind not in _TOO_NARROW]
            lonlat += [row.geometry for row in rows]
            names += [row.name for row in rows]
            sources += [layer.record.paths] * len(rows)
            group += [number] * len(rows)
    return Lines(
        tuple(to_local(lonlat, ground)),
        tuple(names),
        tuple(sources),
        np.array(group, dtype=np.int64),
    )


def gather_points(layers: Layers, ground: Ground, largest_m: float) -> tuple[PointRows, ...]:
    """Landmarks, obstacles and structures; `is_small` tells those no larger than a length."""
    landmarks = [
        (row.name, row.geometry, layer) for layer in layers.landmarks for row in layer.rows
    ]
    obstacles = [
        (_obstacle_name(row), shapely.Point(row.lon, row.lat), layer)
        for layer in layers.obstacles
        for row in layer.rows
    ]
    structures = [
        (row.name, row.geometry, layer) for layer in layers.structures for row in layer.rows
    ]
    return tuple(_points(rows, ground, largest_m) for rows in (landmarks, obstacles, structures))


def _obstacle_name(row: Obstacle) -> str:
    return f"{row.kind.lower() or 'obstacle'} {row.name}"


def _points(
    rows: Iterable[tuple[str, BaseGeometry, Layer[Any]]], ground: Ground, largest_m: float
) -> PointRows:
    rows = list(rows)
    local: NDArray[Any] = np.empty(len(rows), dtype=object)
    local[:] = to_local([geometry for _, geometry, _ in rows], ground)
    bounds = shapely.bounds(local).reshape(-1, 4)
    middle = 0.5 * (bounds[:, :2] + bounds[:, 2:])
    is_small = (bounds[:, 2:] - bounds[:, :2]).max(axis=1, initial=0.0) <= largest_m
    names = tuple(name for name, _, _ in rows)
    return PointRows(names, middle, tuple(layer.record.paths for _, _, layer in rows), is_small)
