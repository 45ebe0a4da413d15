"""A document as one HTML page with print styles: no script, nothing from outside."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape
from importlib import resources
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
    require_paper,
    unbroken,
)
from areaplan.render.map_markup import said as escaped

_SIZES: Final = {"letter": "letter", "a4": "A4"}  # the model's word for a paper to that of CSS
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
_NOT_PLAIN: Final = re.compile("([^A-Za-z0-9 .,:-])( ?)")
_BLANK: Final = '<span class="blank" role="img" aria-label="to fill in by hand"></span>'


def document_as_html(document: Document, paper: str = "letter") -> str:
    """Print a document as HTML.

    Parameters
    ----------
    document : Document
        Every text of it is escaped here.
    paper : str
        "letter" or "a4".

    Raises
    ------
    ValueError
        Another paper.
    """
    require_paper(paper)
    style = resources.files("areaplan.render.document").joinpath("document.css").read_text("utf-8")
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(printable(document.title))}</title>\n"
        f"<style>\n{style}@page {{ size: {_SIZES[paper]}; "
        f'@bottom-left {{ content: "{_css_text(printable(document.running))}"; }} }}\n'
        f"</style>\n</head>\n<body{_class('dense', document.is_dense)}>\n{_header(document)}"
        f"<main>\n{''.join(map(_part, document.parts))}</main>\n</body>\n</html>\n"
    )


def _header(document: Document) -> str:
    lead = "".join(f"<p>{said(one)}</p>\n" for one in document.lead)
    subtitle = f'<p class="kind">{said(document.subtitle)}</p>\n' if document.subtitle else ""
    return (
        f"<header>\n{subtitle}<h1>{said(document.title)}</h1>\n{lead}"
        f'<p class="verdict">{said(document.verdict)}</p>\n'
        f"{_alarms(document.alarms)}"
        f'<p class="aid">{said(document.caution)}</p>\n'
        f"{blocks_as_html((document.identity,), 2) if document.identity.rows else ''}"
        f"{_contents(document.parts)}</header>\n"
    )


def _contents(parts: Iterable[Part]) -> str:
    """Links to the parts; none where no part has a title."""
    links = "".join(
        f'<li><a href="#{part.name}">{said(part.title)}</a></li>' for part in parts if part.title
    )
    return f'<nav aria-label="Parts"><ol>{links}</ol></nav>\n' if links else ""


def said(text: str) -> str:
    """Text of the document, escaped; figures stay with their units."""
    return escaped(unbroken(printable(text)))


def _class(name: str, has: bool) -> str:
    return f' class="{name}"' if has else ""


def _css_text(words: str) -> str:
    """A string of CSS inside a style element: every character but plain ones as its code.

    A code swallows the space after it (CSS Syntax 3, 4.3.7): a space of ours is written twice.
    """
    return _NOT_PLAIN.sub(lambda found: f"\\{ord(found[1]):06x}{found[2] * 2}", words)


def _alarms(sentences: Iterable[str]) -> str:
    return "".join(f'<p class="alarm" role="alert">{said(one)}</p>\n' for one in sentences)


def _part(part: Part) -> str:
    heading = f"<h2>{said(part.title)}</h2>\n" if part.title else ""
    asked = f'<p class="asked">{said(part.asked_by)}</p>\n' if part.asked_by else ""
    sections = "".join(_section(one, part.section_rank) for one in part.sections)
    if part.is_two_column:
        sections = f'<div class="columns">\n{sections}</div>\n'
    return f'<section id="{part.name}">\n{heading}{asked}{sections}</section>\n'


def _section(section: Section, rank: int) -> str:
    heading = f"<h{rank}>{said(section.title)}</h{rank}>\n" if section.title else ""
    blocks = blocks_as_html(section.blocks, rank + 1 if section.title else rank)
    small = " small" if section.is_small else ""
    return f'<div class="group{small}">\n{heading}{blocks}</div>\n'


def blocks_as_html(blocks: Iterable[Block], rank: int) -> str:
    """Blocks for a page of another make, escaped; `rank` is that of headings inside them."""
    return "".join(_block(block, rank) for block in blocks)


def _block(block: Block, rank: int) -> str:
    """A block; `rank` is that of a heading inside it."""
    if isinstance(block, Paragraph):
        return f"<p{_class('grave', block.is_grave)}>{said(block.text)}</p>\n"
    if isinstance(block, Bullets):
        return f"<ul>{''.join(f'<li>{said(one)}</li>' for one in block.items)}</ul>\n"
    if isinstance(block, Terms):
        rows = "".join(
            f"<div><dt>{said(name)}</dt><dd>{_cell(value)}</dd></div>" for name, value in block.rows
        )
        return f"<dl>{rows}</dl>\n"
    if isinstance(block, TableBlock):
        return _table(block)
    if isinstance(block, Quoted):
        return _quoted(block, rank)
    if isinstance(block, RuledLines):
        rows = "".join(f"<div><dt>{said(one)}</dt><dd>{_BLANK}</dd></div>" for one in block.labels)
        return f'<dl class="ruled">{rows}</dl>\n'
    return _figure(block)


def _cell(text: Cell) -> str:
    return _BLANK if text is None else said(text)


def _table(block: TableBlock) -> str:
    whole = sum(block.widths)
    columns = "".join(f'<col style="width: {100 * one / whole:.2f}%"/>' for one in block.widths)
    flush = [_class("figures", number in block.right) for number in range(len(block.heads))]
    head = "".join(
        f'<th scope="col"{how}>{said(one)}</th>'
        for how, one in zip(flush, block.heads, strict=True)
    )
    body = "".join(_row(row, flush) for row in block.rows)
    caption = f"<caption>{said(block.caption)}</caption>" if block.caption else ""
    traced = f'<p class="traced">From: {said(block.traced_to)}.</p>\n' if block.traced_to else ""
    return (
        f'<div class="scroll"><table>{caption}<colgroup>{columns}</colgroup>'
        f"<thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table></div>\n{traced}"
    )


def _row(row: Sequence[Cell], flush: Sequence[str]) -> str:
    cells = "".join(
        f"<td{how}>{_cell(one)}</td>" for how, one in zip(flush[1:], row[1:], strict=True)
    )
    return f'<tr><th scope="row"{flush[0]}>{_cell(row[0])}</th>{cells}</tr>\n'


def _quoted(block: Quoted, rank: int) -> str:
    more = "".join(
        f"<p{style}>{said(f'{label}{text}')}</p>"
        for label, text, style in (
            ("Applied so: ", block.reading, ""),
            ("CONFIRM: ", block.confirm, ' class="grave"'),
        )
        if text
    )
    return (
        f'<article><h{rank}>{said(block.title)} <span class="rule">[{said(block.rule)}]</span>'
        f"</h{rank}>"
        f"<p>{said(block.words)}</p><blockquote>“{said(block.quote)}”</blockquote>"
        f'<p class="traced">{said(block.citation)}</p>{more}</article>\n'
    )


def _figure(block: Figure) -> str:
    """A drawing of our own making stands as it is; its texts were escaped by who drew it."""
    svg = block.svg[block.svg.index("<svg") :]
    return (
        f'<figure id="figure-{block.name}">{svg}<figcaption>{said(block.caption)}. '
        f"<span{_class('unseen', not block.is_described_below)}>{said(block.described)}</span>"
        "</figcaption></figure>\n"
    )
