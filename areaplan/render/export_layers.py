"""The layers of an export, from one plan: what every format writes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeVar

import shapely

from areaplan.planning.plan import Plan
from areaplan.render.export_fields import field_tables
from areaplan.render.export_standoffs import standoff_table
from areaplan.render.export_table import Table, Value
from areaplan.render.frames import class_frame, findings_frame
from areaplan.sources.layers import Layer, Obstacle, Road, Structure, Wire, Wood, Zone
from areaplan.units import feet_text, feet_up

_Row = TypeVar("_Row")
_STANDING = {"name": str, "kind": str, "top_agl_ft": int, "height_is_assumed": bool}
_ZONE = {"name": str, "reason": str}
_ROAD = {"name": str, "kind": str}
_AS_DECLARED = "as the project declares them; whether they are legal and safe is not in this file"


def plan_tables(
    plan: Plan, altitudes_amsl_ft: Sequence[int], *, has_standoffs: bool = False
) -> tuple[Table, ...]:
    """Every layer of a plan that has rows, from the area to the findings.

    Parameters
    ----------
    plan : Plan
    altitudes_amsl_ft : sequence of int
        Whole feet above mean sea level at which the classes are drawn.
    has_standoffs : bool
        Whether the ground that standoffs close at these altitudes is drawn too.

    Returns
    -------
    tuple of Table
        Heights in whole feet, floors and tops rounded up and ceilings down, as in the plan.
    """
    layers = plan.layers
    tables = (
        _area(plan),
        *(_classes(plan, altitude_ft) for altitude_ft in altitudes_amsl_ft),
        *(standoff_table(plan, one) for one in altitudes_amsl_ft if has_standoffs),
        *field_tables(plan),
        _airspace(plan),
        _obstacles(layers.obstacles),
        _standing("structures", "Structures", layers.structures),
        _standing("persons", "Persons, vessels, vehicles", layers.persons),
        _standing("wires", "Wires", layers.wires),
        _standing("woods", "Woods", layers.woods),
        _drawn("roads", "Roads and railways", layers.roads, _ROAD, _road),
        _drawn("airways", "Airways", layers.airways, _ROAD, _road),
        _drawn("congested", "Congested areas", layers.congested, _ZONE, _zone),
        _drawn("sparse", "Sparsely populated areas", layers.sparse, _ZONE, _zone),
        _drawn("assemblies", "Open-air assemblies", layers.assemblies, _ZONE, _zone),
        _drawn("noise", "Noise-sensitive places", layers.noise, _ZONE, _zone),
        _gates(plan),
        _routes(plan),
        _findings(plan),
    )
    return tuple(table for table in tables if table.rows)


def _area(plan: Plan) -> Table:
    block = plan.block
    columns = {
        "name": str,
        "school": str,
        "day": str,
        "verdict": str,
        "planned_altitudes_amsl_ft": str,
        "block_floor_amsl_ft": int,
        "block_ceiling_amsl_ft": int,
        "best_altitude_amsl_ft": int,
        "best_legal_and_safe_share": float,
    }
    rest: tuple[Value, ...] = (
        plan.project.school,
        plan.project.day.isoformat(),
        plan.verdict.value,
        ", ".join(map(str, plan.project.planned_altitudes_amsl_ft)),
        block.floor_amsl_ft if block else None,
        block.ceiling_amsl_ft if block else None,
        plan.best.altitude_amsl_ft,
        float(plan.best.legal_and_safe_share),
    )
    rows = plan.layers.area.rows
    return Table.of(
        "area",
        "Practice area",
        columns,
        [(row.name, *rest) for row in rows],
        [row.geometry for row in rows],
        note="block: altitudes at which the whole area is legal and safe; empty: there are none, "
        "or, for the ceiling, none in the data",
    )


def _classes(plan: Plan, altitude_amsl_ft: int) -> Table:
    frame = class_frame(plan, altitude_amsl_ft)
    columns = {"name": str, "cell_class": int, "altitude_amsl_ft": int, "share": float}
    rows = [
        (str(meaning), int(cell_class), altitude_amsl_ft, float(share))
        for meaning, cell_class, share in zip(
            frame["meaning"], frame["cell_class"], frame["share"], strict=True
        )
    ]
    return Table.of(
        f"classes_{altitude_amsl_ft}_ft_amsl",
        f"Classes at {feet_text(altitude_amsl_ft)} AMSL",
        columns,
        rows,
        frame.geometry,
        style="classes",
        note="true at this one altitude, in steps of a cell",
        styles=[f"class_{row[1]}" for row in rows],
    )


def _airspace(plan: Plan) -> Table:
    columns = {
        "name": str,
        "airspace_class": str,
        "type": str,
        "lower": str,
        "upper": str,
        "entry": str,
        "taken_as": str,
        "reason": str,
        "hours": str,
    }
    rows = [
        (
            one.name,
            one.airspace_class,
            one.type_code,
            one.lower_text,
            one.upper_text,
            one.entry,
            "closed" if one.is_blocking else "open",
            one.reason,
            one.hours,
        )
        for one in plan.volumes
    ]
    return Table.of(
        "airspace",
        "Airspace",
        columns,
        rows,
        [one.geometry for one in plan.volumes],
        note="limits as published, without the margins that the plan adds",
        styles=["airspace_closed" if one.is_blocking else "airspace_open" for one in plan.volumes],
    )


def _obstacles(layers: Iterable[Layer[Obstacle]]) -> Table:
    columns = {
        "name": str,
        "kind": str,
        "top_agl_ft": int,
        "top_amsl_ft": int,
        "horizontal_accuracy_m": float,
        "vertical_accuracy_m": float,
        "accuracy_is_known": bool,
        "is_verified": bool,
    }
    found = [row for layer in layers for row in layer.rows]
    rows = [
        (
            one.name,
            one.kind,
            _feet(one.top_agl_m),
            _feet(one.top_amsl_m),
            round(float(one.horizontal_accuracy_m), 2),
            round(float(one.vertical_accuracy_m), 2),
            one.accuracy_is_known,
            one.is_verified,
        )
        for one in found
    ]
    return Table.of(
        "obstacles",
        "Obstacles",
        columns,
        rows,
        [shapely.Point(one.lon, one.lat) for one in found],
        note="tops as published; the plan adds the accuracy to them",
    )


def _standing(
    name: str,
    title: str,
    layers: Iterable[Layer[Structure]] | Iterable[Layer[Wire]] | Iterable[Layer[Wood]],
) -> Table:
    found: list[Structure | Wire | Wood] = [row for layer in layers for row in layer.rows]
    rows = [
        (
            one.name,
            str(one.presence) if isinstance(one, Structure) else "",
            feet_up(one.top_agl_m),
            one.height_is_assumed,
        )
        for one in found
    ]
    return Table.of(name, title, _STANDING, rows, [one.geometry for one in found])


def _drawn(
    name: str,
    title: str,
    layers: Iterable[Layer[_Row]],
    columns: Mapping[str, type],
    describe: Callable[[_Row], tuple[tuple[str, str], shapely.geometry.base.BaseGeometry]],
) -> Table:
    found = [describe(row) for layer in layers for row in layer.rows]
    return Table.of(name, title, columns, [row for row, _ in found], [shape for _, shape in found])


def _road(one: Road) -> tuple[tuple[str, str], shapely.geometry.base.BaseGeometry]:
    return (one.name, one.kind), one.geometry


def _zone(one: Zone) -> tuple[tuple[str, str], shapely.geometry.base.BaseGeometry]:
    return (one.name, one.reason), one.geometry


def _gates(plan: Plan) -> Table:
    gates = plan.project.gates
    return Table.of(
        "gates",
        "Gates",
        {"name": str, "altitude_amsl_ft": int, "use": str, "landmark": str},
        [(one.name, one.altitude_amsl_ft, str(one.use), one.landmark) for one in gates],
        [shapely.Point(one.lon, one.lat) for one in gates],
        note=_AS_DECLARED,
    )


def _routes(plan: Plan) -> Table:
    routes = plan.project.routes
    return Table.of(
        "routes",
        "Routes in and out",
        {"name": str, "altitude_amsl_ft": int, "use": str, "remarks": str},
        [(one.name, one.altitude_amsl_ft, str(one.use), one.remarks) for one in routes],
        [shapely.LineString(one.points) for one in routes],
        note=_AS_DECLARED,
    )


def _findings(plan: Plan) -> Table:
    frame = findings_frame(plan)
    columns = {
        "name": str,
        "rule": str,
        "severity": str,
        "verdict": str,
        "altitude_amsl_ft": int,
        "margin_ft": int,
        "feature": str,
        "share_met": float,
        "quote": str,
        "document": str,
        "confirm": str,
    }
    # The frame leaves out what has no place; it keeps the order.
    placed = [row for row in plan.findings if row.lat is not None and row.lon is not None]
    rows = [
        (
            row.limit.title,
            row.limit.rule,
            row.limit.severity.value,
            row.verdict.value,
            int(row.altitude_amsl_ft),
            None if row.margin_ft is None else int(row.margin_ft),
            row.feature,
            float(row.share_met),
            row.limit.quote,
            row.limit.document,
            row.limit.confirm,
        )
        for row in placed
    ]
    return Table.of(
        "findings",
        "Findings, each at the place of its smallest margin",
        columns,
        rows,
        frame.geometry,
        style="findings",
        note="findings without a place, such as those on the wind, are in the verdict's text",
    )


def _feet(height_m: float | None) -> int | None:
    return None if height_m is None else feet_up(height_m)
