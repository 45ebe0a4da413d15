"""Turns the `[[rule]]` tables of a rule file into `Rule` objects, noting every fault."""

from __future__ import annotations

import math
from typing import Any, Final

from areaplan.rules._table_reader import TableReader
from areaplan.rules.model import (
    Activity,
    Counted,
    Entry,
    Example,
    ExampleThing,
    Ground,
    Rule,
    RuleKind,
    Severity,
)
from areaplan.units import parse_altitude_amsl, parse_length

_COMMON_KEYS: Final = (
    *("id", "title", "kind", "severity", "activity"),
    *("document", "section", "edition", "last_checked", "quote", "reading", "confirm", "example"),
)
_RADIUS_KEYS: Final = ("radius", "is_radius_inclusive", "counts")
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
}
_NO_TOP: Final = (Counted.NOISE, Counted.AIRWAY)
# Distance from the ground itself is a height rule; places without a top of their own can't be the
# highest thing around.
_COUNTED_BY_KIND: Final[dict[RuleKind, list[Counted]]] = {
    RuleKind.HIGHEST_IN_RADIUS: [word for word in Counted if word not in _NO_TOP],
    RuleKind.SLANT_DISTANCE: [word for word in Counted if word is not Counted.TERRAIN],
    RuleKind.LATERAL_DISTANCE: [word for word in Counted if word is not Counted.TERRAIN],
}
_EXAMPLE_KEYS: Final = ("source", "ground", "terrain", "things", "altitude", "allowed", "floor")
_THING_KEYS: Final = ("counted", "top", "distance")
_FLOOR_WORDS: Final = {"none": -math.inf, "closed": math.inf}
_ANYWHERE: Final = "anywhere"
_CLASS_LETTERS: Final = tuple("ABCDEFG")


def read_rules(top: TableReader) -> tuple[Rule, ...]:
    """Read every rule of a file; the caller looks at the faults before it uses them."""
    readers = top.tables("rule", "rule")
    if not readers and top.table.get("rule", []) == []:
        top.missing("rule", "one [[rule]] table or more")
    seen: set[str] = set()
    rules = []
    for reader in readers:
        identifier = reader.text("id")
        if identifier:
            reader.key = f"rule[{identifier}]"
        if identifier in seen:
            expected = "an identifier that no other rule of the file uses"
            reader.fault("id", found="duplicate", expected=expected, fix="rename one of the two")
        seen.add(identifier)
        rules.append(_rule(reader, identifier))
    return tuple(rule for rule in rules if rule is not None)


def _rule(reader: TableReader, identifier: str) -> Rule | None:
    before = len(reader.faults)
    kind = reader.word("kind", RuleKind)
    if len(reader.faults) > before:
        return None  # which keys belong here depends on the kind
    keys = _KEYS_OF_KIND[kind]
    reader.refuse_other_keys((*_COMMON_KEYS, *keys), f'a "{kind}" rule')
    severity = reader.word("severity", Severity)
    classes, types = _airspace(reader) if "airspace_classes" in keys else ((), ())
    fields: dict[str, Any] = {
        "id": identifier,
        "title": reader.text("title"),
        "kind": kind,
        "severity": severity,
        "where": _where(reader) if "where" in keys else tuple(Ground),
        "activity": reader.word("activity", Activity, Activity.ANY),
        **_lengths(reader, kind, keys),
        "is_radius_inclusive": reader.flag("is_radius_inclusive") if "radius" in keys else False,
        "counts": reader.words("counts", _COUNTED_BY_KIND[kind]) if "radius" in keys else (),
        "airspace_classes": classes,
        "airspace_types": types,
        "entry": _entry(reader, severity) if "entry" in keys else None,
        "document": reader.text("document"),
        "section": reader.text("section"),
        "edition": reader.text("edition"),
        "last_checked": reader.day("last_checked"),
        "quote": reader.text("quote"),
        "reading": reader.text("reading", ""),
        "confirm": reader.text("confirm", ""),
        "examples": tuple(_example(one) for one in reader.tables("example", "example")),
    }
    return Rule(**fields) if identifier and len(reader.faults) == before else None


def _lengths(reader: TableReader, kind: RuleKind, keys: tuple[str, ...]) -> dict[str, Any]:
    unit = reader.text("binding_unit", "")
    if unit and not any("(" in str(reader.table.get(key)) for key in ("height", "radius")):
        expected = "nothing, as neither height nor radius is a printed pair"
        reader.fault("binding_unit", found=repr(unit), expected=expected, fix="take it out")
    height_m = radius_m = None
    if "height" in keys:
        is_lateral = kind is RuleKind.LATERAL_DISTANCE
        height_m = reader.printed_length_m("height", unit, may_be_unlimited=is_lateral)
    if "radius" in keys:
        radius_m = reader.printed_length_m("radius", unit, may_be_unlimited=False)
    if radius_m == 0.0:
        fix = "compare with the document"
        reader.fault("radius", found="0", expected="a length above 0", fix=fix)
    return {
        "height_m": height_m,
        "height_text": _printed(reader, "height"),
        "radius_m": radius_m,
        "radius_text": _printed(reader, "radius"),
        "binding_unit": unit,
    }


def _printed(reader: TableReader, key: str) -> str:
    return " ".join(str(reader.table.get(key, "")).split())


def _where(reader: TableReader) -> tuple[Ground, ...]:
    if reader.table.get("where") == [_ANYWHERE]:
        return tuple(Ground)
    return reader.words("where", Ground)


def _entry(reader: TableReader, severity: Severity) -> Entry:
    entry = reader.word("entry", Entry)
    if entry is Entry.UNKNOWN:
        fix = "say what the volume asks, or leave the rule out: then it is unknown"
        reader.fault("entry", found='"unknown"', expected="what the volume asks", fix=fix)
    if severity is Severity.ADVISORY and entry is not Entry.OPEN:
        fix = 'write severity = "law" or "policy", or entry = "open"'
        reader.fault("entry", found=f'"{entry}"', expected='"open" in an advisory', fix=fix)
    return entry


def _airspace(reader: TableReader) -> tuple[tuple[str, ...], tuple[str, ...]]:
    classes = tuple(letter.upper() for letter in reader.texts("airspace_classes"))
    types = tuple(code.upper() for code in reader.texts("airspace_types"))
    for letter in classes:
        if letter not in _CLASS_LETTERS:
            expected = f"class letters {', '.join(_CLASS_LETTERS)}"
            fix = "put type codes into airspace_types"
            reader.fault("airspace_classes", found=repr(letter), expected=expected, fix=fix)
    if not classes and not types:
        reader.missing("airspace_classes", "airspace_classes or airspace_types, or both")
    return classes, types


def _example(reader: TableReader) -> Example:
    reader.refuse_other_keys(_EXAMPLE_KEYS, "an example")
    has_floor, has_altitude = "floor" in reader.table, "altitude" in reader.table
    if not has_floor and not has_altitude:
        reader.missing("floor", "floor, or altitude with allowed")
    if has_altitude != ("allowed" in reader.table):
        reader.missing("allowed" if has_altitude else "altitude", "altitude together with allowed")
        has_altitude = False
    return Example(
        source=reader.text("source"),
        ground=reader.word("ground", Ground),
        terrain_amsl_m=reader.quantity("terrain", parse_altitude_amsl, 0.0),
        things=tuple(_thing(one) for one in reader.tables("things", "thing")),
        altitude_amsl_m=(
            reader.quantity("altitude", parse_altitude_amsl, 0.0) if has_altitude else None
        ),
        is_allowed=reader.flag("allowed") if has_altitude else None,
        expected_floor_amsl_m=_expected_floor(reader) if has_floor else None,
    )


def _expected_floor(reader: TableReader) -> float:
    word = reader.table["floor"]
    if isinstance(word, str) and word in _FLOOR_WORDS:
        return _FLOOR_WORDS[word]
    return reader.quantity("floor", parse_altitude_amsl, 0.0)


def _thing(reader: TableReader) -> ExampleThing:
    reader.refuse_other_keys(_THING_KEYS, "a thing")
    return ExampleThing(
        counted=reader.word("counted", Counted),
        top_amsl_m=reader.quantity("top", parse_altitude_amsl, 0.0),
        horizontal_distance_m=reader.quantity("distance", parse_length, 0.0),
    )
