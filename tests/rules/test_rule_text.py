"""The page that a student reads, and the values that a program reads."""

import json

import pytest

from areaplan.rules.loading import load_rule_set
from areaplan.rules.model import RuleKind, RuleSet
from areaplan.rules.text import describe_rule, describe_rule_set, limit_in_words, rule_set_as_json

WIDEST = 96


def flat(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("name", ["us", "icao-eu", "school", "new-zealand", "uk"])
def test_every_rule_stands_on_the_page_whole(name: str, rule_sets: dict[str, RuleSet]) -> None:
    rule_set = rule_sets[name]
    lines = describe_rule_set(rule_set)
    page = flat(lines)
    assert max(map(len, lines)) <= WIDEST
    assert rule_set.title in page
    assert rule_set.authority in page
    assert rule_set.sha256 in page
    assert "not for navigation" in page
    for note in rule_set.notes:
        assert note in page
    for rule in rule_set.rules:
        own = flat(describe_rule(rule))
        assert own in page
        for text in (rule.title, rule.id, rule.quote, rule.citation, rule.reading, rule.confirm):
            assert text in own
        assert rule.height_text in own or rule.height_m == 0.0 or rule.height_text == "unlimited"
        assert rule.radius_text in own
        assert rule.severity in own
        assert f"Last checked {rule.last_checked:%Y-%m-%d}" in own
        assert ("CONFIRM" in own) is bool(rule.confirm)
        assert (f"any flight, {rule.applies_to} only" in own) is (rule.applies_to != "both")
    for row in (*rule_set.weather, *rule_set.manoeuvres):
        for text in (row.title, row.id, row.quote, row.citation, row.reading, row.confirm):
            assert text in page
    for row in rule_set.weather:
        assert f"visibility {row.visibility_text}" in page
    for row in rule_set.manoeuvres:
        assert f"never below {row.completion_text} above the surface" in page


def test_the_limit_in_one_line(rule_sets: dict[str, RuleSet]) -> None:
    by_id = {rule.id: rule for one in rule_sets.values() for rule in one.rules}
    lines = {
        "us-91.119-c-surface": "at least 500 ft above the surface",
        "us-91.119-b": "at least 1,000 ft above any terrain, any obstacle, any structure or "
        "any wire within 2,000 ft",
        "us-91.303-d": "never within 4 NM of any airway centre line, at any altitude",
        "us-91.303-a": "closed at every altitude",
        "us-aim-guyed": "nearer than 2,000 ft to any obstacle, not below its top",
        "school-neighbours": "within 2,000 ft of any noise-sensitive place, at least 2,000 ft "
        "above it",
        "us-91.129-c": "class D or type CLASS_D: two-way radio",
        "us-91.133": "type P or type R: no entry",
        "us-91.303-f": "at least flight visibility 3 SM",
        "us-91.307-c": "for the briefing: no map can judge it",
        "school-wind-solo": "no more wind than 15 kt",
        "school-weather": "at least flight visibility 5 SM and ceiling 2,500 ft above the ground",
        "school-field-in-every-direction": "a field within gliding distance in at least 12 of 12 "
        "directions, at least 2 separate fields among them",
    }
    assert {name: limit_in_words(by_id[name]) for name in lines} == lines
    kinds = {by_id[name].kind for name in lines}
    assert set(RuleKind) - kinds == {
        RuleKind.SLANT_DISTANCE,
        RuleKind.EMERGENCY_LANDING,
        RuleKind.AIRSPACE_COLUMN,
    }
    assert "in any direction" in limit_in_words(by_id["us-91.119-c-distance"])
    assert "engine fails" in limit_in_words(by_id["us-91.119-a"])
    assert "surface areas" in limit_in_words(by_id["us-91.303-c"])


def test_the_page_names_the_unit_that_binds(rule_sets: dict[str, RuleSet]) -> None:
    page = flat(describe_rule_set(rule_sets["icao-eu"]))
    assert "at least 150 m (500 ft) above the ground" not in page  # the quote, not our line
    assert "at least 150 m (500 ft) above the surface (the figure in m binds)" in page


@pytest.mark.parametrize("name", ["us", "icao-eu", "school", "new-zealand"])
def test_json_is_strict_and_whole(name: str, rule_sets: dict[str, RuleSet]) -> None:
    rule_set = rule_sets[name]
    values = rule_set_as_json(rule_set)
    again = json.loads(json.dumps(values, allow_nan=False))
    assert again == values
    assert [rule["id"] for rule in again["rules"]] == [rule.id for rule in rule_set.rules]
    for read, rule in zip(again["rules"], rule_set.rules, strict=True):
        assert read["quote"] == rule.quote
        assert read["last_checked"] == rule.last_checked.isoformat()
        assert read["where"] == [str(ground) for ground in rule.where]
        assert len(read["examples"]) == len(rule.examples)


def test_json_writes_the_infinite_as_words() -> None:
    rules = {rule["id"]: rule for rule in rule_set_as_json(load_rule_set("us"))["rules"]}
    airway = rules["us-91.303-d"]
    assert airway["height_m"] == "unlimited"
    assert airway["radius_m"] == 7408.0
    assert [example["expected_floor_amsl_m"] for example in airway["examples"]] == [
        "closed",
        "none",
    ]
