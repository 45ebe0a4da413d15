"""A document as plain text for a terminal or a telephone: every block of it, in lines of `WIDTH`.

Widths count characters: a script whose characters take two columns runs wider on the screen.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from areaplan.render.document.model import (
    Block,
    Bullets,
    Cell,
    Document,
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
from areaplan.render.document.text_table import table_lines, wrapped

_BLANK: Final = "______"
_GRAVE: Final = "! "


def document_as_text(document: Document) -> str:
    """Print a document as text.

    Parameters
    ----------
    document : Document
        White space and control characters of its texts are made plain here.

    Returns
    -------
    str
        Lines of at most `WIDTH` characters, the last one without an end.
    """
    lines = wrapped(document.title)
    for words in (document.subtitle, *document.lead, document.caution):
        lines += wrapped(words)
    lines += ["", *wrapped(document.verdict)]
    for words in document.alarms:
        lines += wrapped(_GRAVE + printable(words), after="  ")
    if document.identity.rows:
        lines += ["", *_block_lines(document.identity)]
    for part in document.parts:
        lines += _part_lines(part)
    return "\n".join(lines)


def _part_lines(part: Part) -> Iterator[str]:
    if part.title:
        title = wrapped(part.title)
        yield from ("", *title, "=" * max(map(len, title), default=0))
    yield from wrapped(part.asked_by)
    for section in part.sections:
        yield from _section_lines(section)


def _section_lines(section: Section) -> Iterator[str]:
    yield ""
    if section.title:
        yield from wrapped(f"{printable(section.title)}:")
    for block in section.blocks:
        yield from _block_lines(block)


def _block_lines(block: Block) -> Iterator[str]:
    if isinstance(block, Paragraph):
        yield from _said(_GRAVE * block.is_grave + printable(block.text))
    elif isinstance(block, Bullets):
        for item in block.items:
            yield from _said(f"- {printable(item)}")
    elif isinstance(block, Terms):
        for name, value in block.rows:
            yield from _said(f"{printable(name)}: {_cell(value)}")
    elif isinstance(block, TableBlock):
        yield from _table(block)
    elif isinstance(block, Quoted):
        yield from _quoted(block)
    elif isinstance(block, RuledLines):
        for label in block.labels:
            yield from _said(f"{printable(label)}: {_BLANK}")
    else:
        yield from _figure(block)


def _said(words: str) -> list[str]:
    return wrapped(words, before="  ", after="    ")


def _cell(value: Cell) -> str:
    return _BLANK if value is None else printable(value)


def _table(block: TableBlock) -> Iterator[str]:
    if block.caption:
        yield from _said(f"{printable(block.caption)}:")
    rows = [[_cell(value) for value in row] for row in block.rows]
    yield from table_lines([printable(head) for head in block.heads], rows, block.right)
    if block.traced_to:
        yield from _said(f"From: {printable(block.traced_to)}.")


def _quoted(block: Quoted) -> Iterator[str]:
    yield from _said(f"{printable(block.title)} [{printable(block.rule)}]")
    yield from wrapped(block.words, before="    ")
    yield from wrapped(f"“{printable(block.quote)}”", before="    ", after="     ")
    yield from wrapped(block.citation, before="    ")
    if block.reading:
        yield from wrapped(f"Applied so: {printable(block.reading)}", before="    ")
    if block.confirm:
        yield from wrapped(f"{_GRAVE}CONFIRM: {printable(block.confirm)}", before="    ")


def _figure(block: Figure) -> Iterator[str]:
    """What it shows, in words."""
    yield from _said(f"{printable(block.caption)}. {printable(block.described)}")
