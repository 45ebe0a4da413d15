"""Rules as a page that a student can read, and as plain values for programs."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

import attrs

from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.rules.model import (
    DIRECTIONS,
    Activity,
    Counted,
    Example,
    Flight,
    Ground,
    Rule,
    RuleKind,
    RuleSet,
)
from areaplan.units import feet_down, feet_up

_WIDTH: Final = 96
_UNLIMITED: Final = "unlimited"
WEATHER_HEADING: Final = "Weather for visual flight, by day, from the lowest layer of each class up"
MANOEUVRES_HEADING: Final = "Manoeuvres and their heights"
GROUND_WORDS: Final = {
    Ground.CONGESTED: "congested areas",
    Ground.ASSEMBLY: "open-air assemblies",
    Ground.SPARSE: "open water and sparse country",
    Ground.OTHER: "other country",
}
_THING_WORDS: Final = {
    Counted.NOISE: "noise-sensitive place",
    Counted.AIRWAY: "airway centre line",
}


def limit_in_words(rule: Rule) -> str:
    """Say what a rule limits in one line, its numbers as printed in the file."""
    height, radius = rule.height_text, rule.radius_text
    things = _listed([f"any {_THING_WORDS.get(word, word)}" for word in rule.counts], "or")
    within = f"within {radius} of" if rule.is_radius_inclusive else f"nearer than {radius} to"
    letters = [f"class {letter}" for letter in rule.airspace_classes]
    volumes = _listed([*letters, *(f"type {code}" for code in rule.airspace_types)], "or")
    if rule.kind is RuleKind.HEIGHT_ABOVE_SURFACE:
        return f"at least {height} above the surface"
    if rule.kind is RuleKind.HIGHEST_IN_RADIUS:
        edge = "within" if rule.is_radius_inclusive else "nearer than"
        return f"at least {height} above {things} {edge} {radius}"
    if rule.kind is RuleKind.SLANT_DISTANCE:
        return f"never {within} {things}, in any direction"
    if rule.kind is RuleKind.LATERAL_DISTANCE:
        if rule.height_m == math.inf:
            return f"never {within} {things}, at any altitude"
        if rule.height_m == 0.0:
            return f"{within} {things}, not below its top"
        return f"{within} {things}, at least {height} above it"
    if rule.kind is RuleKind.EMERGENCY_LANDING:
        return "high enough to land without undue hazard if the engine fails"
    if rule.kind is RuleKind.CLOSED_OVER:
        return "closed at every altitude"
    if rule.kind is RuleKind.WIND_LIMIT:
        return f"no more wind than {rule.wind_text}"
    if rule.kind is RuleKind.WEATHER_LIMIT:
        least = [
            *([f"flight visibility {rule.visibility_text}"] if rule.visibility_text else []),
            *([f"ceiling {rule.ceiling_text} above the ground"] if rule.ceiling_text else []),
        ]
        return f"at least {_listed(least, 'and')}"
    if rule.kind is RuleKind.BRIEFING:
        return "for the briefing: no map can judge it"
    if rule.kind is RuleKind.AIRSPACE_COLUMN:
        return f"closed at every altitude within the sides of surface areas: {volumes}"
    if rule.kind is RuleKind.FIELD_IN_EVERY_DIRECTION:
        return _choice_in_words(rule)
    return f"{volumes}: {rule.entry}"


def _choice_in_words(rule: Rule) -> str:
    words = (
        "a field within gliding distance in at least "
        f"{rule.least_sectors} of {DIRECTIONS} directions"
    )
    if rule.least_separate_fields is None:
        return words
    plural = "s" if rule.least_separate_fields > 1 else ""
    return f"{words}, at least {rule.least_separate_fields} separate field{plural} among them"


def describe_rule_set(rule_set: RuleSet) -> list[str]:
    """Write a rule set out in plain text, at most 96 characters a line."""
    count = sum(1 for rule in rule_set.rules if rule.confirm)
    source = str(rule_set.path) if rule_set.path is not None else "comes with areaplan"
    lines = [
        rule_set.title,
        *_wrapped(f"Issued by: {rule_set.authority}. File: {source}."),
        *_wrapped(f"SHA-256 of the file: {rule_set.sha256}"),
        *_wrapped(
            f"{len(rule_set.rules)} rules, {count} of them to be CONFIRMED against the current "
            "text before use. Planning aid only, not for navigation: rules change, and the text "
            "in force decides."
        ),
    ]
    for note in rule_set.notes:
        lines += _wrapped(note, bullet="- ")
    for rule in rule_set.rules:
        lines += ["", *describe_rule(rule)]
    if rule_set.weather:
        lines += ["", *_wrapped(WEATHER_HEADING)]
    for row in rule_set.weather:
        lines += ["", *describe_weather(row)]
    if rule_set.manoeuvres:
        lines += ["", *_wrapped(MANOEUVRES_HEADING)]
    for manoeuvre in rule_set.manoeuvres:
        lines += ["", *describe_manoeuvre(manoeuvre)]
    return lines


def asked_in_words(rule: Rule) -> str:
    """Say who asks, over which ground, and of which flying."""
    where = "anywhere"
    if len(rule.where) < len(Ground):
        where = "over " + _listed([GROUND_WORDS[ground] for ground in rule.where], "and")
    flying = "aerobatic flight only" if rule.activity is Activity.AEROBATIC else "any flight"
    if rule.applies_to is not Flight.BOTH:
        flying += f", {rule.applies_to} only"
    return f"Asked by: {rule.severity}. Applies: {where}; {flying}."


def binding_in_words(rule: Rule) -> str:
    """The limit in one line, with the unit that binds where the text prints a pair."""
    binds = f" (the figure in {rule.binding_unit} binds)" if rule.binding_unit else ""
    return limit_in_words(rule) + binds


def describe_rule(rule: Rule) -> list[str]:
    """Write one rule out in plain text, at most 96 characters a line."""
    return [
        *_wrapped(f"{rule.title}  [{rule.id}]"),
        *_wrapped(binding_in_words(rule), indent=2),
        *_wrapped(asked_in_words(rule), indent=2),
        *_source_lines(rule),
    ]


def weather_in_words(row: WeatherMinimum) -> str:
    """Say a row of the visual weather table in one line, its numbers as printed in the file."""
    cloud = (
        f"{row.below_cloud_text} below cloud, {row.above_cloud_text} above, "
        f"{row.beside_cloud_text} beside"
    )
    if row.below_cloud_m == row.above_cloud_m == row.beside_cloud_m == 0.0:
        cloud = "clear of cloud"
    letters = _listed(list(row.airspace_classes), "and")
    return f"Class {letters}: visibility {row.visibility_text}; {cloud}."


def describe_weather(row: WeatherMinimum) -> list[str]:
    """Write one row of the visual weather table out, at most 96 characters a line."""
    return [
        *_wrapped(f"{row.title}  [{row.id}]"),
        *_wrapped(weather_in_words(row), indent=2),
        *_source_lines(row),
    ]


def manoeuvre_in_words(row: Manoeuvre) -> str:
    """Say the heights of a manoeuvre in one line, its limits as printed in the file."""
    asked = []
    if row.completion_text:
        asked.append(f"never below {row.completion_text} above the surface")
    if row.top_text:
        asked.append(f"never above {row.top_text}")
    if row.above_highest_text:
        asked.append(
            f"at least {row.above_highest_text} above the highest thing within {row.within_text}"
        )
    if row.lowest_amsl_m is not None:
        asked.append(f"not below {feet_up(row.lowest_amsl_m):,} ft AMSL")
    if row.highest_amsl_m is not None:
        asked.append(f"not above {feet_down(row.highest_amsl_m):,} ft AMSL")
    heights = (
        f"uses {feet_up(row.height_used_m):,} ft below and {feet_up(row.height_gained_m):,} ft "
        f"above the entry ({row.heights_source})"
    )
    return f"{_listed(asked, 'and') or 'as the rules in force ask'}; {heights}."


def describe_manoeuvre(row: Manoeuvre) -> list[str]:
    """Write a manoeuvre out in plain text, at most 96 characters a line."""
    return [
        *_wrapped(f"{row.title}  [{row.id}]"),
        *_wrapped(manoeuvre_in_words(row), indent=2),
        *_wrapped(f"Asked by: {row.severity}; {row.applies_to}.", indent=2),
        *_source_lines(row),
    ]


def _source_lines(row: Rule | WeatherMinimum | Manoeuvre) -> list[str]:
    lines = [
        *_wrapped(f"“{row.quote}”", indent=2),
        *_wrapped(f"{row.citation}. Last checked {row.last_checked.isoformat()}.", indent=2),
    ]
    if row.reading:
        lines += _wrapped(f"Read as: {row.reading}", indent=2)
    if row.confirm:
        lines += _wrapped(f"CONFIRM: {row.confirm}", indent=2)
    return lines


def rule_set_as_json(rule_set: RuleSet) -> dict[str, Any]:
    """Turn a rule set into values that `json.dumps` takes, keys as the attributes.

    Infinite heights are written as words: "unlimited" in a rule, "none" or "closed" as the floor
    of an example. Days are ISO 8601.
    """
    return attrs.asdict(rule_set, value_serializer=_json_value)


def _json_value(owner: Any, _field: Any, value: Any) -> Any:
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, float) and math.isinf(value):
        if isinstance(owner, Example):
            return "closed" if value > 0.0 else "none"
        return _UNLIMITED
    return value


def _listed(words: Sequence[str], last: str) -> str:
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def _wrapped(text: str, *, indent: int = 0, bullet: str = "") -> list[str]:
    first = " " * indent + bullet
    return textwrap.wrap(
        text,
        _WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_on_hyphens=False,
    ) or [""]
