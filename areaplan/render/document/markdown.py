"""A document as Markdown: every text of it escaped, so that none is read as markup.

Marks are those of CommonMark 0.31.2; tables those of its extension by GitHub (GFM 0.29, 4.10).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

from areaplan.render.document.model import (
    Block,
    Bullets,
    Cell,
    Document,
    Paragraph,
    Part,
    Quoted,
    RuledLines,
    Section,
    TableBlock,
    Terms,
    printable,
)

_MARKS: Final = re.compile(r"([\\`*_{}\[\]<>#|~&$])")
# What would make a list, a ruled line or the heading of what stands above: at the start of a line.
_LEADING: Final = re.compile(r"^(\d{0,9})([-+=.)])(?=[-=\s]|$)")
_BLANK: Final = "______"


def document_as_markdown(document: Document) -> str:
    """Print a document as Markdown.

    Parameters
    ----------
    document : Document
        Every text of it is escaped here. Of drawings only the words are told.
    """
    pieces = [f"# {_said(document.title)}"]
    pieces += map(_said, (document.subtitle, *document.lead))
    pieces.append(_strong(document.verdict))
    pieces += map(_strong, document.alarms)
    pieces.append(_said(document.caution))
    pieces.append(_terms(document.identity.rows))
    for part in document.parts:
        pieces += _part(part)
    return "\n\n".join(piece for piece in pieces if piece) + "\n"


def _said(text: str) -> str:
    return _LEADING.sub(r"\1\\\2", _MARKS.sub(r"\\\1", printable(text)))


def _strong(text: str) -> str:
    words = _said(text)
    return f"**{words}**" if words else ""


def _heading(rank: int, text: str) -> str:
    return f"{'#' * rank} {_said(text)}"


def _part(part: Part) -> Iterator[str]:
    if part.title:
        yield _heading(2, part.title)
    yield _said(part.asked_by)
    for section in part.sections:
        if section.title:
            yield _heading(part.section_rank, section.title)
        yield from _section(section, part.section_rank)


def _section(section: Section, rank: int) -> Iterator[str]:
    for block in section.blocks:
        yield from _block(block, rank + 1 if section.title else rank)


def _block(block: Block, rank: int) -> Iterator[str]:
    """The pieces of a block; `rank` is that of a heading inside it."""
    if isinstance(block, Paragraph):
        yield _strong(block.text) if block.is_grave else _said(block.text)
    elif isinstance(block, Bullets):
        yield _items(map(_said, block.items))
    elif isinstance(block, Terms):
        yield _terms(block.rows)
    elif isinstance(block, TableBlock):
        yield from _table(block)
    elif isinstance(block, Quoted):
        yield from _quoted(block, rank)
    elif isinstance(block, RuledLines):
        yield _terms((label, None) for label in block.labels)
    else:
        yield _said(f"{printable(block.caption)}. {printable(block.described)}")


def _items(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _terms(rows: Iterable[tuple[str, Cell]]) -> str:
    return _items(f"{_said(name)}: {_cell(value)}" for name, value in rows)


def _cell(value: Cell) -> str:
    return _said(_BLANK if value is None else value)


def _table(block: TableBlock) -> Iterator[str]:
    yield _strong(block.caption)
    rules = ["---:" if number in block.right else "---" for number in range(len(block.heads))]
    rows = [_row(map(_said, block.heads)), _row(rules)]
    yield "\n".join([*rows, *(_row(map(_cell, row)) for row in block.rows)])
    if block.traced_to:
        yield _said(f"From: {printable(block.traced_to)}.")


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _quoted(block: Quoted, rank: int) -> Iterator[str]:
    yield _heading(rank, f"{printable(block.title)} [{printable(block.rule)}]")
    yield _said(block.words)
    yield f"> {_said(f'“{printable(block.quote)}”')}"
    yield _said(block.citation)
    if block.reading:
        yield _said(f"Applied so: {printable(block.reading)}")
    if block.confirm:
        yield _strong(f"CONFIRM: {printable(block.confirm)}")
