"""Sites for ground-reference figures as plain text."""

from __future__ import annotations

import textwrap
from typing import Final

from areaplan.planning.plan import UNKNOWN_FT, Plan, Verdict
from areaplan.planning.site import NEVER_FT, FigureSites, Site, SiteAnswer
from areaplan.render.quantity_words import (
    fits_words,
    inside_area_words,
    is_limited,
    minutes_seconds,
)
from areaplan.render.route_text import place_words
from areaplan.render.text import WIDTH, bullets, verdict_text
from areaplan.units import FOOT_M, KNOT_MPS, NAUTICAL_MILE_M, bearing_text, feet_text

ASSUMPTIONS: Final = (
    "Flown in simulation at the highest true airspeed of these altitudes, in a steady wind, with "
    "the bank that the wind asks for at every point. A gust asks for more.",
    "Each margin is the least at any point of the track, at the tolerance of the altitude flown "
    "and as if the engine failed with the wings level on the track flown there; on another heading "
    "a field may be out of reach.",
    "Nobody has looked at the place: persons, animals and wires are not all in the data.",
)
_QUARTERS: Final = ("at the entry", "after a quarter", "half way", "after three quarters")


def sites_text(answer: SiteAnswer, plan: Plan) -> str:
    """All figures with their sites, the best first, or what the nearest miss lacks."""
    speed_kt = answer.tas_mps / KNOT_MPS
    head = f"{plan.project.name}: places for ground-reference work in wind {answer.wind}"
    lines = [head, *bullets(answer.notes), f"Flown at {speed_kt:.0f} kt true airspeed", ""]
    lines.append(f"Verdict: {verdict_text(answer.verdict)}")
    for one in answer.figures:
        lines += ["", *_figure_lines(one)]
    return "\n".join([*lines, "", *bullets((*ASSUMPTIONS, *plan.cautions))])


def _figure_lines(one: FigureSites) -> list[str]:
    figure = one.figure
    head = f"{figure.title}: {verdict_text(one.verdict)}; {found_words(one)}"
    lines = [*textwrap.wrap(head, WIDTH)]
    for number, site in enumerate(one.sites, 1):
        lines += [f"  {number}. {site.layout.reference.name}", *_site_lines(site)]
    if one.nearest_miss is not None:
        miss = one.nearest_miss
        lines += [f"  Nearest miss: {miss.layout.reference.name}", *_site_lines(miss)]
    lines += _wrapped(f"“{figure.quote}” {figure.citation}", 2)
    if figure.reading:
        lines += _wrapped(f"Read as: {figure.reading}", 2)
    if figure.confirm:
        lines += _wrapped(f"CONFIRM: {figure.confirm}", 2)
    return lines


def found_words(one: FigureSites) -> str:
    """How many references and layouts were looked at, and what came of it."""
    kind = one.figure.reference.value
    looked = f"{one.tried} layouts tried by {one.references} {kind}{'s' * (one.references != 1)}"
    if one.sites:
        return f"{looked}, the best {len(one.sites)}:" if len(one.sites) > 1 else f"{looked}:"
    return f"{looked}; {one.lacks}" if one.tried else one.lacks


def _site_lines(site: Site) -> list[str]:
    bank = site.track.greatest_bank_index
    steepest = place_words(float(site.lat[bank]), float(site.lon[bank]))
    parts = [
        f"{feet_text(site.entry_amsl_ft)} AMSL, {above_ground_words(site)}; {entries_words(site)}",
        f"enter at {place_words(float(site.lat[0]), float(site.lon[0]))} on track "
        f"{bearing_text(site.track.track_deg_true[0])}, heading "
        f"{bearing_text(site.track.heading_deg_true[0])}; first turn "
        f"{site.layout.shape.side.value}; {size_words(site)}",
        f"steepest bank {site.track.greatest_bank_deg:.0f} deg (at most "
        f"{site.figure.steepest_deg:.0f}) at {steepest}; {duration_words(site)}",
        f"margins: {margins_words(site)}",
        f"field: {fields_words(site)}",
    ]
    if site.layout.off_wind_deg >= 1.0:
        wanted = site.figure.wind.value
        parts.insert(3, f"lies {site.layout.off_wind_deg:.0f} deg off {wanted} the wind")
    return [line for part in parts for line in _wrapped(part, 5)]


def above_ground_words(site: Site) -> str:
    """Range of heights above the highest ground of the cells below."""
    heights = site.margins.height_agl_ft
    if (heights == UNKNOWN_FT).any():
        return "height above the ground unknown"
    return f"{feet_text(heights.min())} to {feet_text(heights.max())} above the ground"


def entries_words(site: Site) -> str:
    """Range of entries that fit, or that none does."""
    low, high = site.lowest_entry_amsl_ft, site.highest_entry_amsl_ft
    if site.verdict is not Verdict.MET:
        return "does not fit" if site.verdict is Verdict.NOT_MET else "not known to fit"
    if site.layout.shape.entry_above_m is not None:
        return "the pivotal height sets the altitude"
    return fits_words(low, high)


def size_words(site: Site) -> str:
    """The ground radius, where the figure has one."""
    radius_m = site.layout.shape.radius_m
    if radius_m is None:
        return f"pylons {site.layout.reference.length_m / NAUTICAL_MILE_M:.2f} NM apart"
    return f"radius {radius_m / NAUTICAL_MILE_M:.2f} NM ({feet_text(round(radius_m / FOOT_M))})"


def duration_words(site: Site) -> str:
    """Minutes and seconds of the whole figure."""
    return minutes_seconds(site.track.duration_s)


def margins_words(site: Site) -> str:
    """All margins; those that nothing limits are left out."""
    parts = [_margin("height", site.room_ft), _margin("glide", site.glide_ft)]
    if is_limited(site.ceiling_ft):
        parts.append(_margin("below the ceiling", site.ceiling_ft))
    parts.append(inside_area_words(site.edge_m))
    return ", ".join(parts)


def _margin(words: str, feet: int) -> str:
    if feet <= NEVER_FT:
        return f"{words}: no altitude is known to be enough"
    return f"{words} {feet_text(feet)}"


def fields_words(site: Site) -> str:
    """The field to use at each quarter, runs of the same one together."""
    words: list[str] = []
    last: str | None = ""
    for one, when in zip(site.fields, _QUARTERS, strict=True):
        if one.field != last:
            words.append(f"{one.field or 'none in reach'} {when}")
        last = one.field
    return ", ".join(words)


def _wrapped(text: str, indent: int) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2)
    )
