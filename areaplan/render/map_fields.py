"""Fields on the map: outlines, the best strip in the wind, and what is to say about each."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import LineString

from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Plan
from areaplan.render.field_text import clearance_words, directions_words
from areaplan.render.map_shape_table import ShapeTable, shape_key
from areaplan.sources.layers import LandingField

_NOT_CONFIRMED = "not confirmed"
_DOES_NOT_COUNT = "does not count"


def field_layers(plan: Plan, table: ShapeTable) -> dict[str, list[list[object]]]:
    """Rows of the page's four layers of fields.

    Parameters
    ----------
    plan : Plan
        Where its fields are not measured, their outlines alone are drawn.
    table : ShapeTable
        Gets their shapes.

    Returns
    -------
    dict
        ``fields`` that count, ``fields_not_counted``, ``candidates`` that nobody has confirmed,
        and ``strips``: for each field that counts its best one in the wind, from where the
        landing comes in to where it ends, without what is lost at the ends. Rows as
        `ShapeTable.rows`, with what else to say as ``[term, words]`` pairs.
    """
    if not plan.measured and not plan.candidates:
        return _unmeasured(plan, table)
    layers: dict[str, list[list[object]]] = {
        "fields": [],
        "fields_not_counted": [],
        "candidates": [],
        "strips": [],
    }
    for one in (*plan.measured, *plan.candidates):
        if not table.is_near(one.field.geometry):
            continue
        counted = "fields" if one.counts else "fields_not_counted"
        layer = "candidates" if one.is_candidate else counted
        shape = table.add(one.field.geometry)
        layers[layer].append([shape, one.field.name, _figures(one), _told(one)])
        strip = best_strip(one, plan) if one.counts else None
        if strip is not None:
            layers["strips"].append([table.add(strip), one.field.name, _landing(one), []])
    return layers


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


def best_strip(one: MeasuredField, plan: Plan) -> LineString | None:
    """The usable part of the best strip, longitude/latitude, in the direction of landing."""
    index = _best(one)
    if index is None:
        return None
    strips = one.strips
    start, end = strips.touchdown_m[index], strips.rollout_m[index]
    along = (end - start) / math.hypot(*(end - start))
    start = start + along * strips.lost_before_m[index]
    end = end - along * strips.lost_after_m[index]
    lon, lat = plan.frame.to_lonlat(np.array([start[0], end[0]]), np.array([start[1], end[1]]))
    return LineString(np.column_stack([lon, lat]))


def _best(one: MeasuredField) -> int | None:
    if one.best_direction_deg_true is None:
        return None
    return round(one.best_direction_deg_true / 10) % len(one.needed_m)


def _landing(one: MeasuredField) -> str:
    """The best direction with its lengths; "" where no direction is enough."""
    index = _best(one)
    if index is None:
        return ""
    usable_m, needed_m = float(one.strips.usable_m[index]), one.needed_m[index]
    bearing = 360 if index == 0 else 10 * index
    return f"land {bearing:03d}° true, {math.floor(usable_m)} m of {math.ceil(needed_m)} m needed"


def _figures(one: MeasuredField) -> str:
    """One line below the name: how to land, or why the field does not count."""
    if one.counts:
        return _landing(one)
    # That a candidate is not confirmed stands before its name already.
    reasons = [reason for reason in one.why_not if not reason.startswith(_NOT_CONFIRMED)]
    return ", ".join([_DOES_NOT_COUNT, *reasons[:1]])


def _told(one: MeasuredField) -> list[list[str]]:
    pairs = [("why not", reason) for reason in one.why_not]
    pairs += [("landing", _landing(one)), ("enough", directions_words(one))]
    five = one.five_s
    pairs += [(name, getattr(five, name)) for name in ("size", "shape", "surface")]
    pairs += [("surrounds", five.surrounds), ("nearest", clearance_words(one))]
    pairs += [("slope", five.slope)]
    pairs += [("consent", one.field.consent), ("remarks", one.field.remarks)]
    return [[term, words] for term, words in pairs if words]


def _unmeasured(plan: Plan, table: ShapeTable) -> dict[str, list[list[object]]]:
    counted = {_key(one) for one in plan.fields}
    drawn = [row for layer in plan.layers.fields for row in layer.rows]
    return {
        "fields": table.rows((row.geometry, row.name, row.surface) for row in plan.fields),
        "fields_not_counted": table.rows(
            (row.geometry, row.name, _DOES_NOT_COUNT) for row in drawn if _key(row) not in counted
        ),
        "candidates": [],
        "strips": [],
    }


def _key(one: LandingField) -> tuple[str, bytes]:
    return one.name, shape_key(one.geometry)
