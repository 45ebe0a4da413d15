"""The map of a plan with a recorded flight on it."""

from __future__ import annotations

from pathlib import Path

from areaplan.planning.flight_review import FlightReview
from areaplan.render.flight_lines import flown_lines
from areaplan.render.map import map_html
from areaplan.render.whole_file import write_whole


def write_flight_map(review: FlightReview, path: Path) -> None:
    """Write the map as one HTML file, the flight and its spells drawn over the area.

    Raises
    ------
    InputError
        As `map.map_html`; or the folder is missing or can't be written to.
    """
    lines = flown_lines(review)
    over = {"flown": lines.flight, "flown_spells": lines.spells}
    write_whole(path, map_html(review.plan, over=over), "the map", "--map")
