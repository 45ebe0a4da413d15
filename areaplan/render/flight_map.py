"""The map of a plan with a recorded flight on it."""

from __future__ import annotations

from pathlib import Path

from areaplan.planning.flight_review import FlightReview
from areaplan.render.flight_lines import flown_lines
from areaplan.render.flight_text import altitudes_told, recorded_words, verdict_meaning
from areaplan.render.map import map_html
from areaplan.render.map_foreword import Foreword, Part
from areaplan.render.map_markup import bullets
from areaplan.render.text import verdict_text
from areaplan.render.whole_file import write_whole


def write_flight_map(review: FlightReview, path: Path) -> None:
    """Write the map as one HTML file, the flight and its spells drawn over the area.

    Raises
    ------
    InputError
        As `map.map_html`; or the folder is missing or can't be written to.
    """
    lines = flown_lines(review)
    over = {
        "flown": lines.flight,
        "flown_spells": lines.spells,
        "flown_times": lines.times,
    }
    html = map_html(review.plan, over=over, first=flight_foreword(review))
    write_whole(path, html, "the map", "--map")


def flight_foreword(review: FlightReview) -> Foreword:
    """What contradicts the recording, its verdict, and what else to know before believing it."""
    contradiction = review.altitude_check.contradiction
    doubt = ", altitudes contradict" if contradiction else ""
    return Foreword(
        subject=f"Recorded flight {review.flight.name}",
        short=f"Recorded flight: {verdict_text(review.verdict)}{doubt}",
        verdict=review.verdict,
        meaning=f"inside the practice area: {verdict_meaning(review)}.",
        grave=(contradiction,) if contradiction else (),
        sentences=(
            f"{recorded_words(review)}.",
            f"Altitudes: {'; '.join((review.altitude_words, *altitudes_told(review)))}",
        ),
        parts=(Part("flight-notes", "Before believing it", bullets(review.notes)),),
    )
