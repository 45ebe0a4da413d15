"""A recorded flight as plain text, for the debriefing."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import timedelta

from areaplan.planning.flight_judge import RuleMargin
from areaplan.planning.flight_review import FlightReview
from areaplan.planning.flight_spells import Moment, Spell, SpellKind
from areaplan.planning.plan import Verdict
from areaplan.render.route_text import place_words
from areaplan.render.text import WIDTH, bullets, verdict_text
from areaplan.units import feet_text, signed_feet_text

_MEANING = {
    Verdict.MET: "every margin is beyond the uncertainty",
    Verdict.NOT_MET: "at least one limit was passed by more than the uncertainty",
    Verdict.UNKNOWN: "no limit was certainly passed, but not everything is known, or a margin is "
    "within the uncertainty",
}
_MEANING_CONTRADICTED = {
    Verdict.NOT_MET: "at least one limit was passed by more than the uncertainty, whichever of the "
    "two altitudes is believed",
    Verdict.UNKNOWN: "altimeter setting and satellite altitudes contradict each other",
}


def flight_text(review: FlightReview) -> str:
    """The whole review: what contradicts it, verdict, times, margins, lowest, spells, notes."""
    flight = review.flight
    lines = [
        *_contradiction_lines(review),
        f"{flight.name}: {recorded_words(review)}",
        f"over {review.plan.project.name}; altitudes: {review.altitude_words}",
        *altitudes_told(review),
        "",
        *textwrap.wrap(
            f"Verdict inside the practice area: {verdict_text(review.verdict)} - "
            f"{verdict_meaning(review)}.",
            WIDTH,
        ),
        "",
        *_time_lines(review),
    ]
    lines += [
        "",
        *textwrap.wrap(
            "Margins to each rule where it bound, the smallest first; with a minus sign, beyond "
            "the limit by so much:",
            WIDTH,
        ),
    ]
    lines += [line for row in review.by_rule for line in _rule_lines(row, review)] or ["  none"]
    lines += ["", *_glide_lines(review)]
    lines += ["", "Lowest heights above the highest ground of the cell:"]
    lines += [f"  {_height(row)}  {moment_words(row, review)}" for row in review.lowest] or [
        "  unknown"
    ]
    lines += ["", f"Spells: {len(review.spells) or 'none'}"]
    lines += [line for row in review.spells for line in _spell_lines(row, review)]
    lines += ["", "Before believing it:", *bullets(review.notes)]
    lines += ["", "Cautions:", *bullets(review.plan.cautions)]
    return "\n".join(lines)


def recorded_words(review: FlightReview) -> str:
    """When it was recorded, with how many points."""
    flight = review.flight
    return (
        f"{clock(review, 0.0)} to {clock(review, float(flight.time_s[-1]))} UTC on "
        f"{flight.begins.date()}, {len(flight)} points used of {flight.rows_read}"
    )


def verdict_meaning(review: FlightReview) -> str:
    """What the verdict rests on, in words."""
    if review.seconds.in_area == 0.0:
        return "nothing was flown inside it; do recording and project belong together?"
    meaning = _MEANING_CONTRADICTED if review.altitude_check.contradiction else _MEANING
    return meaning[review.verdict]


def clock(review: FlightReview, time_s: float) -> str:
    """Time of day UTC of a moment, to the second."""
    return f"{review.flight.begins + timedelta(seconds=round(time_s)):%H:%M:%S}"


def duration(seconds: float) -> str:
    """Minutes and seconds, such as ``3 min 05 s``."""
    whole = round(seconds)
    return f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"


def margin_words(margin_ft: int | None) -> str:
    """A margin with its sign."""
    return "no altitude would do" if margin_ft is None else signed_feet_text(margin_ft)


def moment_words(moment: Moment, review: FlightReview) -> str:
    """When, where, how high and which way."""
    words = [f"{clock(review, moment.time_s)} at {place_words(moment.lat, moment.lon)}"]
    if moment.altitude_amsl_ft is not None:
        words.append(f"{feet_text(moment.altitude_amsl_ft)} AMSL")
    if moment.track_deg_true is not None:
        words.append(f"track {round(moment.track_deg_true) % 360:03d} true")
    return ", ".join(words)


def spell_words(spell: Spell) -> str:
    """What a spell is about, with its worst margin and what set it."""
    if spell.kind in (SpellKind.UNKNOWN, SpellKind.NOT_RECORDED):
        return str(spell.kind)
    doubt = "" if spell.is_certain else ", not certain"
    by = f", {spell.binder.limit.title}: {spell.binder.feature}" if spell.binder else ""
    return f"{spell.kind}: {margin_words(spell.worst_margin_ft)}{doubt}{by}"


def _contradiction_lines(review: FlightReview) -> Iterator[str]:
    if review.altitude_check.contradiction:
        yield from textwrap.wrap(review.altitude_check.contradiction, WIDTH)
        yield ""


def altitudes_told(review: FlightReview) -> Iterator[str]:
    """How high the recording says that was flown; none where it does not."""
    if review.altitudes_amsl_ft is not None:
        low_ft, high_ft = review.altitudes_amsl_ft
        yield f"lowest {feet_text(low_ft)} AMSL, highest {feet_text(high_ft)} AMSL: as you flew?"


def _time_lines(review: FlightReview) -> Iterator[str]:
    seconds = review.seconds
    yield "Time:"
    for words, value in (
        ("recorded", seconds.recorded),
        ("flown inside the area", seconds.in_area),
        ("  legal, and a field within gliding distance", seconds.met),
        ("  outside the open altitudes", seconds.not_legal),
        ("  no field within gliding distance", seconds.no_field),
        ("  not known", seconds.unknown),
        ("  some margin within the uncertainty", seconds.within_uncertainty),
        ("not recorded, between points too far apart", seconds.gaps),
    ):
        yield f"  {words:<48}{duration(value):>14}"


def _rule_lines(row: RuleMargin, review: FlightReview) -> Iterator[str]:
    beyond = f", beyond it for {duration(row.seconds_beyond)}" if row.seconds_beyond else ""
    words = f"{row.limit.title} [{row.limit.rule}, {row.limit.severity}], {row.feature}{beyond}"
    yield from _hung(f"{margin_words(row.margin_ft):>12}", words)
    yield f"{'':<16}{moment_words(row.nearest, review)}"


def _glide_lines(review: FlightReview) -> Iterator[str]:
    if review.least_glide is None:
        yield "Glide to a field: unknown"
        return
    words = margin_words(review.least_glide_ft)
    yield f"Glide to a field, smallest margin on the track flown: {words}"
    yield f"    {moment_words(review.least_glide, review)}"


def _height(moment: Moment) -> str:
    feet = "unknown" if moment.height_agl_ft is None else f"{feet_text(moment.height_agl_ft)} AGL"
    return f"{feet:>12}"


def _spell_lines(spell: Spell, review: FlightReview) -> Iterator[str]:
    words = f"for {duration(spell.lasts_s)}: {spell_words(spell)}"
    yield from _hung(f"{clock(review, spell.begin_s):>12}", words)
    yield f"{'':<16}{'worst at ' * (spell.kind in _WITH_WORST)}{moment_words(spell.worst, review)}"


_WITH_WORST = (SpellKind.NOT_LEGAL, SpellKind.NO_FIELD)


def _hung(label: str, words: str) -> list[str]:
    """Words in a column of their own beside a label."""
    return textwrap.wrap(
        words, WIDTH, initial_indent=f"  {label}  ", subsequent_indent=" " * (len(label) + 4)
    )
