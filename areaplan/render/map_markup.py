"""Small pieces of HTML that the sheet's parts share. Every text from the data is escaped here."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import Final

from areaplan.planning.plan import Verdict
from areaplan.render.quantity_words import decimal_degrees
from areaplan.render.text import verdict_text

_VERDICT_CLASS: Final = {
    Verdict.MET: "met",
    Verdict.NOT_MET: "not-met",
    Verdict.UNKNOWN: "unknown",
}


def said(text: object) -> str:
    """Text from the data: escaped, and kept from turning the direction of what stands round it."""
    return f"<bdi>{escape(str(text))}</bdi>"


def table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Build a table whose first column names the row.

    Parameters
    ----------
    caption, heads : str, sequence of str
        Our own words, already HTML.
    rows : iterable of sequence of str
        Cells, already HTML.
    """
    head = "".join(f'<th scope="col">{one}</th>' for one in heads)
    body = "".join(
        f'<tr><th scope="row">{row[0]}</th>'
        + "".join(f"<td>{one}</td>" for one in row[1:])
        + "</tr>"
        for row in rows
    )
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{caption}">'
        f"<table><caption>{caption}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table></div>"
    )


def bullets(sentences: Iterable[str]) -> str:
    """A list of sentences from the data."""
    items = "".join(f"<li>{said(one)}</li>" for one in sentences)
    return f"<ul>{items}</ul>"


def terms(pairs: Iterable[tuple[str, str]]) -> str:
    """A list of names and what they stand for, both already HTML."""
    items = "".join(f"<div><dt>{name}</dt><dd>{value}</dd></div>" for name, value in pairs)
    return f"<dl>{items}</dl>"


def section(name: str, heading: str, content: str, *, is_open: bool = False) -> str:
    """A part of the sheet that folds; `name` becomes its id."""
    opened = " open" if is_open else ""
    return f'<details id="{name}"{opened}><summary><h2>{heading}</h2></summary>{content}</details>'


def place_html(lat: float, lon: float, altitude_amsl_ft: int | None = None) -> str:
    """A place with a button that shows it on the map, at an altitude or the one chosen there."""
    at = "" if altitude_amsl_ft is None else f' data-at="{altitude_amsl_ft}"'
    return (
        f'<p class="small">{decimal_degrees(lat, lon)} <button type="button" '
        f'data-lat="{lat}" data-lon="{lon}"{at}>Show this place</button></p>'
    )


def verdict_badge(verdict: Verdict) -> str:
    """The verdict in words inside a frame of its own; the frame's line differs, not its colour."""
    return f'<span class="verdict {_VERDICT_CLASS[verdict]}">{verdict_text(verdict)}</span>'


def entry_html(verdict: Verdict, head: str, figures: str, parts: Iterable[str], button: str) -> str:
    """One thing judged: its verdict and name, its figures, sentences from the data, and a button.

    Parameters
    ----------
    verdict : Verdict
    head, figures, button : str
        Already HTML; `button` as `place_html` makes it, or "".
    parts : iterable of str
        From the data: escaped here.
    """
    more = "".join(f"<p>{said(words)}</p>" for words in parts)
    return (
        f'<div class="entry"><p>{verdict_badge(verdict)} {head}</p><p>{figures}</p>{more}{button}'
        "</div>"
    )
