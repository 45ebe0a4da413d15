"""The `[[gate]]` and `[[route]]` tables of a project file."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

from areaplan.fault_words import describe, nearest_fix
from areaplan.planning._altitude_keys import whole_feet_amsl
from areaplan.planning.gates import Gate, LonLat, Route, Use
from areaplan.toml_tables import Table

_MOST_POINTS: Final = 100
_POINTS: Final = f"a list of 2 to {_MOST_POINTS} points, each [LAT, LON] or the name of a gate"
_POINTS_EXAMPLE: Final = '[[10.1234, 20.5678], "Mill bridge"]'
_Point = tuple[LonLat, str]


def read_gates_and_routes(whole: Table) -> tuple[tuple[Gate, ...], tuple[Route, ...]]:
    """Every `[[gate]]` and `[[route]]` table, a route's gates taken by their names."""
    tables = whole.tables("gate")
    gates = _gates(tables)
    # A gate that is faulty itself is no second fault where a route names it.
    names = [table.values.get("name") for table in tables]
    places: dict[str, Gate | None] = {name: None for name in names if isinstance(name, str)}
    places |= {gate.name: gate for gate in gates}
    return gates, _routes(whole.tables("route"), places)


def _gates(tables: Sequence[Table]) -> tuple[Gate, ...]:
    gates: list[Gate] = []
    for table in tables:
        name = _name(table, "the name of the gate", "Mill bridge", gates)
        lat = table.number("lat", -90.0, 90.0, "degrees north on WGS 84", "10.1234")
        lon = table.number("lon", -180.0, 180.0, "degrees east on WGS 84", "20.5678")
        altitude_ft = _altitude(table)
        use = _use(table)
        landmark = table.text("landmark", "what is seen from the air", "stone bridge", default="")
        table.refuse_unknown("a gate")
        if altitude_ft is not None and math.isfinite(lat) and math.isfinite(lon):
            gates.append(Gate(name, lat, lon, altitude_ft, use, landmark))
    return tuple(gates)


def _routes(tables: Sequence[Table], places: Mapping[str, Gate | None]) -> tuple[Route, ...]:
    routes: list[Route] = []
    for table in tables:
        name = _name(table, "the name of the route", "North route", routes)
        points = _points(table, places)
        altitude_ft = _altitude(table)
        use = _use(table)
        remarks = table.prose("remarks", default="")
        table.refuse_unknown("a route")
        if altitude_ft is not None and points:
            at = tuple(place for place, _ in points)
            at_gates = tuple(gate for _, gate in points)
            routes.append(Route(name, at, at_gates, altitude_ft, use, remarks))
    return tuple(routes)


def _name(table: Table, expected: str, example: str, others: Sequence[Gate | Route]) -> str:
    name = table.text("name", expected, example)
    if name and name in {other.name for other in others}:
        table.note("name", f"{name!r}, used already", "each name once", "give it another name")
    return name


def _altitude(table: Table) -> int | None:
    text = table.text("altitude", 'an altitude such as "2500 ft AMSL"', "2500 ft AMSL")
    return whole_feet_amsl(table, "altitude", text) if text else None


def _use(table: Table) -> Use:
    return table.choice("use", Use, default=Use.BOTH) or Use.BOTH


def _points(table: Table, gates: Mapping[str, Gate | None]) -> tuple[_Point, ...]:
    value = table.get("points", _POINTS, _POINTS_EXAMPLE)
    if value is None:
        return ()
    if not isinstance(value, list) or not 2 <= len(value) <= _MOST_POINTS:
        found = f"{len(value)} points" if isinstance(value, list) else describe(value)
        table.note("points", found, _POINTS, f"write points = {_POINTS_EXAMPLE}")
        return ()
    read = [_point(table, number, item, gates) for number, item in enumerate(value, 1)]
    points = tuple(point for point in read if point is not None)
    for number, (one, other) in enumerate(pairwise(points), 2):
        if one[0] == other[0] and len(points) == len(value):
            key, found = f"points[{number}]", "the same place as the point before"
            table.note(key, found, "points that differ", "delete one of them")
            return ()
    return points if len(points) == len(value) else ()


def _point(
    table: Table, number: int, value: object, gates: Mapping[str, Gate | None]
) -> _Point | None:
    key = f"points[{number}]"
    if isinstance(value, str):
        if value not in gates:
            fix = nearest_fix(value, gates) if gates else "declare it in a [[gate]] table"
            table.note(key, repr(value), "the name of a gate, or [LAT, LON]", fix)
            return None
        gate = gates[value]
        return None if gate is None else ((gate.lon, gate.lat), gate.name)
    is_pair = isinstance(value, list) and len(value) == 2 and all(map(_is_number, value))
    if isinstance(value, list) and is_pair:
        lat, lon = float(value[0]), float(value[1])
        if abs(lat) <= 90.0 and abs(lon) <= 180.0:
            return (lon, lat), ""
    expected = "[LAT, LON] in degrees on WGS 84, or the name of a gate"
    table.note(key, describe(value), expected, "write it as [10.1234, 20.5678]")
    return None


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
