"""Every worked example of every rule file, and the published checks, by the plain judge."""

import csv
import math
from pathlib import Path

import pytest

from areaplan.rules.loading import builtin_rule_sets, load_rule_set, policy_template
from areaplan.rules.model import (
    Counted,
    Example,
    ExampleThing,
    Rule,
    RuleKind,
    RuleSet,
    Severity,
    examples_of,
)
from areaplan.units import FOOT_M, parse_altitude_amsl, parse_length
from tests.oracles.rule_examples import (
    CLOSED,
    MICROMETRE_M,
    NOTHING_ASKED,
    floor_for_example,
    is_allowed_for_example,
    situation,
)

AUTHORITIES = Path(__file__).parents[1] / "authorities"
FLOOR_WORDS = {"none": NOTHING_ASKED, "closed": CLOSED}
HEIGHT_KINDS = {
    RuleKind.HEIGHT_ABOVE_SURFACE,
    RuleKind.HIGHEST_IN_RADIUS,
    RuleKind.SLANT_DISTANCE,
    RuleKind.LATERAL_DISTANCE,
    RuleKind.CLOSED_OVER,
}


def published_rows() -> list[dict[str, str]]:
    lines = (AUTHORITIES / "minimum_heights.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def all_examples() -> list:
    sets = [load_rule_set(name) for name in builtin_rule_sets()]
    return [
        pytest.param(rule, example, id=f"{one.id}-{rule.id}-{number}")
        for one in sets
        for number, (rule, example) in enumerate(examples_of(one))
    ]


def is_same(one: float, other: float) -> bool:
    return one == other or abs(one - other) <= MICROMETRE_M


@pytest.mark.parametrize(("rule", "example"), all_examples())
def test_an_example_is_answered_as_the_file_says(rule: Rule, example: Example) -> None:
    judge(rule, example)


def judge(rule: Rule, example: Example) -> None:
    floor = floor_for_example(rule, example)
    assert example.expected_floor_amsl_m is not None or example.is_allowed is not None
    if example.expected_floor_amsl_m is not None:
        assert is_same(floor, example.expected_floor_amsl_m)
    if example.altitude_amsl_m is not None:
        assert (example.altitude_amsl_m >= floor - MICROMETRE_M) is example.is_allowed
        assert is_allowed_for_example(rule, example, example.altitude_amsl_m) is example.is_allowed


def test_the_examples_of_the_template_are_right(tmp_path: Path) -> None:
    path = tmp_path / "policy.toml"
    path.write_text(policy_template(), encoding="utf-8")
    examples = examples_of(load_rule_set("policy.toml", path))
    assert len(examples) >= 2
    for rule, example in examples:
        judge(rule, example)


@pytest.mark.parametrize(
    "row", published_rows(), ids=lambda row: f"{row['row']}-{row['distance'] or 'nothing'}"
)
def test_published_check(row: dict[str, str], rule_sets: dict[str, RuleSet]) -> None:
    things = []
    if row["thing"]:
        top_m = parse_altitude_amsl(row["top"])
        things.append(ExampleThing(Counted(row["thing"]), top_m, parse_length(row["distance"])))
    case = situation(row["ground"], parse_altitude_amsl(row["terrain"]), *things)
    floors = [
        floor_for_example(rule, case)
        for rule in rule_sets[row["rules"]].rules
        if rule.kind in HEIGHT_KINDS
        and rule.severity is Severity.LAW
        and rule.is_in_force(("training", row["activity"]))
    ]
    words = FLOOR_WORDS.get(row["floor"])
    expected = words if words is not None else parse_altitude_amsl(row["floor"])
    assert is_same(max(floors), expected)


def test_row_59_one_foot_lower_is_too_close(rule_sets: dict[str, RuleSet]) -> None:
    (rule,) = [r for r in rule_sets["us"].rules if r.id == "us-91.119-c-distance"]
    house = ExampleThing(Counted.STRUCTURE, 0.0, 400 * FOOT_M)
    case = situation("sparse", 0.0, house)
    assert is_allowed_for_example(rule, case, 300 * FOOT_M)
    assert not is_allowed_for_example(rule, case, 299 * FOOT_M)


def test_row_60_is_a_violation_with_nothing_on_the_ground(rule_sets: dict[str, RuleSet]) -> None:
    (rule,) = [r for r in rule_sets["us"].rules if r.id == "us-91.119-c-surface"]
    assert not is_allowed_for_example(rule, situation("other", 0.0), 499 * FOOT_M)
    assert is_allowed_for_example(rule, situation("other", 0.0), 500 * FOOT_M)


@pytest.mark.parametrize("altitude_ft", range(-50, 700, 7))
@pytest.mark.parametrize("distance_ft", [0, 30, 300, 499, 500, 501])
def test_floor_and_distance_agree_for_the_slant_rule(
    rule_sets: dict[str, RuleSet], altitude_ft: int, distance_ft: int
) -> None:
    (rule,) = [r for r in rule_sets["us"].rules if r.kind is RuleKind.SLANT_DISTANCE]
    mast = ExampleThing(Counted.OBSTACLE, 100 * FOOT_M, distance_ft * FOOT_M)
    case = situation("sparse", 0.0, mast)
    by_floor = altitude_ft * FOOT_M >= floor_for_example(rule, case)
    assert by_floor is is_allowed_for_example(rule, case, altitude_ft * FOOT_M)


def test_higher_things_never_lower_a_floor(rule_sets: dict[str, RuleSet]) -> None:
    for one in rule_sets.values():
        for rule in one.rules:
            if rule.kind not in HEIGHT_KINDS:
                continue
            counted = next(iter(rule.counts), Counted.OBSTACLE)
            floors = [
                floor_for_example(
                    rule, situation(rule.where[0], 0.0, ExampleThing(counted, top_m, 100.0))
                )
                for top_m in (0.0, 50.0, 400.0)
            ]
            assert floors == sorted(floors), rule.id
            assert not any(math.isnan(floor) for floor in floors)
