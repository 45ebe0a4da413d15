"""The part of the briefing that is read aloud first."""

from __future__ import annotations

from typing import Final

from areaplan.planning.briefing import Briefing, wind_altitude_ft
from areaplan.planning.briefing_places import Neighbour, Standing
from areaplan.planning.briefing_short import Everywhere
from areaplan.planning.gates import Use
from areaplan.planning.plan import Verdict
from areaplan.render.briefing.closed_blocks import altitude_words
from areaplan.render.briefing.fields import tenths_down
from areaplan.render.briefing.places import (
    degrees_minutes,
    from_aerodrome,
    half_bearing,
    miles,
    over_words,
    the,
)
from areaplan.render.document.model import Cell, Paragraph, Part, Section, Terms
from areaplan.render.route_text import route_words
from areaplan.render.text import percent_up, verdict_text
from areaplan.render.wind_text import COMPASS
from areaplan.rules.model import Entry
from areaplan.units import FOOT_M, NAUTICAL_MILE_M, feet_text

_BY_CALL: Final = (Entry.TWO_WAY_RADIO, Entry.CLEARANCE)
_MOST_FIELDS: Final = 3
_TRACED: Final = (
    "From: the plan's cells and the project file; each part below names its own. Shares are of the "
    "area, and may overlap."
)


def short_part(briefing: Briefing) -> Part:
    """What a student hears before all else; every sentence from the plan, gaps said as gaps."""
    rows: list[tuple[str, Cell]] = [("For a student", student_words(briefing))]
    rows.append(("Where", f"{_where(briefing)} {_ground(briefing)}"))
    rows += [
        (f"At {feet_text(row.shares.altitude_amsl_ft)}", altitude_words(row))
        for row in briefing.short.altitudes
    ]
    rows += [
        ("Enough everywhere", _everywhere(briefing)),
        ("Highest obstacle", _highest(briefing)),
        ("Wires", _wires(briefing)),
        ("Airspace and calls", _airspace(briefing)),
        ("Frequencies", _frequencies(briefing)),
        ("Gates", _gates(briefing)),
        ("Wind", _wind(briefing)),
        ("Fields", _fields(briefing)),
        ("Not known", _unknown(briefing)),
    ]
    return Part("short", "In short", "", (Section("", (Terms(tuple(rows)), Paragraph(_TRACED))),))


def student_words(briefing: Briefing) -> str:
    """What the verdict means for whoever flies there."""
    plan, rows = briefing.plan, briefing.short.altitudes
    if plan.verdict is Verdict.MET:
        return (
            "By the data and rules named here all of the area is legal at every planned altitude, "
            "with a field within gliding distance whatever the heading, in the wind named above."
        )
    words = []
    if not briefing.short.is_air_open:
        words.append(
            "The wind or weather named for this briefing is beyond a limit, or not known to be "
            "within it: no lesson in it."
        )
    unknown = max(row.shares.unknown_share for row in rows)
    if unknown > 0.0:
        words.append(
            f"{percent_up(unknown)} of the area cannot be judged: what is not known counts as "
            "closed."
        )
    lost = [
        f"{percent_up(1.0 - row.shares.legal_and_safe_share)} at "
        f"{feet_text(row.shares.altitude_amsl_ft)}"
        for row in rows
        if row.shares.legal_and_safe_share < 1.0
    ]
    if lost:
        words.append(
            "Part of this area is not for you, because it is closed or no field is in reach: "
            f"{', '.join(lost)}. Know where, and stay out of it."
        )
    return " ".join(words)


def _where(briefing: Briefing) -> str:
    short, home = briefing.short, briefing.words.aerodrome
    if home is None or short.nearest_m is None:
        words = "How far from the aerodrome is not known: the project names none."
    else:
        near = (
            f"{home.name} lies in it"
            if short.nearest_m == 0.0
            else f"Its nearest point is {miles(short.nearest_m)} from {home.name}"
        )
        words = f"{near}; its middle is on {from_aerodrome(briefing, short.middle)}."
    if not any(corner.landmark for corner in briefing.corners):
        return f"{words} What is seen at its corners is not known: the project names no landmarks."
    ends = [
        f"{the(corner.landmark) if corner.landmark else f'corner {corner.number}'} in the {side}"
        for side, corner in short.outermost
    ]
    return f"{words} It lies between {_listed(ends)}."


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _ground(briefing: Briefing) -> str:
    low, high = briefing.lowest_ground_ft, briefing.highest_ground_ft
    if low is None or high is None:
        return "How high its ground lies is not known."
    return f"Its ground lies between {feet_text(low)} and {feet_text(high)} AMSL."


def _everywhere(briefing: Briefing) -> str:
    short, block = briefing.short, briefing.plan.block
    legal = _enough("every rule on heights and distances", short.legal_everywhere)
    field = _enough("a field in reach whatever the heading", short.field_everywhere)
    whole = "With airspace: none over the whole area."
    if block is not None:
        top = "with no ceiling in the data"
        if block.ceiling_amsl_ft is not None:
            top = f"up to {feet_text(block.ceiling_amsl_ft)} AMSL"
        whole = f"With airspace: from {feet_text(block.floor_amsl_ft)} AMSL {top}."
    return f"{legal} {field} {whole}"


def _enough(what: str, one: Everywhere) -> str:
    if one.is_unknown:
        return f"Not known for {what}."
    if one.amsl_ft is None:
        return f"No altitude for {what}."
    return f"{feet_text(one.amsl_ft)} AMSL for {what}."


def _highest(briefing: Briefing) -> str:
    if not briefing.plan.layers.obstacles:
        return "Not known: no obstacle file was given."
    short = briefing.short
    near = short.highest_near
    if short.highest is None:
        words = "None is on file in the area."
        return words if near is None else f"{words} Outside: {_standing(briefing, near)}."
    words = f"{_standing(briefing, short.highest)}."
    if near is not None:
        higher = "Higher" if near.top_amsl_ft is not None else "Perhaps higher"
        words += f" {higher}, outside: {_standing(briefing, near)}."
    return words


def _standing(briefing: Briefing, row: Standing) -> str:
    top = "top not known" if row.top_amsl_ft is None else f"top {feet_text(row.top_amsl_ft)} AMSL"
    agl = "" if row.top_agl_ft is None else f", {feet_text(row.top_agl_ft)} above the ground"
    place = from_aerodrome(briefing, row.place) or degrees_minutes(row.place.lat, row.place.lon)
    return f"{row.name}, {top}{agl}, on {place}"


def _wires(briefing: Briefing) -> str:
    if not briefing.plan.layers.wires:
        return "Not known: no wires are in the data. Look for them everywhere."
    if not briefing.short.crossing:
        return "None that is drawn crosses the area. Most wires are in no database."
    names = "; ".join(briefing.short.crossing)
    return f"Across the area: {names}. Most wires are in no database."


def _airspace(briefing: Briefing) -> str:
    if not briefing.plan.layers.airspace:
        return "Not known: no airspace file was given."
    rows = briefing.short.airspace
    if not rows:
        return "No volume in the data closes any of the area or asks for a call."
    margins = briefing.plan.project.margins
    kept = (
        f" Kept from all that is closed: {margins.airspace_lateral_m / NAUTICAL_MILE_M:.2f} NM, "
        f"{feet_text(round(margins.airspace_vertical_m / FOOT_M))}."
        if any(row.volume.is_blocking for row in rows)
        else ""
    )
    return " ".join(f"{_neighbour(row)}." for row in rows) + kept


def _neighbour(row: Neighbour) -> str:
    volume = row.volume
    what = f"{volume.name}, {volume.lower_text} to {volume.upper_text}"
    call = _listed([f"{one.station} {one.frequency}" for one in row.frequencies] or ["not known"])
    who = f"call {call}" if row.frequencies else "whom to call is not known"
    if volume.entry not in _BY_CALL:
        return f"{what}: {'stay out' if volume.is_blocking else f'open: {volume.reason}'}"
    if not volume.is_blocking:
        return f"{what}, {over_words(row)}: {volume.entry}, {who}"
    return f"{what}: stay out; only with {volume.entry}, {who}"


def _frequencies(briefing: Briefing) -> str:
    rows = briefing.words.frequencies
    if not rows:
        return "Not known: the project names none; take them from the current chart."
    told = {one.station for row in briefing.short.airspace for one in row.frequencies}
    others = [row for row in rows if row.station not in told]
    if not others:
        return "None but those just named."
    words = "; ".join(f"{row.station} {row.frequency}, {row.use}" for row in others)
    return f"{'Besides those above: ' if told else ''}{words}."


def _gates(briefing: Briefing) -> str:
    ways = briefing.ways
    if ways is None:
        return "None is declared: the ways in and out were not checked."
    words = []
    for title, use in (("In", Use.IN), ("Out", Use.OUT)):
        rows = [one for one in ways.gates if one.gate.use in (use, Use.BOTH)]
        told = [
            f"{one.gate.name}{_at(one.gate.landmark)}, {feet_text(one.gate.altitude_amsl_ft)}"
            + ("" if one.verdict is Verdict.MET else f" ({verdict_text(one.verdict)} there)")
            for one in rows
        ]
        words.append(f"{title}: {'; '.join(told)}." if told else f"{title}: no gate.")
    words += [
        f"{route_words(one)}, at {feet_text(one.route.altitude_amsl_ft)}: "
        f"{verdict_text(one.verdict)}."
        for one in ways.routes
        if one.verdict is not Verdict.MET
    ]
    return " ".join(words)


def _at(landmark: str) -> str:
    return f" over {the(landmark)}" if landmark else ""


def _wind(briefing: Briefing) -> str:
    least = briefing.short.wind
    if least is None:
        return "Not known: the wind limits are not worked out for this briefing."
    altitude = feet_text(least.altitude_amsl_ft)
    if least.limit_kt is None:
        why = "it is not known" if least.is_unknown else "not even in calm"
        return f"At {altitude} a field everywhere: {why}."
    if least.limit_kt == least.highest_kt:
        return (
            f"At {altitude} a field stays in reach everywhere in {least.limit_kt} kt, the "
            "strongest wind tested, from whichever direction tested."
        )
    rows = briefing.wind_limits.directions if briefing.wind_limits else ()
    names = [
        f"{COMPASS[number]} ({half_bearing(rows[number].from_deg_true)})"
        for number in least.directions
    ]
    unsure = ", and beyond that it is not known" if least.is_unknown else ""
    allows = "allows" if len(names) == 1 else "allow"
    return (
        f"At {altitude} a field stays in reach everywhere in up to {least.limit_kt} kt from "
        f"whichever direction tested; {_listed(names)} true {allows} the least{unsure}. Other wind "
        "limits hold besides."
    )


def _fields(briefing: Briefing) -> str:
    serving = briefing.serving
    if not serving.rows:
        return "None is known to serve any of the area."
    altitude = wind_altitude_ft(briefing.plan)
    at = serving.altitudes_amsl_ft.index(altitude)
    first = serving.rows[:_MOST_FIELDS]
    names = [row.measured.field.name for row in first]
    shares = [tenths_down(row.shares[at]) for row in first]
    return (
        f"From the planned altitudes together most ground glides to {_listed(names)} (at "
        f"{feet_text(altitude)} {_listed(shares)} of the area)."
    )


def _unknown(briefing: Briefing) -> str:
    unknown = max(row.shares.unknown_share for row in briefing.short.altitudes)
    how_much = percent_up(unknown) if unknown else "None"
    count = len(briefing.plan.warnings)
    warnings = "One warning stands" if count == 1 else f"{count or 'No'} warnings stand"
    return (
        f"{how_much} of the area, as far as the data go. {warnings} under “What is not known”. No "
        "file knows where people and stock are today."
    )
