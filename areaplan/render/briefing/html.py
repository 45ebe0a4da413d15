"""The briefing as one HTML page with print styles: no script, nothing from outside."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from importlib import resources
from typing import Final

from areaplan.render.briefing.model import (
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
    unbroken,
)
from areaplan.render.map_markup import said as escaped

PAPERS: Final = {"letter": "letter", "a4": "A4"}  # word of the command line to that of CSS
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
_BLANK: Final = '<span class="blank" role="img" aria-label="to fill in by hand"></span>'


def briefing_html(document: Document, paper: str = "letter") -> str:
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
    if paper not in PAPERS:
        raise ValueError(f"paper {paper!r}; expected one of {', '.join(PAPERS)}")
    style = resources.files("areaplan.render.briefing").joinpath("briefing.css").read_text("utf-8")
    parts = "".join(
        f'<li><a href="#{part.name}">{said(part.title)}</a></li>' for part in document.parts
    )
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(document.title)}</title>\n"
        f"<style>\n{style}@page {{ size: {PAPERS[paper]}; "
        f'@bottom-left {{ content: "{_css_text(document.running)}"; }} }}\n</style>\n</head>\n'
        f"<body>\n<header>\n<p class='kind'>{said(document.subtitle)}</p>\n"
        f"<h1>{said(document.title)}</h1>\n"
        f'<p class="verdict">{said(document.verdict)}</p>\n'
        f"{_alarms(document.alarms)}"
        f'<p class="aid">{said(document.caution)}</p>\n{_block(document.identity)}'
        f'<nav aria-label="Parts"><ol>{parts}</ol></nav>\n</header>\n'
        f"<main>\n{''.join(map(_part, document.parts))}</main>\n</body>\n</html>\n"
    )


def said(text: str) -> str:
    """Text of the document, escaped; figures stay with their units."""
    return escaped(unbroken(text))


def _css_text(words: str) -> str:
    """A string of CSS inside a style element: every character but plain ones as its code."""
    return "".join(
        one if one.isascii() and (one.isalnum() or one in " .,-:") else f"\\{ord(one):06x}"
        for one in words
    )


def _alarms(sentences: Iterable[str]) -> str:
    return "".join(f'<p class="alarm" role="alert">{said(one)}</p>\n' for one in sentences)


def _part(part: Part) -> str:
    asked = f'<p class="asked">{said(part.asked_by)}</p>\n' if part.asked_by else ""
    return (
        f'<section id="{part.name}">\n<h2>{said(part.title)}</h2>\n{asked}'
        f"{''.join(map(_section, part.sections))}</section>\n"
    )


def _section(section: Section) -> str:
    heading = f"<h3>{said(section.title)}</h3>\n" if section.title else ""
    return heading + "".join(map(_block, section.blocks))


def _block(block: Block) -> str:
    if isinstance(block, Paragraph):
        grave = ' class="grave"' if block.is_grave else ""
        return f"<p{grave}>{said(block.text)}</p>\n"
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
        return _quoted(block)
    if isinstance(block, RuledLines):
        rows = "".join(f"<div><dt>{said(one)}</dt><dd>{_BLANK}</dd></div>" for one in block.labels)
        return f'<dl class="ruled">{rows}</dl>\n'
    return _figure(block)


def _cell(text: Cell) -> str:
    return _BLANK if text is None else said(text)


def _table(block: TableBlock) -> str:
    whole = sum(block.widths)
    columns = "".join(f'<col style="width: {100 * one / whole:.2f}%">' for one in block.widths)
    head = "".join(f'<th scope="col">{said(one)}</th>' for one in block.heads)
    body = "".join(
        f'<tr><th scope="row">{_cell(row[0])}</th>'
        + "".join(f"<td>{_cell(one)}</td>" for one in row[1:])
        + "</tr>\n"
        for row in block.rows
    )
    traced = f'<p class="traced">From: {said(block.traced_to)}.</p>\n' if block.traced_to else ""
    return (
        f"<table><caption>{said(block.caption)}</caption><colgroup>{columns}</colgroup>"
        f"<thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table>\n{traced}"
    )


def _quoted(block: Quoted) -> str:
    more = "".join(
        f"<p{style}>{said(f'{label}{text}')}</p>"
        for label, text, style in (
            ("Applied so: ", block.reading, ""),
            ("CONFIRM: ", block.confirm, ' class="grave"'),
        )
        if text
    )
    return (
        f'<article><h4>{said(block.title)} <span class="rule">{said(block.rule)}</span></h4>'
        f"<p>{said(block.words)}</p><blockquote>“{said(block.quote)}”</blockquote>"
        f'<p class="traced">{said(block.citation)}</p>{more}</article>\n'
    )


def _figure(block: Figure) -> str:
    """A drawing of our own making stands as it is; its texts were escaped by who drew it."""
    svg = block.svg[block.svg.index("<svg") :]
    return (
        f'<figure id="figure-{block.name}">{svg}<figcaption>{said(block.caption)}. '
        f"{said(block.described)}</figcaption></figure>\n"
    )
