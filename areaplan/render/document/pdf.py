"""A document as PDF, set by typst: tagged (PDF/UA-1), no system font, no network.

Fonts are the DejaVu Sans files that matplotlib carries: a missing font would be replaced in
silence, so system fonts are shut out and the family is asked for first. A character that the font
lacks would become an empty box; its number stands in its place.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from importlib import resources, util
from pathlib import Path
from typing import Any, Final, Literal

from areaplan.errors import InputError
from areaplan.render.document.as_json import document_as_json
from areaplan.render.document.model import (
    Document,
    Figure,
    printable,
    require_paper,
    unbroken,
)

_SIZES: Final = {"letter": "us-letter", "a4": "a4"}  # the model's word for a paper to that of typst
_FAMILY: Final = "DejaVu Sans"
_FACES: Final = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")  # those that the template asks for
_STANDARD: Final[Literal["ua-1"]] = "ua-1"  # ISO 14289-1
_MADE: Final = 0  # seconds of the epoch: the document's own day stands on each of its pages


def require_typst() -> None:
    """Refuse at once where the typesetter, or the package that carries the font, is missing.

    Raises
    ------
    InputError
        With the line that installs them.
    """
    missing = [name for name in ("typst", "matplotlib") if util.find_spec(name) is None]
    if missing:
        raise InputError.single(
            "this installation",
            "",
            found=f"{' and '.join(missing)} not installed",
            expected="the extra of areaplan that prints PDF",
            fix="python -m pip install 'areaplan[pdf]', or write a file ending in .html instead",
        )


def document_as_pdf(document: Document, paper: str = "letter") -> bytes:
    """Print a document as PDF.

    Parameters
    ----------
    document : Document
        Goes in as JSON: no text of it is read as markup.
    paper : str
        "letter" or "a4".

    Returns
    -------
    bytes
        The same for the same document.

    Raises
    ------
    InputError
        typst or its font is not installed.
    ValueError
        Another paper.
    """
    require_paper(paper)
    require_typst()
    import typst

    folder = _font_folder()
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
    )
    if _FAMILY not in fonts.families():
        raise InputError.single(
            str(folder),
            "",
            found=f"no font {_FAMILY}",
            expected=f"{_FAMILY}, which matplotlib carries",
            fix="install matplotlib again",
        )
    template = resources.files("areaplan.render.document").joinpath("document.typ").read_bytes()
    printed = typst.compile(
        template,
        font_paths=fonts,
        format="pdf",
        sys_inputs={"data": json.dumps(_told(document, paper), ensure_ascii=False)},
        pdf_standards=[_STANDARD],
        timestamp=_MADE,
    )
    if not isinstance(printed, bytes):
        raise TypeError(f"typst gave {type(printed).__name__}; expected the bytes of one document")
    return printed


def _font_folder() -> Path:
    import matplotlib as mpl

    return Path(mpl.get_data_path()) / "fonts" / "ttf"


@cache
def _glyphs() -> frozenset[int]:
    """Code points that each face of the font can draw."""
    from matplotlib.ft2font import FT2Font

    faces = (FT2Font(str(_font_folder() / name)).get_charmap() for name in _FACES)
    return frozenset.intersection(*map(frozenset, faces))


def _set(text: str) -> str:
    """Text that the font can set, such as ``[U+4E2D]`` for a character that it lacks."""
    known = _glyphs()
    return "".join(
        one if ord(one) in known else f"[U+{ord(one):04X}]" for one in unbroken(printable(text))
    )


def _told(document: Document, paper: str) -> dict[str, Any]:
    """The document as the template reads it, drawings with it."""
    told = _texts(document_as_json(document), _set)
    drawn = [
        block
        for part in document.parts
        for section in part.sections
        for block in section.blocks
        if isinstance(block, Figure)
    ]
    slots = (
        block
        for part in told["parts"]
        for section in part["sections"]
        for block in section["blocks"]
        if block["kind"] == "figure"
    )
    for slot, figure in zip(slots, drawn, strict=True):
        slot["svg"] = figure.svg
    return {**told, "paper": _SIZES[paper]}


def _texts(value: Any, change: Callable[[str], str]) -> Any:
    """A copy of plain values with every text of it changed, keys and kinds left alone."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {key: _texts(one, change) for key, one in value.items()}
    return [_texts(one, change) for one in value] if isinstance(value, list | tuple) else value
