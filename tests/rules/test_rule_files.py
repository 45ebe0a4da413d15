"""What every rule file must hold, and the figures of the law beside their published sentences."""

import math
import re
from datetime import date
from pathlib import Path

import pytest

from areaplan.errors import InputError
from areaplan.rules.loading import (
    builtin_rule_sets,
    load_rule_set,
    load_rule_sets,
    policy_template,
)
from areaplan.rules.model import (
    Activity,
    Counted,
    Entry,
    Ground,
    Rule,
    RuleKind,
    RuleSet,
    Severity,
    examples_of,
)
from areaplan.units import FOOT_M, parse_length

# The printed pairs of ICAO are rounded, so each figure is compared in its own unit.
PRINTED_UNITS = (
    (r"nautical miles?", "NM"),
    (r"statute miles?", "SM"),
    (r"three miles", "3 SM"),
    (r"feet|foot", "ft"),
    (r"metres?|meters?", "m"),
)


def every_rule() -> list:
    return [
        pytest.param(rule, id=f"{name}-{rule.id}")
        for name in builtin_rule_sets()
        for rule in load_rule_set(name).rules
    ]


def lengths_in(text: str) -> list[float]:
    """Every length of a sentence, in metres."""
    for words, unit in PRINTED_UNITS:
        text = re.sub(rf"\b({words})\b", unit, text)
    text = re.sub(r"(?<=[0-9])[ ,](?=[0-9]{3}\b)", "", text)
    return [
        parse_length(" ".join(found)) for found in re.findall(r"([0-9.]+) (ft|m|km|NM|SM)\b", text)
    ]


def test_the_built_in_sets() -> None:
    assert builtin_rule_sets() == (
        *("australia", "canada", "eu", "icao", "icao-eu", "new-zealand", "uk", "us"),
    )


@pytest.mark.parametrize("name", builtin_rule_sets())
def test_a_built_in_set_goes_by_its_file_name(name: str) -> None:
    rule_set = load_rule_set(name)
    assert rule_set.id == name
    assert rule_set.path is None
    assert re.fullmatch("[0-9a-f]{64}", rule_set.sha256)
    identifiers = [rule.id for rule in rule_set.rules]
    assert len(set(identifiers)) == len(identifiers)


def test_the_built_in_sets_can_be_used_together() -> None:
    apart = [name for name in builtin_rule_sets() if name != "icao-eu"]
    assert len(load_rule_sets(apart, [None] * len(apart))) == len(apart)


def test_a_set_made_of_others_holds_their_rules_and_is_not_used_beside_them() -> None:
    both, eu, icao = (load_rule_set(name) for name in ("icao-eu", "eu", "icao"))
    assert both.rules == (*eu.rules, *icao.rules)
    assert both.weather == (*eu.weather, *icao.weather)
    assert set(both.notes) > {*eu.notes, *icao.notes}
    assert both.types_ruled_by_class == eu.types_ruled_by_class
    assert len({both.sha256, eu.sha256, icao.sha256}) == 3
    with pytest.raises(InputError, match=r"rule\[sera-3105\]\.id: duplicate"):
        load_rule_sets(["eu", "icao-eu"], [None, None])


def test_a_school_does_not_carry_the_law(tmp_path: Path) -> None:
    path = tmp_path / "policy.toml"
    path.write_text(f'includes = ["us"]\n{policy_template()}', encoding="utf-8")
    with pytest.raises(InputError, match="includes: unknown key"):
        load_rule_set("policy.toml", path)


@pytest.mark.parametrize("rule", every_rule())
def test_a_rule_says_where_it_comes_from(rule: Rule) -> None:
    assert all((rule.title, rule.document, rule.section, rule.edition))
    assert date(2026, 1, 1) <= rule.last_checked <= date(2027, 12, 31)
    assert len(rule.quote) > 25
    is_from_memory = "memory" in rule.edition.lower()
    assert bool(rule.confirm) or not is_from_memory


@pytest.mark.parametrize("rule", every_rule())
def test_a_numeric_rule_has_an_example(rule: Rule) -> None:
    is_numeric = rule.height_m is not None or rule.radius_m is not None
    assert not is_numeric or rule.examples
    for example in rule.examples:
        assert example.source


@pytest.mark.parametrize("rule", every_rule())
def test_the_numbers_stand_in_the_quoted_sentence(rule: Rule) -> None:
    quoted = lengths_in(rule.quote)
    for length_m in (rule.height_m, rule.radius_m, rule.visibility_m, rule.ceiling_agl_m):
        # "0 ft" (up to its top) and "unlimited" are how a sentence without a height is applied.
        if length_m is not None and length_m > 0.0 and math.isfinite(length_m):
            assert any(math.isclose(length_m, other) for other in quoted), (length_m, quoted)
    if rule.height_m == 0.0:
        assert "height" in rule.reading


def test_what_stands_only_from_memory_is_marked() -> None:
    unseen = {
        "us": {"us-91.126", "us-91.127", "us-91.133", "us-91.135", "us-tfr", "us-aim-special-use"},
        "icao-eu": {
            *("sera-3105", "sera-3145", "sera-6001-a", "sera-6001-b-c-d", "sera-6001-e"),
            *("sera-6001-f-g", "sera-6005-a", "sera-6005-b", "icao-danger-area"),
            *("icao-annex-2-3.1.2", "icao-annex-2-4.6-a", "icao-annex-2-4.6-b"),
        },
    }
    for name, identifiers in unseen.items():
        assert identifiers <= {rule.id for rule in load_rule_set(name).rules if rule.confirm}


def test_what_was_seen_needs_no_confirmation() -> None:
    seen = {"us-91.119-a", "us-91.119-b", "us-91.119-c-surface", "us-91.119-c-distance"}
    seen |= {"us-91.303-a", "us-91.303-b", "us-91.303-d", "us-91.303-e", "us-91.131-a"}
    us, eu = load_rule_set("us"), load_rule_set("icao-eu")
    assert seen <= {rule.id for rule in us.rules if not rule.confirm}
    assert {rule.id for rule in eu.rules if not rule.confirm} == {
        *("sera-5005-f-1", "sera-5005-f-2-surface", "sera-5005-f-2-obstacle"),
    }


def by_id(rule_set: RuleSet, identifier: str) -> Rule:
    (rule,) = [rule for rule in rule_set.rules if rule.id == identifier]
    return rule


def test_14_cfr_91_119_and_91_303_as_published() -> None:
    """14 CFR 91.119 (Amdt. 91-311) and 91.303 (Amdt. 91-227), in feet and nautical miles."""
    us = load_rule_set("us")
    congested = by_id(us, "us-91.119-b")
    assert congested.where == (Ground.CONGESTED, Ground.ASSEMBLY)
    assert congested.height_m == pytest.approx(1000 * FOOT_M)
    assert congested.radius_m == pytest.approx(2000 * FOOT_M)
    assert congested.is_radius_inclusive
    surface = by_id(us, "us-91.119-c-surface")
    assert surface.where == (Ground.OTHER,)
    assert surface.height_m == pytest.approx(500 * FOOT_M)
    distance = by_id(us, "us-91.119-c-distance")
    assert distance.where == (Ground.SPARSE,)
    assert distance.radius_m == pytest.approx(500 * FOOT_M)
    assert not distance.is_radius_inclusive
    named = {Counted.PERSON, Counted.VESSEL, Counted.VEHICLE, Counted.STRUCTURE, Counted.WIRE}
    assert named <= set(distance.counts)
    airway = by_id(us, "us-91.303-d")
    assert airway.radius_m == 7408.0
    assert airway.height_m == math.inf
    assert airway.is_radius_inclusive
    assert by_id(us, "us-91.303-e").height_m == pytest.approx(1500 * FOOT_M)
    aerobatic = [rule for rule in us.rules if rule.section.startswith("91.303(")]
    assert [rule.section[-2] for rule in aerobatic] == list("abcdef")
    assert {rule.activity for rule in aerobatic} == {Activity.AEROBATIC}
    assert not any(rule.is_in_force(("training",)) for rule in aerobatic)
    assert all(rule.is_in_force(("training", "aerobatic")) for rule in us.rules)


def test_sera_5005_f_and_annex_2_4_6_as_published() -> None:
    """SERA.5005(f), Regulation (EU) No 923/2012: the metric figure of each printed pair binds."""
    eu = load_rule_set("icao-eu")
    assert by_id(eu, "sera-5005-f-1").height_m == 300.0
    assert by_id(eu, "sera-5005-f-1").height_text == "300 m (1,000 ft)"
    assert by_id(eu, "sera-5005-f-1").radius_m == 600.0
    assert by_id(eu, "sera-5005-f-2-surface").height_m == 150.0
    assert by_id(eu, "sera-5005-f-2-obstacle").height_m == 150.0
    assert by_id(eu, "sera-5005-f-2-obstacle").radius_m == 150.0
    annex = [rule for rule in eu.rules if "Annex 2" in rule.document and rule.height_m]
    assert [rule.height_m for rule in annex] == [300.0, 150.0]
    assert {rule.kind for rule in annex if rule.height_m == 150.0} == {
        RuleKind.HEIGHT_ABOVE_SURFACE
    }


def test_advisories_are_no_law() -> None:
    us = load_rule_set("us")
    advisory = {rule.id for rule in us.rules if rule.severity is Severity.ADVISORY}
    assert advisory == {
        *("us-aim-special-use", "us-aim-national-security", "us-ac-91-36d", "us-ac-90-66-pattern"),
        *("us-aim-noise-sensitive", "us-aim-guyed"),
    }
    assert not any(rule.document == "14 CFR" for rule in us.rules if rule.id in advisory)


def test_every_kind_of_rule_is_used(rule_sets: dict[str, RuleSet]) -> None:
    assert {rule.kind for one in rule_sets.values() for rule in one.rules} == set(RuleKind)


def test_examples_keep_file_order() -> None:
    us = load_rule_set("us")
    pairs = examples_of(us)
    assert [rule.id for rule, _ in pairs] == [r.id for r in us.rules for _ in r.examples]


def test_entries_go_from_mild_to_strict() -> None:
    assert list(Entry) == ["open", "two-way radio", "clearance", "unknown", "no entry"]
