"""The parts of the briefing on weather and on other aircraft."""

from __future__ import annotations

from typing import Final

from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_calls import CallPlace
from areaplan.planning.weather_needed import WeatherNeeded
from areaplan.render.briefing.places import the
from areaplan.render.briefing.wording import asked_by, confirm_words
from areaplan.render.document.model import (
    Block,
    Bullets,
    Cell,
    Paragraph,
    Part,
    RuledLines,
    Section,
    Terms,
)
from areaplan.render.document.model import TableBlock as Table
from areaplan.rules.briefing_headings import Topic, advice_on
from areaplan.rules.model import RuleKind
from areaplan.rules.text import limit_in_words, weather_in_words
from areaplan.units import feet_text

_CALL_SIGN: Final = "(call sign)"


def weather_part(briefing: Briefing) -> Part:
    """Weather minima of law and school for the planned altitudes."""
    heading = briefing.headings[Topic.WEATHER]
    heads = (
        "Level at AMSL",
        "Visibility",
        "Cloud base AMSL",
        "Above lowest ground",
        "Beside cloud",
        "Asked by",
    )
    rows = tuple(
        (feet_text(row.altitude_amsl_ft), *_weather_cells(row.weather))
        for row in briefing.altitudes
    )
    letters = {letter for row in briefing.altitudes for letter in row.weather.classes}
    is_unsure = any(row.weather.is_class_unsure for row in briefing.altitudes)
    table = [
        f"{row.title} [{row.id}]: {weather_in_words(row)} {row.citation}."
        f"{confirm_words(row.confirm)}"
        for one in briefing.rule_sets
        for row in one.weather
        if is_unsure or letters & set(row.airspace_classes)
    ]
    limits = [
        f"{rule.title} [{rule.id}, {rule.severity}]: {limit_in_words(rule)}. “{rule.quote}”"
        f"{confirm_words(rule.confirm)}"
        for one in briefing.rule_sets
        for rule in one.rules
        if rule.kind in (RuleKind.WEATHER_LIMIT, RuleKind.WIND_LIMIT)
    ]
    unsure = (
        "Part of the area has no published class at these altitudes: the strictest row is taken. "
        if is_unsure
        else ""
    )
    said = " ".join((*table, *limits))
    confirm = dict.fromkeys(
        words for row in briefing.altitudes for words in row.weather.confirm if words not in said
    )
    blocks: list[Block] = [
        Paragraph(
            f"By day. {unsure}No file knows today's weather: it is told here, never judged. More "
            "height used above the altitude needs as much more cloud base."
        ),
        Table(
            "The least weather, by the strictest of law and school",
            heads,
            rows,
            (14, 12, 18, 18, 14, 24),
            "the rules in the last column; terrain file",
        ),
    ]
    if limits or table or confirm:
        blocks.append(Bullets((*limits, *table, *(f"CONFIRM: {words}" for words in confirm))))
    blocks.append(RuledLines(("Student solo, besides", "Wind and crosswind, besides")))
    return Part("weather", heading.title, asked_by(heading), (Section("", tuple(blocks)),))


def _weather_cells(weather: WeatherNeeded) -> tuple[Cell, ...]:
    def feet(value: int | None) -> Cell:
        return None if value is None else feet_text(value)

    return (
        weather.visibility,
        feet(weather.cloud_base_amsl_ft),
        feet(weather.cloud_base_agl_ft),
        weather.beside_cloud,
        ", ".join(weather.by) or "no rule set in force holds visual minima",
    )


def traffic_part(briefing: Briefing) -> Part:
    """Frequencies, what is recommended, and calls with the area's own names."""
    heading = briefing.headings[Topic.TRAFFIC]
    advice = tuple(f"{row.text} ({row.source})" for row in advice_on(Topic.TRAFFIC))
    sections = (
        Section("Frequencies", tuple(_frequencies(briefing))),
        Section("Practice", (Bullets(advice), RuledLines(("Most aircraft in the area at once",)))),
        Section("Calls, for example", (Paragraph(_CALLS_NOTE), Terms(_calls(briefing)))),
    )
    return Part("traffic", heading.title, asked_by(heading), sections)


def _frequencies(briefing: Briefing) -> list[Block]:
    rows = tuple(
        (row.station, row.frequency, row.use, row.airspace or "none")
        for row in briefing.words.frequencies
    )
    if not rows:
        return [
            Paragraph("The project names no frequency: take them from the current chart."),
            RuledLines(("In the area", "Before the neighbouring airspace", "Weather")),
        ]
    heads = ("Station", "MHz", "For", "Airspace")
    note = Paragraph("As the school wrote them: check against the current chart.")
    return [Table("Stations", heads, rows, (28, 14, 38, 20), "project file"), note]


_CALLS_NOTE: Final = (
    "Words of this school's area put into the order who, where, how high, what next; local "
    "phraseology goes before them. Each altitude is legal over the place named, with a field "
    "within gliding distance; where none is known to be, it is left open."
)
_NO_ALTITUDE: Final = "(altitude)"


def _calls(briefing: Briefing) -> tuple[tuple[str, Cell], ...]:
    name, calls = briefing.plan.project.name, briefing.calls
    open_stations = [row.station for row in briefing.words.frequencies if not row.airspace]
    station = open_stations[0] if open_stations else "(station)"
    home = briefing.words.aerodrome.name if briefing.words.aerodrome else "(aerodrome)"
    lead = f"{station}, {_CALL_SIGN}"
    work = calls.work.lower() or "(manoeuvre)"
    at = "(landmark)" if calls.working is None else the(calls.working.landmark)
    field = calls.forced.landmark if calls.forced else "(field)"
    unknown = (CallPlace("", "", None),)
    entering = [
        (_title("Entering", one), f"“{lead}, {_place(one)}, entering {name}, {work}.”")
        for one in calls.entering or unknown
    ]
    leaving = [
        (_title("Leaving", one), f"“{lead}, {_place(one)}, leaving {name} for {home}.”")
        for one in calls.leaving or unknown
    ]
    return (
        *entering,
        (
            "Working",
            f"“{lead}, (distance and side) of {at}, {_spoken(calls.working)}, {work}, "
            "until (time).”",
        ),
        (
            "Practice forced landing",
            f"“{lead}, practice forced landing towards {field}, descending from "
            f"{_spoken(calls.forced)}.”",
        ),
        *leaving,
    )


def _title(words: str, place: CallPlace) -> str:
    return f"{words}, {place.gate}" if place.gate else words


def _place(place: CallPlace) -> str:
    over = f"over {the(place.landmark)}" if place.landmark else ""
    named = ", ".join(one for one in (place.gate, over) if one) or "over (landmark)"
    return f"{named}, {_spoken(place)}"


def _spoken(place: CallPlace | None) -> str:
    if place is None or place.altitude_amsl_ft is None:
        return _NO_ALTITUDE
    return feet_text(place.altitude_amsl_ft).replace(" ft", " feet")
