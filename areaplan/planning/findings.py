"""Findings: every rule, every closed volume and the glide judged at each planned altitude."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence, Set

import numpy as np
from attrs import frozen

from areaplan.grid import BoolArray, Float64Array, Int32Array
from areaplan.planning.airspace import BlockingVolume
from areaplan.planning.cells import GROUND_NAME
from areaplan.planning.choice import glide_limits
from areaplan.planning.glide import Glide
from areaplan.planning.ground import Ground
from areaplan.planning.limits import RuleSurface
from areaplan.planning.plan import NOBODY, Finding, Limit, Names, Verdict
from areaplan.rules.model import Rule, RuleKind, Severity
from areaplan.units import FOOT_M, feet_down, feet_up


@frozen(eq=False)
class _Margins:
    """Margins of one limit over the cells of the area, metres; NaN unknown."""

    margin_m: Float64Array
    names: Sequence[str]
    feature: Int32Array


def find_all(
    surfaces: Iterable[RuleSurface],
    blocking: Iterable[BlockingVolume],
    glide: Glide,
    rules: Sequence[Rule],
    ground: Ground,
    is_in_area: BoolArray,
    planned_ft: Sequence[int],
    airspace_margin_m: float,
) -> tuple[Finding, ...]:
    """All findings over the area, by planned altitude.

    `surfaces` are those of heights and distances and those of the choice of fields, over the cells
    of the area. Rules that ask nothing anywhere in it, and volumes that do not touch it, give none.
    """
    place = _Place(ground, is_in_area)
    surfaces, blocking = list(surfaces), list(blocking)
    choices = {row.id for row in rules if row.kind is RuleKind.FIELD_IN_EVERY_DIRECTION}
    findings: list[Finding] = []
    for altitude_ft in planned_ft:
        z_m = altitude_ft * FOOT_M
        here = [_surface_finding(row, place, altitude_ft, z_m, choices) for row in surfaces]
        here += [
            _volume_finding(row, place, altitude_ft, z_m, airspace_margin_m) for row in blocking
        ]
        here += _glide_findings(glide, rules, place, altitude_ft, z_m)
        findings += [row for row in here if row is not None]
    return tuple(findings)


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What is not met, then what is unknown, then what is met; law before policy before advice.

    Among equals the lowest altitude first, and there the smallest margin.
    """
    return tuple(sorted(findings, key=_gravity))


@frozen(eq=False)
class _Place:
    ground: Ground
    is_in_area: BoolArray

    def lat_lon(self, position: int) -> tuple[float, float]:
        """Centre of the area's cell at a position among the area's cells."""
        row, col = (int(axis[position]) for axis in np.nonzero(self.is_in_area))
        grid = self.ground.grid
        lon, lat = self.ground.frame.to_lonlat(grid.centre_x_m()[col], grid.centre_y_m()[row])
        return round(float(lat), 6), round(float(lon), 6)


def _surface_finding(
    surface: RuleSurface, place: _Place, altitude_ft: int, z_m: float, choices: Set[str]
) -> Finding | None:
    floor = surface.floor_amsl_m
    if not (floor > -np.inf).any() and not np.isnan(floor).any():
        return None
    return _finding(
        surface.limit,
        _Margins(z_m - floor, surface.names, surface.feature),
        place,
        altitude_ft,
        surface.sources,
        is_what=Names.NEXT_CHOICE if surface.limit.rule in choices else Names.CAUSE,
    )


def _volume_finding(
    volume: BlockingVolume, place: _Place, altitude_ft: int, z_m: float, margin_m: float
) -> Finding | None:
    covers = volume.covers[place.is_in_area]
    if not covers.any():
        return None
    low = np.full(covers.shape, volume.lower_m)
    high = np.full(covers.shape, volume.upper_m)
    if volume.lower_is_agl:
        low = low + place.ground.lowest_amsl_m[place.is_in_area]
    if volume.upper_is_agl:
        high = high + place.ground.highest_amsl_m[place.is_in_area]
    # Positive outside the widened volume, negative by the shorter way out inside it.
    margin = np.maximum(low - margin_m - z_m, z_m - high - margin_m)
    return _finding(
        volume.limit,
        _Margins(
            np.where(covers, margin, np.inf),
            (volume.name,),
            np.zeros(covers.shape, dtype=np.int32),
        ),
        place,
        altitude_ft,
        (volume.source,),
        if_unknown=volume.name,
    )


def _glide_findings(
    glide: Glide, rules: Sequence[Rule], place: _Place, altitude_ft: int, z_m: float
) -> list[Finding]:
    """The glide judged under every rule that asks for it; under our own criterion if none does."""
    required = glide.required_amsl_m[place.is_in_area].astype(np.float64)
    names = tuple(row.name for row in glide.fields)
    margins = _Margins(z_m - required, names, glide.field[place.is_in_area].astype(np.int32))
    found = [
        _finding(limit, margins, place, altitude_ft, glide.sources, is_what=Names.NEAREST_FIELD)
        for limit in glide_limits(rules)
    ]
    return [row for row in found if row is not None]


def _finding(
    limit: Limit,
    margins: _Margins,
    place: _Place,
    altitude_ft: int,
    sources: tuple[str, ...],
    if_unknown: str = "",
    is_what: Names = Names.CAUSE,
) -> Finding | None:
    """A limit judged over the area; `if_unknown` names what an UNKNOWN is about."""
    margin = margins.margin_m
    is_unknown = np.isnan(margin)
    is_met = ~is_unknown & (margin >= -_FOOT_NOISE_M)
    share = float(is_met.mean())
    if is_unknown.all():
        return Finding(
            limit, Verdict.UNKNOWN, altitude_ft, None, *place.lat_lon(0), if_unknown, share, sources
        )
    at = int(np.nanargmin(margin))
    smallest = float(margin[at])
    if np.isposinf(smallest) and not is_unknown.any():
        return None
    verdict = Verdict.MET
    if (~is_met & ~is_unknown).any():
        verdict = Verdict.NOT_MET
    elif is_unknown.any():
        verdict, at = Verdict.UNKNOWN, int(is_unknown.argmax())
    feature = int(margins.feature[at])
    is_named = feature != NOBODY and verdict is not Verdict.UNKNOWN
    nobody = GROUND_NAME if is_what is Names.CAUSE else ""  # no field is not the ground
    name = margins.names[feature] if is_named else nobody
    return Finding(
        limit=limit,
        verdict=verdict,
        altitude_amsl_ft=altitude_ft,
        margin_ft=_margin_ft(smallest) if verdict is not Verdict.UNKNOWN else None,
        lat=place.lat_lon(at)[0],
        lon=place.lat_lon(at)[1],
        feature=if_unknown if verdict is Verdict.UNKNOWN else name,
        share_met=share,
        sources=sources,
        names=is_what,
    )


_FOOT_NOISE_M = 1e-6 * FOOT_M  # as in units.feet_up


def _margin_ft(margin_m: float) -> int | None:
    """Whole feet, never larger than the margin; None where no altitude would do."""
    if np.isinf(margin_m):
        return None
    return feet_down(margin_m) if margin_m >= 0 else -feet_up(-margin_m)


_ORDER = {Verdict.NOT_MET: 0, Verdict.UNKNOWN: 1, Verdict.MET: 2}
_SEVERITIES = {Severity.LAW: 0, Severity.POLICY: 1, Severity.ADVISORY: 2}


def _gravity(finding: Finding) -> tuple[int, int, int, float]:
    # Without a margin: no altitude is enough, or there is nothing to be short of.
    none = math.inf if finding.verdict is Verdict.MET else -math.inf
    return (
        _ORDER[finding.verdict],
        _SEVERITIES[finding.limit.severity],
        finding.altitude_amsl_ft,
        none if finding.margin_ft is None else float(finding.margin_ft),
    )
