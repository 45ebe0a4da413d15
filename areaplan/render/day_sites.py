"""Ground-reference sites on the day sheet: the best of each figure, or what it lacks today."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from areaplan.planning.plan import Verdict
from areaplan.planning.site import FigureSites, Site, SiteAnswer
from areaplan.render.document.model import Paragraph, Section, TableBlock
from areaplan.render.text import verdict_text
from areaplan.units import feet_text

MOST_SITES: Final = 2  # of each figure: as many as leave the sheet on one page


def sites_section(answer: SiteAnswer) -> Section:
    """The section of the sheet."""
    heads = ("figure", "enter AMSL", "steepest bank", "smallest margin", "where")
    rows = tuple(row for one in answer.figures for row in _rows(one))
    found = sum(one.verdict is Verdict.MET for one in answer.figures)
    return Section(
        f"Ground-reference sites in wind {answer.wind}: {found} of {len(answer.figures)} figures "
        "have one",
        (
            TableBlock("", heads, rows, (10, 4, 5, 8, 36), right=(1, 2, 3)),
            Paragraph(
                "Flown in simulation; areaplan sites tells tracks, fields and what the others lack."
            ),
        ),
    )


def _rows(one: FigureSites) -> Iterator[tuple[str, ...]]:
    for site in one.sites[:MOST_SITES]:
        yield (one.figure.title, *_figures(site), site.layout.reference.name)
    if not one.sites:
        lacks = one.lacks.partition(": ")[0]  # what asks for it is told by areaplan sites
        yield (one.figure.title, "-", "-", "-", f"{verdict_text(one.verdict)}: {lacks}")


def _figures(site: Site) -> tuple[str, str, str]:
    return (
        feet_text(site.entry_amsl_ft),
        f"{site.track.greatest_bank_deg:.0f} deg",
        f"{feet_text(site.smallest_margin_ft)} ({site.binding_margin})",
    )
