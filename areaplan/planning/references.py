"""Find ground references: lines, points, rectangles and pairs that manoeuvres are flown by.

Lines are straight runs of roads, railways, section lines, canals and fences; points are crossings
and small things that stand alone; rectangles are fields and blocks of land between lines; pairs
are two points, for eights. What a person drew comes first. Nothing here says that flying there is
legal, safe or wanted: what stands and lives there is for the rules to judge.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any, Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.engine.crossings import crossings, pairs_apart, stands_alone
from areaplan.engine.line_network import LineNetwork
from areaplan.engine.rectangles import Rectangles, rectangles_among, rectangular_blocks
from areaplan.engine.straight_runs import straight_runs
from areaplan.grid import Float64Array
from areaplan.planning._drawn_references import drawn_references
from areaplan.planning._reference_rows import Lines, gather_lines, gather_points, to_local
from areaplan.planning.ground import Ground
from areaplan.planning.ground_reference import (
    Reference,
    ReferenceLimits,
    direction_deg,
    told_apart,
)
from areaplan.planning.layers import Layers
from areaplan.sources.layers import ReferenceKind

__all__ = ["Reference", "ReferenceKind", "ReferenceLimits", "find_references"]

_MOST_LINE_NAMES: Final = 3
_MOST_BLOCK_NAMES: Final = 4


def find_references(
    layers: Layers,
    ground: Ground,
    kinds: Collection[ReferenceKind] = tuple(ReferenceKind),
    *,
    reach_m: float = 0.0,
    limits: ReferenceLimits | None = None,
) -> tuple[Reference, ...]:
    """Find the ground references in and near the drawn area.

    Parameters
    ----------
    layers : Layers
    ground : Ground
        Its frame gives the local metres.
    kinds : collection of ReferenceKind
        Those wanted.
    reach_m : float
        How far beyond the drawn area a reference may lie, metres, at least 0. A line is cut at
        that reach and counts where what remains is long enough; points lie within it, and
        rectangles and pairs wholly. A drawn reference counts whole where it touches the reach.
    limits : ReferenceLimits, optional
        What is asked of them; the defaults of `ReferenceLimits`.

    Returns
    -------
    tuple of Reference
        By kind in the order of `ReferenceKind`, the drawn ones of each kind first, in file order;
        then lines from the longest, points and pairs from crossings over landmarks and obstacles
        to structures, each from west to east, rectangles from fields to blocks. The same data
        give the same references, names and order.

    Raises
    ------
    InputError
        A drawn reference has not the shape that it is drawn as.
    ValueError
        A limit is out of its range.
    """
    if not reach_m >= 0.0:
        raise ValueError(f"reach_m is {reach_m}; expected 0 or more")
    asked = limits or ReferenceLimits()
    area = shapely.union_all([row.geometry for row in layers.area.rows])
    region = shapely.buffer(ground.frame.geometry_to_local(area), reach_m)
    shapely.prepare(region)
    drawn = [
        one
        for one in drawn_references(layers, ground, asked)
        if one.kind in kinds and shapely.intersects(region, one.geometry)
    ]
    lines = gather_lines(layers, ground)
    network = LineNetwork.from_lines(lines.local)
    found: list[Reference] = []
    if ReferenceKind.LINE in kinds:
        found += _lines(network, lines, region, asked)
    if ReferenceKind.POINT in kinds or ReferenceKind.PAIR in kinds:
        points = _points(layers, ground, network, lines, region, asked)
        if ReferenceKind.POINT in kinds:
            found += points
        if ReferenceKind.PAIR in kinds:
            found += _pairs(points, asked)
    if ReferenceKind.RECTANGLE in kinds:
        found += _fields(layers, ground, region, asked)
        found += _blocks(network, lines, region, asked)
    in_order = [one for kind in ReferenceKind for one in (*drawn, *found) if one.kind is kind]
    return told_apart(in_order)


def _lines(
    network: LineNetwork, lines: Lines, region: BaseGeometry, limits: ReferenceLimits
) -> list[Reference]:
    found: list[Reference] = []
    for is_line in lines.groups():
        runs = straight_runs(
            network.made_of(is_line),
            limits.least_line_m,
            tolerance_m=limits.off_straight_m,
            greatest_bend_deg=limits.greatest_bend_deg,
        )
        whole = shapely.linestrings(np.stack([runs.start_xy_m, runs.end_xy_m], axis=1))
        inside: Any = shapely.intersection(whole, region)
        for run, of_run in enumerate(_owned(runs.first_line, runs.lines)):
            for part in _long_parts(inside[run], limits.least_line_m):
                (x0, y0), (x1, y1) = shapely.get_coordinates(part)[[0, -1]].tolist()
                found.append(
                    Reference(
                        _joined([lines.names[line] for line in of_run], _MOST_LINE_NAMES),
                        ReferenceKind.LINE,
                        part,
                        _sources(lines, of_run),
                        direction_deg(x1 - x0, y1 - y0),
                        float(part.length),
                        off_straight_m=float(runs.off_straight_m[run]),
                    )
                )
    return sorted(found, key=lambda one: (-one.length_m, *one.geometry.bounds))


def _long_parts(geometry: BaseGeometry, least_m: float) -> Iterator[BaseGeometry]:
    """Straight parts, from west to east, that are long enough."""
    for part in sorted(shapely.get_parts(geometry), key=lambda part: tuple(part.bounds)):
        if part.geom_type == "LineString" and part.length >= least_m:
            ends = shapely.get_coordinates(part)[[0, -1]]
            yield shapely.LineString(ends[np.lexsort((ends[:, 1], ends[:, 0]))])


@frozen(eq=False)
class _Place:
    """A point before it becomes a reference."""

    name: str
    x_m: float
    y_m: float
    sources: tuple[str, ...]


def _points(
    layers: Layers,
    ground: Ground,
    network: LineNetwork,
    lines: Lines,
    region: BaseGeometry,
    limits: ReferenceLimits,
) -> list[Reference]:
    places = list(_crossings(network, lines, limits))
    for rows in gather_points(layers, ground, limits.largest_point_m):
        is_good = rows.is_small & stands_alone(rows.xy_m, rows.xy_m, limits.alone_m)
        chosen = np.flatnonzero(is_good)
        chosen = chosen[np.lexsort((rows.xy_m[chosen, 1], rows.xy_m[chosen, 0]))]
        places += [
            _Place(rows.names[k], float(rows.xy_m[k, 0]), float(rows.xy_m[k, 1]), rows.sources[k])
            for k in chosen.tolist()
        ]
    xy = np.array([(place.x_m, place.y_m) for place in places], dtype=np.float64).reshape(-1, 2)
    points: Any = shapely.points(xy)
    is_wanted = np.asarray(shapely.intersects(region, points)) & ~_repeats(
        points, limits.one_crossing_m
    )
    return [
        Reference(places[k].name, ReferenceKind.POINT, points[k], places[k].sources, None, 0.0)
        for k in np.flatnonzero(is_wanted).tolist()
    ]


def _crossings(network: LineNetwork, lines: Lines, limits: ReferenceLimits) -> Iterator[_Place]:
    if not lines.local:
        return
    found = crossings(network.made_of(lines.makes_crossings()), one_within_m=limits.one_crossing_m)
    is_alone = stands_alone(found.xy_m, found.xy_m, limits.alone_m)
    for k, of_place in enumerate(_owned(found.first_line, found.lines)):
        if is_alone[k]:
            names = _joined([lines.names[line] for line in of_place], _MOST_LINE_NAMES)
            x_m, y_m = found.xy_m[k].tolist()
            yield _Place(f"crossing of {names}", x_m, y_m, _sources(lines, of_place))


def _repeats(points: NDArray[Any], within_m: float) -> NDArray[np.bool_]:
    """Which points lie close to one before them that is kept: the same thing in another file."""
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=within_m)
    is_repeat = np.zeros(len(points), dtype=np.bool_)
    for late, early in sorted(zip(one.tolist(), other.tolist(), strict=True)):
        if early < late and not is_repeat[early]:
            is_repeat[late] = True
    return is_repeat


def _pairs(points: Sequence[Reference], limits: ReferenceLimits) -> Iterator[Reference]:
    xy = shapely.get_coordinates([point.geometry for point in points])
    pairs = pairs_apart(
        xy,
        limits.pair_nearest_m,
        limits.pair_farthest_m,
        clear_within_m=limits.pair_clear_m,
        most_partners=limits.pair_partners,
    )
    for one, other in pairs.tolist():
        dx, dy = (xy[other] - xy[one]).tolist()
        yield Reference(
            f"{points[one].name} and {points[other].name}",
            ReferenceKind.PAIR,
            shapely.MultiPoint(xy[[one, other]]),
            tuple(dict.fromkeys((*points[one].sources, *points[other].sources))),
            direction_deg(dx, dy),
            float(np.hypot(dx, dy)),
        )


def _fields(
    layers: Layers, ground: Ground, region: BaseGeometry, limits: ReferenceLimits
) -> Iterator[Reference]:
    rows = [(row, layer) for layer in layers.fields for row in layer.rows]
    found = rectangles_among(
        to_local([row.geometry for row, _ in rows], ground),
        limits.shortest_side_m,
        limits.longest_side_m,
        least_fill_share=limits.least_fill_share,
    )
    chosen = [rows[k] for k in found.shape.tolist()]
    names = [row.name for row, _ in chosen]
    return _rectangles(found, names, [layer.record.paths for _, layer in chosen], region)


def _blocks(
    network: LineNetwork, lines: Lines, region: BaseGeometry, limits: ReferenceLimits
) -> Iterator[Reference]:
    found = rectangular_blocks(
        network,
        limits.shortest_side_m,
        limits.longest_side_m,
        least_fill_share=limits.least_fill_share,
    )
    owned = list(_owned(found.first_line, found.lines))
    names = [
        f"block between {_joined([lines.names[line] for line in of_block], _MOST_BLOCK_NAMES)}"
        for of_block in owned
    ]
    return _rectangles(found, names, [_sources(lines, of_block) for of_block in owned], region)


def _rectangles(
    found: Rectangles,
    names: Sequence[str],
    sources: Sequence[tuple[str, ...]],
    region: BaseGeometry,
) -> Iterator[Reference]:
    """Those that lie wholly within the region, from west to east."""
    polygons: Any = shapely.polygons(found.corners_xy_m)
    inside = np.flatnonzero(shapely.covers(region, polygons))
    corner: Float64Array = found.corners_xy_m[inside, 0]
    for k in inside[np.lexsort((corner[:, 1], corner[:, 0]))].tolist():
        yield Reference(
            names[k],
            ReferenceKind.RECTANGLE,
            polygons[k],
            sources[k],
            float(found.direction_deg_grid[k]),
            float(found.length_m[k]),
            width_m=float(found.width_m[k]),
        )


def _owned(first: NDArray[np.int64], lines: NDArray[np.int64]) -> Iterator[list[int]]:
    """Lines of each thing."""
    for one in np.split(lines, first[1:-1]) if first.size > 1 else ():
        yield one.tolist()


def _sources(lines: Lines, of_thing: Iterable[int]) -> tuple[str, ...]:
    return tuple(sorted({path for line in of_thing for path in lines.sources[line]}))


def _joined(names: Iterable[str], most: int) -> str:
    """Different names, in their order: "A", "A and B", "A, B and C", or "A, B, C and others"."""
    different = list(dict.fromkeys(names))
    if len(different) > most:
        return f"{', '.join(different[:most])} and others"
    return " and ".join(filter(None, (", ".join(different[:-1]), different[-1])))
