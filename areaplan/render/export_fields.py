"""Fields, strips and candidates as layers of an export; candidates always apart."""

from __future__ import annotations

import math

import numpy as np

from areaplan.planning.field_list import best_index
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Plan
from areaplan.render.export_table import Table, Value
from areaplan.render.frames import fields_frame
from areaplan.render.map_fields import best_strip

_FIELD = {
    "name": str,
    "counts": bool,
    "why_not": str,
    "best_direction_deg_true": int,
    "usable_m": int,
    "needed_m": int,
    "area_m2": int,
    "size": str,
    "shape": str,
    "surface": str,
    "surrounds": str,
    "slope": str,
    "consent": str,
    "remarks": str,
    "share_served": float,
    "land_cover": str,
}
_STRIP = {"name": str, "direction_deg_true": int, "usable_m": int, "needed_m": int}
_PLAIN = {
    "name": str,
    "surface": str,
    "consent": str,
    "remarks": str,
    "share_served": float,
}
_TO_CONFIRM = "proposed by land cover; nobody has confirmed them: one pixel in four is wrong"


def field_tables(plan: Plan) -> tuple[Table, ...]:
    """Fields that count, those that do not, candidates, and the best strips in the wind.

    A plan whose fields are not measured gives its fields alone.
    """
    frame = fields_frame(plan)
    shares = [float(share) for share in frame["share_served"]]
    if not plan.measured and not plan.candidates:
        rows = [
            (one.name, one.surface, one.consent, one.remarks, share)
            for one, share in zip(plan.fields, shares, strict=True)
        ]
        return (Table.of("fields", "Fields to land in", _PLAIN, rows, frame.geometry),)
    served = {id(one.field): share for one, share in zip(plan.measured, shares, strict=False)}
    every = (*plan.measured, *plan.candidates)
    drawn = [one for one in every if not one.is_candidate]
    return (
        _fields("fields", "Fields to land in", [one for one in drawn if one.counts], served),
        _fields(
            "fields_not_counted",
            "Fields that do not count",
            [one for one in drawn if not one.counts],
            served,
        ),
        _fields(
            "candidates",
            "Candidates, not confirmed",
            [one for one in every if one.is_candidate],
            served,
            note=_TO_CONFIRM,
        ),
        _strips([one for one in every if one.counts], plan),
    )


def _fields(
    name: str, title: str, rows: list[MeasuredField], served: dict[int, float], note: str = ""
) -> Table:
    return Table.of(
        name,
        title,
        _FIELD,
        [_row(one, served.get(id(one.field))) for one in rows],
        [one.field.geometry for one in rows],
        note=note,
    )


def _row(one: MeasuredField, share_served: float | None) -> tuple[Value, ...]:
    field, five, index = one.field, one.five_s, best_index(one)
    best = one.best_direction_deg_true
    return (
        field.name,
        bool(one.counts),
        "; ".join(one.why_not),
        None if best is None else int(best),
        *_lengths(one, index),
        math.floor(one.area_m2),
        five.size,
        five.shape,
        five.surface,
        five.surrounds,
        five.slope,
        field.consent,
        field.remarks,
        share_served,
        field.cover,
    )


def _lengths(one: MeasuredField, index: int | None) -> tuple[int | None, int | None]:
    """Usable length rounded down and needed length rounded up, metres."""
    if index is None or np.isnan(one.needed_m[index]):
        return None, None
    return math.floor(one.strips.usable_m[index]), math.ceil(one.needed_m[index])


def _strips(rows: list[MeasuredField], plan: Plan) -> Table:
    lines = [(one, best_strip(one, plan)) for one in rows]
    found = [(one, line) for one, line in lines if line is not None]
    return Table.of(
        "strips",
        "Best strip of each field in the wind, in the direction of landing",
        _STRIP,
        [_landing(one) for one, _ in found],
        [line for _, line in found],
        note="usable part only, without what is lost at its ends",
    )


def _landing(one: MeasuredField) -> tuple[Value, ...]:
    best = one.best_direction_deg_true
    direction = None if best is None else int(best)
    return (one.field.name, direction, *_lengths(one, best_index(one)))
