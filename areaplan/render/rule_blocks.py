"""Rules, weather minima and manoeuvres as blocks of a document, the same in every document."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from areaplan.render.document.model import Block, Bullets, Quoted
from areaplan.rules.asking import Severity
from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.rules.model import DIRECTIONS, ChoiceExample, Example, Rule, RuleKind
from areaplan.rules.text import (
    asked_in_words,
    binding_in_words,
    manoeuvre_in_words,
    weather_in_words,
)
from areaplan.units import FOOT_M

_ALOUD: Final = "To be read aloud: no map can judge these"
_SEVERITIES: Final = {
    Severity.LAW: "Law",
    Severity.POLICY: "Policy: the school's, or a caution of the rule set",
    Severity.ADVISORY: "Advisory: asked, not ordered",
}


def by_asker(rules: Iterable[Rule]) -> tuple[tuple[str, tuple[Rule, ...]], ...]:
    """Headings with the rules below them: to be read aloud, law, policy, advisories.

    Every heading but the first stands there even if nothing does below it. Order is kept.
    """
    kept = tuple(rules)
    aloud = tuple(rule for rule in kept if rule.kind is RuleKind.BRIEFING)
    judged = tuple(rule for rule in kept if rule.kind is not RuleKind.BRIEFING)
    return (
        *(((_ALOUD, aloud),) if aloud else ()),
        *(
            (title, tuple(rule for rule in judged if rule.severity is severity))
            for severity, title in _SEVERITIES.items()
        ),
    )


def quoted_rule(rule: Rule) -> Quoted:
    """A rule with its limit, who asks for it, its sentence and where that stands."""
    return _quoted(rule, f"{binding_in_words(rule)}. {asked_in_words(rule)}")


def quoted_weather(row: WeatherMinimum) -> Quoted:
    """A row of the visual weather table with its sentence."""
    return _quoted(row, weather_in_words(row))


def quoted_manoeuvre(row: Manoeuvre) -> Quoted:
    """A manoeuvre with its heights, who asks for them, of whom, and their sentence."""
    return _quoted(row, f"{manoeuvre_in_words(row)} Asked by: {row.severity}; {row.applies_to}.")


def _quoted(row: Rule | WeatherMinimum | Manoeuvre, words: str) -> Quoted:
    return Quoted(
        title=row.title,
        rule=row.id,
        words=words,
        quote=row.quote,
        citation=f"{row.citation}. Last checked {row.last_checked.isoformat()}.",
        reading=row.reading,
        confirm=row.confirm,
    )


def example_blocks(rule: Rule) -> tuple[Block, ...]:
    """The worked examples of a rule as one list; nothing where it has none."""
    told = (
        *map(_example_words, rule.examples),
        *map(_choice_example_words, rule.choice_examples),
    )
    return (Bullets(told),) if told else ()


def _example_words(example: Example) -> str:
    things = [
        f"{thing.counted} with its top at {_length(thing.top_amsl_m)} AMSL, "
        f"{_length(thing.horizontal_distance_m)} away"
        for thing in example.things
    ]
    situation = "; ".join(
        [f"over {example.ground} ground at {_length(example.terrain_amsl_m)} AMSL", *things]
    )
    return f"Example ({example.source}): {situation}: {', '.join(_results(example))}."


def _results(example: Example) -> Iterator[str]:
    floor_m = example.expected_floor_amsl_m
    if floor_m is not None:
        if math.isinf(floor_m):
            yield "closed at every altitude" if floor_m > 0.0 else "nothing is asked"
        else:
            yield f"lowest altitude {_length(floor_m)} AMSL"
    if example.altitude_amsl_m is not None:
        answer = _allowed(bool(example.is_allowed))
        yield f"{_length(example.altitude_amsl_m)} AMSL is {answer}"


def _choice_example_words(example: ChoiceExample) -> str:
    plural = "" if example.separate_fields == 1 else "s"
    return (
        f"Example ({example.source}): {example.sectors_with_field} of {DIRECTIONS} directions lead "
        f"to a field within gliding distance, {example.separate_fields} separate field{plural} in "
        f"all: {_allowed(example.is_allowed)}."
    )


def _allowed(is_allowed: bool) -> str:
    return "allowed" if is_allowed else "not allowed"


def _length(value_m: float) -> str:
    """Feet and metres to the tenth, without needless zeros."""
    feet, metres = (f"{value:,.1f}".removesuffix(".0") for value in (value_m / FOOT_M, value_m))
    return f"{feet} ft ({metres} m)"
