"""The least weather for a flight between two altitudes over the area: ceiling and visibility."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Final

import shapely
from attrs import frozen

from areaplan.planning.layers import Layers
from areaplan.planning.limits import as_limit, limit_by
from areaplan.planning.plan import UNKNOWN_FT, Cells, Limit
from areaplan.rules.asking import Activity, Severity
from areaplan.rules.flying import WeatherMinimum
from areaplan.rules.model import Rule, RuleKind, RuleSet
from areaplan.sources.layers import AirspaceVolume
from areaplan.units import FOOT_M, HeightReference, feet_up

_VISUAL_FLIGHT: Final = frozenset("BCDEFG")


@frozen
class GroundSpan:
    """Lowest and highest ground of the area, metres AMSL; `is_known`: of all of it."""

    lowest_amsl_m: float
    highest_amsl_m: float
    is_known: bool


@frozen
class WeatherAsked:
    """What one row or rule asks of the weather.

    Attributes
    ----------
    limit : Limit
    classes : tuple of str
        Class letters of a row of visual minima; none for a rule, which holds in all of them.
    visibility_m : float or None
        Least visibility, metres; None where it asks for none.
    visibility_text : str
    cloud_base_amsl_m : float or None
        Least cloud base, metres AMSL; None as above.
    is_base_inclusive : bool
        Whether a base at exactly that is enough.
    rests_on_ground : bool
        The base is so far above the highest ground of the area.
    is_certain : bool
        False where it holds only if the airspace is of a class that nobody has published.
    """

    limit: Limit
    classes: tuple[str, ...]
    visibility_m: float | None
    visibility_text: str
    cloud_base_amsl_m: float | None
    is_base_inclusive: bool
    rests_on_ground: bool
    is_certain: bool


@frozen
class WeatherNeeded:
    """The least weather, by the strictest of law and school. Planning aid: the pilot decides.

    Attributes
    ----------
    asked : tuple of WeatherAsked
        One for each row and rule.
    without_minima : tuple of str
        Class letters that the area touches there and for which no set in force holds the law's
        visual minima; those of all visual flight where no set holds any.
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

    asked: tuple[WeatherAsked, ...]
    without_minima: tuple[str, ...]
    visibility: str | None
    cloud_base_amsl_ft: int | None
    cloud_base_agl_ft: int | None
    beside_cloud: str | None
    classes: tuple[str, ...]
    is_class_unsure: bool
    by: tuple[str, ...]
    confirm: tuple[str, ...]


def weather_needed(
    layers: Layers,
    ground: GroundSpan,
    rule_sets: Sequence[RuleSet],
    *,
    low_m: float,
    high_m: float,
    is_aerobatic: bool = False,
) -> WeatherNeeded:
    """Say what weather the rules in force ask for a flight between two altitudes, by day.

    Parameters
    ----------
    layers : Layers
    ground : GroundSpan
        Of the area.
    rule_sets : sequence of RuleSet
        Those in force, with the rules that apply.
    low_m, high_m : float
        Lowest and highest altitude flown, metres AMSL.
    is_aerobatic : bool
        Whether rules for aerobatic flight count.
    """
    lowest_m, highest_m = ground.lowest_amsl_m, ground.highest_amsl_m
    classes, is_unsure = _classes(layers, low_m, high_m, lowest_m, highest_m)
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
    asked = [
        *(_by_row(row, high_m, classes, is_certain=not is_unsure) for row in rows),
        *(_by_rule(rule, ground) for rule in limits),
    ]
    sights = [(one.visibility_m, one.visibility_text) for one in asked if one.visibility_m]
    bases_m = [one.cloud_base_amsl_m for one in asked if one.cloud_base_amsl_m is not None]
    beside = max(rows, key=lambda row: row.beside_cloud_m, default=None)
    base_m = max(bases_m, default=None)
    used: list[WeatherMinimum | Rule] = [*rows, *limits]
    return WeatherNeeded(
        asked=tuple(asked),
        without_minima=tuple(sorted((set(classes) if table else _VISUAL_FLIGHT) - letters)),
        visibility=max(sights)[1] if sights else None,
        cloud_base_amsl_ft=None if base_m is None else feet_up(base_m),
        cloud_base_agl_ft=None if base_m is None else feet_up(base_m - lowest_m),
        beside_cloud=None if beside is None else beside.beside_cloud_text,
        classes=classes,
        is_class_unsure=is_unsure,
        by=tuple(dict.fromkeys(row.id for row in used)),
        confirm=tuple(dict.fromkeys(row.confirm for row in used if row.confirm)),
    )


def ground_span(cells: Cells) -> GroundSpan:
    """Lowest and highest ground of the area; 0 m, and not known, where none of it is."""
    ground = cells.terrain_amsl_ft[cells.is_in_area]
    known = ground[ground != UNKNOWN_FT]
    return GroundSpan(
        lowest_amsl_m=float(known.min()) * FOOT_M if known.size else 0.0,
        highest_amsl_m=float(known.max()) * FOOT_M if known.size else 0.0,
        is_known=bool(known.size) and known.size == ground.size,
    )


def _by_row(
    row: WeatherMinimum, high_m: float, classes: Sequence[str], *, is_certain: bool
) -> WeatherAsked:
    return WeatherAsked(
        limit=_row_limit(row),
        classes=row.airspace_classes,
        visibility_m=row.visibility_m,
        visibility_text=row.visibility_text,
        cloud_base_amsl_m=high_m + row.below_cloud_m,
        is_base_inclusive=row.below_cloud_m > 0.0,  # at the base itself nobody is clear of cloud
        rests_on_ground=False,
        is_certain=is_certain or bool(set(classes) & set(row.airspace_classes)),
    )


def _row_limit(row: WeatherMinimum) -> Limit:
    title = f"Weather for visual flight, {row.title[:1].lower()}{row.title[1:]}"
    return limit_by(row, row.id, title, Severity.LAW)


def _by_rule(rule: Rule, ground: GroundSpan) -> WeatherAsked:
    ceiling_m = rule.ceiling_agl_m
    return WeatherAsked(
        limit=as_limit(rule),
        classes=(),
        visibility_m=rule.visibility_m,
        visibility_text=rule.visibility_text,
        cloud_base_amsl_m=None if ceiling_m is None else ground.highest_amsl_m + ceiling_m,
        is_base_inclusive=True,
        rests_on_ground=ceiling_m is not None,
        is_certain=True,
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
    layers: Layers, low_m: float, high_m: float, lowest_m: float, highest_m: float
) -> tuple[tuple[str, ...], bool]:
    """Class letters between the altitudes, and whether part of the area has none there."""
    area = layers.area.rows[0].geometry
    letters: set[str] = set()
    through = []
    for layer in layers.airspace:
        for row in layer.rows:
            letter = row.airspace_class.strip().upper()
            if letter not in _VISUAL_FLIGHT or not row.geometry.intersects(area):
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
