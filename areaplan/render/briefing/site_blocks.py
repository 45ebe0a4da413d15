"""The section of the briefing on places for ground-reference work."""

from __future__ import annotations

from areaplan.planning.briefing import Briefing
from areaplan.planning.site import FigureSites, Site
from areaplan.render.briefing.places import degrees_minutes, true_and_magnetic, wind_words
from areaplan.render.briefing.wording import confirm_words
from areaplan.render.document.model import Block, Bullets, Cell, Paragraph
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.site_text import ASSUMPTIONS, entries_words, margins_words
from areaplan.render.text import verdict_text
from areaplan.units import KNOT_MPS, feet_text

NOT_WORKED_OUT = "Not worked out for this briefing of the briefing."


def site_blocks(briefing: Briefing) -> tuple[Block, ...]:
    """Every site found, figure by figure, and what the others lack."""
    answer = briefing.sites
    if answer is None:
        return (Paragraph(NOT_WORKED_OUT),)
    speed_kt = answer.tas_mps / KNOT_MPS
    blocks: list[Block] = [
        Paragraph(
            f"Wind {wind_words(answer.wind)}; flown in simulation at {speed_kt:.0f} kt true "
            "airspeed; other winds ask for other places. Each place is judged at every point of "
            "the track: legal, inside the area, a field within gliding distance. Widest range of "
            "entry altitudes first within each figure. Fields: those to use at the entry and after "
            "each quarter of the figure."
        )
    ]
    rows = tuple(
        _row(briefing, site)
        for one in answer.figures
        for site in sorted(one.sites, key=_widest_first)  # stable: then as ranked
    )
    if rows:
        heads = (
            "Figure",
            "By",
            "Enter at AMSL",
            "Enter over, on track",
            "Bank",
            "Margins",
            "Fields",
        )
        traced = "roads, fields and landmarks of the sources; the surfaces of the plan"
        widths = (11, 14, 15, 20, 8, 18, 14)
        blocks.append(Table("Places found", heads, rows, widths, traced))
    missing = tuple(_missing(one) for one in answer.figures if not one.sites)
    sentences = tuple(dict.fromkeys(_sentence(one) for one in answer.figures))
    return (*blocks, Bullets((*missing, *answer.notes, *ASSUMPTIONS, *sentences)))


def _row(briefing: Briefing, site: Site) -> tuple[Cell, ...]:
    place = degrees_minutes(float(site.lat[0]), float(site.lon[0]))
    track = true_and_magnetic(briefing, float(site.track.track_deg_true[0]))
    return (
        site.figure.title,
        site.layout.reference.name,
        f"{feet_text(site.entry_amsl_ft)}; {_window_words(site)}",
        f"{place}, {track}; first turn {site.layout.shape.side.value}",
        f"{site.track.greatest_bank_deg:.0f} deg at most",
        margins_words(site),
        ", ".join(_short(one.field) for one in site.fields),
    )


def _widest_first(site: Site) -> int:
    """Pivotal heights leave one altitude only."""
    if site.layout.shape.entry_above_m is not None:
        return 0
    return site.lowest_entry_amsl_ft - site.highest_entry_amsl_ft


def _window_words(site: Site) -> str:
    is_one = site.lowest_entry_amsl_ft == site.highest_entry_amsl_ft
    if is_one and site.layout.shape.entry_above_m is None:
        return "this altitude only"
    return entries_words(site)


def _short(field: str | None) -> str:
    """A field's name without the word that heads the column."""
    return "none" if field is None else field.removeprefix("Field ")


def _missing(one: FigureSites) -> str:
    return f"{one.figure.title}: {verdict_text(one.verdict)}; {one.lacks}"


def _sentence(one: FigureSites) -> str:
    return f"“{one.figure.quote}” {one.figure.citation}{confirm_words(one.figure.confirm)}"
