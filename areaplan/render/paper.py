"""Short documents to print: sections of sentences and tables, as text and as one HTML page."""

from __future__ import annotations

import html
import re
import textwrap
from collections.abc import Iterable, Sequence
from typing import Final

from attrs import frozen

from areaplan.render.text import WIDTH

_GLUED: Final = re.compile(r"(?<=[0-9]) (?=(?:[0-9]{3}|ft|m|NM|SM|kt|degC|%)(?![0-9A-Za-z]))")
_STYLE: Final = """\
body { font: 10pt/1.35 Georgia, serif; max-width: 60em; margin: 1.5em auto; padding: 0 1em; }
h1 { font-size: 1.35em; margin: 0 0 0.2em; }
h2 { font-size: 1em; margin: 0 0 0.2em; border-top: 2px solid; padding-top: 0.2em;
  break-after: avoid; }
p { margin: 0.15em 0; }
.verdict { font-weight: bold; border: 2px solid; padding: 0.3em 0.5em; margin: 0.4em 0; }
.parts { columns: 2; column-gap: 1.6em; margin-top: 0.6em; }
section { break-inside: avoid; margin-bottom: 0.7em; }
section.wide { break-inside: auto; margin-top: 0.7em; }
table { border-collapse: collapse; width: 100%; font-size: 0.92em;
  font-variant-numeric: tabular-nums; }
th, td { text-align: right; padding: 0.08em 0.35em; border-bottom: 1px solid #bbb;
  vertical-align: top; }
th { font-weight: normal; font-style: italic; vertical-align: bottom; }
th:first-child, td:first-child, .left { text-align: left; }
tr { break-inside: avoid; }
svg { display: block; max-width: 100%; height: auto; }
.grave { font-weight: bold; }
.small { font-size: 0.8em; }
@media (max-width: 40em) { .parts { columns: 1; } }
@page { margin: 10mm; }
@media print {
  body { margin: 0; padding: 0; max-width: none; font-size: 8pt; line-height: 1.2; }
  section { margin-bottom: 0.5em; }
  th, td { padding-top: 0; padding-bottom: 0; }
}
"""


@frozen
class Table:
    """A table of words: its heads, and rows of as many cells.

    Attributes
    ----------
    heads : tuple of str
    rows : tuple of tuple of str
    left : tuple of int
        Columns of words rather than figures, beside the first: set flush left.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: tuple[int, ...] = ()


@frozen
class Section:
    """A heading with its sentences and its table.

    Attributes
    ----------
    title : str
    sentences : tuple of str
        Before the table.
    table : Table or None
    after : tuple of str
        Sentences after the table.
    grave : tuple of str
        Sentences that must not be missed, before all others.
    is_wide : bool
        Whether it takes the whole width of the page.
    is_small : bool
        Small print.
    """

    title: str
    sentences: tuple[str, ...] = ()
    table: Table | None = None
    after: tuple[str, ...] = ()
    grave: tuple[str, ...] = ()
    is_wide: bool = False
    is_small: bool = False
    figure: str = ""


@frozen
class Paper:
    """A document: its title, the lines below it, what it decides, and its sections."""

    title: str
    lines: tuple[str, ...]
    verdict: str
    sections: tuple[Section, ...]


def paper_text(paper: Paper) -> str:
    """A document as plain text for a terminal or a telephone."""
    lines = textwrap.wrap(paper.title, WIDTH)
    for line in paper.lines:
        lines += textwrap.wrap(line, WIDTH)
    lines += ["", *textwrap.wrap(paper.verdict, WIDTH)]
    for section in paper.sections:
        if section.figure:
            continue
        lines += ["", f"{section.title}:"]
        lines += _wrapped((*section.grave, *section.sentences))
        if section.table is not None:
            lines += _text_table(section.table)
        lines += _wrapped(section.after)
    return "\n".join(lines)


def paper_html(paper: Paper) -> str:
    """A document as one HTML page that needs nothing else, ready to print.

    Every word is escaped. Sections stand in two columns up to the first wide one; from there on
    they take the whole width.
    """
    narrow, wide = _split(paper.sections)
    head = "".join(f"<p>{_escaped(line)}</p>\n" for line in paper.lines)
    parts = "".join(map(_html_section, narrow))
    columns = f'<div class="parts">\n{parts}</div>\n' if parts else ""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width">\n'
        f"<title>{html.escape(paper.title)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n"
        f"<h1>{html.escape(paper.title)}</h1>\n{head}"
        f'<p class="verdict">{_escaped(paper.verdict)}</p>\n{columns}'
        f"{''.join(map(_html_section, wide))}</body>\n</html>\n"
    )


def _split(sections: Sequence[Section]) -> tuple[Sequence[Section], Sequence[Section]]:
    first = next((i for i, one in enumerate(sections) if one.is_wide), len(sections))
    return sections[:first], sections[first:]


def _html_section(section: Section) -> str:
    names = (("wide", section.is_wide), ("small", section.is_small))
    table = "" if section.table is None else _html_table(section.table)
    return (
        f"{_tag('section', ' '.join(name for name, has in names if has))}\n"
        f"<h2>{_escaped(section.title)}</h2>\n"
        f"{_paragraphs(section.grave, 'grave')}{_paragraphs(section.sentences)}"
        f"{table}{section.figure}{_paragraphs(section.after)}</section>\n"
    )


def _escaped(words: str) -> str:
    """Text as HTML, in which a figure is not parted from its thousands or its unit."""
    return _GLUED.sub("\N{NO-BREAK SPACE}", html.escape(words))


def _tag(name: str, css_class: str) -> str:
    return f'<{name} class="{css_class}">' if css_class else f"<{name}>"


def _paragraphs(sentences: Iterable[str], css_class: str = "") -> str:
    return "".join(f"{_tag('p', css_class)}{_escaped(words)}</p>\n" for words in sentences)


def _html_table(table: Table) -> str:
    def row(name: str, cells: Sequence[str]) -> str:
        made = (
            f"{_tag(name, 'left' if i in table.left else '')}{_escaped(cell)}</{name}>"
            for i, cell in enumerate(cells)
        )
        return f"<tr>{''.join(made)}</tr>\n"

    body = "".join(row("td", cells) for cells in table.rows)
    return f"<table>\n<thead>{row('th', table.heads)}</thead>\n<tbody>\n{body}</tbody>\n</table>\n"


def _text_table(table: Table) -> list[str]:
    """Columns as wide as their words; a last column of words is wrapped."""
    widths = [max(map(len, column)) for column in zip(table.heads, *table.rows, strict=True)]
    last = len(widths) - 1
    lines = []
    for cells in (table.heads, *table.rows):
        made = [
            f"{cell:<{width}}" if i == 0 or i in table.left else f"{cell:>{width}}"
            for i, (cell, width) in enumerate(zip(cells, widths, strict=True))
        ]
        if last not in table.left:
            lines.append(("  " + "  ".join(made)).rstrip())
            continue
        before = "  " + "  ".join(made[:-1]) + "  "
        room = max(20, WIDTH - len(before))
        words = textwrap.wrap(cells[-1], room) or [""]
        lines += [
            (begin + piece).rstrip()
            for begin, piece in zip(
                [before, *[" " * len(before)] * (len(words) - 1)], words, strict=True
            )
        ]
    return lines


def _wrapped(sentences: Iterable[str]) -> list[str]:
    return [
        line
        for words in sentences
        for line in textwrap.wrap(words, WIDTH, initial_indent="  ", subsequent_indent="    ")
    ]
