"""Ground-reference figures laid out by references: which way round, how wide, where along a line.

A layout is a figure at a place. Layouts of one shape (the same radius, direction and side) share
the same track: it is flown once, and moved.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, Final

import numpy as np
import shapely
from attrs import frozen

from areaplan.engine.constant_radius import SteadyFlight, least_radius_m
from areaplan.engine.ground_figures import (
    eights_along_road,
    eights_around_pylons,
    rectangular_course,
    s_turns,
    turns_around_point,
)
from areaplan.engine.ground_track import GroundTrack, Side
from areaplan.engine.pylon_eights import PylonEight, eights_on_pylons
from areaplan.planning.ground_reference import Reference
from areaplan.rules.figures_asked import Figure
from areaplan.sources.layers import ReferenceKind

SIDES: Final = (Side.LEFT, Side.RIGHT)
# Half circles below which S-turns teach nothing; common practice, no source.
FEWEST_HALF_CIRCLES: Final = 2
# Pylons farther apart than so many radii leave more straight than turn; common practice.
WIDEST_PAIR_RADII: Final = 5.0
# From one place along a line to the next one tried, in radii.
STRIDE_RADII: Final = 1.0

Fly = Callable[[float], GroundTrack]


@frozen(eq=False)
class Shape:
    """A figure of one size, direction and side, to be flown anywhere.

    Attributes
    ----------
    figure : Figure
    side : Side
        Of the first turn.
    radius_m : float or None
        Ground radius of its turns; None where the figure has no single one.
    direction_deg_true : float or None
        Of its line, long side or pair.
    fly : callable
        Gives the track for a greatest distance between samples, metres.
    entry_above_m : float or None
        Entry above the reference's ground, where the figure itself says how high; None otherwise.
    along_m : float
        Length of line that it takes, metres.
    """

    figure: Figure
    side: Side
    radius_m: float | None
    direction_deg_true: float | None
    fly: Fly
    entry_above_m: float | None = None
    along_m: float = 0.0


@frozen(eq=False)
class Layout:
    """A shape at a place: local metres of the point that its track is relative to."""

    shape: Shape
    reference: Reference
    x_m: float
    y_m: float
    off_wind_deg: float


def shortest_line_m(figures: Sequence[Figure], flight: SteadyFlight) -> float:
    """Shortest straight line that any of some figures can use, metres."""
    needs = [_line_needed_m(one, _radius_m(one, flight)) for one in figures if _by_line(one)]
    return min(needs, default=math.inf)


def pair_range_m(figures: Sequence[Figure], flight: SteadyFlight) -> tuple[float, float]:
    """Least and greatest distance of pylons that any of some figures can use, metres."""
    radius_m = max((_radius_m(one, flight) for one in figures), default=0.0)
    least_m = min((_radius_m(one, flight) for one in figures), default=0.0)
    return least_m, WIDEST_PAIR_RADII * radius_m


def lay_out(
    figure: Figure, references: Sequence[Reference], flight: SteadyFlight
) -> Iterator[Layout]:
    """All layouts of a figure that the wind allows, by whatever references suit it.

    Parameters
    ----------
    figure : Figure
    references : sequence of Reference
        Those of other kinds than the figure's are passed over.
    flight : SteadyFlight
        The highest true airspeed, and the wind.
    """
    shapes: dict[tuple[object, ...], Sequence[Shape]] = {}
    for reference in references:
        if reference.kind is not figure.reference:
            continue
        direction = reference.direction_deg_true
        off = figure.wind.off_deg(direction or 0.0, flight.wind.from_deg_true)
        if figure.reference is ReferenceKind.RECTANGLE:
            off = min(
                off, figure.wind.off_deg((direction or 0.0) + 90.0, flight.wind.from_deg_true)
            )
        if off > figure.off_wind_deg and flight.wind.speed_mps > 0.0:
            continue
        key = _shape_key(figure, reference, flight)
        if key not in shapes:
            shapes[key] = _shapes(figure, reference, flight)
        for shape in shapes[key]:
            for x_m, y_m in _places(shape, reference):
                yield Layout(shape, reference, x_m, y_m, off if flight.wind.speed_mps else 0.0)


def _by_line(figure: Figure) -> bool:
    return figure.reference is ReferenceKind.LINE


def _radius_m(figure: Figure, flight: SteadyFlight) -> float:
    """Ground radius at the bank that the figure is laid out for, or at the steepest allowed."""
    bank_deg = figure.steepest_deg if figure.planned_deg is None else figure.planned_deg
    return float(least_radius_m(flight.tas_mps, flight.wind.speed_mps, bank_deg))


def _line_needed_m(figure: Figure, radius_m: float) -> float:
    """Length of line that a figure needs at least."""
    return 2.0 * radius_m * (FEWEST_HALF_CIRCLES if figure.id == "s-turns" else 1)


def _shape_key(figure: Figure, reference: Reference, flight: SteadyFlight) -> tuple[object, ...]:
    """What shapes depend on: nothing for a point, all of it for the others."""
    if figure.reference is ReferenceKind.POINT:
        return ()
    if figure.id == "s-turns":
        return reference.direction_deg_true, _half_circles(figure, reference, flight)
    if _by_line(figure):
        is_enough = reference.length_m >= _line_needed_m(figure, _radius_m(figure, flight))
        return reference.direction_deg_true, is_enough
    return reference.direction_deg_true, reference.length_m, reference.width_m


def _half_circles(figure: Figure, reference: Reference, flight: SteadyFlight) -> int:
    """As many as are asked for and fit on the line; 0 where they are too few."""
    fit = math.floor(reference.length_m / (2.0 * _radius_m(figure, flight)))
    return min(figure.count, fit) if fit >= FEWEST_HALF_CIRCLES else 0


def _shapes(figure: Figure, reference: Reference, flight: SteadyFlight) -> Sequence[Shape]:
    """The shapes that a figure can have at a reference; none where it does not fit."""
    makers = {
        "turns-around-a-point": _point_shapes,
        "s-turns": _s_turn_shapes,
        "rectangular-course": _course_shapes,
        "eights-along-a-road": _road_shapes,
        "eights-around-pylons": _around_pylon_shapes,
        "eights-on-pylons": _on_pylon_shapes,
    }
    return tuple(makers[figure.id](figure, reference, flight))


def _point_shapes(figure: Figure, _: Reference, flight: SteadyFlight) -> Iterator[Shape]:
    radius = _radius_m(figure, flight)
    for side in SIDES:
        fly = partial(turns_around_point, flight, radius, side, float(figure.count))
        yield Shape(figure, side, radius, None, fly)


def _s_turn_shapes(figure: Figure, reference: Reference, flight: SteadyFlight) -> Iterator[Shape]:
    radius, direction = _radius_m(figure, flight), _direction(reference)
    count = _half_circles(figure, reference, flight)
    if not count:
        return
    for side in SIDES:
        fly = partial(s_turns, flight, direction, radius, side, count)
        yield Shape(figure, side, radius, direction, fly, along_m=2.0 * radius * count)


def _road_shapes(figure: Figure, reference: Reference, flight: SteadyFlight) -> Iterator[Shape]:
    radius, direction = _radius_m(figure, flight), _direction(reference)
    if reference.length_m < _line_needed_m(figure, radius):
        return
    for side in SIDES:
        fly = partial(eights_along_road, flight, direction, radius, side, figure.count)
        yield Shape(figure, side, radius, direction, fly, along_m=2.0 * radius)


def _course_shapes(figure: Figure, reference: Reference, flight: SteadyFlight) -> Iterator[Shape]:
    outside = figure.distance_m or 0.0
    radius, direction = max(outside, _radius_m(figure, flight)), _direction(reference)
    sides = (reference.length_m + 2.0 * outside, reference.width_m + 2.0 * outside)
    if min(sides) < 2.0 * radius:
        return
    for side in SIDES:
        fly = partial(_course, flight, direction, reference, outside, radius, side, figure.count)
        yield Shape(figure, side, radius, direction, fly)


def _course(
    flight: SteadyFlight,
    direction_deg: float,
    reference: Reference,
    outside_m: float,
    radius_m: float,
    side: Side,
    circuits: int,
    step_m: float,
) -> GroundTrack:
    return rectangular_course(
        flight,
        direction_deg,
        reference.length_m,
        reference.width_m,
        outside_m,
        radius_m,
        side,
        circuits=circuits,
        step_m=step_m,
    )


def _around_pylon_shapes(
    figure: Figure, reference: Reference, flight: SteadyFlight
) -> Iterator[Shape]:
    radius, direction = _radius_m(figure, flight), _direction(reference)
    apart = reference.length_m
    if not 2.0 * radius <= apart <= WIDEST_PAIR_RADII * radius:
        return
    for side in SIDES:
        fly = partial(eights_around_pylons, flight, direction, apart, radius, side, figure.count)
        yield Shape(figure, side, radius, direction, fly)


def _on_pylon_shapes(figure: Figure, reference: Reference, flight: SteadyFlight) -> Iterator[Shape]:
    direction, straight_s = _direction(reference), figure.straight_s or 0.0
    for side in SIDES:

        def eight(step_m: float, side: Side = side) -> PylonEight:
            return eights_on_pylons(
                flight, direction, reference.length_m, straight_s, side, figure.count, step_m
            )

        try:
            flown = eight(40.0)
        except ValueError:  # the straight leads past the pylon: too near each other
            return
        least, bank = figure.steepest_least_deg or 0.0, flown.track.greatest_bank_deg
        is_timed = all(
            (figure.straight_least_s or 0.0) <= seconds <= (figure.straight_most_s or math.inf)
            for seconds in flown.straights_s
        )
        if is_timed and least <= bank <= figure.steepest_deg:

            def fly(step_m: float, eight: Callable[[float], PylonEight] = eight) -> GroundTrack:
                return eight(step_m).track

            yield Shape(figure, side, None, direction, fly, flown.entry_above_pylons_m)


def _direction(reference: Reference) -> float:
    return reference.direction_deg_true or 0.0


def _places(shape: Shape, reference: Reference) -> Iterator[tuple[float, float]]:
    """Where a shape is tried: everywhere along a line, in the middle of anything else."""
    if not _by_line(shape.figure) or shape.radius_m is None:
        middle = shapely.centroid(reference.geometry)
        yield float(middle.x), float(middle.y)
        return
    needed = min(shape.along_m, reference.length_m)
    free = max(reference.length_m - needed, 0.0)
    steps = math.ceil(free / (STRIDE_RADII * shape.radius_m))
    line: Any = reference.geometry
    shares: list[float] = np.linspace(0.0, 1.0, steps + 1).tolist() if steps else [0.5]
    for share in shares:
        along_m = 0.5 * needed + share * free
        at = line.interpolate(along_m)
        yield float(at.x), float(at.y)
