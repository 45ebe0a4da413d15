"""Every kind of school policy stands in the template, and in the policy of the demo."""

import re
from pathlib import Path

import pytest

from areaplan.rules.loading import load_rule_set, policy_template
from areaplan.rules.model import Flight, RuleKind, RuleSet, Severity

DEMO = Path(__file__).parents[2] / "data_samples" / "scenario" / "policy.toml"


def switched_on(text: str) -> str:
    """The template with its commented tables in force, first lines of prose left out."""
    lines, is_table = [], False
    for line in text.splitlines():
        if re.match(r"# \[\[", line):
            is_table = True
        is_table = is_table and line.startswith("#")
        lines.append(line.removeprefix("#").strip() if is_table else line)
    return "\n".join(lines)


@pytest.fixture(params=["template", "demo"])
def policy(request: pytest.FixtureRequest, tmp_path: Path) -> RuleSet:
    if request.param == "demo":
        return load_rule_set(str(DEMO), DEMO)
    text = switched_on(policy_template())
    path = tmp_path / "policy.toml"
    path.write_text(text, encoding="utf-8")
    return load_rule_set("policy.toml", path)


def test_every_kind_of_policy_is_there(policy: RuleSet) -> None:
    kinds = {rule.kind for rule in policy.rules}
    assert {
        *(RuleKind.HEIGHT_ABOVE_SURFACE, RuleKind.WIND_LIMIT, RuleKind.WEATHER_LIMIT),
        *(RuleKind.FIELD_IN_EVERY_DIRECTION, RuleKind.AIRSPACE_ENTRY),
    } <= kinds
    who = {rule.applies_to for rule in policy.rules if rule.kind is RuleKind.WIND_LIMIT}
    assert who == {Flight.DUAL, Flight.SOLO}
    least = [rule for rule in policy.rules if rule.kind is RuleKind.HEIGHT_ABOVE_SURFACE]
    assert any(rule.applies_to is not Flight.DUAL for rule in least)
    standoffs = (RuleKind.LATERAL_DISTANCE, RuleKind.SLANT_DISTANCE)
    assert any(rule.kind in standoffs and "structure" in rule.counts for rule in policy.rules)
    (weather,) = [rule for rule in policy.rules if rule.kind is RuleKind.WEATHER_LIMIT]
    assert weather.visibility_m
    assert weather.ceiling_agl_m
    assert any(row.lowest_amsl_m and row.highest_amsl_m for row in policy.manoeuvres)


def test_a_school_never_calls_itself_the_law(policy: RuleSet) -> None:
    severities = {row.severity for row in (*policy.rules, *policy.manoeuvres)}
    assert severities <= {Severity.POLICY, Severity.ADVISORY}
