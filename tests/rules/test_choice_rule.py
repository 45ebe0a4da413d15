"""The rule on the choice of fields: read, refused, told, and its worked examples judged."""

import json
from pathlib import Path

import pytest

from areaplan.errors import Fault, InputError
from areaplan.rules.loading import load_rule_set, policy_template
from areaplan.rules.model import ChoiceExample, Rule, RuleKind, RuleSet
from areaplan.rules.text import describe_rule, limit_in_words, rule_set_as_json
from tests.oracles.rule_examples import is_choice_enough

TEXT = """
id = "school"
title = "School policy"
authority = "Chief flight instructor"

[[rule]]
id = "all-round"
title = "A field all round"
kind = "field in every direction"
severity = "policy"
sectors = 10
separate_fields = 3
document = "School operations manual"
section = "3"
edition = "1"
last_checked = 2026-11-25
quote = "Ten directions, three fields."

[[rule.example]]
source = "instructor"
sectors_with_field = 10
separate_fields = 3
allowed = true

[[rule.example]]
source = "instructor"
sectors_with_field = 12
separate_fields = 2
allowed = false

[[rule.example]]
source = "instructor"
sectors_with_field = 9
separate_fields = 9
allowed = false
"""


def load(tmp_path: Path, text: str) -> RuleSet:
    path = tmp_path / "policy.toml"
    path.write_text(text, encoding="utf-8")
    return load_rule_set("policy.toml", path)


def faults_of(tmp_path: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        load(tmp_path, text)
    return tuple(caught.value.faults)


def test_the_numbers_come_from_the_file(tmp_path: Path) -> None:
    (rule,) = load(tmp_path, TEXT).rules
    assert rule.kind is RuleKind.FIELD_IN_EVERY_DIRECTION
    assert (rule.least_sectors, rule.least_separate_fields) == (10, 3)
    assert rule.examples == ()
    assert rule.choice_examples[0] == ChoiceExample("instructor", 10, 3, True)
    (fewer,) = load(tmp_path, TEXT.replace("separate_fields = 3\ndocument", "document")).rules
    assert fewer.least_separate_fields is None


def choice_examples(tmp_path: Path, rule_sets: dict[str, RuleSet]) -> list:
    sets = [*rule_sets.values(), load(tmp_path, TEXT)]
    return [(rule, one) for part in sets for rule in part.rules for one in rule.choice_examples]


def test_every_worked_example_is_answered_as_its_file_says(
    tmp_path: Path, rule_sets: dict[str, RuleSet]
) -> None:
    found = choice_examples(tmp_path, rule_sets)
    assert len(found) == 4
    assert {one.is_allowed for _, one in found} == {True, False}
    for rule, example in found:
        assert is_choice_enough(rule, example) is example.is_allowed, (rule.id, example)


@pytest.mark.parametrize(
    ("old", "new", "key", "expected"),
    [
        ("sectors = 10", "sectors = 13", "sectors", "1 to 12"),
        ("sectors = 10", "sectors = 0", "sectors", "1 to 12"),
        ("sectors = 10", "sectors = 10.0", "sectors", "whole number"),
        ("sectors = 10", 'sectors = "10"', "sectors", "whole number"),
        ("sectors = 10", "sectors = true", "sectors", "whole number"),
        ("sectors = 10\n", "", "sectors", "1 to 12"),
        ("separate_fields = 3\ndoc", "separate_fields = 0\ndoc", "separate_fields", "1 to 12"),
        ("sectors = 10", 'sectors = 10\nheight = "500 ft"', "height", "only the keys"),
        ("sectors = 10", 'sectors = 10\nwhere = ["other"]', "where", "only the keys"),
        ("with_field = 9", "with_field = -1", "example[3].sectors_with_field", "0 to 12"),
        ("separate_fields = 9", 'floor = "none"', "example[3].separate_fields", "0 to 12"),
        ("allowed = true", 'allowed = "yes"', "example[1].allowed", "true or false"),
        ("allowed = true", 'allowed = true\nterrain = "0 ft AMSL"', "example[1].terrain", "keys"),
    ],
)
def test_a_fault_is_named(tmp_path: Path, old: str, new: str, key: str, expected: str) -> None:
    assert TEXT.count(old) == 1
    faults = faults_of(tmp_path, TEXT.replace(old, new))
    told = {one.key: one.expected for one in faults}
    assert expected in told[f"rule[all-round].{key}"]


def test_a_height_rule_takes_no_numbers_of_directions(tmp_path: Path) -> None:
    text = TEXT.split("[[rule.example]]")[0].replace("field in every direction", "closed over")
    keys = {
        one.key
        for one in faults_of(tmp_path, text.replace("sectors", 'where = ["other"]\nsectors', 1))
    }
    assert {"rule[all-round].sectors", "rule[all-round].separate_fields"} <= keys


def test_the_limit_is_told_in_one_line(tmp_path: Path) -> None:
    (rule,) = load(tmp_path, TEXT).rules
    line = limit_in_words(rule)
    assert line == (
        "a field within gliding distance in at least 10 of 12 directions, "
        "at least 3 separate fields among them"
    )
    assert line in " ".join(" ".join(describe_rule(rule)).split())
    (one,) = load(
        tmp_path, TEXT.replace("separate_fields = 3\ndoc", "separate_fields = 1\ndoc")
    ).rules
    assert limit_in_words(one).endswith("at least 1 separate field among them")


def test_json_carries_numbers_and_examples(tmp_path: Path) -> None:
    (rule,) = json.loads(json.dumps(rule_set_as_json(load(tmp_path, TEXT))))["rules"]
    assert (rule["least_sectors"], rule["least_separate_fields"]) == (10, 3)
    assert rule["choice_examples"][1] == {
        "source": "instructor",
        "sectors_with_field": 12,
        "separate_fields": 2,
        "is_allowed": False,
    }


def test_the_template_has_it_switched_off(tmp_path: Path, rule_sets: dict[str, RuleSet]) -> None:
    def kinds(rules: tuple[Rule, ...]) -> set[RuleKind]:
        return {rule.kind for rule in rules}

    assert RuleKind.FIELD_IN_EVERY_DIRECTION not in kinds(load(tmp_path, policy_template()).rules)
    switched_on = rule_sets["school"].rules
    assert RuleKind.FIELD_IN_EVERY_DIRECTION in kinds(switched_on)
    assert f'"{RuleKind.FIELD_IN_EVERY_DIRECTION}"' in policy_template()
