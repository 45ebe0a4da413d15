"""Where example calls are made from, and the altitude that is usable there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import frozen

from areaplan.planning.briefing_fields import Serving
from areaplan.planning.briefing_places import Corner, Place
from areaplan.planning.gates import Use
from areaplan.planning.manoeuvres import ManoeuvreAnswer
from areaplan.planning.plan import Plan, Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.route_answers import InAndOut
from areaplan.rules.flying import Manoeuvre
from areaplan.units import feet_down, feet_up


@frozen
class CallPlace:
    """A place that a call names.

    Attributes
    ----------
    gate : str
        Its name; "" where the place is a corner of the area.
    landmark : str
        "" where none is given.
    altitude_amsl_ft : int or None
        A gate's own, where it is legal there with a field within gliding distance whatever the
        heading; at a corner the highest planned altitude for which that holds. None where that is
        not so of any.
    """

    gate: str
    landmark: str
    altitude_amsl_ft: int | None


@frozen
class Calls:
    """What the example calls are made of.

    Attributes
    ----------
    entering, leaving : tuple of CallPlace
        Every gate of that use; without one, the corner that is nearest to the aerodrome (or the
        first) among those with a landmark and a usable altitude. Empty where there is none.
    work : str
        Title of a manoeuvre that fits at `working`; "" where none does.
    working : CallPlace or None
        A corner with a landmark, and the entry altitude of that manoeuvre.
    forced : CallPlace or None
        The field that serves most of the area, by its name as `landmark`, and the highest planned
        altitude that is usable over it.
    """

    entering: tuple[CallPlace, ...]
    leaving: tuple[CallPlace, ...]
    work: str
    working: CallPlace | None
    forced: CallPlace | None


def find_calls(
    plan: Plan,
    corners: Sequence[Corner],
    ways: InAndOut | None,
    manoeuvres: Sequence[ManoeuvreAnswer],
    tables: Mapping[str, Sequence[Manoeuvre]],
    serving: Serving,
) -> Calls:
    """Choose the places of the example calls.

    Parameters
    ----------
    plan : Plan
    corners : sequence of Corner
    ways : InAndOut or None
        Gates as judged.
    manoeuvres : sequence of ManoeuvreAnswer
    tables : mapping of str to sequence of Manoeuvre
        The tables in force that speak of each, by identifier.
    serving : Serving
    """
    marked = sorted((one for one in corners if one.landmark), key=_from_home)
    corner = _corner_call(plan, marked)
    work, working = _working(plan, marked, manoeuvres, tables)
    forced = None
    if serving.rows:
        row = serving.rows[0]
        name = row.measured.field.name
        forced = CallPlace("", name, _usable_ft(plan, row.place))
    return Calls(
        entering=_gates(ways, Use.IN) or corner,
        leaving=_gates(ways, Use.OUT) or corner,
        work=work,
        working=working,
        forced=forced,
    )


def _from_home(corner: Corner) -> tuple[float, int]:
    distance_m = corner.place.distance_m
    return 0.0 if distance_m is None else distance_m, corner.number


def _gates(ways: InAndOut | None, use: Use) -> tuple[CallPlace, ...]:
    return tuple(
        CallPlace(
            one.gate.name,
            one.gate.landmark,
            one.gate.altitude_amsl_ft if one.verdict is Verdict.MET else None,
        )
        for one in (ways.gates if ways else ())
        if one.gate.use in (use, Use.BOTH)
    )


def _corner_call(plan: Plan, marked: Sequence[Corner]) -> tuple[CallPlace, ...]:
    found = [CallPlace("", one.landmark, _usable_ft(plan, one.place)) for one in marked]
    usable = [one for one in found if one.altitude_amsl_ft is not None]
    return tuple((usable or found)[:1])


def _usable_ft(plan: Plan, place: Place) -> int | None:
    """The highest planned altitude that is legal there with a field, whatever the heading."""
    fits = [
        row.altitude_amsl_ft
        for row in plan.planned
        if answer_point(plan, place.lat, place.lon, row.altitude_amsl_ft).verdict is Verdict.MET
    ]
    return max(fits, default=None)


def _working(
    plan: Plan,
    marked: Sequence[Corner],
    manoeuvres: Sequence[ManoeuvreAnswer],
    tables: Mapping[str, Sequence[Manoeuvre]],
) -> tuple[str, CallPlace | None]:
    """The first manoeuvre that fits at some landmark at the entry told for it."""
    for row in manoeuvres:
        entry_ft = row.entry_amsl_ft
        for corner in marked:
            if entry_ft is not None and _fits(plan, corner.place, entry_ft, row, tables[row.id]):
                return row.title, CallPlace("", corner.landmark, entry_ft)
    if not marked:
        return "", None
    return "", CallPlace("", marked[0].landmark, _usable_ft(plan, marked[0].place))


def _fits(
    plan: Plan,
    place: Place,
    entry_ft: int,
    row: ManoeuvreAnswer,
    tables: Sequence[Manoeuvre],
) -> bool:
    """One open band holds its lowest and its highest point, with a field, as high as is asked.

    A manoeuvre that asks for a height above what stands nearby is left out: no cell tells that.
    """
    low, high = entry_ft - row.height_used_ft, entry_ft + row.height_gained_ft
    answer = answer_point(plan, place.lat, place.lon, low)
    if answer.verdict is not Verdict.MET or answer.terrain_amsl_ft is None:
        return False
    ground_ft = answer.terrain_amsl_ft
    for one in tables:
        if one.above_highest_m is not None:
            return False
        if one.completion_agl_m is not None and low < ground_ft + feet_up(one.completion_agl_m):
            return False
        if one.top_agl_m is not None and high > ground_ft + feet_down(one.top_agl_m):
            return False
    return any(
        band.floor_amsl_ft <= low and (band.ceiling_amsl_ft is None or high <= band.ceiling_amsl_ft)
        for band in answer.bands or ()
    )
