"""Turns `[[weather]]` and `[[manoeuvre]]` tables into value objects, noting every fault."""

from __future__ import annotations

from typing import Any, Final

from areaplan.fault_words import describe
from areaplan.rules._printed_lengths import read_printed_length
from areaplan.rules._rule_reader import printed, read_source_words
from areaplan.rules.asking import Activity, Flight, Severity
from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.toml_quantities import read_parsed
from areaplan.toml_tables import Table
from areaplan.units import parse_altitude_amsl, parse_length

_CLASS_LETTERS: Final = tuple("ABCDEFG")
_FROM_CLOUD: Final = ("below_cloud", "above_cloud", "beside_cloud")


def read_weather(top: Table) -> tuple[WeatherMinimum, ...]:
    """Read the table of visual weather minima; empty where a file holds none."""
    rows = [_weather(table) for table in _named(top, "weather")]
    return tuple(row for row in rows if row is not None)


def read_manoeuvres(top: Table) -> tuple[Manoeuvre, ...]:
    """Read the manoeuvres of a file; empty where it holds none."""
    rows = [_manoeuvre(table) for table in _named(top, "manoeuvre")]
    return tuple(row for row in rows if row is not None)


def _named(top: Table, key: str) -> list[Table]:
    """The tables under a heading, each known by its identifier from then on."""
    tables = []
    seen: set[tuple[str, object]] = set()
    for table in top.tables(key):
        identifier = table.prose("id")
        mark = identifier, table.values.get("applies_to", Flight.BOTH)
        if mark in seen:
            expected = f"an identifier that no other {key} of the file uses"
            table.note("id", "duplicate", expected, "rename one of the two")
        seen.add(mark)
        if identifier:
            table.key = f"{key}[{identifier}]"
        tables.append(table)
    return tables


def _weather(table: Table) -> WeatherMinimum | None:
    unit = table.prose("binding_unit", default="")
    has_top = table.has("top_agl") or table.has("top_amsl")
    fields: dict[str, Any] = {
        "id": table.prose("id"),
        "title": table.prose("title"),
        "airspace_classes": table.choices("airspace_classes", _CLASS_LETTERS),
        "top_agl_m": _optional(table, "top_agl", unit),
        "top_amsl_m": _optional(table, "top_amsl", unit),
        "is_top_inclusive": table.flag("is_top_inclusive") if has_top else False,
        "visibility_m": read_parsed(table, "visibility", parse_length, "..."),
        "visibility_text": printed(table, "visibility"),
    }
    if fields["visibility_m"] == 0.0:
        table.note("visibility", "0", "more than 0", "compare with the document")
    for key in _FROM_CLOUD:
        length_m = read_printed_length(table, key, unit, may_be_unlimited=False)
        fields |= {f"{key}_m": length_m, f"{key}_text": printed(table, key)}
    fields |= read_source_words(table)
    table.refuse_unknown("a weather minimum")
    return None if table.faults.noted else WeatherMinimum(**fields)


def _manoeuvre(table: Table) -> Manoeuvre | None:
    has_highest = table.has("above_highest") or table.has("within")
    fields: dict[str, Any] = {
        "id": table.prose("id"),
        "title": table.prose("title"),
        "severity": table.choice("severity", Severity),
        "activity": table.choice("activity", Activity, default=Activity.ANY),
        "applies_to": table.choice("applies_to", Flight, default=Flight.BOTH),
        "completion_agl_m": _optional(table, "completion", ""),
        "completion_text": printed(table, "completion"),
        "top_agl_m": _optional(table, "top", ""),
        "top_text": printed(table, "top"),
        "above_highest_m": _needed(table, "above_highest") if has_highest else None,
        "above_highest_text": printed(table, "above_highest"),
        "within_m": _needed(table, "within") if has_highest else None,
        "within_text": printed(table, "within"),
        "lowest_amsl_m": _altitude(table, "block_lowest"),
        "highest_amsl_m": _altitude(table, "block_highest"),
        "height_used_m": _needed(table, "height_used"),
        "height_gained_m": _needed(table, "height_gained"),
        "heights_source": table.prose("heights_source"),
        **read_source_words(table),
    }
    for low, high, names in (
        (fields["completion_agl_m"], fields["top_agl_m"], ("completion", "top")),
        (fields["lowest_amsl_m"], fields["highest_amsl_m"], ("block_lowest", "block_highest")),
    ):
        if low is not None and high is not None and low > high:
            found = describe(table.values[names[1]])
            table.note(names[1], found, f"not below {names[0]}", "swap the two")
    if fields["within_m"] == 0.0:
        table.note("within", "0", "a length above 0", "compare with the document")
    table.refuse_unknown("a manoeuvre")
    return None if table.faults.noted else Manoeuvre(**fields)


def _needed(table: Table, key: str) -> float | None:
    return read_parsed(table, key, parse_length, "...")


def _optional(table: Table, key: str, unit: str) -> float | None:
    if not table.has(key):
        return None
    return read_printed_length(table, key, unit, may_be_unlimited=False)


def _altitude(table: Table, key: str) -> float | None:
    return read_parsed(table, key, parse_altitude_amsl, "...") if table.has(key) else None
