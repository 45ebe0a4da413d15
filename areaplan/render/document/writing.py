"""Writes a document as HTML or PDF, by the file's ending."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from areaplan.errors import InputError
from areaplan.render.document.html import document_as_html
from areaplan.render.document.model import Document
from areaplan.render.document.pdf import document_as_pdf, require_typst
from areaplan.render.whole_file import write_whole

_HTML: Final = (".html", ".htm")
_PDF: Final = ".pdf"


def require_printer(path: Path, option: str = "--out", others: tuple[str, ...] = ()) -> None:
    """Refuse a file that can't be written, before the long work begins.

    Parameters
    ----------
    path : Path
    option : str
        The command-line option that names the file.
    others : tuple of str
        More endings, lower case, that the caller has a printer for, such as ".md".

    Raises
    ------
    InputError
        Neither .html nor .pdf nor one of the others; or .pdf, and the typesetter is not installed.
    """
    ending = path.suffix.lower()
    if ending == _PDF:
        require_typst()
    elif ending not in (*_HTML, *others):
        *most, last = (_HTML[0], _PDF, *others)
        raise InputError.single(
            "command line",
            option,
            found=str(path),
            expected=f"a file ending in {', '.join(most)} or {last}",
            fix=f"write {option} {path.stem}.html",
        )


def write_document(
    document: Document, path: Path, paper: str, what: str, option: str = "--out"
) -> None:
    """Print a document beside its place and move it into it; the same bytes for the same document.

    Parameters
    ----------
    document : Document
    path : Path
        Ending in .html or .pdf.
    paper : str
        "letter" or "a4".
    what, option : str
        What it is and the option that names the file, for messages.

    Raises
    ------
    InputError
        As `require_printer`; or the folder is missing or can't be written to.
    ValueError
        Another paper.
    """
    require_printer(path, option)
    is_pdf = path.suffix.lower() == _PDF
    printed = document_as_pdf(document, paper) if is_pdf else document_as_html(document, paper)
    write_whole(path, printed, what, option)
