"""A recorded flight as lines over the map: where it flew, and its spells."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from attrs import frozen

from areaplan.grid import Float64Array
from areaplan.planning.flight_review import FlightReview
from areaplan.planning.flight_spells import SpellKind
from areaplan.render.flight_text import clock, duration, spell_words
from areaplan.render.map_shape_table import Drawn


@frozen(eq=False)
class FlownLines:
    """The flight as recorded, and the pieces of it that the review tells of."""

    flight: tuple[Drawn, ...]
    spells: tuple[Drawn, ...]


def flown_lines(review: FlightReview) -> FlownLines:
    """Lines of a review, longitude/latitude; spells with what they are about."""
    end_s = float(review.flight.time_s[-1])
    cuts = [0.0, *(time for gap in review.flown.gaps_s for time in gap), end_s]
    flown = [_between(review, begin, end) for begin, end in zip(cuts[::2], cuts[1::2], strict=True)]
    words = f"{clock(review, 0.0)} to {clock(review, end_s)} UTC"
    return FlownLines(
        flight=tuple((line, review.flight.name, words) for line in flown if line.length > 0.0),
        spells=tuple(_spells(review)),
    )


def _spells(review: FlightReview) -> Iterator[Drawn]:
    for spell in review.spells:
        if spell.kind is SpellKind.NOT_RECORDED:
            continue  # nobody knows where that was
        line = _between(review, spell.begin_s, spell.end_s)
        when = f"{clock(review, spell.begin_s)} UTC for {duration(spell.lasts_s)}"
        if line.length > 0.0:
            yield line, spell_words(spell), when


def _between(review: FlightReview, begin_s: float, end_s: float) -> shapely.LineString:
    """The straight lines between fixes from one time to another."""
    flight = review.flight
    inside = (flight.time_s > begin_s) & (flight.time_s < end_s)
    times: Float64Array = np.concatenate([[begin_s], flight.time_s[inside], [end_s]])
    lon = np.interp(times, flight.time_s, flight.lon)
    lat = np.interp(times, flight.time_s, flight.lat)
    return shapely.LineString(np.column_stack([lon, lat]))
