"""Gates and routes on the map as the project declares them, and in the sheet: not judged."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.planning.gates import Gate, Route, Use
from areaplan.planning.plan import Plan
from areaplan.planning.project import Project
from areaplan.render.map_markup import said
from areaplan.render.map_shape_table import Drawn
from areaplan.render.route_text import USE_WORDS
from areaplan.units import feet_text

NOT_JUDGED: Final = "not judged on this map: areaplan routes"
# Legs are straight in local metres, where they are judged, and longer ones would bend on a page
# that draws straight lines in longitude and latitude: cut to this they part by less than 0.1 m.
_LEG_STEP_M: Final = 2000.0


def ways_drawn(plan: Plan) -> dict[str, tuple[Drawn, ...]]:
    """Rows of the page's layers of gates and of routes, none of them judged."""
    told = (("Verdict", NOT_JUDGED),)
    return {
        "gates": tuple(
            (gate_point(gate), gate.name, way_figures(gate), (*gate_told(gate), *told))
            for gate in plan.project.gates
        ),
        "routes": tuple(
            (both_ways(route, plan.frame), route.name, way_figures(route), route_told(route) + told)
            for route in plan.project.routes
        ),
    }


def ways_html(project: Project) -> str:
    """Every gate and route with all that the project says of it; "" where it declares none."""
    entries = [
        *(_entry("Gate", one, gate_told(one)) for one in project.gates),
        *(_entry("Route", one, route_told(one)) for one in project.routes),
    ]
    note = f"<p class='small'>{NOT_JUDGED[0].upper()}{NOT_JUDGED[1:]}.</p>"
    return note + "".join(entries) if entries else ""


def _entry(kind: str, one: Gate | Route, told: tuple[tuple[str, str], ...]) -> str:
    more = "".join(f"<p>{term}: {said(words)}</p>" for term, words in told)
    return (
        f'<div class="entry"><p>{kind} <strong>{said(one.name)}</strong></p>'
        f"<p>{way_figures(one)}</p>{more}</div>"
    )


def way_figures(one: Gate | Route) -> str:
    """Altitude and use, such as ``2 300 ft AMSL, in``."""
    return f"{feet_text(one.altitude_amsl_ft)} AMSL, {USE_WORDS[one.use]}"


def gate_told(gate: Gate) -> tuple[tuple[str, str], ...]:
    """What else the project says of a gate."""
    return (("Landmark", gate.landmark),) if gate.landmark else ()


def route_told(route: Route) -> tuple[tuple[str, str], ...]:
    """What else the project says of a route."""
    by = ", ".join(name for name in route.point_names if name)
    pairs = (("Gates", by), ("Remarks", route.remarks))
    return tuple((term, words) for term, words in pairs if words)


def gate_point(gate: Gate) -> shapely.Point:
    """Where a gate is, longitude/latitude."""
    return shapely.Point(gate.lon, gate.lat)


def local_line(route: Route, frame: LocalFrame, *, is_reversed: bool = False) -> LineString:
    """A route as it is flown, in local metres."""
    points = np.array(route.points[::-1] if is_reversed else route.points)
    return LineString(np.column_stack(frame.to_local(points[:, 0], points[:, 1])))


def to_lonlat(local: BaseGeometry, frame: LocalFrame) -> BaseGeometry:
    """A geometry of local metres in longitude and latitude, long edges cut first."""
    return shapely.transform(
        shapely.segmentize(local, _LEG_STEP_M),
        lambda xy: np.column_stack(frame.to_lonlat(xy[:, 0], xy[:, 1])),
    )


def both_ways(route: Route, frame: LocalFrame) -> BaseGeometry:
    """One line for each direction in which a route is flown, longitude/latitude."""
    there = local_line(route, frame)
    back = local_line(route, frame, is_reversed=True)
    flown = shapely.MultiLineString([there, back]) if route.use is Use.BOTH else there
    return to_lonlat(flown, frame)
