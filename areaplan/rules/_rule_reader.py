"""Turns the `[[rule]]` tables of a rule file into `Rule` objects, noting every fault."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final, cast

from areaplan.fault_words import describe
from areaplan.rules._printed_lengths import read_printed_length
from areaplan.rules.model import (
    DIRECTIONS,
    Activity,
    ChoiceExample,
    Counted,
    Entry,
    Example,
    ExampleThing,
    Flight,
    Ground,
    Rule,
    RuleKind,
    Severity,
)
from areaplan.toml_quantities import read_parsed
from areaplan.toml_tables import Table
from areaplan.units import parse_altitude_amsl, parse_length, parse_speed

_RADIUS_KEYS: Final = ("radius", "is_radius_inclusive", "counts")
_CHOICE_KEYS: Final = ("sectors", "separate_fields")
_AIRSPACE_KEYS: Final = ("airspace_classes", "airspace_types")
_KEYS_OF_KIND: Final[dict[RuleKind, tuple[str, ...]]] = {
    RuleKind.HEIGHT_ABOVE_SURFACE: ("where", "height", "binding_unit"),
    RuleKind.HIGHEST_IN_RADIUS: ("where", "height", *_RADIUS_KEYS, "binding_unit"),
    RuleKind.SLANT_DISTANCE: ("where", *_RADIUS_KEYS, "binding_unit"),
    RuleKind.LATERAL_DISTANCE: ("where", "height", *_RADIUS_KEYS, "binding_unit"),
    RuleKind.EMERGENCY_LANDING: ("where",),
    RuleKind.CLOSED_OVER: ("where",),
    RuleKind.AIRSPACE_ENTRY: (*_AIRSPACE_KEYS, "entry"),
    RuleKind.AIRSPACE_COLUMN: _AIRSPACE_KEYS,
    RuleKind.WIND_LIMIT: ("wind",),
    RuleKind.WEATHER_LIMIT: ("visibility", "ceiling"),
    RuleKind.BRIEFING: (),
    RuleKind.FIELD_IN_EVERY_DIRECTION: _CHOICE_KEYS,
}
_NO_TOP: Final = (Counted.NOISE, Counted.AIRWAY)
# Distance from the ground itself is a height rule; places without a top of their own can't be the
# highest thing around.
_COUNTED_BY_KIND: Final[dict[RuleKind, list[Counted]]] = {
    RuleKind.HIGHEST_IN_RADIUS: [word for word in Counted if word not in _NO_TOP],
    RuleKind.SLANT_DISTANCE: [word for word in Counted if word is not Counted.TERRAIN],
    RuleKind.LATERAL_DISTANCE: [word for word in Counted if word is not Counted.TERRAIN],
}
_FLOOR_WORDS: Final = {"none": -math.inf, "closed": math.inf}
_ANYWHERE: Final = "anywhere"
_CLASS_LETTERS: Final = tuple("ABCDEFG")


def read_rules(top: Table) -> tuple[Rule, ...]:
    """Read every rule of a file; none is built once a fault was noted, here or before."""
    tables = top.tables("rule")
    is_made_of_others = "includes" in top.values
    if not tables and top.values.get("rule", []) == [] and not is_made_of_others:
        top.note_missing("rule", "one [[rule]] table or more", "add a line [[rule]] and its keys")
    seen: set[str] = set()
    rules = []
    for table in tables:
        identifier = table.prose("id")
        if identifier:
            table.key = f"rule[{identifier}]"
        if identifier in seen:
            expected = "an identifier that no other rule of the file uses"
            table.note("id", "duplicate", expected, "rename one of the two")
        seen.add(identifier)
        rules.append(_rule(table, identifier))
    return tuple(rule for rule in rules if rule is not None)


def _rule(table: Table, identifier: str) -> Rule | None:
    kind = table.choice("kind", RuleKind)
    if kind is None:
        return None  # which keys belong here depends on the kind
    keys = _KEYS_OF_KIND[kind]
    severity = table.choice("severity", Severity)
    classes, types = _airspace(table) if "airspace_classes" in keys else ((), ())
    fields: dict[str, Any] = {
        "id": identifier,
        "title": table.prose("title"),
        "kind": kind,
        "severity": severity,
        "where": _where(table) if "where" in keys else tuple(Ground),
        "activity": table.choice("activity", Activity, default=Activity.ANY),
        "applies_to": table.choice("applies_to", Flight, default=Flight.BOTH),
        **_lengths(table, kind, keys),
        "is_radius_inclusive": table.flag("is_radius_inclusive") if "radius" in keys else False,
        "counts": table.choices("counts", _COUNTED_BY_KIND[kind]) if "radius" in keys else (),
        "airspace_classes": classes,
        "airspace_types": types,
        "entry": _entry(table, severity) if "entry" in keys else None,
        **_air(table, keys),
        **read_source_words(table),
        **_choice_and_examples(table, is_choice="sectors" in keys),
    }
    table.refuse_unknown(f'a "{kind}" rule')
    return None if table.faults.noted else Rule(**fields)


def read_source_words(table: Table) -> dict[str, Any]:
    """Read where a sentence stands, the sentence, and how sure it is: the same keys everywhere."""
    return {
        "document": table.prose("document"),
        "section": table.prose("section"),
        "edition": table.prose("edition"),
        "last_checked": table.day("last_checked", required=True),
        "quote": table.prose("quote"),
        "reading": table.prose("reading", default=""),
        "confirm": table.prose("confirm", default=""),
    }


def _air(table: Table, keys: tuple[str, ...]) -> dict[str, Any]:
    """Wind, visibility and ceiling; None where the kind has none, and "" for the text."""
    found: dict[str, Any] = {
        "wind_mps": _above_zero(table, "wind", parse_speed) if "wind" in keys else None,
        "visibility_m": None,
        "ceiling_agl_m": None,
    }
    if "visibility" in keys:
        if not table.has("visibility") and not table.has("ceiling"):
            table.note_missing("visibility", "visibility or ceiling, or both", "add one of them")
        if table.has("visibility"):
            found["visibility_m"] = _above_zero(table, "visibility", parse_length)
        if table.has("ceiling"):
            found["ceiling_agl_m"] = _above_zero(table, "ceiling", parse_length)
    return found | {f"{key}_text": printed(table, key) for key in ("wind", "visibility", "ceiling")}


def _above_zero(table: Table, key: str, parse: Callable[[object], float]) -> float | None:
    value = read_parsed(table, key, parse, "...")
    if value == 0.0:
        table.note(key, "0", "more than 0", "take the rule out if there is no limit")
    return value


def _lengths(table: Table, kind: RuleKind, keys: tuple[str, ...]) -> dict[str, Any]:
    unit = table.prose("binding_unit", default="") if "binding_unit" in keys else ""
    if unit and not any("(" in printed(table, key) for key in ("height", "radius")):
        expected = "nothing, as neither height nor radius is a printed pair"
        table.note("binding_unit", describe(unit), expected, "take it out")
    height_m = radius_m = None
    if "height" in keys:
        is_lateral = kind is RuleKind.LATERAL_DISTANCE
        height_m = read_printed_length(table, "height", unit, may_be_unlimited=is_lateral)
    if "radius" in keys:
        radius_m = read_printed_length(table, "radius", unit, may_be_unlimited=False)
    if radius_m == 0.0:
        table.note("radius", "0", "a length above 0", "compare with the document")
    return {
        "height_m": height_m,
        "height_text": printed(table, "height"),
        "radius_m": radius_m,
        "radius_text": printed(table, "radius"),
        "binding_unit": unit,
    }


def printed(table: Table, key: str) -> str:
    """The text of a quantity as the file prints it; "" where there is none."""
    text = table.values.get(key)
    return " ".join(text.split()) if isinstance(text, str) else ""


def _where(table: Table) -> tuple[Ground, ...]:
    if table.has("where") and table.values["where"] == [_ANYWHERE]:
        return tuple(Ground)
    return table.choices("where", Ground)


def _entry(table: Table, severity: Severity | None) -> Entry | None:
    entry = table.choice("entry", Entry)
    if entry is Entry.UNKNOWN:
        fix = "say what the volume asks, or leave the rule out: then it is unknown"
        table.note("entry", f'"{entry}"', "what the volume asks", fix)
    if severity is Severity.ADVISORY and entry not in (Entry.OPEN, None):
        fix = 'write severity = "law" or "policy", or entry = "open"'
        table.note("entry", f'"{entry}"', '"open" in an advisory', fix)
    return entry


def _airspace(table: Table) -> tuple[tuple[str, ...], tuple[str, ...]]:
    classes = tuple(letter.upper() for letter in table.passages("airspace_classes"))
    types = tuple(code.upper() for code in table.passages("airspace_types"))
    for letter in classes:
        if letter not in _CLASS_LETTERS:
            expected = f"class letters {', '.join(_CLASS_LETTERS)}"
            fix = "put type codes into airspace_types"
            table.note("airspace_classes", describe(letter), expected, fix)
    if not classes and not types:
        expected = "airspace_classes or airspace_types, or both"
        table.note_missing("airspace_classes", expected, "add airspace_classes = [...]")
    return classes, types


def _choice_and_examples(table: Table, *, is_choice: bool) -> dict[str, Any]:
    examples = table.tables("example")
    if not is_choice:
        return {"examples": tuple(_example(one) for one in examples)}
    has_fields = table.has("separate_fields")
    return {
        "examples": (),
        "least_sectors": _count(table, "sectors", 1),
        "least_separate_fields": _count(table, "separate_fields", 1) if has_fields else None,
        "choice_examples": tuple(_choice_example(one) for one in examples),
    }


def _choice_example(table: Table) -> ChoiceExample | None:
    fields: dict[str, Any] = {
        "source": table.prose("source"),
        "sectors_with_field": _count(table, "sectors_with_field", 0),
        "separate_fields": _count(table, "separate_fields", 0),
        "is_allowed": table.flag("allowed"),
    }
    table.refuse_unknown("an example of a rule on the choice of fields")
    return None if table.faults.noted else ChoiceExample(**fields)


def _count(table: Table, key: str, least: int) -> int:
    expected = f"a whole number from {least} to {DIRECTIONS}"
    value = table.get(key, expected, str(DIRECTIONS))
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    if is_whole and least <= cast(int, value) <= DIRECTIONS:
        return cast(int, value)
    if value is not None:
        table.note(key, describe(value), expected, f"write {key} = {DIRECTIONS}, without quotes")
    return 0


def _example(table: Table) -> Example | None:
    has_floor, has_altitude = table.has("floor"), table.has("altitude")
    if not has_floor and not has_altitude:
        table.note_missing("floor", "floor, or altitude with allowed", 'add floor = "..."')
    if has_altitude != table.has("allowed"):
        key = "allowed" if has_altitude else "altitude"
        table.note_missing(key, "altitude together with allowed", f"add {key} = ...")
        has_altitude = False
    fields: dict[str, Any] = {
        "source": table.prose("source"),
        "ground": table.choice("ground", Ground),
        "terrain_amsl_m": read_parsed(table, "terrain", parse_altitude_amsl, "..."),
        "things": tuple(_thing(one) for one in table.tables("things", each="thing")),
        "altitude_amsl_m": (
            read_parsed(table, "altitude", parse_altitude_amsl, "...") if has_altitude else None
        ),
        "is_allowed": table.flag("allowed") if has_altitude else None,
        "expected_floor_amsl_m": _expected_floor(table) if has_floor else None,
    }
    table.refuse_unknown("an example")
    return None if table.faults.noted else Example(**fields)


def _expected_floor(table: Table) -> float | None:
    word = table.values["floor"]
    if isinstance(word, str) and word in _FLOOR_WORDS:
        return _FLOOR_WORDS[word]
    return read_parsed(table, "floor", parse_altitude_amsl, "...")


def _thing(table: Table) -> ExampleThing | None:
    fields: dict[str, Any] = {
        "counted": table.choice("counted", Counted),
        "top_amsl_m": read_parsed(table, "top", parse_altitude_amsl, "..."),
        "horizontal_distance_m": read_parsed(table, "distance", parse_length, "..."),
    }
    table.refuse_unknown("a thing")
    return None if table.faults.noted else ExampleThing(**fields)
