"""The least weather for a flight between two altitudes over the area: ceiling and visibility."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Final

import shapely
from attrs import frozen

from areaplan.planning.plan import UNKNOWN_FT, Plan
from areaplan.rules.asking import Activity
from areaplan.rules.flying import WeatherMinimum
from areaplan.rules.model import Rule, RuleKind, RuleSet
from areaplan.sources.layers import AirspaceVolume
from areaplan.units import FOOT_M, HeightReference, feet_up

_NO_VISUAL_FLIGHT: Final = "A"


@frozen
class WeatherNeeded:
    """The least weather, by the strictest of law and school. Planning aid: the pilot decides.

    Attributes
    ----------
    visibility : str or None
        As printed in the rule; None where no set in force states one.
    cloud_base_amsl_ft : int or None
        Lowest cloud base, whole feet AMSL rounded up; None as above.
    cloud_base_agl_ft : int or None
        The same above the lowest ground of the area.
    beside_cloud : str or None
        Horizontal distance from cloud, as printed.
    classes : tuple of str
        Class letters that the area touches between the altitudes.
    is_class_unsure : bool
        Part of the area has no published class there: the strictest row of all classes is taken.
    by : tuple of str
        Identifiers of the rows and rules used.
    confirm : tuple of str
    """

    visibility: str | None
    cloud_base_amsl_ft: int | None
    cloud_base_agl_ft: int | None
    beside_cloud: str | None
    classes: tuple[str, ...]
    is_class_unsure: bool
    by: tuple[str, ...]
    confirm: tuple[str, ...]


def weather_needed(
    plan: Plan,
    rule_sets: Sequence[RuleSet],
    *,
    low_m: float,
    high_m: float,
    is_aerobatic: bool = False,
) -> WeatherNeeded:
    """Say what weather the rules in force ask for a flight between two altitudes, by day.

    Parameters
    ----------
    plan : Plan
    rule_sets : sequence of RuleSet
        Those in force, with the rules that apply.
    low_m, high_m : float
        Lowest and highest altitude flown, metres AMSL.
    is_aerobatic : bool
        Whether rules for aerobatic flight count.
    """
    ground = plan.cells.terrain_amsl_ft[plan.cells.is_in_area]
    known = ground[ground != UNKNOWN_FT]
    lowest_m = float(known.min()) * FOOT_M if known.size else 0.0
    highest_m = float(known.max()) * FOOT_M if known.size else 0.0
    classes, is_unsure = _classes(plan, low_m, high_m, lowest_m, highest_m)
    table = [row for one in rule_sets for row in one.weather]
    letters = {letter for row in table for letter in row.airspace_classes}
    counted = letters if is_unsure else letters & set(classes)
    rows = _rows(table, counted, (low_m, high_m), (lowest_m, highest_m))
    limits = [
        rule
        for one in rule_sets
        for rule in one.rules
        if rule.kind is RuleKind.WEATHER_LIMIT and (is_aerobatic or rule.activity is Activity.ANY)
    ]
    sights = [(row.visibility_m, row.visibility_text) for row in rows]
    sights += [(rule.visibility_m, rule.visibility_text) for rule in limits if rule.visibility_m]
    bases_m = [high_m + row.below_cloud_m for row in rows]
    bases_m += [highest_m + rule.ceiling_agl_m for rule in limits if rule.ceiling_agl_m]
    beside = max(rows, key=lambda row: row.beside_cloud_m, default=None)
    base_m = max(bases_m, default=None)
    used: list[WeatherMinimum | Rule] = [*rows, *limits]
    return WeatherNeeded(
        visibility=max(sights)[1] if sights else None,
        cloud_base_amsl_ft=None if base_m is None else feet_up(base_m),
        cloud_base_agl_ft=None if base_m is None else feet_up(base_m - lowest_m),
        beside_cloud=None if beside is None else beside.beside_cloud_text,
        classes=classes,
        is_class_unsure=is_unsure,
        by=tuple(dict.fromkeys(row.id for row in used)),
        confirm=tuple(dict.fromkeys(row.confirm for row in used if row.confirm)),
    )


def _rows(
    table: Sequence[WeatherMinimum],
    letters: Iterable[str],
    flown_m: tuple[float, float],
    ground_m: tuple[float, float],
) -> list[WeatherMinimum]:
    """Rows of every layer that the flight may touch, of all the classes."""
    found: list[WeatherMinimum] = []
    for letter in sorted(letters):
        layers = [row for row in table if letter in row.airspace_classes]
        at = [
            index
            for altitude_m, terrain_m in product(flown_m, ground_m)
            for index in [_first_layer(layers, altitude_m, terrain_m)]
            if index is not None
        ]
        found += layers[min(at) : max(at) + 1] if at else []
    return list(dict.fromkeys(found))


def _first_layer(
    layers: Sequence[WeatherMinimum], altitude_m: float, terrain_m: float
) -> int | None:
    for index, row in enumerate(layers):
        if row.holds_at(altitude_m, terrain_m):
            return index
    return None


def _classes(
    plan: Plan, low_m: float, high_m: float, lowest_m: float, highest_m: float
) -> tuple[tuple[str, ...], bool]:
    """Class letters between the altitudes, and whether part of the area has none there."""
    area = plan.layers.area.rows[0].geometry
    letters: set[str] = set()
    through = []
    for layer in plan.layers.airspace:
        for row in layer.rows:
            letter = row.airspace_class.strip().upper()
            if not letter or letter == _NO_VISUAL_FLIGHT or not row.geometry.intersects(area):
                continue
            bottom, top = _extent(row, lowest_m, highest_m)
            if bottom[0] <= high_m and low_m <= top[1]:
                letters.add(letter)
            if bottom[1] <= low_m and high_m <= top[0]:
                through.append(row.geometry)
    is_whole = bool(through) and bool(shapely.covers(shapely.union_all(through), area))
    return tuple(sorted(letters)), not is_whole


def _extent(
    row: AirspaceVolume, lowest_m: float, highest_m: float
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Lowest and highest that the bottom may be, and the same of the top, metres AMSL."""
    edges = []
    for limit in (row.lower, row.upper):
        if limit is None or limit.reference is HeightReference.FL:
            edges.append((-float("inf"), float("inf")))  # anywhere: unknown, or by the altimeter
        elif limit.reference is HeightReference.SFC:
            edges.append((-float("inf"), -float("inf")))
        elif limit.reference is HeightReference.AGL:
            edges.append((lowest_m + limit.value_m, highest_m + limit.value_m))
        else:
            edges.append((limit.value_m, limit.value_m))
    return edges[0], edges[1]
