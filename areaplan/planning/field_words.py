"""What is said of a measured field: the trade's five looks, and the reasons against it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.engine.strip_table import DIRECTION_STEP_DEG, Strips
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.field_surrounds import STRUCTURE, WIRE, Surrounds
from areaplan.planning.ground import Ground
from areaplan.planning.measured import FiveS
from areaplan.planning.project import FieldLimits
from areaplan.sources.layers import LandingField
from areaplan.units import KNOT_MPS, bearing_text

_HECTARE_M2: Final = 10_000.0
_FULL_SHARE: Final = 0.8  # of its smallest box: below this a field is not simply four-sided
_LONG_RATIO: Final = 3.0
_MOST_NAMES: Final = 3
_DRAWN_M: Final = (
    1.0  # how well edges are drawn: a wood that ends where the field begins is not in it
)
_LEVEL: Final = 0.005  # rise over run below which a strip is called level


@frozen(eq=False)
class FieldFacts:
    """All that was found out about one field; arrays by landing direction, metres.

    Attributes
    ----------
    field : LandingField
    polygon : shapely geometry
        As drawn, local metres.
    strips : Strips
    needed_m : float64 array
    crosswind_mps : float64 array
        From either side, metres a second.
    crosswind_limit_mps : float or None
    is_long : bool array
        Usable length at least the needed one.
    is_fit : bool array
        Level and smooth enough.
    is_long_bare : bool array
        The same with nothing standing there; looked at where no direction is long enough.
    is_candidate : bool
    near : Surrounds
    across : tuple of (str, str)
        Kind and name of what runs through it, so that no strip crosses it.
    limits : FieldLimits
    ground : Ground
    """

    field: LandingField
    polygon: BaseGeometry
    strips: Strips
    needed_m: Float64Array
    crosswind_mps: Float64Array
    crosswind_limit_mps: float | None
    is_long: BoolArray
    is_fit: BoolArray
    is_long_bare: BoolArray
    is_candidate: bool
    near: Surrounds
    across: tuple[tuple[str, str], ...]
    limits: FieldLimits
    ground: Ground


def reasons_against(facts: FieldFacts, is_enough: BoolArray) -> tuple[str, ...]:
    """What speaks against a field, the gravest first: a head, a colon, and the figures.

    Empty where some direction is enough, the ground is known and the field may count.
    """
    reasons = [] if is_enough.any() else _by_measure(facts)
    if facts.is_candidate and not facts.limits.is_candidate_counted:
        reasons.append("not confirmed: proposed by land cover, looked at by nobody")
    return tuple(reasons)


def _by_measure(facts: FieldFacts) -> list[str]:
    strips, limits = facts.strips, facts.limits
    has_strip = strips.length_m > 0.0
    grid = facts.ground.grid
    on_grid = shapely.box(grid.x_min_m, grid.y_min_m, grid.x_max_m, grid.y_max_m)
    if not on_grid.contains(facts.polygon):
        return ["beyond the grid: what lies on it is not enough (grid.around)"]
    if has_strip.any() and np.isnan(strips.steepest[has_strip]).all():
        return ["unknown ground: it is not known throughout the field"]
    if not facts.is_long.any():
        return [*_standing_there(facts), _too_short(facts)]
    reasons = []
    steepest = _least(strips.steepest[facts.is_long])
    roughest_m = _least(strips.roughness_m[facts.is_long])
    if not steepest <= limits.steepest:  # also where unknown
        reasons.append(f"too steep: {_percent_up(steepest)} at best, {limits.steepest:.1%} allowed")
    if not roughest_m <= limits.roughest_m:
        figures = f"{_up(roughest_m, 0.1):.1f} m at best, {limits.roughest_m:g} m allowed"
        reasons.append(f"too rough: {figures}")
    could_land = facts.is_long & facts.is_fit
    if could_land.any() and facts.crosswind_limit_mps is not None:
        least_kt = _up(float(facts.crosswind_mps[could_land].min()) / KNOT_MPS, 1.0)
        limit_kt = facts.crosswind_limit_mps / KNOT_MPS
        return [f"too much crosswind: {least_kt:.0f} kt at best, {limit_kt:g} kt allowed"]
    return reasons or [
        "too steep or too rough: every direction that is long enough is the one or the other"
    ]


def _too_short(facts: FieldFacts) -> str:
    strips = facts.strips
    if strips.length_m.max() < facts.limits.width_m:
        return f"too narrow: nowhere a clear strip {facts.limits.width_m:g} m wide"
    best = int(np.argmax(strips.usable_m / facts.needed_m))
    usable, needed = math.floor(strips.usable_m[best]), math.ceil(facts.needed_m[best])
    return f"too short: {usable} m usable of {needed} m needed, landing {direction_words(best)}"


def _standing_there(facts: FieldFacts) -> list[str]:
    """Roads and wires across and structures in a field that is long enough without them."""
    if not facts.is_long_bare.any():
        return []
    near = facts.near
    inside = shapely.buffer(facts.polygon, -_DRAWN_M)
    in_it: dict[str, list[str]] = {}
    for word, name in facts.across:
        in_it.setdefault(word, []).append(name)
    for i, geometry in enumerate(near.geometries):
        if facts.ground.frame.geometry_to_local(geometry).intersects(inside):
            in_it.setdefault(near.kinds[i], []).append(near.names[i])
    heads = {WIRE: "wire across", STRUCTURE: "structure in it"}
    heads |= {word: f"{word} across" for word, _ in facts.across}
    if in_it:
        return [
            f"{heads.get(kind, f'{kind} in it')}: {_names(names)}"
            for kind, names in sorted(in_it.items(), key=lambda item: item[0] != WIRE)
        ]
    # The direction that would be enough, and what is left of it.
    share = np.where(facts.is_long_bare, facts.strips.usable_m / facts.needed_m, -1.0)
    best = int(np.argmax(share))
    costly = int(facts.strips.obstacle[best])
    left = f"{math.floor(facts.strips.usable_m[best])} m left landing {direction_words(best)}"
    if costly >= 0:
        lost_m = math.ceil(facts.strips.lost_before_m[best])
        return [f"hemmed in: {left}, {lost_m} m lost behind {near.names[costly]}"]
    return [f"hemmed in: {left}, for what stands beside and before it"]


def five_s(facts: FieldFacts, shown: int) -> FiveS:
    """Size, shape, surface, surrounds and slope in a few words.

    `shown` is the index of the landing direction that speaks for the field: the best, or that of
    the greatest usable over needed length where no direction is enough.
    """
    strips = facts.strips
    hectares = facts.polygon.area / _HECTARE_M2
    usable_m = math.floor(strips.usable_m[shown])
    return FiveS(
        size=f"{hectares:.1f} ha; {usable_m} m usable landing {direction_words(shown)}",
        shape=_shape(facts.polygon) + _crossed(facts),
        surface=facts.field.surface or "nobody has said",
        surrounds=_surrounds(facts, shown),
        slope=_slope(strips, shown),
    )


def _shape(polygon: BaseGeometry) -> str:
    box = shapely.minimum_rotated_rectangle(polygon)
    sides = np.hypot(*np.diff(shapely.get_coordinates(box)[:3], axis=0).T)
    long_m, short_m = float(sides.max()), float(sides.min())
    form = "irregular" if polygon.area < _FULL_SHARE * box.area else "four-sided"
    narrow = ", long and narrow" if long_m > _LONG_RATIO * short_m else ""
    return f"{form}{narrow}, about {long_m:.0f} m by {short_m:.0f} m"


def _crossed(facts: FieldFacts) -> str:
    return f"; crossed by {_names(name for _, name in facts.across)}" if facts.across else ""


def _surrounds(facts: FieldFacts, shown: int) -> str:
    strips, near = facts.strips, facts.near
    costly = int(strips.obstacle[shown])
    lost_m = math.ceil(strips.lost_before_m[shown] + strips.lost_after_m[shown])
    if costly >= 0:
        return f"{lost_m} m lost, most of it behind {near.names[costly]}"
    if lost_m > 0:
        return f"{lost_m} m kept clear of what stands beyond"
    if not near.names:
        return "nothing known stands near"
    return f"nothing lost landing {direction_words(shown)}; near it: {_names(near.names)}"


def _slope(strips: Strips, shown: int) -> str:
    slope = float(strips.slope[shown])
    if math.isnan(slope):
        return "unknown"
    way = "level" if abs(slope) < _LEVEL else "uphill" if slope > 0 else "downhill"
    return (
        f"{abs(slope):.1%} {way} landing {direction_words(shown)}, "
        f"{_percent_up(strips.steepest[shown])} at the steepest; "
        f"rough by {_up(float(strips.roughness_m[shown]), 0.1):.1f} m"
    )


def _names(names: Iterable[str]) -> str:
    found = tuple(dict.fromkeys(names))
    more = f" and {len(found) - _MOST_NAMES} more" if len(found) > _MOST_NAMES else ""
    return ", ".join(found[:_MOST_NAMES]) + more


def _least(values: Float64Array) -> float:
    known = values[~np.isnan(values)]
    return float(known.min()) if known.size else math.nan


def direction_words(index: int) -> str:
    """A landing direction, by its index, as runways are named aloud: 360, not 000."""
    return bearing_text(index * DIRECTION_STEP_DEG)


def _up(value: float, step: float) -> float:
    return value if math.isnan(value) else math.ceil(value / step - 1e-9) * step


def _percent_up(value: float) -> str:
    return "unknown" if math.isnan(value) else f"{_up(float(value), 0.001):.1%}"
