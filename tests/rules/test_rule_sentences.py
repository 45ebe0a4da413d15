"""Quotes word for word against what was read in the published documents."""

import re
import tomllib
from pathlib import Path

import pytest

from areaplan.rules.loading import builtin_rule_sets, load_rule_set
from areaplan.rules.model import Rule

SENTENCES = tomllib.loads(
    (Path(__file__).parents[1] / "authorities" / "rule_sentences.toml").read_text(encoding="utf-8")
)["sentence"]
READ = {identifier: one for one in SENTENCES for identifier in one["rules"]}
RULES = {
    rule.id: rule
    for name in builtin_rule_sets()
    if name != "icao-eu"  # made of two others
    for rule in load_rule_set(name).rules
}


def pieces_of(quote: str) -> list[str]:
    """What is quoted between words left out ("…") and words put in ("[...]")."""
    parts = re.split(r"…,?|\[[^\]]*\]", quote)
    return [words for part in parts if (words := " ".join(part.split()).rstrip(".;, "))]


def not_in(quote: str, text: str) -> list[str]:
    text = " ".join(text.split())
    # "No person may …— (d) Within …" takes a list's first words and one of its items.
    steps = [
        step for piece in pieces_of(quote) for step in re.split(r"(?<=—) (?=\([a-f]\))", piece)
    ]
    return [step for step in steps if step not in text]


def test_the_check_finds_a_wrong_word() -> None:
    words = READ["us-91.119-b"]["words"]
    right = RULES["us-91.119-b"].quote
    assert not not_in(right, words)
    assert not_in(right.replace("1,000", "1,100"), words)
    assert not_in(right.replace("highest obstacle", "highest obstacles"), words)


def test_every_sentence_read_belongs_to_a_rule() -> None:
    assert set(READ) <= set(RULES)
    assert len(READ) == sum(len(one["rules"]) for one in SENTENCES)


@pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
def test_a_quote_is_what_was_read_or_says_confirm(rule: Rule) -> None:
    if rule.id not in READ:
        assert rule.confirm, "nobody has read this sentence"
        return
    one = READ[rule.id]
    assert bool(rule.confirm) is (one["seen"] == "part")
    assert not_in(rule.quote, one["words"]) == []
