"""Documents as Markdown: whatever the words, no mark of theirs, nothing lost."""

import re

import pytest
from hypothesis import given, settings

from areaplan.render.document.markdown import document_as_markdown
from areaplan.render.document.model import (
    Bullets,
    Figure,
    Paragraph,
    Part,
    Quoted,
    RuledLines,
    Section,
    TableBlock,
    Terms,
    printable,
)
from tests.render.document_cases import EVIL, SQUARE, document_of, documents, texts_of

BLANK = r"\_\_\_\_\_\_"
ESCAPED = re.compile(r"\\([!-/:-@\[-`{-~])")  # CommonMark 0.31.2, 2.4: any ASCII punctuation
# What opens a block at the start of a line: CommonMark 4.1-4.3, 4.5, 5.1 and 5.2.
OPENING = re.compile(r"(#{1,6} |> |- |\| |\*\*)?(.*)", re.DOTALL)
BLOCK = re.compile(r"#|>|[-+*]( |$)|\d{1,9}[.)]( |$)|[-=_* ]+$|```|~~~|<")


@settings(deadline=None, max_examples=150)
@given(documents())
def test_whatever_the_words_they_are_only_words(document):
    text = document_as_markdown(document)
    bare = ESCAPED.sub("", text)
    assert not set(bare) & set("`{}[]<~&$")
    for line in bare.split("\n"):
        if not line.startswith("| "):
            assert "|" not in line
            assert line.count("*") in (0, 4)
    for line in text.split("\n"):
        said = OPENING.fullmatch(line)[2]
        assert line.startswith("| ---") or not said or not BLOCK.match(said), line


@settings(deadline=None, max_examples=150)
@given(documents())
def test_nothing_is_lost(document):
    plain = " ".join(ESCAPED.sub(r"\1", document_as_markdown(document)).split())
    for words in texts_of(document):
        if words is not None:
            assert " ".join(printable(words).split()) in plain
    assert document_as_markdown(document).count(BLANK) >= sum(
        words is None for words in texts_of(document)
    )


def test_every_kind_of_block():
    blocks = (
        Paragraph("plain"),
        Paragraph("must not be missed", is_grave=True),
        Bullets(("first", "second")),
        Terms((("Author", "A. Person"), ("Signature", None))),
        TableBlock("Winds", ("name", "kt"), (("a|b", "12"),), (1, 1), "the project", right=(1,)),
        Quoted("Distance", "rule-1", "500 ft", "no closer", "14 CFR 91.119", "so", "it"),
        RuledLines(("First call",)),
        Figure("square", SQUARE, "A square", "Dark blue"),
    )
    parts = (Part("one", "The area", "asked for", (Section("Section", blocks),)),)
    text = document_as_markdown(
        document_of(parts=parts, lead=("What it is about.",), alarms=("EXPIRED",))
    )
    assert text == (
        "# Title\n\nWhat it is about.\n\n**Verdict**\n\n**EXPIRED**\n\nCaution\n\n"
        "## The area\n\nasked for\n\n### Section\n\nplain\n\n**must not be missed**\n\n"
        f"- first\n- second\n\n- Author: A. Person\n- Signature: {BLANK}\n\n"
        "**Winds**\n\n| name | kt |\n| --- | ---: |\n| a\\|b | 12 |\n\nFrom: the project.\n\n"
        "#### Distance \\[rule-1\\]\n\n500 ft\n\n> “no closer”\n\n14 CFR 91.119\n\n"
        f"Applied so: so\n\n**CONFIRM: it**\n\n- First call: {BLANK}\n\nA square. Dark blue\n"
    )


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("1. first", "1\\. first"),
        ("2015) year", "2015\\) year"),
        ("- dash", "\\- dash"),
        ("===", "\\==="),
        ("---", "\\---"),
        ("2026-11-25 is a day", "2026-11-25 is a day"),
        ("91.159 is a section", "91.159 is a section"),
        ("-5 ft", "-5 ft"),
        ("# no heading", "\\# no heading"),
    ],
)
def test_what_opens_a_block_is_escaped_at_the_start_of_a_line_only(words, told):
    assert f"\n\n{told}\n" in document_as_markdown(document_of(Paragraph(words)))


def test_tags_and_links_are_only_words():
    text = document_as_markdown(document_of(Paragraph(EVIL), Paragraph("[a](b) ![c](d)")))
    assert "<" not in text.replace("\\<", "")
    assert "\\[a\\](b) !\\[c\\](d)" in text
