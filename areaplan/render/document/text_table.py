"""Tables as text: columns that fit the line, their cells wrapped; else one cell to a line."""

from __future__ import annotations

import textwrap
from collections.abc import Collection, Iterator, Sequence
from itertools import zip_longest
from typing import Final

from areaplan.render.document.model import printable
from areaplan.render.text import WIDTH

_INDENT: Final = "  "
_GAP: Final = "  "


def wrapped(words: str, before: str = "", after: str | None = None) -> list[str]:
    """Lines of at most `WIDTH`; a word is broken only where it is longer than the line.

    Parameters
    ----------
    words : str
    before : str
        What the first line begins with.
    after : str, optional
        What each further line begins with; as the first where not given.
    """
    return textwrap.wrap(
        printable(words),
        WIDTH,
        initial_indent=before,
        subsequent_indent=before if after is None else after,
        break_on_hyphens=False,
    )


def table_lines(
    heads: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int]
) -> Iterator[str]:
    """Lines of a table.

    Parameters
    ----------
    heads : sequence of str
        At least one.
    rows : sequence of sequence of str
        As long as `heads` each.
    right : collection of int
        Columns set flush right.

    Yields
    ------
    str
        At most `WIDTH` long. Where not even the longest words of the columns fit side by side,
        each row is told cell by cell.
    """
    widths = _widths(heads, rows, right)
    if widths is None:
        yield from _told_cell_by_cell(heads, rows)
        return
    yield from _row_lines(heads, widths, right, is_low=True)
    for row in rows:
        yield from _row_lines(row, widths, right)


def _told_cell_by_cell(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    if not rows:
        yield from wrapped("; ".join(heads), before=_INDENT, after=_INDENT * 2)
    for row in rows:
        for number, (head, cell) in enumerate(zip(heads, row, strict=True)):
            before = _INDENT if number == 0 else _INDENT * 2
            yield from wrapped(f"{head}: {cell}", before=before, after=before + _INDENT)


def _widths(
    heads: Sequence[str], rows: Sequence[Sequence[str]], right: Collection[int]
) -> list[int] | None:
    """As wide as the cells where they fit; else each column between its longest word and that.

    Columns of figures stay whole if they can, their heads wrapped.
    """
    columns = list(zip(heads, *rows, strict=True))
    room = WIDTH - len(_INDENT) - len(_GAP) * (len(columns) - 1)
    whole = [max(map(len, column)) for column in columns]
    if sum(whole) <= room:
        return whole
    words = [max(map(_longest_word, column)) for column in columns]
    figures = [
        max([_longest_word(column[0]), *map(len, column[1:])]) if number in right else least
        for number, (column, least) in enumerate(zip(columns, words, strict=True))
    ]
    widths = figures if sum(figures) <= room else words
    if sum(widths) > room:
        return None
    wanted = [figures[i] if i in right else width for i, width in enumerate(whole)]
    for _ in range(room - sum(widths)):
        short = [i for i, width in enumerate(widths) if width < wanted[i]]
        if short:
            widths[min(short, key=lambda i: widths[i])] += 1
    return widths


def _longest_word(cell: str) -> int:
    return max(map(len, cell.split(" ")))


def _row_lines(
    cells: Sequence[str], widths: Sequence[int], right: Collection[int], *, is_low: bool = False
) -> Iterator[str]:
    """One row; `is_low` sets cells of fewer lines at its foot."""
    pieces = [
        textwrap.wrap(cell, max(width, 1), break_on_hyphens=False)
        for cell, width in zip(cells, widths, strict=True)
    ]
    if is_low:
        tallest = max(map(len, pieces))
        pieces = [[""] * (tallest - len(piece)) + piece for piece in pieces]
    for line in zip_longest(*pieces, fillvalue=""):
        made = (
            f"{piece:>{width}}" if number in right else f"{piece:<{width}}"
            for number, (piece, width) in enumerate(zip(line, widths, strict=True))
        )
        yield (_INDENT + _GAP.join(made)).rstrip()
