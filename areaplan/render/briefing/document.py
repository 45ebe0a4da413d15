"""The whole briefing as a `Document`: first what is briefed, in order, then what is looked up."""

from __future__ import annotations

from attrs import frozen

from areaplan.planning.briefing import Briefing
from areaplan.render.briefing.area import area_part
from areaplan.render.briefing.fields import all_fields_part
from areaplan.render.briefing.flying import traffic_part, weather_part
from areaplan.render.briefing.heights import heights_part
from areaplan.render.briefing.places import wind_words
from areaplan.render.briefing.records import (
    cautions_part,
    data_part,
    emergency_part,
    rules_part,
    unknown_part,
)
from areaplan.render.briefing.short import short_part
from areaplan.render.briefing.wind import wind_part
from areaplan.render.document.model import Cell, Document, Figure, Terms
from areaplan.render.manoeuvres import FLIGHT_WORDS
from areaplan.render.text import aircraft_line, verdict_line
from areaplan.units import feet_text

CAUTION = (
    "Planning aid only, not for navigation. Check current charts, notices and local procedures. "
    "Most wires and most objects below 200 ft are in no database. The pilot in command decides."
)


@frozen
class Drawings:
    """Drawings by where they stand; none at all where they are not drawn."""

    area: tuple[Figure, ...] = ()
    profile: tuple[Figure, ...] = ()
    sites: tuple[Figure, ...] = ()
    heights: tuple[Figure, ...] = ()


def briefing_document(briefing: Briefing, drawings: Drawings | None = None) -> Document:
    """Put a briefing into words.

    Parameters
    ----------
    briefing : Briefing
    drawings : Drawings, optional

    Returns
    -------
    Document
        The same for the same briefing; it holds no day but the project's own.
    """
    project, words = briefing.plan.project, briefing.words
    drawn = drawings or Drawings()
    revision = f"revision {words.revision}" if words.revision else "revision ______"
    return Document(
        title=f"Local-area briefing: {project.name}",
        subtitle=project.school,
        identity=Terms(_identity(briefing)),
        verdict=f"{verdict_line(briefing.plan)}.",
        caution=CAUTION,
        alarms=_alarms(briefing),
        running=f"{project.name}, {revision}, judged for {project.day.isoformat()}",
        parts=(
            short_part(briefing),
            area_part(briefing, drawn.area, drawn.profile, drawn.sites),
            weather_part(briefing),
            traffic_part(briefing),
            heights_part(briefing, drawn.heights),
            wind_part(briefing),
            emergency_part(briefing),
            unknown_part(briefing, has_drawings=drawings is not None),
            all_fields_part(briefing),
            data_part(briefing),
            rules_part(briefing),
            cautions_part(briefing),
        ),
    )


def _identity(briefing: Briefing) -> tuple[tuple[str, Cell], ...]:
    project, words = briefing.plan.project, briefing.words
    aerodrome = words.aerodrome
    home: Cell = None
    if aerodrome is not None:
        elevation = aerodrome.elevation_amsl_ft
        home = aerodrome.name + ("" if elevation is None else f", {feet_text(elevation)} AMSL")
    return (
        ("Revision", words.revision or None),
        ("Author", words.author or None),
        ("Approved by", words.approver or None),
        ("Signature and day", None),
        ("Review by", words.review_by.isoformat() if words.review_by else None),
        ("Aerodrome", home),
        ("Judged for", f"{project.day.isoformat()}, {FLIGHT_WORDS[project.flight]}"),
        ("Wind", f"{wind_words(project.wind)} ({project.wind_source})"),
        ("Aircraft", aircraft_line(briefing.plan)),
        ("Rules", "; ".join(one.title for one in briefing.rule_sets)),
    )


def _alarms(briefing: Briefing) -> tuple[str, ...]:
    """What makes the whole sheet doubtful, for the first page."""
    project, review = briefing.plan.project, briefing.words.review_by
    said = []
    if review is not None and review < project.day:
        said.append(f"REVIEW OVERDUE: due by {review.isoformat()}.")
    said += [
        f"EXPIRED DATA: {row.kind} ({row.edition}) ended {row.expires}."
        for row in briefing.plan.sources
        if row.is_expired(project.day)
    ]
    return tuple(said)
