"""Texts with a unit inside a table: parsed, held to limits, and refused with the parser's words."""

from __future__ import annotations

import math
import tomllib

import pytest

from areaplan.errors import Fault
from areaplan.toml_quantities import Bounds, read_parsed, read_quantity
from areaplan.toml_tables import Faults, Table
from areaplan.units import Wind, parse_length, parse_share, parse_wind

QUARTER_MILE_M = 463.0  # 0.25 x 1852 m, BIPM SI brochure, 9th edition, table 8 note
HUGE = "0x" + "f" * 10_000  # more digits than Python writes out
MARGIN = Bounds(parse_length, "1 m", "0.25 NM", "30 ft", "never zero, because lines are in error")


def table_of(text: str) -> Table:
    return Table(tomllib.loads(text), "part", Faults("some.toml"))


def only_fault(table: Table) -> Fault:
    (fault,) = table.faults.noted
    assert fault.key == "part.k"
    return fault


def test_a_text_is_parsed() -> None:
    table = table_of('k = "210/10 m/s"')
    assert read_parsed(table, "k", parse_wind, "210/14 kt") == Wind(210.0, 10.0)
    assert not table.faults.noted


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("30", "the bare number 30"),
        ("true", "the truth value true"),
        ('"gale"', "'gale'"),
        ('" "', "an empty text"),
        ('["30 ft"]', "the list ['30 ft']"),
        (HUGE, "the bare number too long to show"),
        (f'"{"9" * 10_000} ft"', "'" + "9" * 56 + "..."),
    ],
)
def test_what_is_no_quantity_is_told_with_the_forms_that_are(text: str, found: str) -> None:
    for reader, parts in (
        (lambda t: read_parsed(t, "k", parse_length, "30 ft"), ("a length with unit ft",)),
        (lambda t: read_parsed(t, "k", parse_wind, "210/14 kt"), ("210/14 kt", "calm")),
        (lambda t: read_quantity(t, "k", MARGIN), ("a length with unit ft",)),
    ):
        table = table_of(f"k = {text}")
        value = reader(table)
        assert value is None or math.isnan(value)
        fault = only_fault(table)
        assert fault.found == found
        assert all(part in fault.expected for part in parts)
        assert fault.fix.startswith('write k = "')


def test_a_missing_quantity_is_a_fault_unless_it_has_a_default() -> None:
    table = table_of("")
    assert math.isnan(read_quantity(table, "k", MARGIN))
    fault = only_fault(table)
    assert fault.found == "not given"
    assert fault.expected.endswith("from 1 m to 0.25 NM")
    assert fault.fix == 'add the missing key: k = "30 ft"'
    table = table_of("")
    assert read_quantity(table, "k", MARGIN, default=True) == pytest.approx(30 * 0.3048)
    assert not table.faults.noted
    table = table_of("k = 30")
    assert math.isnan(read_quantity(table, "k", MARGIN, default=True))  # a default hides no fault
    only_fault(table)
    table = table_of("")
    assert read_parsed(table, "k", parse_length, "...", expected="how far") is None
    assert only_fault(table).expected == "how far"


@pytest.mark.parametrize(
    ("text", "value_m"),
    [("1 m", 1.0), ("0.25 NM", QUARTER_MILE_M), ("463 m", QUARTER_MILE_M), ("0.463 km", 463.0)],
)
def test_both_limits_are_allowed_in_any_unit(text: str, value_m: float) -> None:
    table = table_of(f'k = "{text}"')
    assert read_quantity(table, "k", MARGIN) == pytest.approx(value_m, rel=1e-12)
    assert not table.faults.noted


@pytest.mark.parametrize("text", ["0 m", "0.999 m", "463.001 m", "0.251 NM", "3 ft"])
def test_outside_the_limits_the_reason_is_told(text: str) -> None:
    table = table_of(f'k = "{text}"')
    assert math.isnan(read_quantity(table, "k", MARGIN))
    fault = only_fault(table)
    assert fault.found == repr(text)
    assert fault.expected == "1 m to 0.25 NM: never zero, because lines are in error"
    assert fault.fix == 'write k = "30 ft"'


def test_limits_without_a_reason_say_only_themselves() -> None:
    table = table_of('k = "96 %"')
    assert math.isnan(read_quantity(table, "k", Bounds(parse_share, "0 %", "95 %", "20 %")))
    assert only_fault(table).expected == "0 % to 95 %"


def test_a_parser_that_takes_nothing_for_a_quantity_is_a_mistake_of_ours() -> None:
    with pytest.raises(TypeError, match="takes None"):
        read_parsed(table_of('k = "x"'), "k", str, "x")
