"""One ground reference, and what is asked of all of them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from typing import Final

from attrs import evolve, frozen
from shapely.geometry.base import BaseGeometry

from areaplan.engine.rectangles import LEAST_FILL_SHARE
from areaplan.engine.straight_runs import GREATEST_BEND_DEG, TOLERANCE_M
from areaplan.sources.layers import ReferenceKind

# All our choices, to be replaced by what a manoeuvre needs; only the side of a rectangle has a
# source: "sides approximately a mile in length" (FAA AC 61-21, Flight Training Handbook), taken
# with half as much again.
LEAST_LINE_M: Final = 1200.0
ONE_CROSSING_M: Final = 40.0
ALONE_M: Final = 250.0
LARGEST_POINT_M: Final = 60.0
SHORTEST_SIDE_M: Final = 350.0
LONGEST_SIDE_M: Final = 2400.0
PAIR_NEAREST_M: Final = 450.0
PAIR_FARTHEST_M: Final = 1800.0
PAIR_CLEAR_M: Final = 100.0
PAIR_PARTNERS: Final = 8


@frozen
class ReferenceLimits:
    """What makes a reference good enough; lengths in metres.

    Attributes
    ----------
    least_line_m : float
        Shortest straight line.
    off_straight_m : float
        Farthest that a line may stray from its straight.
    greatest_bend_deg : float
        See `areaplan.engine.straight_runs.straight_runs`.
    one_crossing_m : float
        Places where lines meet, and points of all kinds, no farther apart are one point.
    alone_m : float
        A point has no other of its kind within this distance.
    largest_point_m : float
        Largest extent of a building, east-west or north-south, that counts as a point.
    shortest_side_m, longest_side_m : float
        Range of the sides of a rectangle.
    least_fill_share : float
        Share of the smallest rectangle round it that a field or block fills at least.
    pair_nearest_m, pair_farthest_m : float
        Range of the distance between two points of a pair.
    pair_clear_m : float or None
        No third point lies within this distance of the straight between them; None: it may.
    pair_partners : int
        A pair counts if one of its points is among so many nearest partners of the other.
    """

    least_line_m: float = LEAST_LINE_M
    off_straight_m: float = TOLERANCE_M
    greatest_bend_deg: float = GREATEST_BEND_DEG
    one_crossing_m: float = ONE_CROSSING_M
    alone_m: float = ALONE_M
    largest_point_m: float = LARGEST_POINT_M
    shortest_side_m: float = SHORTEST_SIDE_M
    longest_side_m: float = LONGEST_SIDE_M
    least_fill_share: float = LEAST_FILL_SHARE
    pair_nearest_m: float = PAIR_NEAREST_M
    pair_farthest_m: float = PAIR_FARTHEST_M
    pair_clear_m: float | None = PAIR_CLEAR_M
    pair_partners: int = PAIR_PARTNERS


@frozen(eq=False)
class Reference:
    """Something on the ground to fly a manoeuvre by.

    Attributes
    ----------
    name : str
        From the names in the data, such as "County Road 12"; no two references share one.
    kind : ReferenceKind
    geometry : shapely geometry
        Local metres: LineString of two vertices, Point, Polygon of four corners, or MultiPoint of
        two.
    sources : tuple of str
        Paths of the files that it comes from, as the project names them.
    direction_deg_true : float or None
        Of the line, of the long side, or from one point of a pair to the other, from 0 to below
        180, from the north of the project's grid (see the contributor's guide on true and grid
        north); None for a point.
    length_m : float
        Of the line, of the long side, or between the two points; 0 for a point.
    width_m : float
        Of the short side of a rectangle; 0 for all others.
    off_straight_m : float
        Of a line, how far it strays from `geometry` at most; 0 for all others.
    is_drawn : bool
        Whether a person drew it as a reference.
    """

    name: str
    kind: ReferenceKind
    geometry: BaseGeometry
    sources: tuple[str, ...]
    direction_deg_true: float | None
    length_m: float
    width_m: float = 0.0
    off_straight_m: float = 0.0
    is_drawn: bool = False


def direction_deg(dx_m: float, dy_m: float) -> float:
    """Direction of a line without an arrow, degrees clockwise from grid north, 0 to below 180."""
    degrees = math.degrees(math.atan2(dx_m, dy_m)) % 180.0
    return 0.0 if degrees == 180.0 else degrees


def told_apart(references: Iterable[Reference]) -> tuple[Reference, ...]:
    """The same references, those of one name numbered in their order, such as "Mill Road #2"."""
    references = tuple(references)
    taken = {reference.name for reference in references}
    counts: Counter[str] = Counter()
    apart: list[Reference] = []
    for reference in references:
        name = reference.name
        counts[name] += 1
        if counts[name] > 1:
            while (numbered := f"{name} #{counts[name]}") in taken:
                counts[name] += 1
            taken.add(numbered)
            reference = evolve(reference, name=numbered)
        apart.append(reference)
    return tuple(apart)
