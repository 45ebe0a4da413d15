"""The slow, plain judge of worked examples: one aircraft, a few things, nothing but `math`.

It follows the words of the rule kinds one thing at a time and shares no code with the engine. Both
answers are worked out apart: the floor from the triangle, permission from the distances.
"""

import math

from areaplan.rules.model import (
    ChoiceExample,
    Counted,
    Example,
    ExampleThing,
    Ground,
    Rule,
    RuleKind,
)

MICROMETRE_M = 1e-6  # forgives float64 noise only

NOTHING_ASKED = -math.inf
CLOSED = math.inf


def floor_for_example(rule: Rule, example: Example) -> float:
    """Lowest altitude AMSL in metres that the rule allows in the situation of the example."""
    if example.ground not in rule.where:
        return NOTHING_ASKED
    if rule.kind is RuleKind.CLOSED_OVER:
        return CLOSED
    if rule.kind is RuleKind.HEIGHT_ABOVE_SURFACE:
        return example.terrain_amsl_m + rule.height_m
    if rule.kind in (
        RuleKind.EMERGENCY_LANDING,
        RuleKind.AIRSPACE_ENTRY,
        RuleKind.AIRSPACE_COLUMN,
    ):
        raise ValueError(f"{rule.id}: a {rule.kind} rule can't be judged from heights")
    floor = NOTHING_ASKED
    for thing in things_counted(rule, example):
        if rule.kind is RuleKind.SLANT_DISTANCE:
            above_m = math.sqrt(rule.radius_m**2 - thing.horizontal_distance_m**2)
            floor = max(floor, thing.top_amsl_m + above_m)
        else:
            floor = max(floor, thing.top_amsl_m + rule.height_m)
    return floor


def is_allowed_for_example(rule: Rule, example: Example, altitude_amsl_m: float) -> bool:
    """Whether the rule allows an altitude, from its words instead of from a floor."""
    if example.ground not in rule.where:
        return True
    if rule.kind is RuleKind.CLOSED_OVER:
        return False
    if rule.kind is RuleKind.HEIGHT_ABOVE_SURFACE:
        return altitude_amsl_m - example.terrain_amsl_m >= rule.height_m - MICROMETRE_M
    if rule.kind is RuleKind.SLANT_DISTANCE:
        return all(
            math.hypot(thing.horizontal_distance_m, max(0.0, altitude_amsl_m - thing.top_amsl_m))
            >= rule.radius_m - MICROMETRE_M
            for thing in things_counted(rule, example)
        )
    return all(
        altitude_amsl_m - thing.top_amsl_m >= rule.height_m - MICROMETRE_M
        for thing in things_counted(rule, example)
    )


def things_counted(rule: Rule, example: Example) -> list[ExampleThing]:
    """Things that the rule names and that stand within its radius; the ground stands at 0."""
    things = list(example.things)
    if Counted.TERRAIN in rule.counts:
        things.append(ExampleThing(Counted.TERRAIN, example.terrain_amsl_m, 0.0))
    return [
        thing
        for thing in things
        if thing.counted in rule.counts
        and (
            thing.horizontal_distance_m <= rule.radius_m
            if rule.is_radius_inclusive
            else thing.horizontal_distance_m < rule.radius_m
        )
    ]


def situation(ground: str, terrain_amsl_m: float, *things: ExampleThing) -> Example:
    """A situation without an expected answer, to ask the judge about."""
    return Example("", Ground(ground), terrain_amsl_m, things)


def is_choice_enough(rule: Rule, example: ChoiceExample) -> bool:
    """Whether what is in reach is as much as the rule asks for."""
    if example.sectors_with_field < rule.least_sectors:
        return False
    asked = rule.least_separate_fields
    return asked is None or example.separate_fields >= asked
