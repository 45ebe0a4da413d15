"""What is drawn over the cells: every layer's shapes, names and figures, ready for the page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final, TypeVar

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.planning.plan import Plan, Standoff, Volume
from areaplan.render.map_place import lonlat_box
from areaplan.render.text import feet_text
from areaplan.sources.layers import LandingField, Layer, Obstacle, Road, Structure, Wire, Wood, Zone
from areaplan.units import feet_up

# 1e-6 degrees is 0.11 m: finer than any line on a screen.
_STEPS_PER_DEGREE: Final = 1e6
# Edges are straight in longitude and latitude (RFC 7946, 3.1.1), on the screen in Mercator: cut
# to this length the two lie within 0.2 m of each other up to 60 degrees of latitude.
_EDGE_STEP_DEG: Final = 0.02
# How far outside the grid something is still drawn.
_DRAWN_BEYOND_DEG: Final = 0.02

_Row = TypeVar("_Row")
_Drawn = tuple[BaseGeometry, str, str]
_Lines = list[list[int]]


class ShapeTable:
    """Each different shape once, as whole steps of longitude and latitude.

    A shape is ``{"p": points, "l": lines, "r": rings}``, absent when empty; each is a list of
    flat lists ``[lon, lat, dlon, dlat, ...]`` in 1e-6 degrees, every pair after the first a
    difference from the one before.

    Parameters
    ----------
    frame : LocalFrame
        The plan's frame.
    grid : Grid
        The page's grid; only shapes near it are wanted.
    """

    def __init__(self, frame: LocalFrame, grid: Grid) -> None:
        self.shapes: list[dict[str, _Lines]] = []
        self._index: dict[bytes, int] = {}
        self._box = lonlat_box(frame, grid)

    def add(self, geometry: BaseGeometry) -> int:
        """Index of a longitude/latitude geometry in the table; equal geometries share one."""
        key = shapely.to_wkb(geometry)
        if key not in self._index:
            self._index[key] = len(self.shapes)
            self.shapes.append(_shape(geometry))
        return self._index[key]

    def is_near(self, geometry: BaseGeometry) -> bool:
        """Whether a geometry's bounding box comes near the grid."""
        west, south, east, north = geometry.bounds
        box, beyond = self._box, _DRAWN_BEYOND_DEG
        return bool(
            west <= box[2] + beyond
            and east >= box[0] - beyond
            and south <= box[3] + beyond
            and north >= box[1] - beyond
        )

    def rows(self, drawn: Iterable[_Drawn]) -> list[list[object]]:
        """``[shape, name, figures]`` of each thing near the grid."""
        return [
            [self.add(geometry), name, figures]
            for geometry, name, figures in drawn
            if self.is_near(geometry)
        ]


def page_shapes(plan: Plan, grid: Grid) -> dict[str, object]:
    """Everything that the page draws over a grid's cells.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    grid : Grid
        The page's grid.

    Returns
    -------
    dict
        ``shapes`` (see `ShapeTable`), ``layers`` (for each layer its rows) and ``standoffs``, as
        page/drawing.js and page/standoffs.js read them.
    """
    table = ShapeTable(plan.frame, grid)
    layers = plan.layers

    def drawn(
        found: Sequence[Layer[_Row]], describe: Callable[[_Row], _Drawn]
    ) -> list[list[object]]:
        return table.rows(describe(row) for layer in found for row in layer.rows)

    counted = {_key(one) for one in plan.fields}
    all_fields = [row for layer in layers.fields for row in layer.rows]
    return {
        "layers": {
            "area": table.rows((row.geometry, row.name, "") for row in layers.area.rows),
            "airspace_closed": table.rows(_volume(one) for one in plan.volumes if one.is_blocking),
            "airspace_open": table.rows(
                _volume(one) for one in plan.volumes if not one.is_blocking
            ),
            "fields": table.rows((row.geometry, row.name, row.surface) for row in plan.fields),
            "fields_not_counted": table.rows(
                (row.geometry, row.name, "does not count")
                for row in all_fields
                if _key(row) not in counted
            ),
            "obstacles": drawn(layers.obstacles, _obstacle),
            "structures": drawn(layers.structures, _standing),
            "persons": drawn(layers.persons, _standing),
            "wires": drawn(layers.wires, _standing),
            "woods": drawn(layers.woods, _standing),
            "roads": drawn(layers.roads, _road),
            "airways": drawn(layers.airways, _road),
            "congested": drawn(layers.congested, _zone),
            "sparse": drawn(layers.sparse, _zone),
            "assemblies": drawn(layers.assemblies, _zone),
            "noise": drawn(layers.noise, _zone),
        },
        "standoffs": [_standoff(one, table) for one in plan.standoffs],
        "shapes": table.shapes,
    }


def field_outlines(plan: Plan) -> list[dict[str, object]]:
    """Name and rings in local metres of every field, in the order of `Plan.fields`.

    Distances to a field are straight lines in these metres, so the page needs no geodesy.
    """
    outlines: list[dict[str, object]] = []
    for one in plan.fields:
        local = plan.frame.geometry_to_local(one.geometry)
        rings = [
            np.round(shapely.get_coordinates(ring), 2).ravel().tolist()
            for part in shapely.get_parts(local)
            for ring in shapely.get_rings(part)
        ]
        outlines.append({"name": one.name, "rings_m": rings})
    return outlines


def _key(one: LandingField) -> tuple[str, bytes]:
    return one.name, shapely.to_wkb(one.geometry)


def _shape(geometry: BaseGeometry) -> dict[str, _Lines]:
    found: dict[str, _Lines] = {"p": [], "l": [], "r": []}
    cut = shapely.segmentize(shapely.force_2d(geometry), _EDGE_STEP_DEG)
    for part in shapely.get_parts(cut):
        dimension = int(shapely.get_dimensions(part))
        if dimension == 2:
            found["r"] += [_steps(ring) for ring in shapely.get_rings(part)]
        else:
            found["p" if dimension == 0 else "l"].append(_steps(part))
    return {kind: lists for kind, lists in found.items() if lists}


def _steps(line: BaseGeometry) -> list[int]:
    whole = np.rint(shapely.get_coordinates(line) * _STEPS_PER_DEGREE).astype(np.int64)
    whole[1:] -= whole[:-1].copy()
    steps: list[int] = whole.ravel().tolist()
    return steps


def _volume(one: Volume) -> _Drawn:
    kind = f"class {one.airspace_class}" if one.airspace_class else one.type_code
    limits = f"{one.lower_text} to {one.upper_text}"
    words = [kind, limits, one.entry]
    return one.geometry, one.name, ", ".join(word for word in words if word)


def _obstacle(one: Obstacle) -> _Drawn:
    amsl = f"top {feet_text(feet_up(one.top_amsl_m))} AMSL" if one.top_amsl_m is not None else ""
    agl = f"{feet_text(feet_up(one.top_agl_m))} AGL" if one.top_agl_m is not None else ""
    label = amsl or agl or "height unknown"
    doubt = "not verified" if one.is_verified is False else ""
    words = (one.kind, one.name, agl if amsl else "", doubt)
    return shapely.Point(one.lon, one.lat), label, ", ".join(word for word in words if word)


def _standing(one: Structure | Wire | Wood) -> _Drawn:
    assumed = " assumed" if one.height_is_assumed else ""
    return one.geometry, one.name, f"{feet_text(feet_up(one.top_agl_m))} AGL{assumed}"


def _road(one: Road) -> _Drawn:
    return one.geometry, one.name, one.kind


def _zone(one: Zone) -> _Drawn:
    return one.geometry, one.name, one.reason


def _standoff(one: Standoff, table: ShapeTable) -> dict[str, object]:
    """Centres and radii of a rule's standoff; a top that is not a number stays null: unknown."""
    tops = (None if np.isnan(top) else round(float(top), 2) for top in one.top_amsl_m)
    rows = [
        [table.add(geometry), top, round(float(spread), 2)]
        for geometry, top, spread in zip(one.geometries, tops, one.spread_m, strict=True)
        if table.is_near(geometry)
    ]
    return {
        "title": one.limit.title,
        "severity": str(one.limit.severity),
        "profile": one.profile,
        "radius_m": one.radius_m,
        "height_m": one.height_m,
        "rows": rows,
    }
