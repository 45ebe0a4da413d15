"""Documents as text: every block in lines that fit, nothing lost, nothing that a terminal obeys."""

import unicodedata
from collections import Counter

import pytest
from hypothesis import example, given, settings

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
from areaplan.render.document.text import document_as_text
from areaplan.render.text import WIDTH
from tests.render.document_cases import EVIL, SQUARE, document_of, documents, texts_of

BLANK = "______"


def table_of(heads, rows, right=()):
    block = TableBlock("", heads, rows, (1,) * len(heads), right=right)
    return document_as_text(document_of(block)).partition("Section:\n")[2].splitlines()


@settings(deadline=None, max_examples=150)
@given(documents())
@example(document_of(TableBlock("", ("a",) * 60, (("b",) * 60,), (1,) * 60)))
def test_lines_fit_and_nothing_is_lost(document):
    text = document_as_text(document)
    lines = text.split("\n")
    assert max(map(len, lines)) <= WIDTH
    assert all(line == line.rstrip(" ") for line in lines)
    told = [printable(words) for words in texts_of(document) if words is not None]
    wanted = Counter("".join("".join(told).split()))
    assert wanted <= Counter(text)
    assert text.count("_") >= len(BLANK) * sum(words is None for words in texts_of(document))


@settings(deadline=None, max_examples=150)
@given(documents())
def test_a_terminal_obeys_none_of_it(document):
    """Unicode 16, table 4-4 (Cc, Cs) and UAX 9, 2.1-2.4 (the controls of direction)."""
    text = document_as_text(document)
    assert text.split("\n") == f"{text}\n".splitlines()  # no other end of a line
    for one in set(text) - {"\n"}:
        assert unicodedata.category(one) not in ("Cc", "Cs", "Zl", "Zp")
        assert unicodedata.bidirectional(one) not in (
            *("LRE", "RLE", "LRO", "RLO", "PDF"),
            *("LRI", "RLI", "FSI", "PDI"),
        )
    text.encode("utf-8")


def test_every_kind_of_block():
    text = document_as_text(
        document_of(
            Paragraph("plain"),
            Paragraph("must not be missed", is_grave=True),
            Bullets(("first", "second")),
            Terms((("Author", "A. Person"), ("Signature", None))),
            Quoted("Distance", "rule-1", "500 ft", "no closer", "14 CFR 91.119", "so", "it"),
            RuledLines(("First call",)),
            Figure("square", SQUARE, "A square", "Dark blue"),
            lead=("What it is about.",),
            alarms=("EXPIRED DATA",),
        )
    )
    assert text == (
        "Title\nWhat it is about.\nCaution\n\nVerdict\n! EXPIRED DATA\n\nSection:\n"
        "  plain\n  ! must not be missed\n  - first\n  - second\n"
        f"  Author: A. Person\n  Signature: {BLANK}\n"
        "  Distance [rule-1]\n    500 ft\n    “no closer”\n    14 CFR 91.119\n"
        "    Applied so: so\n    ! CONFIRM: it\n"
        f"  First call: {BLANK}\n  A square. Dark blue"
    )


def test_parts_are_underlined():
    part = Part("one", "The area", "asked for", (Section("", (Paragraph("words"),)),))
    text = document_as_text(document_of(parts=(part,)))
    assert text.endswith("\n\nThe area\n========\nasked for\n\n  words")


def test_a_table_that_fits_is_set_as_wide_as_its_words():
    assert table_of(("AMSL", "legal"), (("2 100 ft", "9 %"), ("900 ft", "100 %")), (1,)) == [
        "  AMSL      legal",
        "  2 100 ft    9 %",
        "  900 ft    100 %",
    ]


def test_figures_stay_whole_and_their_heads_are_wrapped():
    heads = ("field", "usable and needed length on this day", "surface")
    rows = (("Dell", "730 / 381 m", "stubble " * 12),)
    lines = table_of(heads, rows, (1,))
    assert lines[0] == f"  {'usable and':>{len('field') + 2 + len('730 / 381 m')}}"
    assert sum("730 / 381 m" in line for line in lines) == 1
    assert max(map(len, lines)) <= WIDTH
    assert " ".join(lines).count("stubble") == 12


@pytest.mark.parametrize("words", ["short", "many words " * 30])
def test_a_column_of_words_is_wrapped_and_nothing_lost(words):
    lines = table_of(("a", "b"), (("x", words.strip()),))
    assert max(map(len, lines)) <= WIDTH
    assert " ".join(" ".join(lines).split()).count("many words") == words.count("many words")


def test_a_table_too_wide_for_any_line_is_told_cell_by_cell():
    heads = tuple(f"head-{number}" for number in range(30))
    lines = table_of(heads, (tuple(f"cell-{number}" for number in range(30)),))
    assert lines[:3] == ["  head-0: cell-0", "    head-1: cell-1", "    head-2: cell-2"]
    assert len(lines) == 30


def test_markup_is_only_words():
    assert " ".join(document_as_text(document_of(Paragraph(EVIL))).split()).endswith(EVIL)
