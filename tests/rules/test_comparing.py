"""Sets side by side: every height and distance rule of each stands in its place."""

import json

import pytest

from areaplan.rules.comparing import compare, comparison_as_json, comparison_text
from areaplan.rules.loading import builtin_rule_sets, load_rule_set
from areaplan.rules.model import Activity, Ground, RuleKind
from areaplan.rules.text import limit_in_words, weather_in_words

ENTERING = (RuleKind.AIRSPACE_ENTRY, RuleKind.AIRSPACE_COLUMN)
PAIRS = [("us", "canada"), ("eu", "icao", "uk"), ("australia", "new-zealand", "us", "uk")]


@pytest.mark.parametrize("names", PAIRS)
def test_every_rule_of_the_kind_stands_in_its_row_and_column(names: tuple[str, ...]) -> None:
    sets = [load_rule_set(name) for name in names]
    rows = compare(sets)
    for one in sets:
        for rule in one.rules:
            if rule.height_m is None and rule.radius_m is None:
                continue
            for ground in Ground:
                is_there = rule in rows[ground][one.id]
                assert is_there is (ground in rule.where and rule.activity is Activity.ANY)
            assert (rule in rows["aerobatic"][one.id]) is (rule.activity is Activity.AEROBATIC)


@pytest.mark.parametrize("names", PAIRS)
def test_the_table_keeps_its_columns_and_says_everything(names: tuple[str, ...]) -> None:
    sets = [load_rule_set(name) for name in names]
    lines = comparison_text(sets).splitlines()
    assert max(map(len, lines)) <= 96
    told = comparison_as_json(sets)
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    squeezed = "".join("\n".join(lines).split())
    # One set alone in a column is unbroken by its neighbours: read each column by itself.
    width = (96 - 12) // len(sets)
    for index, one in enumerate(sets):
        start = 12 + index * width
        column = "".join("".join(line[start : start + width].split()) for line in lines)
        for rule in one.rules:
            if rule.height_m is not None or rule.radius_m is not None:
                assert "".join(limit_in_words(rule).split()) in column
                assert rule.id in column
                assert not rule.confirm or "CONFIRM" in column
    assert "notfornavigation" in squeezed


def test_the_differences_that_matter_show() -> None:
    rows = comparison_as_json([load_rule_set(name) for name in builtin_rule_sets()])["rows"]
    limits = {
        name: [rule["limit"] for rule in rules if rule["severity"] == "law"]
        for name, rules in rows["other"].items()
    }
    assert any("above the surface" in text for text in limits["us"])
    assert not any("above the surface" in text for text in limits["canada"])
    assert any("within 300 m" in text for text in limits["australia"])
    assert limits["icao"] == ["at least 150 m (500 ft) above the surface"]
    assert len(limits["eu"]) == 2


@pytest.mark.parametrize("names", PAIRS)
def test_entering_airspace_and_visual_minima_stand_side_by_side_too(names: tuple[str, ...]) -> None:
    sets = [load_rule_set(name) for name in names]
    rows, told = compare(sets), comparison_as_json(sets)
    lines = comparison_text(sets).splitlines()
    width = (96 - 12) // len(sets)
    for index, one in enumerate(sets):
        start = 12 + index * width
        column = "".join("".join(line[start : start + width].split()) for line in lines)
        airspace = [rule for rule in one.rules if rule.kind in ENTERING]
        for rule in airspace:
            is_any = rule.activity is Activity.ANY
            assert rule in rows["airspace" if is_any else "aerobatic"][one.id]
            assert rule.id in column
            for letter in rule.airspace_classes:
                assert letter in column
            if rule.entry is not None:
                assert f":{rule.entry}[{rule.id}".replace(" ", "") in column
        minima = told["visual_minima_by_day"][one.id]
        assert [row["id"] for row in minima] == [row.id for row in one.weather]
        for row in one.weather:
            assert "".join(row.title.split()) in column
            assert "".join(weather_in_words(row).split()) in column
