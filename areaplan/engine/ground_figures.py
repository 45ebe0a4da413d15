"""Ground-reference figures in wind: a point, a line, a rectangle, two pylons.

Each is entered as the handbook asks and flown as drawn over the ground (`ground_legs.fly_legs`,
whose assumptions hold): half circles, circles and straights with the crab that the wind asks for.
How steep it gets is read from the track that comes back; `least_radius_m` keeps it below a bank.
Places are relative to the reference. Directions are degrees true.

References
----------
FAA-H-8083-3C, *Airplane Flying Handbook*, ch. 7; FAA-H-8083-3A, ch. 6.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

from areaplan.engine.constant_radius import SteadyFlight
from areaplan.engine.ground_legs import STEP_M, Leg, fly_legs, part_of_leg
from areaplan.engine.ground_track import GroundTrack, Side
from areaplan.engine.places import bearing_step

# Of twice the radius and of a leg: rounding must not refuse circles or corners that just touch.
_TOUCHING: Final = 1e-9
_DIAGONAL_DEG: Final = 45.0  # FAA-S-ACS-6, task V.B: entry "45° to the downwind leg"


class CourseEntry(StrEnum):
    """How a rectangular course is joined."""

    DOWNWIND = "downwind"
    DIAGONAL = "diagonal"


def turns_around_point(
    flight: SteadyFlight, radius_m: float, side: Side, turns: float = 2.0, step_m: float = STEP_M
) -> GroundTrack:
    """Circles of constant radius round a point, entered abeam it and flying downwind.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind.
    radius_m : float
        Ground radius, metres, above 0.
    side : Side
        On which side the point is held, and to which side the aircraft turns.
    turns : float
        How many circles, above 0; the handbook asks for two or more.
    step_m : float
        Greatest distance between samples, metres.

    Raises
    ------
    ValueError
        A radius, number of turns or step that is not above 0.
    """
    track_deg = flight.downwind_deg_true
    start = -radius_m * bearing_step(track_deg + 90.0 * side.sign)
    legs = [Leg.arc(radius_m, 360.0 * turns * side.sign)]
    return fly_legs(flight, complex(start), track_deg, legs, step_m)


def s_turns(
    flight: SteadyFlight,
    line_deg_true: float,
    radius_m: float,
    side: Side,
    half_circles: int = 4,
    step_m: float = STEP_M,
) -> GroundTrack:
    """Half circles to alternate sides of a line, entered square to it with the wind behind.

    The centres lie on the line, so each half circle takes twice the radius of it, and the middle
    of what is taken is the reference.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind; the handbook asks for a line at 90 degrees to the wind.
    line_deg_true : float
        Either direction of the line.
    radius_m : float
        Ground radius, metres, above 0.
    side : Side
        Of the first half circle, and so which way along the line the figure goes.
    half_circles : int
        At least 1.
    step_m : float
        Greatest distance between samples, metres.

    Raises
    ------
    ValueError
        No half circle, or a radius or step that is not above 0.
    """
    entry_deg = line_deg_true + 90.0
    if flight.tail_wind_mps(entry_deg) < 0.0:
        entry_deg -= 180.0
    along_deg = entry_deg + 90.0 * side.sign
    legs = [Leg.arc(radius_m, 180.0 * side.sign * (-1.0) ** i) for i in range(half_circles)]
    start = -half_circles * radius_m * bearing_step(along_deg)
    return fly_legs(flight, complex(start), entry_deg, legs, step_m)


def rectangular_course(
    flight: SteadyFlight,
    long_side_deg_true: float,
    length_m: float,
    width_m: float,
    outside_m: float,
    corner_radius_m: float,
    side: Side,
    *,
    circuits: int = 1,
    entry: CourseEntry = CourseEntry.DOWNWIND,
    entry_run_m: float = 500.0,
    step_m: float = STEP_M,
) -> GroundTrack:
    """Course at one distance from all sides of a rectangle, with round corners.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind; the handbook asks for two sides along the wind.
    long_side_deg_true : float
        Either direction of the side that is `length_m` long.
    length_m, width_m : float
        Of the rectangle, metres, above 0.
    outside_m : float
        Distance of the course outside the rectangle's sides, metres; negative inside them.
    corner_radius_m : float
        Ground radius of the corners, metres, above 0. As large as `outside_m`, the turn begins
        abeam the field's corner and ends abeam it.
    side : Side
        Where the rectangle lies, and to which side all corners turn.
    circuits : int
        At least 1.
    entry : CourseEntry
        At the beginning of the leg with the greatest tail wind, on it; or at 45 degrees from
        outside on to the middle of that leg, through a turn of the corner radius.
    entry_run_m : float
        Straight before that turn, metres, above 0.
    step_m : float
        Greatest distance between samples, metres.

    Raises
    ------
    ValueError
        Corners that do not fit on the course, no circuit, or a length, radius or step not above 0.
    """
    sides_m = [length_m + 2.0 * outside_m, width_m + 2.0 * outside_m]
    straights_m = [side_m - 2.0 * corner_radius_m for side_m in sides_m]
    if not (min(straights_m) > -_TOUCHING * min(sides_m) and circuits >= 1):
        raise ValueError(
            f"{circuits} circuits with sides of {sides_m[0]:g} m and {sides_m[1]:g} m and corners "
            f"of {corner_radius_m:g} m; expected a circuit, and sides of two corners or more"
        )
    tracks_deg = [long_side_deg_true + 90.0 * i for i in range(4)]
    downwind = max(range(4), key=lambda i: float(flight.tail_wind_mps(tracks_deg[i])))
    track_deg = tracks_deg[downwind]
    on_m, next_m = straights_m[downwind % 2], straights_m[1 - downwind % 2]
    middle = -0.5 * sides_m[1 - downwind % 2] * bearing_step(track_deg + 90.0 * side.sign)
    corner = Leg.arc(corner_radius_m, 90.0 * side.sign)
    round_again = [corner, *_straight(next_m), corner, *_straight(on_m), corner]
    round_again += [*_straight(next_m), corner]
    if entry is CourseEntry.DOWNWIND:
        start = middle - 0.5 * on_m * bearing_step(track_deg)
        legs = (_straight(on_m) + round_again) * circuits
        return fly_legs(flight, complex(start), track_deg, legs, step_m)
    joining = Leg.arc(corner_radius_m, -_DIAGONAL_DEG * side.sign)
    entry_deg = track_deg - joining.angle_deg
    way_in = part_of_leg(entry_deg, entry_run_m, 0.0)
    way_in = way_in + part_of_leg(entry_deg, joining.length_m, joining.angle_deg)
    halves = [_straight(0.5 * on_m), _straight(0.5 * on_m)]
    legs = (halves[0] + round_again + halves[1]) * circuits
    legs = [Leg(entry_run_m), joining, *legs]
    return fly_legs(flight, complex(middle - way_in), entry_deg, legs, step_m)


def eights_along_road(
    flight: SteadyFlight,
    line_deg_true: float,
    radius_m: float,
    side: Side,
    eights: int = 1,
    step_m: float = STEP_M,
) -> GroundTrack:
    """Two full circles that touch over a line, one on each side of it, flown as an eight.

    Entered over the line and along it. Where the wind blows more across the line than along it,
    the way along it is the one from which `side` is the downwind side, so that the first turn goes
    downwind; otherwise the way along it is with the wind.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind; the handbook asks for a road across the wind or along it.
    line_deg_true : float
        Either direction of the line.
    radius_m : float
        Ground radius, metres, above 0.
    side : Side
        Of the first circle.
    eights : int
        At least 1.
    step_m : float
        Greatest distance between samples, metres.

    Raises
    ------
    ValueError
        No eight, or a radius or step that is not above 0.
    """
    along_mps = float(flight.tail_wind_mps(line_deg_true))
    aside_mps = float(flight.tail_wind_mps(line_deg_true + 90.0 * side.sign))
    is_across = abs(aside_mps) > abs(along_mps)
    is_other_way = (aside_mps if is_across else along_mps) < 0.0
    entry_deg = line_deg_true + 180.0 * is_other_way
    circles = [Leg.arc(radius_m, 360.0 * side.sign), Leg.arc(radius_m, -360.0 * side.sign)]
    return fly_legs(flight, 0j, entry_deg, circles * eights, step_m)


def eights_around_pylons(
    flight: SteadyFlight,
    pair_deg_true: float,
    separation_m: float,
    radius_m: float,
    side: Side,
    eights: int = 1,
    step_m: float = STEP_M,
) -> GroundTrack:
    """Circles of one radius round two pylons in turn, joined by straights that touch both.

    Entered in the middle between the pylons, on the straight that leads to the first pylon with
    the wind behind.

    Parameters
    ----------
    flight : SteadyFlight
        Airspeed and wind; the handbook asks for pylons across the wind.
    pair_deg_true : float
        Either direction of the line through both pylons.
    separation_m : float
        Between the pylons, metres, at least twice the radius.
    radius_m : float
        Ground radius, metres, above 0.
    side : Side
        Of the first turn.
    eights : int
        At least 1.
    step_m : float
        Greatest distance between samples, metres.

    Raises
    ------
    ValueError
        Pylons closer than twice the radius, no eight, or a radius or step not above 0.
    """
    share = 2.0 * radius_m / separation_m if separation_m > 0.0 else math.inf
    if not share <= 1.0 + _TOUCHING:
        raise ValueError(
            f"pylons {separation_m:g} m apart with circles of {radius_m:g} m; expected twice the "
            "radius or more between the pylons"
        )
    # With the wind square to the pair on the right of it, a crossing track lies this far right.
    slant_deg = math.degrees(math.asin(min(share, 1.0)))
    crossing = _straight(0.5 * math.sqrt(max(separation_m**2 - 4.0 * radius_m**2, 0.0)))
    towards_deg = towards_first_pylon_deg(flight, pair_deg_true, side)
    turn = Leg.arc(radius_m, (180.0 + 2.0 * slant_deg) * side.sign)
    back = Leg.arc(radius_m, -turn.angle_deg)
    legs = [*crossing, turn, *crossing, *crossing, back, *crossing]
    entry_deg = towards_deg - slant_deg * side.sign
    return fly_legs(flight, 0j, entry_deg, legs * eights, step_m)


def towards_first_pylon_deg(flight: SteadyFlight, pair_deg_true: float, side: Side) -> float:
    """Direction from the second pylon to the first, such that the crossings lead downwind.

    Turning right round the first pylon, the aircraft comes to it leaning to the left of this
    direction, so the wind must blow to the left of it; turning left, to the right.
    """
    aside_mps = float(flight.tail_wind_mps(pair_deg_true - 90.0 * side.sign))
    return pair_deg_true + 180.0 * (aside_mps < 0.0)


def _straight(length_m: float) -> list[Leg]:
    return [Leg(length_m)] if length_m > _TOUCHING else []
