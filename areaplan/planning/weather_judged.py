"""The weather that a project states, judged by every row and rule that asks for some."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from attrs import frozen

from areaplan.planning.layers import Layers
from areaplan.planning.plan import Cells, Finding, Limit, Verdict
from areaplan.planning.project import Project, StatedWeather
from areaplan.planning.weather_needed import (
    GroundSpan,
    WeatherAsked,
    WeatherNeeded,
    ground_span,
    weather_needed,
)
from areaplan.rules.asking import Activity, Severity
from areaplan.rules.model import RuleSet
from areaplan.units import FOOT_M, HeightReference, feet_down, feet_text, feet_up

WEATHER_FEATURE: Final = "stated weather"  # how the feature of such a finding begins
_SLACK: Final = 1e-9  # "5 km" is not less than "5 km": forgives float64 noise only


@frozen
class WeatherVerdict:
    """One row or rule, and whether the stated weather meets it; `words` compare the figures."""

    limit: Limit
    verdict: Verdict
    words: str


def judge_weather(
    needed: WeatherNeeded, weather: StatedWeather, ground: GroundSpan
) -> tuple[WeatherVerdict, ...]:
    """Judge stated weather by each row and rule of what is needed.

    A ceiling above the ground is taken above the lowest ground of the area, which puts the cloud
    base nowhere too high. What holds only for a class that nobody has published is UNKNOWN where
    it fails, unless the weather fails every class.

    Parameters
    ----------
    needed : WeatherNeeded
    weather : StatedWeather
    ground : GroundSpan
        Of the area.

    Returns
    -------
    tuple of WeatherVerdict
        In the order of `needed.asked`; where no set holds the law's minima of a class that the
        area touches an UNKNOWN comes first.
    """
    rows = [(one, *_judge_one(one, weather, ground)) for one in needed.asked]
    guessed = [(one.classes, verdict) for one, verdict, _ in rows]
    failed = {
        letter for letters, found in guessed if found is not Verdict.MET for letter in letters
    }
    passes_some = bool({letter for letters, _ in guessed for letter in letters} - failed)
    judged = []
    if needed.without_minima:
        judged.append(WeatherVerdict(_no_minima(needed.without_minima), Verdict.UNKNOWN, ""))
    for one, verdict, words in rows:
        if verdict is Verdict.NOT_MET and not one.is_certain and passes_some:
            verdict = Verdict.UNKNOWN
            words += "; part of the area has no published class"
        judged.append(WeatherVerdict(one.limit, verdict, words))
    return tuple(judged)


def weather_findings(
    project: Project, layers: Layers, cells: Cells, rule_sets: Sequence[RuleSet]
) -> tuple[Finding, ...]:
    """The stated weather judged at each planned altitude; none where the project states none.

    Parameters
    ----------
    project : Project
    layers : Layers
    cells : Cells
    rule_sets : sequence of RuleSet
        Those in force, with the rules that apply.
    """
    weather = project.weather
    if weather is None:
        return ()
    ground = ground_span(cells)
    found = []
    for altitude_ft in project.planned_altitudes_amsl_ft:
        needed = weather_needed(
            layers,
            ground,
            rule_sets,
            low_m=altitude_ft * FOOT_M,
            high_m=altitude_ft * FOOT_M,
            is_aerobatic=Activity.AEROBATIC in project.activities,
        )
        found += [
            Finding(
                limit=one.limit,
                verdict=one.verdict,
                altitude_amsl_ft=altitude_ft,
                margin_ft=None,
                lat=None,
                lon=None,
                feature=f"{WEATHER_FEATURE} {one.words}".strip(),
                share_met=float(one.verdict is Verdict.MET),
                sources=(str(project.path),),
            )
            for one in judge_weather(needed, weather, ground)
        ]
    return tuple(found)


def gravest(rows: Iterable[WeatherVerdict]) -> Verdict:
    """NOT MET before UNKNOWN before MET, of law and policy; an advisory only cautions."""
    verdicts = {row.verdict for row in rows if row.limit.severity is not Severity.ADVISORY}
    order = (Verdict.NOT_MET, Verdict.UNKNOWN)
    return next((verdict for verdict in order if verdict in verdicts), Verdict.MET)


def _no_minima(letters: Sequence[str]) -> Limit:
    return Limit(
        rule="visual-minima-unknown",
        title="No rule set in force holds the law's visual weather minima of class "
        + ", ".join(letters),
        severity=Severity.LAW,
        quote="",
        document="none of the rule sets in force",
        confirm="read the regulations; the weather is judged by other limits only",
    )


def _judge_one(
    one: WeatherAsked, weather: StatedWeather, ground: GroundSpan
) -> tuple[Verdict, str]:
    verdicts, words = [], []
    if one.visibility_m is not None:
        is_met = weather.visibility_m >= one.visibility_m * (1.0 - _SLACK)
        verdicts.append(Verdict.MET if is_met else Verdict.NOT_MET)
        words.append(f"visibility {weather.visibility_text}, at least {one.visibility_text}")
    if one.cloud_base_amsl_m is not None:
        verdict, said = _judge_base(one, one.cloud_base_amsl_m, weather, ground)
        verdicts.append(verdict)
        words.append(said)
    order = (Verdict.NOT_MET, Verdict.UNKNOWN, Verdict.MET)
    return next(verdict for verdict in order if verdict in verdicts), "; ".join(words)


def _judge_base(
    one: WeatherAsked, least_m: float, weather: StatedWeather, ground: GroundSpan
) -> tuple[Verdict, str]:
    is_above_ground = weather.ceiling.reference is HeightReference.AGL
    base_m = weather.ceiling.value_m + (ground.lowest_amsl_m if is_above_ground else 0.0)
    edge = "at least" if one.is_base_inclusive else "above"
    over = " over the highest ground" if one.rests_on_ground else ""
    asked = f"{edge} {feet_text(feet_up(least_m))} AMSL{over}"
    if math.isinf(base_m):
        return Verdict.MET, f"no ceiling, {asked}"
    if not ground.is_known and (is_above_ground or one.rests_on_ground):
        return Verdict.UNKNOWN, f"ceiling {weather.ceiling_text}: the ground below is not known"
    base_ft, least_ft = feet_down(base_m), feet_up(least_m)
    is_met = base_ft >= least_ft if one.is_base_inclusive else base_ft > least_ft
    taken = " over the lowest ground" if is_above_ground else ""
    said = f"ceiling {weather.ceiling_text}, {feet_text(base_ft)} AMSL{taken}, {asked}"
    return (Verdict.MET if is_met else Verdict.NOT_MET), said
