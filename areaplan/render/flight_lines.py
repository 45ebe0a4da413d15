"""A recorded flight as lines over the map: where it flew, and its spells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from attrs import frozen

from areaplan.grid import Float64Array
from areaplan.planning.flight_review import FlightReview
from areaplan.planning.flight_spells import SpellKind
from areaplan.render.flight_text import clock, duration, spell_words
from areaplan.render.map_shape_table import Drawn
from areaplan.units import FOOT_M, feet_text

MOST_TIMES: Final = 30
_STEPS_S: Final = (60, 120, 300, 600, 900, 1800, 3600)


@frozen(eq=False)
class FlownLines:
    """The flight as recorded, the pieces of it that the review tells of, and points with times."""

    flight: tuple[Drawn, ...]
    spells: tuple[Drawn, ...]
    times: tuple[Drawn, ...]


def flown_lines(review: FlightReview) -> FlownLines:
    """Lines of a review, longitude/latitude; spells with what they are about."""
    end_s = float(review.flight.time_s[-1])
    cuts = [0.0, *(time for gap in review.flown.gaps_s for time in gap), end_s]
    flown = [_between(review, begin, end) for begin, end in zip(cuts[::2], cuts[1::2], strict=True)]
    words = f"{clock(review, 0.0)} to {clock(review, end_s)} UTC"
    return FlownLines(
        flight=tuple((line, review.flight.name, words) for line in flown if line.length > 0.0),
        spells=tuple(_spells(review)),
        times=tuple(_times(review)),
    )


def _times(review: FlightReview) -> Iterator[Drawn]:
    """The first moment, every so many whole minutes of the day, and the last."""
    flight, flown = review.flight, review.flown
    end_s = float(flight.time_s[-1])
    step_s = next((one for one in _STEPS_S if end_s / one <= MOST_TIMES), _STEPS_S[-1])
    begins = flight.begins
    day_s = begins.hour * 3600 + begins.minute * 60 + begins.second + begins.microsecond / 1e6
    first_s = (step_s - day_s % step_s) % step_s
    whole = [float(one) for one in np.arange(first_s, end_s, step_s)]
    # Nothing between two fixes too far apart: nobody knows where that was.
    known = [one for one in whole if not any(begin < one < end for begin, end in flown.gaps_s)]
    for time_s in dict.fromkeys([0.0, *known, end_s]):
        altitude_m = np.interp(time_s, flown.time_s, flown.course.altitude_amsl_m)
        place = shapely.Point(
            np.interp(time_s, flight.time_s, flight.lon),
            np.interp(time_s, flight.time_s, flight.lat),
        )
        high = "altitude not recorded" if np.isnan(altitude_m) else f"{_feet(altitude_m)} AMSL"
        yield place, f"{clock(review, time_s)} UTC", high


def _feet(altitude_m: float) -> str:
    return feet_text(round(float(altitude_m) / FOOT_M))


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
