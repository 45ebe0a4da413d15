"""The briefing as PDF: opens, is tagged, fits its paper, takes no markup from names."""

import re
import sys

import pytest
from attrs import evolve

from areaplan.errors import InputError
from areaplan.planning.briefing import make_briefing
from areaplan.render.briefing.document import briefing_document
from areaplan.render.briefing.writing import write_briefing
from areaplan.render.document.model import Figure, Paragraph, Part, Section
from areaplan.render.document.pdf import document_as_pdf, require_typst
from areaplan.render.document.writing import require_printer
from tests.planning.briefing_country import HOSTILE, plan_of_country
from tests.render.document_cases import SQUARE, objects_of


@pytest.fixture(scope="module")
def briefing():
    return make_briefing(plan_of_country(), has_wind_limits=False)


@pytest.fixture(scope="module")
def document(briefing):
    return briefing_document(briefing)


@pytest.fixture(scope="module")
def printed(document):
    return document_as_pdf(document)


def test_it_is_a_tagged_document_of_several_pages(printed):
    assert printed.startswith(b"%PDF-1.7")
    assert printed.rstrip().endswith(b"%%EOF")
    text = objects_of(printed)
    assert re.search(rb"pdfuaid:part[>=\"]+1", text)  # ISO 14289-1 says so in its metadata
    assert b"/Marked true" in text
    assert len(re.findall(rb"/Type\s*/Page\b", text)) >= 4
    assert b"/Lang" in text


@pytest.mark.parametrize(("paper", "box"), [("letter", (612.0, 792.0)), ("a4", (595.28, 841.89))])
def test_papers_have_their_size_in_points(document, paper, box):
    """ANSI Letter 8.5 x 11 in; ISO 216 A4 210 x 297 mm; 72 points an inch."""
    found = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", objects_of(document_as_pdf(document, paper)))
    sizes = {tuple(round(float(one), 1) for one in row.split()[2:]) for row in found}
    assert sizes == {tuple(round(one, 1) for one in box)}


def test_the_same_document_gives_the_same_bytes(printed, briefing):
    assert document_as_pdf(briefing_document(briefing)) == printed


def test_no_link_leads_outside_and_no_script_runs(printed):
    text = objects_of(printed)
    for word in (b"/URI", b"/JavaScript", b"/Launch", b"/EmbeddedFile"):
        assert word not in text


def test_only_the_bundled_font_is_used(printed):
    names = set(re.findall(rb"/BaseFont\s*/([A-Za-z+\-]+)", objects_of(printed)))
    assert names
    assert all(b"DejaVuSans" in name for name in names)


def test_names_are_never_read_as_markup(document):
    """Typst would stop at #panic, and would set *b* in bold and $1$ as a formula."""
    parts = (Part("x", HOSTILE, HOSTILE, (Section(HOSTILE, (Paragraph(HOSTILE),)),)),)
    hostile = evolve(document, title=HOSTILE, running=HOSTILE, verdict=HOSTILE, parts=parts)
    assert document_as_pdf(hostile).startswith(b"%PDF")


def test_a_drawing_goes_in(document):
    def size(*blocks):
        parts = (Part("x", "X", "", (Section("", (Paragraph("one"), *blocks)),)),)
        return len(document_as_pdf(evolve(document, parts=parts)))

    assert size(Figure("square", SQUARE, "A square", "Blue")) > size() + 200


def test_without_the_typesetter_the_fix_is_named(monkeypatch, briefing, tmp_path):
    monkeypatch.setitem(sys.modules, "typst", None)
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    with pytest.raises(InputError, match=r"areaplan\[pdf\]"):
        require_typst()
    with pytest.raises(InputError):
        write_briefing(briefing, tmp_path / "b.pdf")
    assert list(tmp_path.iterdir()) == []


def test_files_by_their_ending(briefing, tmp_path):
    write_briefing(briefing, tmp_path / "b.pdf", "a4")
    write_briefing(briefing, tmp_path / "b.html", "a4")
    assert (tmp_path / "b.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "b.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    assert len(list(tmp_path.iterdir())) == 2
    with pytest.raises(InputError) as caught:
        require_printer(tmp_path / "b.docx")
    assert caught.value.faults[0].key == "--out"
