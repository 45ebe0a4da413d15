"""Rules and settings in words: two are told apart where, and only where, they differ."""

import itertools
from datetime import UTC, date, datetime

import pytest
from attrs import evolve, fields

from areaplan.planning.gates import Route
from areaplan.planning.project import Inactive, Permission, WindAloft
from areaplan.planning.project_file import read_project
from areaplan.planning.rules_told import Told, rules_told, settings_told, told_changes
from areaplan.planning.starter import scenario_directory
from areaplan.rules.asking import Flight
from areaplan.rules.loading import load_rule_sets
from areaplan.units import Wind
from tests.planning.packed_results import small_result


@pytest.fixture(scope="module")
def project():
    return read_project(scenario_directory() / "project.toml")


def changed(old, new):
    return list(told_changes(settings_told(old), settings_told(new)))


def test_each_setting_is_told_by_its_own_label(project):
    noon = datetime(2026, 6, 1, 12, tzinfo=UTC)
    values = {
        "planned_altitudes_amsl_ft": (2000,),
        "wind": Wind(5.0, 1.0),
        "winds_aloft": (WindAloft(1000.0, Wind(5.0, 1.0), "guess"),),
        "isa_deviation_k": 7.0,
        "rule_sets": ("us",),
        "activities": ("aerobatic",),
        "flight": Flight.SOLO,
        "permissions": (Permission("Valley", "letter", date(2027, 1, 1)),),
        "inactive": (Inactive("Valley", "notice", noon, noon),),
        "planned_time": noon,
        "gates": (),
        "routes": (Route("Home", ((1.0, 2.0), (3.0, 4.0)), ("", ""), 2300),),
        "cell_m": 24.0,
        "around_m": 4000.0,
    }
    for name, value in values.items():
        ((label, before, after),) = changed(project, evolve(project, **{name: value}))
        assert label == name
        assert before != after
    for group in ("aircraft", "margins", "fields"):
        old = getattr(project, group)
        for one in fields(type(old)):
            value = {bool: True, str: "x", dict: {}}.get(type(getattr(old, one.name)), 2.5)
            new = evolve(project, **{group: evolve(old, **{one.name: value})})
            ((label, _, _),) = changed(project, new)
            assert label == f"{group}, {one.name}"


def test_words_of_numbers_lists_and_nothing(project):
    new = evolve(project, wind=Wind(160.0, 0.0), gates=(), planned_altitudes_amsl_ft=(2000, 2500))
    told = {label: (before, after) for label, before, after in changed(project, new)}
    assert told["wind"] == ("210/14 kt", "calm")
    assert told["planned_altitudes_amsl_ft"] == ("2100, 2800", "2000, 2500")
    assert told["gates"][1] == "nothing"


def test_a_difference_too_small_for_the_words_is_told_all_the_same(project):
    new = evolve(project, cell_m=25.0000001)
    assert changed(project, new) == [("cell_m", "25", "25")]


def test_equal_is_equal_however_it_is_written(project):
    turned = dict(reversed(project.aircraft.figure_sources.items()))
    same = evolve(project, cell_m=25, aircraft=evolve(project.aircraft, figure_sources=turned))
    assert same == project
    assert changed(project, same) == []


def test_rules_told_are_apart_where_the_rules_are(project):
    sets = load_rule_sets(project.rule_sets, project.rule_paths)
    rules = {rule.id: rule for one in sets for rule in one.rules}
    told = rules_told(project)
    assert told
    ignored = {"last_checked": date(2000, 1, 1), "examples": (), "choice_examples": ()}
    for one, other in itertools.product(told, repeat=2):
        pair = [evolve(rules[row.rule], **ignored) for row in (one, other)]
        assert (pair[0] == pair[1]) is (one.told == other.told)
    for row in told:
        assert (row.title, row.quote) == (rules[row.rule].title, rules[row.rule].quote)


def test_what_another_version_does_not_record_is_said_so():
    old = small_result().settings
    new = (*old[1:], Told("tides", "none", "[]"))
    assert list(told_changes(old, new)) == [
        ("aircraft, name", "trainer", "not recorded"),
        ("tides", "not recorded", "none"),
    ]
