"""Rule sets side by side: what each asks over each kind of ground."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from itertools import zip_longest
from typing import Any, Final

from areaplan.rules.flying import WeatherMinimum
from areaplan.rules.model import HEIGHT_KINDS, Activity, Flight, Ground, Rule, RuleKind, RuleSet
from areaplan.rules.text import GROUND_WORDS, limit_in_words, weather_in_words

_WIDTH: Final = 96
_LABEL: Final = 12
_PLACES: Final = tuple(Ground)
_AIRSPACE: Final = (RuleKind.AIRSPACE_ENTRY, RuleKind.AIRSPACE_COLUMN)
_WHOLE_AREA: Final = (RuleKind.WIND_LIMIT, RuleKind.WEATHER_LIMIT)
_VISUAL: Final = "VFR by day"
_NOTHING: Final = "nothing in this set"


def compare(rule_sets: Sequence[RuleSet]) -> dict[str, dict[str, list[Rule]]]:
    """Height and distance rules of each set, by the kind of ground that they hold over.

    Returns
    -------
    mapping of row to mapping of set identifier to rules
        A row for each kind of ground, then "airspace" with what entering asks, "aerobatic" with
        what such flight asks besides, and "whole area" with wind and weather limits.
    """
    rows = {
        str(ground): {
            one.id: [rule for rule in _heights(one, Activity.ANY) if ground in rule.where]
            for one in rule_sets
        }
        for ground in _PLACES
    }
    for name, kinds, activity in (
        ("airspace", _AIRSPACE, Activity.ANY),
        ("aerobatic", (*HEIGHT_KINDS, *_AIRSPACE), Activity.AEROBATIC),
    ):
        rows[name] = {one.id: _of_kinds(one, kinds, activity) for one in rule_sets}
    rows["whole area"] = {
        one.id: [rule for rule in one.rules if rule.kind in _WHOLE_AREA] for one in rule_sets
    }
    return rows


def _heights(rule_set: RuleSet, activity: Activity) -> list[Rule]:
    return _of_kinds(rule_set, HEIGHT_KINDS, activity)


def _of_kinds(rule_set: RuleSet, kinds: Sequence[RuleKind], activity: Activity) -> list[Rule]:
    return [rule for rule in rule_set.rules if rule.kind in kinds and rule.activity is activity]


def comparison_as_json(rule_sets: Sequence[RuleSet]) -> dict[str, Any]:
    """The comparison as plain values: for each row and set its rules, limits in words."""
    return {
        "sets": [one.id for one in rule_sets],
        "rows": {
            row: {
                name: [
                    {
                        "rule": rule.id,
                        "limit": limit_in_words(rule),
                        "severity": rule.severity.value,
                        "document": rule.citation,
                        "confirm": rule.confirm,
                    }
                    for rule in rules
                ]
                for name, rules in cells.items()
            }
            for row, cells in compare(rule_sets).items()
        },
        "visual_minima_by_day": {
            one.id: [
                {
                    "id": row.id,
                    "minima": weather_in_words(row),
                    "document": row.citation,
                    "confirm": row.confirm,
                }
                for row in one.weather
            ]
            for one in rule_sets
        },
    }


def comparison_text(rule_sets: Sequence[RuleSet]) -> str:
    """The comparison as a table, one column a set, at most 96 characters a line."""
    column = (_WIDTH - _LABEL) // len(rule_sets) - 2
    rule = "-" * _WIDTH
    lines = _row("", [[one.id, *textwrap.wrap(one.title, column)] for one in rule_sets], column)
    for name, cells in compare(rule_sets).items():
        lines += [rule, *_row(name, [_cell(rules, column) for rules in cells.values()], column)]
    visual = [_weather_cell(one.weather, column) for one in rule_sets]
    lines += [rule, *_row(_VISUAL, visual, column)]
    words = [f"{ground}: {GROUND_WORDS[ground]}" for ground in _PLACES]
    lines += [rule, *textwrap.wrap("; ".join(words) + ".", _WIDTH)]
    lines += textwrap.wrap(
        "CONFIRM: from memory or not seen whole, read the current text. Law unless marked. "
        "Planning aid only, not for navigation.",
        _WIDTH,
    )
    return "\n".join(line.rstrip() for line in lines)


def _cell(rules: Sequence[Rule], column: int) -> list[str]:
    lines: list[str] = []
    for rule in rules:
        marks = [rule.id, *([] if rule.severity == "law" else [rule.severity.value])]
        marks += ["CONFIRM"] if rule.confirm else []
        said = f"{_where_words(rule)}{_limit_words(rule)} [{', '.join(marks)}]"
        lines += textwrap.wrap(said, column, subsequent_indent="  ")
    return lines or textwrap.wrap(_NOTHING, column)


def _weather_cell(rows: Sequence[WeatherMinimum], column: int) -> list[str]:
    lines: list[str] = []
    for row in rows:
        marks = ", ".join([row.id, *(["CONFIRM"] if row.confirm else [])])
        said = f"{row.title}. {weather_in_words(row)} [{marks}]"
        lines += textwrap.wrap(said, column, subsequent_indent="  ")
    return lines or textwrap.wrap(_NOTHING, column)


def _limit_words(rule: Rule) -> str:
    """As everywhere, but for airspace without the type codes that only repeat its classes."""
    if rule.kind not in _AIRSPACE:
        return limit_in_words(rule)
    codes = [code for code in rule.airspace_types if not code.startswith("CLASS_")]
    volumes = [
        *([f"class {', '.join(rule.airspace_classes)}"] if rule.airspace_classes else []),
        *([f"type {', '.join(codes)}"] if codes else []),
    ] or list(rule.airspace_types)
    if rule.kind is RuleKind.AIRSPACE_COLUMN:
        return f"never within the sides of surface areas of {' and '.join(volumes)}"
    return f"{' and '.join(volumes)}: {rule.entry}"


def _where_words(rule: Rule) -> str:
    """Over which ground or for whom, where the row of the table does not say it."""
    if rule.activity is not Activity.AEROBATIC:
        return "" if rule.applies_to is Flight.BOTH else f"{rule.applies_to}: "
    if len(rule.where) == len(_PLACES) or rule.kind in _AIRSPACE:
        return "aerobatic: " if rule.kind is RuleKind.WEATHER_LIMIT else ""
    return f"over {' and '.join(GROUND_WORDS[ground] for ground in rule.where)}: "


def _row(label: str, cells: Sequence[Sequence[str]], column: int) -> list[str]:
    return [
        f"{label if number == 0 else '':<{_LABEL}}"
        + "".join(f"{text:<{column + 2}}" for text in texts)
        for number, texts in enumerate(zip_longest(*cells, fillvalue=""))
    ]
