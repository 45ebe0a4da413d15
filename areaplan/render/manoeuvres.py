"""Manoeuvres over the area as plain text and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any, Final

from cattrs.preconf.json import make_converter

from areaplan.planning.manoeuvres import ManoeuvreAnswer, Stop
from areaplan.planning.plan import Block, Plan, Verdict
from areaplan.planning.vertical_placing import Placing
from areaplan.planning.weather_needed import WeatherNeeded
from areaplan.render.as_json import weather_as_json
from areaplan.render.text import WIDTH, percent_down, percent_up, verdict_text
from areaplan.render.vertical_places import placing_as_json, placing_words
from areaplan.rules.asking import Flight
from areaplan.units import feet_text

_PLAIN: Final = make_converter()
FLIGHT_WORDS: Final = {Flight.BOTH: "dual and solo", Flight.DUAL: "dual", Flight.SOLO: "solo"}


def manoeuvres_as_json(
    plan: Plan,
    answers: Sequence[ManoeuvreAnswer],
    verdict: Verdict,
    placings: Mapping[str, Placing] | None = None,
) -> dict[str, Any]:
    """The answers as plain values; heights in whole feet, shares from 0 to 1.

    With `placings`, by identifier, each has a ``place``; null for what is not a figure.
    """

    def plain(answer: ManoeuvreAnswer) -> dict[str, Any]:
        values = _manoeuvre(answer)
        if placings is not None:
            placing = placings.get(answer.id)
            values["place"] = None if placing is None else placing_as_json(placing)
        return values

    return {
        "project": plan.project.name,
        "flight": plan.project.flight.value,
        "verdict": verdict.value,
        "weather": weather_as_json(plan.project.weather),
        "manoeuvres": [plain(answer) for answer in answers],
        "warnings": list(plan.warnings),
        "cautions": list(plan.cautions),
    }


def _manoeuvre(answer: ManoeuvreAnswer) -> dict[str, Any]:
    """One answer; what each row asks of the weather stands in `weather_judged` where it is."""
    plain: dict[str, Any] = _PLAIN.unstructure(answer)
    if plain["weather"] is not None:
        plain["weather"].pop("asked")
    is_judged = bool(answer.weather_judged)
    return {**plain, "weather_verdict": answer.weather_verdict.value if is_judged else None}


def manoeuvres_text(
    plan: Plan,
    answers: Sequence[ManoeuvreAnswer],
    verdict: Verdict,
    placings: Mapping[str, Placing] | None = None,
) -> str:
    """The answers as a page: entries, what stops the others, the weather to have, and places."""
    project = plan.project
    lines = [
        f"{project.name} - {project.school}",
        f"Judged for {project.day}, {FLIGHT_WORDS[project.flight]}",
    ]
    if project.weather is not None:
        lines += textwrap.wrap(f"with weather: {project.weather} ({project.weather.source})", WIDTH)
    lines += textwrap.wrap(
        f"Manoeuvres: {verdict_text(verdict)}; {sum(1 for one in answers if one.entries)} of "
        f"{len(answers)} fit over the whole area. Altitudes are AMSL; heights used and gained are "
        "below and above the entry.",
        WIDTH,
    )
    for answer in answers:
        lines += ["", *_lines(answer)]
        if placings and answer.id in placings:
            words = placing_words(placings[answer.id])
            lines += [line for sentence in words for line in _indented(sentence)]
    lines += ["", "Cautions:"]
    for caution in plan.cautions:
        lines += textwrap.wrap(caution, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def _lines(answer: ManoeuvreAnswer) -> list[str]:
    head = f"{answer.title} [{answer.id}, {answer.severity}]: {entry_words(answer)}"
    lines = textwrap.wrap(head, WIDTH, subsequent_indent="    ")
    lines += _indented(
        f"Uses {feet_text(answer.height_used_ft)} below and {feet_text(answer.height_gained_ft)} "
        f"above the entry ({answer.heights_source})."
    )
    lines += [line for stop in answer.stops for line in _stop_lines(stop, answer)]
    if answer.weather is not None:
        lines += _indented(weather_words(answer.weather))
        lines += _judged_lines(answer)
        lines += [
            line for words in answer.weather.confirm for line in _indented(f"CONFIRM: {words}")
        ]
    lines += [line for sentence in answer.sentences for line in _indented(sentence)]
    return lines + [line for words in answer.confirm for line in _indented(f"CONFIRM: {words}")]


def entry_words(answer: ManoeuvreAnswer) -> str:
    """Where to enter, or that it does not fit and where it does best."""
    if answer.entries:
        spans = " and ".join(_block_words(block) for block in answer.entries)
        if answer.share == 1.0 or answer.entry_amsl_ft is None:
            return f"enter {spans}"
        return (
            f"enter {spans}; lower down best at {feet_text(answer.entry_amsl_ft)}, "
            f"over {percent_down(answer.share)}"
        )
    if answer.verdict is Verdict.UNKNOWN:
        words = f"UNKNOWN over {percent_up(answer.unknown_share)} of the area"
    else:
        words = "does NOT fit over the whole area"
    if answer.entry_amsl_ft is None:
        return f"{words}, and nowhere at any altitude"
    return (
        f"{words}; best entry {feet_text(answer.entry_amsl_ft)}, over {percent_down(answer.share)}"
    )


def _block_words(block: Block) -> str:
    if block.ceiling_amsl_ft is None:
        return f"from {feet_text(block.floor_amsl_ft)} up (no ceiling in the data)"
    return f"between {feet_text(block.floor_amsl_ft)} and {feet_text(block.ceiling_amsl_ft)}"


def _stop_lines(stop: Stop, answer: ManoeuvreAnswer) -> list[str]:
    feature = f": {stop.feature}" if stop.feature else ""
    confirm = f"; CONFIRM: {stop.confirm}" if stop.confirm and stop.rule != answer.id else ""
    return _indented(
        f"Stopped at {feet_text(answer.told_at_amsl_ft)} over {percent_up(stop.share)} by "
        f"{stop.title}{feature} [{stop.rule}, {stop.severity}]{confirm}"
    )


def _judged_lines(answer: ManoeuvreAnswer) -> list[str]:
    """The stated weather at that entry: what fails, or that nothing does."""
    if not answer.weather_judged:
        return []
    lines = _indented(f"The stated weather there: {verdict_text(answer.weather_verdict)}")
    for one in answer.weather_judged:
        if one.verdict is not Verdict.MET:
            words = f": {one.words}" if one.words else ""
            lines += _indented(
                f"- {verdict_text(one.verdict)} by {one.limit.title} [{one.limit.rule}, "
                f"{one.limit.severity}]{words}"
            )
    return lines


def weather_words(weather: WeatherNeeded) -> str:
    """The least weather in one sentence, with the classes and rules that ask for it."""
    parts = []
    if weather.visibility is not None:
        parts.append(f"visibility {weather.visibility}")
    if weather.cloud_base_amsl_ft is not None and weather.cloud_base_agl_ft is not None:
        parts.append(
            f"cloud base {feet_text(weather.cloud_base_amsl_ft)} "
            f"({feet_text(weather.cloud_base_agl_ft)} above the lowest ground)"
        )
    if weather.beside_cloud is not None:
        parts.append(f"{weather.beside_cloud} beside cloud")
    if not parts:
        return "Weather: no rule set in force holds visual minima; read the regulations."
    letters = f"class {', '.join(weather.classes)}" if weather.classes else "no published class"
    unsure = "; part of the area has no published class, so the strictest row is taken"
    lacking = ", ".join(weather.without_minima)
    no_law = (
        f"; the law's own minima of class {lacking} are in no set: read them" if lacking else ""
    )
    return (
        f"Weather, by day, at least: {'; '.join(parts)} ({letters}"
        f"{unsure if weather.is_class_unsure else ''}; {', '.join(weather.by)}{no_law})"
    )


def _indented(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH, initial_indent="    ", subsequent_indent="    ")
