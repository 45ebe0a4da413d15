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

from areaplan.rules.model import (
    DIRECTIONS,
    Activity,
    Counted,
    Example,
    Ground,
    Rule,
    RuleKind,
    RuleSet,
)

_WIDTH: Final = 96
_UNLIMITED: Final = "unlimited"
_GROUND_WORDS: Final = {
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
    return lines


def describe_rule(rule: Rule) -> list[str]:
    """Write one rule out in plain text, at most 96 characters a line."""
    where = "anywhere"
    if len(rule.where) < len(Ground):
        where = "over " + _listed([_GROUND_WORDS[ground] for ground in rule.where], "and")
    flying = "aerobatic flight only" if rule.activity is Activity.AEROBATIC else "any flight"
    binds = f" (the figure in {rule.binding_unit} binds)" if rule.binding_unit else ""
    lines = [
        *_wrapped(f"{rule.title}  [{rule.id}]"),
        *_wrapped(f"{limit_in_words(rule)}{binds}", indent=2),
        *_wrapped(f"Asked by: {rule.severity}. Applies: {where}; {flying}.", indent=2),
        *_wrapped(f"“{rule.quote}”", indent=2),
        *_wrapped(f"{rule.citation}. Last checked {rule.last_checked.isoformat()}.", indent=2),
    ]
    if rule.reading:
        lines += _wrapped(f"Read as: {rule.reading}", indent=2)
    if rule.confirm:
        lines += _wrapped(f"CONFIRM: {rule.confirm}", indent=2)
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
