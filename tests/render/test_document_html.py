"""Documents as HTML: whatever the words, no tag of theirs, nothing from outside, nothing lost."""

import re

import pytest
from hypothesis import given, settings

from areaplan.render.document.html import blocks_as_html, document_as_html
from areaplan.render.document.model import (
    Document,
    Figure,
    Paragraph,
    Part,
    Quoted,
    Section,
    TableBlock,
    Terms,
    printable,
    unbroken,
)
from tests.render.document_cases import EVIL, SQUARE, document_of, documents, texts_of
from tests.render.test_briefing_document import Page

TAGS = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "nav", "section", "div"),
    *("h1", "h2", "h3", "h4", "p", "ol", "ul", "li", "a", "dl", "dt", "dd", "span", "bdi"),
    *("table", "caption", "colgroup", "col", "thead", "tbody", "tr", "th", "td"),
    *("article", "blockquote", "figure", "figcaption", "svg", "rect"),
}


@settings(deadline=None, max_examples=150)
@given(documents())
def test_whatever_the_words_they_are_only_words(document):
    page = Page(document_as_html(document))
    assert {tag for tag, _ in page.tags} <= TAGS
    for _, attributes in page.tags:
        assert not any(name.startswith("on") for name in attributes)
        assert attributes.get("href", "#").startswith("#")
    for text in texts_of(document):
        if text is not None:
            assert " ".join(printable(text).replace("\u00a0", " ").split()) in page.plain
    blanks = sum(one.get("class") == "blank" for _, one in page.tags)
    assert blanks == sum(text is None for text in texts_of(document)) + _ruled(document)
    page.text.encode("utf-8")


def _ruled(document: Document) -> int:
    blocks = (block for part in document.parts for one in part.sections for block in one.blocks)
    return sum(len(getattr(block, "labels", ())) for block in blocks)


def ranks(page):
    return [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]


@pytest.mark.browser
def test_a_telephone_breaks_no_word_of_a_table_and_scrolls_only_the_table(browser, tmp_path):
    heads = ("AMSL", "manoeuvre", "standoff", "verdict", "surface", "remarks", "binding")
    rows = (("2 100 ft", *("unbroken" for _ in heads[1:])),) * 3
    path = tmp_path / "page.html"
    document = document_of(TableBlock("", heads, rows, (1,) * 7), is_dense=True)
    path.write_text(document_as_html(document), encoding="utf-8")
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(path.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == 390
    assert page.evaluate("document.querySelector('.scroll').scrollWidth") > 390
    heights = page.evaluate("[...document.querySelectorAll('tr')].map(row => row.clientHeight)")
    assert max(heights) < 1.5 * min(heights)
    page.close()


@pytest.mark.parametrize(("title", "wanted"), [("Part", [1, 2, 3, 4]), ("", [1, 2, 3])])
def test_no_rank_of_heading_is_skipped(title, wanted):
    sections = (Section("Section", (Quoted("t", "r", "w", "q", "c"),)),)
    page = Page(document_as_html(document_of(parts=(Part("one", title, "", sections),))))
    assert ranks(page) == wanted


def test_figures_stay_with_their_units():
    page = document_as_html(
        document_of(Paragraph("at 2 863 ft AMSL"), Paragraph("1 NM"), Paragraph("12 degC"))
    )
    assert "at 2\xa0863\xa0ft AMSL" in page
    assert "1\xa0NM" in page
    assert "12\xa0degC" in page
    assert unbroken("14 CFR 91") == "14 CFR 91"


def test_columns_of_figures_are_set_right():
    table = TableBlock("", ("name", "ft"), (("Dell", "500"),), (1, 1), right=(1,))
    page = document_as_html(document_of(table))
    assert '<th scope="row"><bdi>Dell</bdi></th><td class="figures"><bdi>500</bdi></td>' in page
    assert "<caption>" not in page


def test_a_table_names_no_column_that_it_lacks():
    with pytest.raises(ValueError, match="no columns"):
        TableBlock("x", ("a", "b"), (), (1, 1), right=(2,))


def test_parts_in_two_columns_and_small_print():
    parts = (
        Part("one", "", "", (Section("Left", ()), Section("Right", ())), is_two_column=True),
        Part("two", "", "", (Section("Small", (), is_small=True),)),
    )
    page = Page(document_as_html(document_of(parts=parts, is_dense=True)))
    classes = [one["class"] for tag, one in page.tags if tag == "div"]
    assert classes == ["columns", "group", "group", "group small"]
    assert ("body", {"class": "dense"}) in page.tags
    assert "nav" not in [tag for tag, _ in page.tags]


def test_names_that_are_no_words_are_refused():
    with pytest.raises(ValueError, match="expected a word"):
        Part('x" onload="y', "", "", (Section("", ()),))
    with pytest.raises(ValueError, match="expected a word"):
        Figure("a b", SQUARE, "x", "x")
    with pytest.raises(ValueError, match="each name once"):
        document_of(parts=(Part("a", "", "", (Section("", ()),)),) * 2)


def test_a_drawing_and_a_document_need_words():
    with pytest.raises(ValueError, match="no described"):
        Figure("square", SQUARE, "A square", " \n")
    with pytest.raises(ValueError, match="no title"):
        document_of(title="")


def test_a_drawing_holds_nothing_that_xml_lacks():
    svg = SQUARE.replace("<rect", "<title>bad \x01 \ud800 name</title><rect")
    assert "bad \ufffd \ufffd name" in Figure("square", svg, "x", "x").svg


def test_blocks_stand_on_other_pages_too():
    told = blocks_as_html((Paragraph(EVIL, is_grave=True), Terms(((EVIL, None),))), 3)
    assert told.startswith('<p class="grave"><bdi>&lt;/style&gt;')
    assert told.count("alert(1)") == 2
    assert "<script" not in told
