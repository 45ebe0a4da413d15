"""The generated document: every rule of every set, the same bytes, escaped."""

import html
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from attrs import evolve

from areaplan.errors import InputError
from areaplan.render.rules_document import (
    document_html,
    document_markdown,
    write_rules_document,
)
from areaplan.rules.loading import builtin_manoeuvres, builtin_rule_sets, load_rule_set

SETS = [*map(load_rule_set, builtin_rule_sets()), builtin_manoeuvres()]


class Reader(HTMLParser):
    """Text of a page with its tags, and a check that they nest."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.pieces: list[str] = []

    def handle_starttag(self, tag, _attrs):
        self.tags.add(tag)
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.pieces.append(data)


def page_text(page: str) -> str:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    assert not reader.tags & {"script", "link", "img", "iframe"}
    return "\n".join(reader.pieces)


def unescaped_markdown(text: str) -> str:
    return re.sub(r"\\([\\`*_{}\[\]<>#|~&])", r"\1", text)


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_every_rule_of_every_set_is_listed_whole(form: str) -> None:
    text = page_text(document_html(SETS))
    if form == "markdown":
        text = unescaped_markdown(document_markdown(SETS))
    for one in SETS:
        assert f"{one.title} [{one.id}]" in text
        assert one.sha256 in text
        assert all(note in text for note in one.notes)
        for row in (*one.rules, *one.weather, *one.manoeuvres):
            for words in (f"{row.title} [{row.id}]", row.quote, row.citation, row.reading):
                assert words in text
            assert f"Last checked {row.last_checked.isoformat()}" in text
            assert not row.confirm or f"CONFIRM: {row.confirm}" in text
        for rule in one.rules:
            for example in rule.examples:
                assert f"Example ({example.source}): over {example.ground} ground" in text


def test_it_says_what_each_example_gives() -> None:
    text = page_text(document_html([load_rule_set("us")]))
    assert text.count("\nExample (") == sum(len(r.examples) for r in load_rule_set("us").rules)
    line = next(line for line in text.splitlines() if "a building of 100 ft on ground" in line)
    assert line.endswith("1,999 ft (609.3 m) away: lowest altitude 1,100 ft (335.3 m) AMSL.")
    assert "closed at every altitude, 10,000 ft (3,048 m) AMSL is not allowed." in text
    assert "nothing is asked." in text


def test_a_rule_of_two_sets_is_printed_once_and_named_in_the_other() -> None:
    text = page_text(document_html(SETS))
    assert text.count("[sera-3105]") == 2
    assert "[sera-3105]: as in the set eu." in text


def test_the_same_sets_give_the_same_bytes(tmp_path: Path) -> None:
    for name in ("rules.html", "rules.md"):
        one, two = tmp_path / f"1-{name}", tmp_path / f"2-{name}"
        write_rules_document(SETS, one)
        write_rules_document([*map(load_rule_set, builtin_rule_sets()), builtin_manoeuvres()], two)
        assert one.read_bytes() == two.read_bytes()
        assert len(one.read_bytes()) > 50_000
    assert len(list(tmp_path.iterdir())) == 4


def test_what_a_file_says_is_never_markup() -> None:
    us = load_rule_set("us")
    evil = "<script>alert(1)</script> & **bold** [link](x)"
    wicked = evolve(us, rules=(evolve(us.rules[0], quote=evil, title=evil),), title=evil)
    page = document_html([wicked])
    assert html.escape(evil) in page
    assert evil in page_text(page)
    assert "script>" not in document_markdown([wicked]).replace("script\\>", "")
    assert evil in unescaped_markdown(document_markdown([wicked]))


def test_a_wrong_ending_and_a_missing_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ending in \.html or \.md"):
        write_rules_document(SETS, tmp_path / "rules.pdf")
    with pytest.raises(InputError, match="--document"):
        write_rules_document(SETS, tmp_path / "none" / "rules.md")
    assert list(tmp_path.iterdir()) == []
