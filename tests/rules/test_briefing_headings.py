"""Headings of a briefing: the country's own words where it asks for it, plain ones elsewhere."""

import pytest

from areaplan.rules.briefing_headings import Topic, advice_on, headings_for
from areaplan.rules.loading import builtin_rule_sets

# 14 CFR 141.93(a)(3), 62 FR 16347 (1997): paragraph and words, as printed there.
ASKED_OF_US_SCHOOLS = {
    Topic.WEATHER: ("141.93(a)(3)(i)", "weather minimums required by the school for dual and solo"),
    Topic.TRAFFIC: ("141.93(a)(3)(viii)", "Avoidance of other aircraft in flight and on the"),
    Topic.HEIGHTS: ("141.93(a)(3)(ix)", "Minimum altitude limitations and simulated emergency"),
    Topic.AREA: (
        "141.93(a)(3)(x)",
        "description of and instructions regarding the use of assigned",
    ),
}


def test_us_headings_cite_the_paragraph_that_asks():
    found = headings_for(("us", "policy.toml"))
    assert set(found) == set(Topic)
    for topic, (section, words) in ASKED_OF_US_SCHOOLS.items():
        assert found[topic].section == section
        assert words in found[topic].quote
        assert section in found[topic].citation


@pytest.mark.parametrize("name", [name for name in builtin_rule_sets() if name != "us"])
def test_no_other_set_borrows_the_words_of_the_us(name):
    for heading in headings_for((name,)).values():
        assert "CFR" not in heading.citation
        assert heading.title


def test_what_was_not_seen_says_so():
    for heading in headings_for(("eu",)).values():
        assert heading.confirm or not heading.quote


def test_the_first_set_of_the_project_names_the_part():
    assert headings_for(("us", "eu"))[Topic.AREA].rule_set == "us"
    assert headings_for(("eu", "us"))[Topic.AREA].rule_set == "eu"
    assert headings_for(("icao", "us"))[Topic.AREA].rule_set == "us"


def test_advice_says_who_gives_it():
    assert {row.topic for topic in Topic for row in advice_on(topic)} == {
        Topic.TRAFFIC,
        Topic.HEIGHTS,
    }
    assert all(row.source for topic in Topic for row in advice_on(topic))
