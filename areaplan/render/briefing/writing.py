"""Writes the briefing as HTML or PDF, by the file's ending."""

from __future__ import annotations

from pathlib import Path

from areaplan.planning.briefing import Briefing
from areaplan.render.briefing.document import briefing_document
from areaplan.render.document.model import Document
from areaplan.render.document.writing import require_printer, write_document
from areaplan.render.figures.drawings import briefing_drawings


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
        Neither .html nor .pdf; or .pdf, and the typesetter is not installed; or the folder is
        missing or can't be written to.
    """
    require_printer(path)
    document = briefing_document(briefing, briefing_drawings(briefing))
    write_document(document, path, paper, "the briefing")
    return document
