"""A field in every direction: the rules that ask for a choice of fields, and what a glide needs.

A cell is safe at an altitude when a field is reached whatever the heading and every binding rule on
the choice of fields holds. Each asks for a number of the twelve departure sectors, and may ask for
a number of separate fields; both are counted as `areaplan point` tells them, without turns.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.engine.choice import enough_labels, enough_sectors
from areaplan.grid import Float32Array, Int16Array, Int32Array
from areaplan.planning.glide import Glide
from areaplan.planning.limits import RuleSurface, as_limit
from areaplan.planning.plan import NOBODY, WHATEVER_THE_HEADING, Binder, Limit
from areaplan.rules.model import DIRECTIONS, Rule, RuleKind, Severity

GLIDE_LIMIT: Final = Limit(
    rule="areaplan-field-within-gliding-distance",
    title="An open field within gliding distance, whatever the heading",
    severity=Severity.POLICY,
    quote="",
    document="areaplan's own criterion; no rule set in force states one",
)
_DIRECTION_NAMES: Final = tuple(
    f"direction {360 * k // DIRECTIONS:03d} true" for k in range(DIRECTIONS)
)
TOO_FEW_FIELDS: Final = "the directions lead to too few fields"


@frozen(eq=False)
class GlideNeed:
    """What a glide needs in each cell, the rules on the choice of fields included.

    Attributes
    ----------
    amsl_m : float32 array of the grid's shape
        Lowest altitude that is safe; NaN unknown, infinity where none is.
    binder : int32 array of the grid's shape
        Index into `binders` of what asks for it; NOBODY where unknown.
    binders : tuple of Binder
    """

    amsl_m: Float32Array
    binder: Int32Array
    binders: tuple[Binder, ...]


def glide_limits(rules: Iterable[Rule]) -> tuple[Limit, ...]:
    """The rules that ask for a field whatever the heading; our own criterion if none does."""
    found = tuple(as_limit(rule) for rule in rules if rule.kind is RuleKind.EMERGENCY_LANDING)
    return found or (GLIDE_LIMIT,)


def choice_surfaces(rules: Iterable[Rule], glide: Glide) -> tuple[RuleSurface, ...]:
    """For each rule on the choice of fields, the lowest altitude of each cell at which it holds."""
    return tuple(
        _surface(rule, glide) for rule in rules if rule.kind is RuleKind.FIELD_IN_EVERY_DIRECTION
    )


def binding_choice_rules(rules: Iterable[Rule]) -> tuple[Rule, ...]:
    """The rules on the choice of fields that bind; advisories ask, they do not."""
    return tuple(
        rule
        for rule in rules
        if rule.kind is RuleKind.FIELD_IN_EVERY_DIRECTION and rule.severity is not Severity.ADVISORY
    )


def choice_amsl_m(
    rules: Iterable[Rule], sector_amsl_m: Float32Array, sector_field: Int16Array | None
) -> Float32Array | None:
    """Lowest altitude of each cell at which some rules on the choice of fields hold.

    Parameters
    ----------
    rules : iterable of Rule
        As `binding_choice_rules` gives them.
    sector_amsl_m : float32 array, shape (12, rows, cols)
        As `glide.Glide` has it.
    sector_field : int16 array of that shape, or None
        Where each sector leads; needed where a rule asks for separate fields.

    Returns
    -------
    float32 array, shape (rows, cols), or None
        Metres AMSL; NaN unknown, infinity where no altitude is enough. None where there is no rule.

    Raises
    ------
    ValueError
        A rule asks for separate fields, and it is not told where sectors lead.
    """
    needed: Float32Array | None = None
    for rule in rules:
        if rule.least_sectors is None:
            raise ValueError(f"rule {rule.id} has no number of sectors")
        amsl_m = enough_sectors(sector_amsl_m, rule.least_sectors).amsl_m
        if rule.least_separate_fields is not None:
            if sector_field is None:
                raise ValueError(f"rule {rule.id} asks for fields; expected where sectors lead")
            fields = enough_labels(sector_amsl_m, sector_field, rule.least_separate_fields)
            amsl_m = np.maximum(amsl_m, fields.amsl_m)
        needed = amsl_m if needed is None else np.maximum(needed, amsl_m)
    return needed


def _surface(rule: Rule, glide: Glide) -> RuleSurface:
    if rule.least_sectors is None:
        raise ValueError(f"rule {rule.id} has no number of sectors")
    sectors = enough_sectors(glide.sector_amsl_m, rule.least_sectors)
    floor_m, feature = sectors.amsl_m, sectors.last.astype(np.int32)
    names = (*_DIRECTION_NAMES, *(field.name for field in glide.fields), TOO_FEW_FIELDS)
    if rule.least_separate_fields is not None:
        fields = enough_labels(glide.sector_amsl_m, glide.sector_field, rule.least_separate_fields)
        named = np.where(fields.last == NOBODY, len(names) - 1, DIRECTIONS + fields.last)
        feature = np.where(fields.amsl_m > floor_m, named, feature).astype(np.int32)
        floor_m = np.maximum(floor_m, fields.amsl_m)  # NaN stays NaN: unknown
    return RuleSurface(as_limit(rule), floor_m.astype(np.float64), feature, names, glide.sources)


def what_a_glide_needs(
    glide: Glide, rules: Sequence[Rule], surfaces: Iterable[RuleSurface]
) -> GlideNeed:
    """The highest of what the glide and every binding rule on the choice of fields ask.

    The glide names itself on a tie, then the earlier rule. Advisories ask, they do not bind.
    """
    amsl_m = glide.required_amsl_m
    code = np.zeros(amsl_m.shape, dtype=np.int64)
    first_that_binds = [
        limit for limit in glide_limits(rules) if limit.severity is not Severity.ADVISORY
    ]
    binders = [Binder((first_that_binds or [GLIDE_LIMIT])[0], WHATEVER_THE_HEADING)]
    for surface in surfaces:
        if surface.limit.severity is Severity.ADVISORY:
            continue
        is_higher = surface.floor_amsl_m > amsl_m
        code[is_higher] = len(binders) + surface.feature[is_higher]
        amsl_m = np.maximum(amsl_m, surface.floor_amsl_m.astype(np.float32))
        binders += [Binder(surface.limit, name) for name in surface.names]
    code[np.isnan(amsl_m)] = NOBODY
    kept, inverse = np.unique(code[code != NOBODY], return_inverse=True)
    binder = np.full(amsl_m.shape, NOBODY, dtype=np.int32)
    binder[code != NOBODY] = inverse.astype(np.int32)
    return GlideNeed(amsl_m, binder, tuple(binders[i] for i in kept))
