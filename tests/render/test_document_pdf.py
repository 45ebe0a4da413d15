"""Documents as PDF: whatever the words, a tagged file with the same bytes each time."""

import re

import pytest
from hypothesis import given, settings

from areaplan.errors import InputError
from areaplan.render.document.model import Paragraph, Part, Section, TableBlock
from areaplan.render.document.pdf import document_as_pdf
from areaplan.render.document.writing import require_printer, write_document
from tests.render.document_cases import EVIL, document_of, documents, objects_of, pages_of


@settings(deadline=None, max_examples=30)
@given(documents())
def test_whatever_the_words_it_is_a_tagged_document(document):
    """Typst itself checks each file against PDF/UA-1 (ISO 14289-1) and gives none that fails."""
    printed = document_as_pdf(document)
    assert printed.startswith(b"%PDF-1.7")
    assert re.search(rb"pdfuaid:part[>=\"]+1", objects_of(printed))


def test_the_same_bytes(tmp_path):
    document = document_of(Paragraph(EVIL), is_dense=True)
    for name in ("one.pdf", "two.pdf"):
        write_document(document, tmp_path / name, "a4", "the test")
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


def test_a_character_that_the_font_lacks_becomes_its_number():
    """U+4E2D is no character of DejaVu Sans 2.37; an empty box would lose it in silence."""
    lacking = document_as_pdf(document_of(Paragraph("\u4e2d field")))
    assert lacking == document_as_pdf(document_of(Paragraph("[U+4E2D] field")))


def test_two_columns_take_half_the_paper():
    """Twenty short tables: on two pages one below the other, on one page in two columns."""
    table = TableBlock("", ("a", "b"), (("1", "2"),) * 4, (1, 1))
    sections = tuple(Section(f"Section {number}", (table,)) for number in range(20))
    pages = [
        pages_of(
            document_as_pdf(
                document_of(parts=(Part("x", "", "", sections, is_two),), is_dense=True)
            )
        )
        for is_two in (False, True)
    ]
    assert pages == [2, 1]


def test_a_file_of_another_kind_is_refused(tmp_path):
    with pytest.raises(InputError) as caught:
        write_document(document_of(), tmp_path / "review.docx", "letter", "the page", "--page")
    (fault,) = caught.value.faults
    assert fault.key == "--page"
    assert "review.html" in fault.fix
    require_printer(tmp_path / "review.PDF")
    with pytest.raises(ValueError, match="paper 'a5'"):
        write_document(document_of(), tmp_path / "review.pdf", "a5", "the page")
    assert list(tmp_path.iterdir()) == []
