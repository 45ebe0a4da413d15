"""A document without a format: parts, sections and blocks as frozen values, all of it plain text.

Printers escape; nothing here is HTML or typst. None in place of a text is a ruled line to fill in.
"""

from __future__ import annotations

import re
from typing import Final, TypeAlias

from attrs import field, frozen, validators

# The space between the thousands of a figure, and between a figure and its unit.
_LOOSE: Final = re.compile(r"(?<=\d) (?=\d{3}\b(?! ?kt)|(?:ft|m|kt|NM|SM|%|s|MHz|T|M)\b|%)")

Cell: TypeAlias = str | None


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
    heads : tuple of str
    rows : tuple of tuple of Cell
        As long as `heads` each.
    widths : tuple of int
        Shares of the width, one for each column.
    traced_to : str
        Where its numbers come from.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[int, ...]
    traced_to: str = ""

    def __attrs_post_init__(self) -> None:
        lengths = {len(self.heads), len(self.widths), *map(len, self.rows)}
        if len(lengths) != 1:
            raise ValueError(f"table {self.caption!r} has rows, heads and widths of {lengths}")


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
    """

    name: str
    svg: str = field(repr=False)
    caption: str
    described: str
    width_mm: float = 110.0


Block: TypeAlias = Paragraph | Bullets | Terms | TableBlock | Quoted | RuledLines | Figure


@frozen
class Section:
    """A heading of the second rank with its blocks; no heading where the title is ""."""

    title: str
    blocks: tuple[Block, ...]


@frozen
class Part:
    """A heading of the first rank.

    Attributes
    ----------
    name : str
        A word for anchors, unique in the document.
    title : str
    asked_by : str
        The sentence of the authority that asks for this part, with its citation; "" for none.
    sections : tuple of Section
    """

    name: str
    title: str
    asked_by: str
    sections: tuple[Section, ...] = field(validator=validators.min_len(1))


@frozen
class Document:
    """A briefing ready to print.

    Attributes
    ----------
    title, subtitle : str
    identity : Terms
        Revision, author, approver and the like.
    verdict : str
        In one line; printed first.
    caution : str
        Printed beside it, and at the foot of each page in short.
    alarms : tuple of str
        What makes the whole doubtful, such as expired data.
    running : str
        Words at the foot of each page: name, revision, day.
    parts : tuple of Part
    """

    title: str
    subtitle: str
    identity: Terms
    verdict: str
    caution: str
    alarms: tuple[str, ...]
    running: str
    parts: tuple[Part, ...]


def unbroken(text: str) -> str:
    """The same with figures and their units kept on one line, such as ``2 500 ft``."""
    return _LOOSE.sub("\u00a0", text)
