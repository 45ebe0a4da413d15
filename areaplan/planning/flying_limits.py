"""Limits that hold over the whole area at once: wind, weather, and what is to be briefed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from areaplan.planning.limits import as_limit
from areaplan.planning.plan import Finding, Verdict
from areaplan.planning.project import Project, StatedWeather
from areaplan.planning.weather_judged import WEATHER_FEATURE
from areaplan.rules.model import Activity, Rule, RuleKind, Severity
from areaplan.rules.text import limit_in_words

# A wind of "20 kt" is not more than a limit of "20 kt": forgives float64 noise only.
_SLACK: Final = 1e-9


def wind_findings(rules: Iterable[Rule], project: Project) -> tuple[Finding, ...]:
    """The strongest of the project's winds judged by every wind limit in force.

    Once for each planned altitude, with the same verdict: winds aloft count at all of them. It has
    no margin in feet and no place.
    """
    found = []
    winds = (project.wind, *(row.wind for row in project.winds_aloft))
    wind = max(winds, key=lambda one: one.speed_mps)
    for rule in rules:
        if rule.wind_mps is None:
            continue
        is_met = wind.speed_mps <= rule.wind_mps * (1.0 + _SLACK)
        found += [
            Finding(
                limit=as_limit(rule),
                verdict=Verdict.MET if is_met else Verdict.NOT_MET,
                altitude_amsl_ft=altitude_ft,
                margin_ft=None,
                lat=None,
                lon=None,
                feature=f"wind {wind}, at most {rule.wind_text}",
                share_met=float(is_met),
                sources=(str(project.path),),
            )
            for altitude_ft in project.planned_altitudes_amsl_ft
        ]
    return tuple(found)


def air_verdict(findings: Iterable[Finding], altitude_amsl_ft: int | None = None) -> Verdict:
    """Wind and stated weather judged: NOT MET before UNKNOWN; an advisory only cautions.

    Parameters
    ----------
    findings : iterable of Finding
        Those about a place are left out.
    altitude_amsl_ft : int, optional
        Only what is judged for this planned altitude.
    """
    verdicts = {
        row.verdict
        for row in findings
        if row.lat is None
        and row.limit.severity is not Severity.ADVISORY
        and altitude_amsl_ft in (None, row.altitude_amsl_ft)
    }
    order = (Verdict.NOT_MET, Verdict.UNKNOWN)
    return next((verdict for verdict in order if verdict in verdicts), Verdict.MET)


def flying_warnings(
    rules: Sequence[Rule], findings: Iterable[Finding], weather: StatedWeather | None
) -> tuple[str, ...]:
    """Sentences on wind and weather outside their limits, weather to have, and what to brief."""
    broken = {
        (row.limit, row.feature, row.verdict): None
        for row in findings
        if row.verdict is not Verdict.MET
    }
    said = [
        f"{_broken_word(feature, verdict)}: {feature or limit.title} (rule {limit.rule})"
        for limit, feature, verdict in broken
    ]
    if weather is not None:
        said.append(
            f"weather is judged as stated: {weather} ({weather.source}); look at today's before "
            "flight"
        )
    for rule in rules:
        if weather is None and rule.kind is RuleKind.WEATHER_LIMIT:
            who = "aerobatic flight needs " if rule.activity is Activity.AEROBATIC else ""
            said.append(
                f"weather is not judged, no file knows today's: {who}{limit_in_words(rule)} "
                f"(rule {rule.id}, {rule.severity})"
            )
            if rule.confirm:
                said.append(f"rule {rule.id}: confirm: {rule.confirm}")
    briefed = [rule.id for rule in rules if rule.kind is RuleKind.BRIEFING]
    if briefed:
        said.append(f"for the briefing, as no map can judge them: {', '.join(briefed)}")
    return tuple(said)


def _broken_word(feature: str, verdict: Verdict) -> str:
    if not feature.startswith(WEATHER_FEATURE):
        return "TOO MUCH WIND"
    return "WEATHER UNKNOWN" if verdict is Verdict.UNKNOWN else "WEATHER BELOW LIMITS"
