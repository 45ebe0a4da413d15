"""Rules and settings in words: two are told apart where, and only where, they differ."""

import itertools
from datetime import date

import pytest
from attrs import evolve

from areaplan.planning.project_file import read_project
from areaplan.planning.rules_told import Told, rules_told, told_changes
from areaplan.planning.setting_words import settings_told
from areaplan.planning.starter import scenario_directory
from areaplan.rules.loading import load_rule_sets
from tests.planning.packed_results import small_result


@pytest.fixture(scope="module")
def project():
    return read_project(scenario_directory() / "project.toml")


def changed(old, new):
    return list(told_changes(settings_told(old), settings_told(new)))


def test_a_difference_too_small_for_the_words_is_told_all_the_same(project):
    new = evolve(project, cell_m=25.0000001)
    assert changed(project, new) == [("grid, cell", "25 m", "25 m")]


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
