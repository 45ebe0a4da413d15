"""A document without a format: parts, sections and blocks as frozen values, all of it plain text.

Briefing, day sheet and review page are such documents; text, HTML and PDF are printed from them.
Printers escape; nothing here is HTML or typst. None in place of a text is a ruled line to fill in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Final, TypeAlias

from attrs import Attribute, field, frozen, validators

from areaplan.render.xml_text import xml_text

PAPERS: Final = ("letter", "a4")  # ANSI Letter, 8.5 x 11 in; ISO 216 A4, 210 x 297 mm
_REPLACEMENT: Final = "\N{REPLACEMENT CHARACTER}"
_SPACES: Final = re.compile(r"[^\S\u00a0]+")
# Controls, what turns the direction of the text round it, and what UTF-8 can't carry.
_UNPRINTABLE: Final = re.compile(
    "[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)
# The space between the thousands of a figure, and between a figure and its unit.
_LOOSE: Final = re.compile(
    r"(?<=\d) (?=\d{3}\b(?! ?kt)|(?:ft|m|kt|NM|SM|s|MHz|T|M|deg|degC|hPa|inHg)\b|%)"
)

Cell: TypeAlias = str | None


def _is_word(_owner: object, attribute: Attribute[str], value: str) -> None:
    """Names go into anchors as they stand: nothing but plain letters, figures and hyphens."""
    if not re.fullmatch("[a-z][a-z0-9-]*", value):
        raise ValueError(f"{attribute.name} {value!r}; expected a word such as 'wind-rose'")


def _is_said(_owner: object, attribute: Attribute[str], value: str) -> None:
    """A tagged PDF is refused without a title, and without words for a drawing (ISO 14289-1)."""
    if not printable(value):
        raise ValueError(f"no {attribute.name}; expected words")


@frozen
class Paragraph:
    """A few sentences; `is_grave` ones stand out."""

    text: str
    is_grave: bool = False


@frozen
class Bullets:
    """Sentences, each with a mark before it."""

    items: tuple[str, ...]


@frozen
class Terms:
    """Names and what they stand for."""

    rows: tuple[tuple[str, Cell], ...]


@frozen
class TableBlock:
    """A table whose first column names the row.

    Attributes
    ----------
    caption : str
        "" where the heading above says it.
    heads : tuple of str
    rows : tuple of tuple of Cell
        As long as `heads` each.
    widths : tuple of int
        Shares of the width, one for each column.
    traced_to : str
        Where its numbers come from.
    right : tuple of int
        Columns of figures, set flush right; the others are set flush left.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[int, ...]
    traced_to: str = ""
    right: tuple[int, ...] = ()

    def __attrs_post_init__(self) -> None:
        lengths = {len(self.heads), len(self.widths), *map(len, self.rows)}
        if len(lengths) != 1:
            raise ValueError(f"table {self.caption!r} has rows, heads and widths of {lengths}")
        if not set(self.right) <= set(range(len(self.heads))):
            raise ValueError(f"table {self.caption!r} has no columns {self.right}")


@frozen
class Quoted:
    """A rule with its sentence.

    Attributes
    ----------
    title, rule : str
        Plain words, and the identifier.
    words : str
        The limit in one line.
    quote, citation : str
    reading, confirm : str
        "" where there is none.
    """

    title: str
    rule: str
    words: str
    quote: str
    citation: str
    reading: str = ""
    confirm: str = ""


@frozen
class RuledLines:
    """Lines to fill in by hand, each after a label."""

    labels: tuple[str, ...]


@frozen
class Figure:
    """A drawing as SVG.

    Attributes
    ----------
    name : str
        A word for files and anchors.
    svg : str
    caption : str
    described : str
        The same in words, for whoever can't see it.
    width_mm : float
        In print.
    is_described_below : bool
        Whether everybody is shown those words, below the caption.
    """

    name: str = field(validator=_is_word)
    svg: str = field(repr=False, converter=xml_text)
    caption: str = field(validator=_is_said)
    described: str = field(validator=_is_said)
    width_mm: float = 110.0
    is_described_below: bool = True


Block: TypeAlias = Paragraph | Bullets | Terms | TableBlock | Quoted | RuledLines | Figure


@frozen
class Section:
    """A heading below its part's, with blocks; no heading where the title is "".

    Attributes
    ----------
    title : str
    blocks : tuple of Block
    is_small : bool
        Small print.
    """

    title: str
    blocks: tuple[Block, ...]
    is_small: bool = False


@frozen
class Part:
    """A heading of the first rank.

    Attributes
    ----------
    name : str
        A word for anchors, unique in the document.
    title : str
        "" for none: its sections' headings then take its rank.
    asked_by : str
        The sentence of the authority that asks for this part, with its citation; "" for none.
    sections : tuple of Section
    is_two_column : bool
        Whether its sections, none of them broken, stand in two columns on paper.
    """

    name: str = field(validator=_is_word)
    title: str
    asked_by: str
    sections: tuple[Section, ...] = field(validator=validators.min_len(1))
    is_two_column: bool = False

    @property
    def section_rank(self) -> int:
        """Rank of its sections' headings, 1 being the document's title: none is skipped."""
        return 3 if self.title else 2


@frozen
class Document:
    """Something ready to print.

    Attributes
    ----------
    title, subtitle : str
        `subtitle` may be "".
    identity : Terms
        Revision, author, approver and the like; may be empty.
    verdict : str
        In one line; printed first.
    caution : str
        Printed beside it, and at the foot of each page in short.
    alarms : tuple of str
        What makes the whole doubtful, such as expired data.
    running : str
        Words at the foot of each page: name, revision, day.
    parts : tuple of Part
    lead : tuple of str
        Sentences below the title: what it is about, and what holds for all of it.
    is_dense : bool
        Set small and close, to take little paper.
    """

    title: str = field(validator=_is_said)
    subtitle: str
    identity: Terms
    verdict: str
    caution: str
    alarms: tuple[str, ...]
    running: str
    parts: tuple[Part, ...] = field()
    lead: tuple[str, ...] = ()
    is_dense: bool = False

    @parts.validator
    def _check_names(self, _attribute: Any, parts: tuple[Part, ...]) -> None:
        names = [part.name for part in parts]
        if len(set(names)) != len(names):
            raise ValueError(f"parts {names}; expected each name once")


def paragraphs(texts: Iterable[str], *, is_grave: bool = False) -> tuple[Paragraph, ...]:
    """Each text as a paragraph."""
    return tuple(Paragraph(text, is_grave) for text in texts)


def require_paper(paper: str) -> None:
    """Refuse a paper that no printer knows.

    Raises
    ------
    ValueError
        Neither "letter" nor "a4".
    """
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}; expected one of {', '.join(PAPERS)}")


def printable(text: str) -> str:
    """The same with plain spaces for white space, and U+FFFD for what must reach no reader.

    That is control characters (a terminal obeys them), overrides of the direction of writing, and
    code points that UTF-8 can't carry. No-break spaces stay.
    """
    return _UNPRINTABLE.sub(_REPLACEMENT, _SPACES.sub(" ", text)).strip(" ")


def unbroken(text: str) -> str:
    """The same with figures and their units kept on one line, such as ``2 500 ft``."""
    return _LOOSE.sub("\u00a0", text)
