"""Fields in today's wind: which count, which way to land, how much of the area leans on each."""

from __future__ import annotations

import math

import numpy as np
from attrs import frozen

from areaplan.engine.strip_table import DIRECTION_STEP_DEG
from areaplan.planning.declination import Variation
from areaplan.planning.field_list import best_index
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Plan
from areaplan.units import KNOT_MPS, Wind


@frozen
class FieldToday:
    """A field in today's wind.

    Attributes
    ----------
    name : str
    counts : bool
        Whether a glide may lead to it today.
    why_not : tuple of str
    landing_deg_true : int or None
        Best direction of landing; None where none is enough.
    landing_deg_magnetic : float or None
        The same from magnetic north; None where the variation is unknown too.
    usable_m, needed_m : float or None
        In that direction.
    headwind_kt, crosswind_kt : float or None
        Along and across it; negative from behind and from the left.
    into_wind_deg_true : int or None
        Of the directions that are enough, the one most into the wind; None in a calm, and where
        none is enough.
    leaning_share : float
        Share of the area, from 0 to 1, whose cheapest glide leads to it.
    surface, remarks : str
    """

    name: str
    counts: bool
    why_not: tuple[str, ...]
    landing_deg_true: int | None
    landing_deg_magnetic: float | None
    usable_m: float | None
    needed_m: float | None
    headwind_kt: float | None
    crosswind_kt: float | None
    into_wind_deg_true: int | None
    leaning_share: float
    surface: str
    remarks: str


def fields_today(plan: Plan, variation: Variation) -> tuple[FieldToday, ...]:
    """Fields of a plan in its wind: those that count first, by the share that leans on them."""
    leads_to = plan.cells.field[plan.cells.is_in_area]
    counts = np.bincount(leads_to[leads_to >= 0], minlength=len(plan.measured))
    shares = counts / max(1, leads_to.size)
    rows = [
        _field(row, float(share), plan, variation)
        for row, share in zip(plan.measured, shares, strict=True)
    ]
    return tuple(sorted(rows, key=lambda row: (not row.counts, -row.leaning_share, row.name)))


def _field(row: MeasuredField, share: float, plan: Plan, variation: Variation) -> FieldToday:
    best = row.best_direction_deg_true
    index = None if best is None else best_index(row)
    if best is None or index is None:
        landing = usable_m = needed_m = ahead_kt = across_kt = magnetic = None
    else:
        landing = _named(best)
        magnetic = variation.magnetic(best)
        usable_m, needed_m = float(row.strips.usable_m[index]), row.needed_m[index]
        ahead_kt, across_kt = wind_on(plan.project.wind, best)
    return FieldToday(
        name=row.field.name,
        counts=row.counts,
        why_not=row.why_not,
        landing_deg_true=landing,
        landing_deg_magnetic=magnetic,
        usable_m=usable_m,
        needed_m=needed_m,
        headwind_kt=ahead_kt,
        crosswind_kt=across_kt,
        into_wind_deg_true=_most_into_wind(row, plan.project.wind),
        leaning_share=share,
        surface=row.field.surface,
        remarks=row.field.remarks,
    )


def _most_into_wind(row: MeasuredField, wind: Wind) -> int | None:
    enough = [index for index, is_enough in enumerate(row.is_enough) if is_enough]
    if not enough or wind.speed_mps == 0.0:
        return None
    best = max(enough, key=lambda index: wind_on(wind, index * DIRECTION_STEP_DEG)[0])
    return _named(best * DIRECTION_STEP_DEG)


def _named(deg_true: float) -> int:
    """Bearings as runways are named aloud: 360, not 0."""
    return round(deg_true) % 360 or 360


def wind_on(wind: Wind, landing_deg_true: float) -> tuple[float, float]:
    """Head wind and cross wind of a landing, knots; negative from behind and from the left."""
    angle = math.radians(wind.from_deg_true - landing_deg_true)
    speed_kt = wind.speed_mps / KNOT_MPS
    return speed_kt * math.cos(angle), speed_kt * math.sin(angle)
