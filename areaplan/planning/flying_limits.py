"""Limits that hold over the whole area at once: wind, weather, and what is to be briefed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from areaplan.planning.limits import as_limit
from areaplan.planning.plan import Finding, Verdict
from areaplan.planning.project import Project
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


def is_wind_within(findings: Iterable[Finding]) -> bool:
    """Whether no wind limit of law or policy is broken; an advisory only cautions."""
    return all(
        finding.verdict is Verdict.MET or finding.limit.severity is Severity.ADVISORY
        for finding in findings
    )


def flying_warnings(rules: Sequence[Rule], winds: Iterable[Finding]) -> tuple[str, ...]:
    """Sentences on the wind that is too strong, the weather to have, and the rules to brief."""
    broken = {row.limit: row.feature for row in winds if row.verdict is not Verdict.MET}
    said = [f"TOO MUCH WIND: {words} (rule {limit.rule})" for limit, words in broken.items()]
    for rule in rules:
        if rule.kind is RuleKind.WEATHER_LIMIT:
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
