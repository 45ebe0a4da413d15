"""What a fault says: the value as a person would call it, and the nearest valid word."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest

from areaplan.fault_words import describe, nearest_fix, one_of

WORDS = ("icao-eu", "us", "noise-sensitive", "two-way radio")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "the truth value true"),
        (3, "the bare number 3"),
        (2.5, "the bare number 2.5"),
        (float("nan"), "the bare number nan"),
        ("a b", "'a b'"),
        ("a\x00\u202e", r"'a\x00\u202e'"),
        (" \n", "an empty text"),
        (date(2026, 11, 25), "the date or time 2026-11-25"),
        (datetime(2026, 11, 25, 7, 32), "the date or time 2026-11-25T07:32:00"),
        (time(7, 32), "the date or time 07:32:00"),
        ([], "an empty list"),
        ([1], "the list [1]"),
        ({"a": 1}, "the table {'a': 1}"),
        pytest.param(10**5000, "the bare number too long to show", id="digits"),
    ],
)
def test_a_value_in_words(value: object, words: str) -> None:
    assert describe(value) == words


@pytest.mark.parametrize("value", ["x" * 10_000, ["x" * 10_000], {"k": "x" * 10_000}], ids=type)
def test_a_long_value_is_cut(value: object) -> None:
    assert len(describe(value)) < 80
    assert describe(value).endswith("...")


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("US", "us"),
        (" uss ", "us"),
        ("../us", "us"),
        ("icao_eu", "icao-eu"),
        ("eu", "icao-eu"),  # as like to "us", which is another law
        ("noise", "noise-sensitive"),
        ("radio", "two-way radio"),
        ("two way radio", "two-way radio"),
    ],
)
def test_the_nearest_word_is_offered(wrong: str, right: str) -> None:
    assert nearest_fix(wrong, WORDS) == f'did you mean "{right}"?'


@pytest.mark.parametrize(
    "wrong", ["", " ", "q", "zzz", "policy_template", pytest.param("x" * 1_000_000, id="long")]
)
def test_nothing_near_is_no_guess(wrong: str) -> None:
    assert nearest_fix(wrong, WORDS) == "delete it, or write one of those"
    assert nearest_fix(wrong, WORDS, otherwise="ask") == "ask"
    assert nearest_fix(wrong, ()) == "delete it, or write one of those"


def test_a_choice_is_written_as_in_the_file() -> None:
    assert one_of(WORDS[:2]) == 'one of "icao-eu", "us"'
