"""Writes the briefing as HTML or PDF, by the file's ending."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from areaplan.errors import InputError
from areaplan.planning.briefing import Briefing
from areaplan.render.briefing.document import briefing_document
from areaplan.render.briefing.html import briefing_html
from areaplan.render.briefing.model import Document
from areaplan.render.briefing.pdf import briefing_pdf, require_typst
from areaplan.render.figures.drawings import briefing_drawings
from areaplan.render.whole_file import write_whole

_HTML: Final = (".html", ".htm")
_PDF: Final = ".pdf"


def require_printer(path: Path) -> None:
    """Refuse a file that can't be written, before the long work begins.

    Raises
    ------
    InputError
        Neither .html nor .pdf; or .pdf, and the typesetter is not installed.
    """
    ending = path.suffix.lower()
    if ending == _PDF:
        require_typst()
    elif ending not in _HTML:
        raise InputError.single(
            "command line",
            "--out",
            found=str(path),
            expected="a file ending in .html or .pdf",
            fix="write --out briefing.html",
        )


def write_briefing(briefing: Briefing, path: Path, paper: str = "letter") -> Document:
    """Write a briefing beside its place and move it into it.

    The same bytes for the same inputs.

    Parameters
    ----------
    briefing : Briefing
    path : Path
        Ending in .html or .pdf.
    paper : str
        "letter" or "a4".

    Returns
    -------
    Document
        What was printed.

    Raises
    ------
    InputError
        As `require_printer`; or the folder is missing or can't be written to.
    """
    require_printer(path)
    document = briefing_document(briefing, briefing_drawings(briefing))
    if path.suffix.lower() == _PDF:
        write_whole(path, briefing_pdf(document, paper), "the briefing", "--out")
    else:
        write_whole(path, briefing_html(document, paper), "the briefing", "--out")
    return document
