"""What the sheet of a map says before everything else: what is drawn over it, and its doubts."""

from __future__ import annotations

from html import escape

from attrs import frozen

from areaplan.planning.plan import Plan, Verdict
from areaplan.render.document.model import Block, Paragraph, Section, TableBlock
from areaplan.render.map_markup import bullets, said, section, table, verdict_badge


@frozen
class Part:
    """A part of the sheet that stands before all others.

    Attributes
    ----------
    name : str
        Its id in the page.
    heading, content : str
        Already HTML.
    """

    name: str
    heading: str
    content: str


@frozen
class Foreword:
    """What a verb that draws over the map has to say first.

    Attributes
    ----------
    subject : str
        What is drawn, such as ``Recorded flight lesson.igc``.
    short : str
        The same with what was found, in a few words for small screens.
    verdict : Verdict or None
        On what is drawn, not on the area.
    meaning : str
        What the verdict says.
    grave : tuple of str
        What makes it doubtful or is wrong with it; must not be missed.
    sentences : tuple of str
        What else must be read first.
    parts : tuple of Part
    """

    subject: str
    short: str
    verdict: Verdict | None = None
    meaning: str = ""
    grave: tuple[str, ...] = ()
    sentences: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()


def foreword_html(first: Foreword | None) -> str:
    """The head of the sheet; "" for None."""
    if first is None:
        return ""
    badge = "" if first.verdict is None else f"{verdict_badge(first.verdict)} "
    judged = f'<p class="judgement">{badge}{said(first.meaning)}</p>' if first.meaning else badge
    grave = f'<div class="grave" role="alert">{bullets(first.grave)}</div>' if first.grave else ""
    rest = "".join(f"<p>{said(words)}</p>" for words in first.sentences)
    return f'<section class="first"><h2>{said(first.subject)}</h2>{grave}{judged}{rest}</section>'


def short_html(first: Foreword | None) -> str:
    """The line for small screens; "" for None."""
    return "" if first is None else f'<span class="first-short">{escape(first.short)}</span>'


def parts_html(first: Foreword | None) -> str:
    """The parts that stand before all others; "" where there are none."""
    if first is None or not first.parts:
        return ""
    inside = "".join(
        section(one.name, one.heading, one.content, is_open=True) for one in first.parts
    )
    return f'<div class="first-parts">{inside}</div>'


def other_wind(notes: tuple[str, ...], plan: Plan) -> tuple[str, ...]:
    """Notes on a wind asked for in place of the plan's, and what that means for the ground painted.

    Parameters
    ----------
    notes : tuple of str
        As of a `FlownScene`; empty where the wind is the plan's.
    plan : Plan
        What is painted.
    """
    if not notes:
        return ()
    painted = f"The ground, and what a click says of the glide, is for {plan.project.wind} still."
    return (*notes, painted)


def section_part(name: str, one: Section, more: str = "") -> Part:
    """A section of a printed document as a part of the sheet.

    Parameters
    ----------
    name : str
        Its id in the page.
    one : Section
        Of paragraphs and tables: the sheet has no style for anything else.
    more : str
        Set before what is not grave, already HTML.

    Raises
    ------
    ValueError
        It holds some other block.
    """
    grave = [row.text for row in one.blocks if isinstance(row, Paragraph) and row.is_grave]
    rest = [row for row in one.blocks if not (isinstance(row, Paragraph) and row.is_grave)]
    made = "".join(_block(row, one.title) for row in rest)
    return Part(name, escape(one.title), (bullets(grave) if grave else "") + more + made)


def _block(block: Block, title: str) -> str:
    if isinstance(block, Paragraph):
        return f"<p>{said(block.text)}</p>"
    if isinstance(block, TableBlock):
        rows = ([said(cell or "") for cell in row] for row in block.rows)
        return table(escape(title), [*map(escape, block.heads)], rows) if block.rows else ""
    raise ValueError(f"no {type(block).__name__} in the sheet")
