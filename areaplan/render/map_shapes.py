"""What is drawn over the cells: every layer's shapes, names and figures, ready for the page."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final, TypeVar

import numpy as np
import shapely

from areaplan.grid import Grid
from areaplan.planning.plan import Plan, Standoff, Volume
from areaplan.render.map_fields import field_layers
from areaplan.render.map_shape_table import Drawn, ShapeTable
from areaplan.render.map_ways import ways_drawn
from areaplan.sources.layers import Layer, Obstacle, Road, Structure, Wire, Wood, Zone
from areaplan.units import feet_text, feet_up

_Row = TypeVar("_Row")

# Layers of page/styles.js that a verb fills; gates and routes a plan fills where no verb does.
OVER_LAYERS: Final = (
    "flown",
    "flown_spells",
    "flown_times",
    "site_references",
    "site_tracks",
    "site_entries",
    "gates",
    "routes",
    "routes_met",
    "routes_no_field",
    "routes_not_legal",
    "routes_neither",
    "routes_unknown",
    "ground_risen",
    "area_before",
    "things_removed",
    "things_added",
    "things_changed",
)
# Those of which there may be one for each altitude: "ground_lost@2100" for 2,100 ft AMSL.
OVER_AT_ALTITUDE: Final = ("ground_gained", "ground_lost", "ground_unknown")


def page_shapes(
    plan: Plan, grid: Grid, over: Mapping[str, Sequence[Drawn]] | None = None
) -> dict[str, object]:
    """Everything that the page draws over a grid's cells.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    grid : Grid
        The page's grid.
    over : mapping, optional
        What else is drawn, by layer: each of `OVER_LAYERS`, or one of `OVER_AT_ALTITUDE` with "@"
        and whole feet AMSL. It is drawn however far from the grid.

    Returns
    -------
    dict
        ``shapes`` (see `ShapeTable`), ``layers`` (for each layer its rows) and ``standoffs``, as
        page/drawing.js and page/standoffs.js read them.

    Raises
    ------
    ValueError
        A layer that is none of these.
    """
    more: dict[str, Sequence[Drawn]] = {**ways_drawn(plan), **(over or {})}
    expected = re.compile(f"{'|'.join(OVER_LAYERS)}|({'|'.join(OVER_AT_ALTITUDE)})@-?[0-9]+")
    if not all(map(expected.fullmatch, more)):
        raise ValueError(f"layers {sorted(more)}; expected some of {OVER_LAYERS}")
    table = ShapeTable(plan.frame, grid)
    layers = plan.layers

    def drawn(
        found: Sequence[Layer[_Row]], describe: Callable[[_Row], Drawn]
    ) -> list[list[object]]:
        return table.rows(describe(row) for layer in found for row in layer.rows)

    return {
        "layers": {
            "area": table.rows((row.geometry, row.name, "") for row in layers.area.rows),
            "airspace_closed": table.rows(_volume(one) for one in plan.volumes if one.is_blocking),
            "airspace_open": table.rows(
                _volume(one) for one in plan.volumes if not one.is_blocking
            ),
            **field_layers(plan, table),
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
            **{name: table.rows(rows, is_everywhere=True) for name, rows in more.items()},
        },
        "standoffs": [_standoff(one, table) for one in plan.standoffs],
        "shapes": table.shapes,
    }


def _volume(one: Volume) -> Drawn:
    kind = f"class {one.airspace_class}" if one.airspace_class else one.type_code
    limits = f"{one.lower_text} to {one.upper_text}"
    words = [kind, limits, one.entry]
    return one.geometry, one.name, ", ".join(word for word in words if word)


def _obstacle(one: Obstacle) -> Drawn:
    amsl = f"top {feet_text(feet_up(one.top_amsl_m))} AMSL" if one.top_amsl_m is not None else ""
    agl = f"{feet_text(feet_up(one.top_agl_m))} AGL" if one.top_agl_m is not None else ""
    label = amsl or agl or "height unknown"
    doubt = "not verified" if one.is_verified is False else ""
    words = (one.kind, one.name, agl if amsl else "", doubt)
    return shapely.Point(one.lon, one.lat), label, ", ".join(word for word in words if word)


def _standing(one: Structure | Wire | Wood) -> Drawn:
    assumed = " assumed" if one.height_is_assumed else ""
    return one.geometry, one.name, f"{feet_text(feet_up(one.top_agl_m))} AGL{assumed}"


def _road(one: Road) -> Drawn:
    return one.geometry, one.name, one.kind


def _zone(one: Zone) -> Drawn:
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
