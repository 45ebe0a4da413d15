"""The facts of a briefing that are said first."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from attrs import frozen

from areaplan.grid import Int16Array
from areaplan.planning.briefing_closed import Closure, closures
from areaplan.planning.briefing_places import Corner, Neighbour, Place, Standing
from areaplan.planning.briefing_spots import Side, Spotter
from areaplan.planning.limits_by_wind import WindLimits
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, Plan, Shares, Verdict
from areaplan.rules.asking import Severity
from areaplan.rules.model import Entry


@frozen
class Everywhere:
    """The lowest altitude that is enough over the whole area.

    Attributes
    ----------
    amsl_ft : int or None
        None where no altitude is enough somewhere, or it is not known somewhere.
    is_unknown : bool
        It is not known somewhere.
    """

    amsl_ft: int | None
    is_unknown: bool


@frozen
class AltitudeInShort:
    """A planned altitude: the shares of the area, and what closes the rest."""

    shares: Shares
    closures: tuple[Closure, ...]


@frozen
class LeastWind:
    """The direction from which the least wind is the limit.

    Attributes
    ----------
    altitude_amsl_ft : int
    limit_kt : int or None
        The strongest wind from any tested direction in which every point keeps a field; None where
        not even calm does.
    directions : tuple of int
        Which of the 16 have that limit, from north clockwise.
    highest_kt : int
        The strongest wind tested.
    is_unknown : bool
        Some of them fail only because something isn't known.
    """

    altitude_amsl_ft: int
    limit_kt: int | None
    directions: tuple[int, ...]
    highest_kt: int
    is_unknown: bool


@frozen(eq=False)
class InShort:
    """What is said first.

    Attributes
    ----------
    middle : Place
        The middle of the area (the centroid of the drawn polygon).
    nearest_m : float or None
        Distance of the area from the aerodrome, 0 where that lies in it; None without one.
    outermost : tuple of (Side, Corner)
        The corners farthest to the north-west, north-east, south-east and south-west.
    altitudes : tuple of AltitudeInShort
        The planned ones, ascending.
    legal_everywhere, field_everywhere : Everywhere
        Above every rule on heights and distances (airspace apart); and with a field within gliding
        distance, whatever the heading.
    highest : Standing or None
        The highest obstacle in the area, one of unknown top before all others; None where the list
        has none there.
    highest_near : Standing or None
        The highest that is listed outside it, where it is higher, or its top unknown.
    crossing : tuple of str
        Names of the wires that cross the area, each once.
    airspace : tuple of Neighbour
        Volumes that are closed, or ask for a call, within the lateral margin of the area.
    is_air_open : bool
        The stated wind and weather are within every limit of law and policy that asks.
    wind : LeastWind or None
        None where the limits are not worked out.
    """

    middle: Place
    nearest_m: float | None
    outermost: tuple[tuple[Side, Corner], ...]
    altitudes: tuple[AltitudeInShort, ...]
    legal_everywhere: Everywhere
    field_everywhere: Everywhere
    highest: Standing | None
    highest_near: Standing | None
    crossing: tuple[str, ...]
    airspace: tuple[Neighbour, ...]
    is_air_open: bool
    wind: LeastWind | None


def in_short(
    plan: Plan,
    spotter: Spotter,
    neighbours: Sequence[Neighbour],
    obstacles: Sequence[Standing],
    wires: Sequence[Standing],
    limits: WindLimits | None,
) -> InShort:
    """Choose what is said first.

    Parameters
    ----------
    plan : Plan
    spotter : Spotter
    neighbours : sequence of Neighbour
    obstacles, wires : sequence of Standing
        As listed, the highest first.
    limits : WindLimits or None
    """
    cells, survey = plan.cells, spotter.survey
    centre = survey.area.centroid
    lon, lat = survey.frame.to_lonlat(centre.x, centre.y)
    inside = [one for one in obstacles if one.place.gap_m == 0.0]
    outside = [one for one in obstacles if one.place.gap_m > 0.0]
    highest = inside[0] if inside else None
    return InShort(
        middle=survey.place(float(lat), float(lon)),
        nearest_m=survey.from_aerodrome_m(),
        outermost=spotter.outermost(),
        altitudes=tuple(
            AltitudeInShort(row, closures(plan, row.altitude_amsl_ft, spotter))
            for row in plan.planned
        ),
        legal_everywhere=_everywhere(cells.legal_floor_amsl_ft[cells.is_in_area]),
        field_everywhere=_everywhere(cells.glide_required_amsl_ft[cells.is_in_area]),
        highest=highest,
        highest_near=outside[0] if outside and _is_higher(outside[0], highest) else None,
        crossing=tuple(dict.fromkeys(one.name for one in wires if one.place.gap_m == 0.0)),
        airspace=tuple(
            one
            for one in neighbours
            if one.gap_m <= plan.project.margins.airspace_lateral_m
            and (one.volume.is_blocking or one.volume.entry != Entry.OPEN)
        ),
        is_air_open=not any(
            row.verdict is not Verdict.MET
            and row.lat is None
            and row.limit.severity is not Severity.ADVISORY
            for row in plan.findings
        ),
        wind=None if limits is None else _least_wind(limits),
    )


def _everywhere(needed_ft: Int16Array) -> Everywhere:
    if (needed_ft == UNKNOWN_FT).any():
        return Everywhere(None, is_unknown=True)
    highest = int(np.max(needed_ft))
    return Everywhere(None if highest == UNREACHABLE_FT else highest, is_unknown=False)


def _is_higher(one: Standing, other: Standing | None) -> bool:
    if other is None or one.top_amsl_ft is None:
        return True
    return other.top_amsl_ft is not None and one.top_amsl_ft > other.top_amsl_ft


def _least_wind(limits: WindLimits) -> LeastWind:
    rows = limits.directions
    least = min((-1 if row.limit_kt is None else row.limit_kt) for row in rows)
    limit_kt = None if least < 0 else least
    chosen = tuple(number for number, row in enumerate(rows) if row.limit_kt == limit_kt)
    return LeastWind(
        limits.altitude_amsl_ft,
        limit_kt,
        chosen,
        limits.highest_kt,
        any(rows[number].is_unknown for number in chosen),
    )
