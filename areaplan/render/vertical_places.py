"""Where figures that use height are placed, as words and as plain values for programs."""

from __future__ import annotations

from typing import Any

import numpy as np

from areaplan.planning.vertical_placing import Placing, VerticalPlace
from areaplan.render.quantity_words import (
    fits_words,
    inside_area_words,
    is_limited,
    minutes_seconds,
)
from areaplan.render.route_text import place_words
from areaplan.render.text import percent_down
from areaplan.rules.vertical_asked import VerticalKind
from areaplan.units import FOOT_M, KNOT_MPS, NAUTICAL_MILE_M, bearing_text, feet_text


def placing_words(placing: Placing) -> tuple[str, ...]:
    """Sentences for a page: where, how high, which way, margins, size and drift."""
    asked = placing.asked
    source = f"Laid out by: “{asked.quote}” {asked.citation}"
    notes = tuple(
        f"{head}: {words}"
        for head, words in (("Read as", asked.reading), ("CONFIRM", asked.confirm))
        if words
    )
    place = placing.place
    if place is None:
        return (
            "Place: nowhere in the area does the whole figure fit with its drift.",
            source,
            *notes,
        )
    return (
        f"Place: fits with its drift from {percent_down(placing.share)} of the area's cells; best "
        f"{_where(placing, place)}, {_entry(place)}.",
        f"Margins there, from the lowest to the highest point: {_margins(place)}.",
        f"Flown at {placing.tas_mps / KNOT_MPS:.0f} kt true airspeed: {_size(placing, place)}.",
        source,
        *notes,
    )


def _where(placing: Placing, place: VerticalPlace) -> str:
    at = place_words(place.lat, place.lon)
    is_round = placing.asked.kind is VerticalKind.STEEP_SPIRAL
    heading = f"heading {bearing_text(place.shape.heading_deg_true)}"
    side = f"first turn {place.shape.side.value}"
    if is_round:
        return f"round {at}, entered abeam it on {heading}, turns {place.shape.side.value}"
    return f"entered at {at} on {heading} ({_by_wind(placing, place)}), {side}"


def _by_wind(placing: Placing, place: VerticalPlace) -> str:
    off = round((place.shape.heading_deg_true - placing.wind.from_deg_true) % 360.0)
    if placing.wind.speed_mps == 0.0:
        return "no wind"
    return {0: "into the wind", 180: "with the wind"}.get(off % 360, "across the wind")


def _entry(place: VerticalPlace) -> str:
    fits = fits_words(place.lowest_entry_amsl_ft, place.highest_entry_amsl_ft)
    return f"at {feet_text(place.entry_amsl_ft)} AMSL, {fits}"


def _margins(place: VerticalPlace) -> str:
    parts = [
        f"height {feet_text(place.room_ft)}",
        f"glide on any heading {feet_text(place.glide_ft)}",
    ]
    if is_limited(place.ceiling_ft):
        parts.append(f"below the ceiling {feet_text(place.ceiling_ft)}")
    parts.append(inside_area_words(place.edge_m))
    return ", ".join(parts)


def _size(placing: Placing, place: VerticalPlace) -> str:
    figure = place.shape.flown[0]
    drift_m = float(np.hypot(figure.drift_east_m, figure.drift_north_m))
    parts = [
        f"radius {feet_text(round(place.shape.radius_m / FOOT_M))}",
        minutes_seconds(figure.track.duration_s),
        f"uses {feet_text(placing.used_ft)} below and {feet_text(placing.gained_ft)} above the "
        "entry",
        f"nowhere farther than {_up_nm(reach_m(place))} NM from there",
    ]
    if placing.asked.kind is VerticalKind.STEEP_SPIRAL:
        parts.append("the wind is held off by the bank")
    else:
        parts.append(f"the wind carries it {drift_m / NAUTICAL_MILE_M:.2f} NM")
    return ", ".join(parts)


def reach_m(place: VerticalPlace) -> float:
    """Greatest distance of the figure from its place, in any wind, metres."""
    return max(figure.track.reach_m for figure in place.shape.flown)


def _up_nm(metres: float) -> str:
    return f"{np.ceil(metres / NAUTICAL_MILE_M * 100.0) / 100.0:.2f}"


def placing_as_json(placing: Placing) -> dict[str, Any]:
    """One placing: whole feet, metres, degrees true, seconds; null where nothing limits."""
    asked, place = placing.asked, placing.place
    found: dict[str, Any] = {
        "share": placing.share,
        "tas_kt": round(placing.tas_mps / KNOT_MPS, 1),
        "height_used_ft": placing.used_ft,
        "height_gained_ft": placing.gained_ft,
        "greatest_bank_deg": asked.bank_deg,
        "document": asked.citation,
        "quote": asked.quote,
        "reading": asked.reading,
        "confirm": asked.confirm,
        "best": None,
    }
    if place is not None:
        figure = place.shape.flown[0]
        found["best"] = {
            "lat": round(place.lat, 6),
            "lon": round(place.lon, 6),
            "is_centre": asked.kind is VerticalKind.STEEP_SPIRAL,
            "entry_amsl_ft": place.entry_amsl_ft,
            "lowest_entry_amsl_ft": place.lowest_entry_amsl_ft,
            "highest_entry_amsl_ft": _bounded(place.highest_entry_amsl_ft),
            "heading_deg_true": round(place.shape.heading_deg_true, 1),
            "first_turn": place.shape.side.value,
            "margins": {
                "height_ft": place.room_ft,
                "glide_ft": place.glide_ft,
                "ceiling_ft": _bounded(place.ceiling_ft),
                "inside_area_m": float(np.floor(place.edge_m)),
            },
            "radius_m": round(place.shape.radius_m, 1),
            "reach_m": float(np.ceil(reach_m(place))),
            "drift_east_m": round(figure.drift_east_m, 1),
            "drift_north_m": round(figure.drift_north_m, 1),
            "duration_s": round(figure.track.duration_s, 1),
        }
    return found


def _bounded(feet: int) -> int | None:
    return feet if is_limited(feet) else None
