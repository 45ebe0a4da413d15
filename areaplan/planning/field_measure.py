"""Fields measured: which of them the glide may lead to, landing which way, and what speaks against.

A field counts when in some direction a strip of the school's width lies in it whose usable length
is at least the aircraft's landing distance, corrected for wind, slope, grass and density altitude,
and the school's least length; no steeper and no rougher than the school allows; with no more
crosswind than the aircraft's limit; across no road; clear of wires and structures.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.atmosphere import density_altitude_m
from areaplan.engine.features import FeatureSet
from areaplan.engine.strip_table import DIRECTION_STEP_DEG, DIRECTIONS, Strips
from areaplan.engine.strips import measure_strips
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.field_clearance import nearest_solid
from areaplan.planning.field_lines import FieldLines, find_lines, line_groups
from areaplan.planning.field_surrounds import Surrounds, find_surrounds
from areaplan.planning.field_words import FieldFacts, five_s, reasons_against
from areaplan.planning.ground import Ground, highest_under, lowest_under
from areaplan.planning.landing_factors import is_wind_covered, landing_distance_needed
from areaplan.planning.layers import Layers
from areaplan.planning.measured import MeasuredField
from areaplan.planning.project import FieldLimits, Project
from areaplan.sources.layers import LandingField
from areaplan.units import Wind

_BEARINGS_DEG: Final = np.arange(DIRECTIONS) * DIRECTION_STEP_DEG
_NOTHING: Final = FeatureSet(
    np.empty((0, 4)),
    np.zeros(1, dtype=np.int64),
    np.empty(0, dtype=np.bool_),
    np.empty(0),
    np.empty(0),
)


# Where a road takes the whole of a field there is nothing to lay a strip in.
_SPECK_M: Final = 0.01


@frozen(eq=False)
class _Across:
    """A wind on strips in every direction of landing, m/s."""

    headwind_mps: Float64Array  # negative from behind
    crosswind_mps: Float64Array  # from either side


@frozen(eq=False)
class _Scene:
    project: Project
    ground: Ground
    surrounds: Surrounds
    lines: FieldLines
    wind: _Across


def measure_fields(
    project: Project,
    layers: Layers,
    ground: Ground,
    fields: Sequence[LandingField],
    *,
    is_candidate: bool,
) -> tuple[MeasuredField, ...]:
    """Measure fields in every direction and judge them by the school's limits.

    Parameters
    ----------
    project : Project
        Its aircraft, wind and `fields`.
    layers : Layers
        Trees, structures, wires and obstacles of which strips keep clear, and roads that no strip
        crosses.
    ground : Ground
    fields : sequence of LandingField
        Longitude/latitude.
    is_candidate : bool
        True where land cover proposes them and nobody has confirmed them.

    Returns
    -------
    tuple of MeasuredField
        In the order of the fields.
    """
    scene = _Scene(
        project,
        ground,
        find_surrounds(layers, ground, project.fields),
        find_lines(line_groups(layers), ground),
        _across(project.wind),
    )
    return tuple(_measure(scene, field, is_candidate) for field in fields)


def counts_in_wind(row: MeasuredField, project: Project, wind: Wind) -> bool:
    """Whether a field that counts in the project's own wind counts in another one too.

    One that does not count in the project's wind counts in none: its reasons may be others.
    """
    aircraft = project.aircraft
    is_same = aircraft.landing_distance_m is None and aircraft.crosswind_limit_mps is None
    if not row.counts or is_same:
        return row.counts
    return bool(np.any(to_spare_in_wind(row, project, wind) >= 0.0))


def to_spare_in_wind(row: MeasuredField, project: Project, wind: Wind) -> Float64Array:
    """For each direction, the length to spare for a landing in a wind, metres.

    Returns
    -------
    float64 array, shape (36,)
        Usable length less the needed one; -infinity where the direction is not enough (too short,
        too steep, too rough, more crosswind than the limit, or a tailwind that nobody lands in).
    """
    if wind == project.wind:
        needed_m, is_enough = np.array(row.needed_m), np.array(row.is_enough)
    else:
        across = _across(wind)
        needed_m, _ = _needed(project, across, row.strips, row.density_altitude_m)
        is_enough = _is_long(project, across, row.strips, needed_m)
        is_enough = is_enough & _is_fit(row.strips, project.fields) & _is_within(project, across)
    return np.where(is_enough, row.strips.usable_m - needed_m, -np.inf)


def _across(wind: Wind) -> _Across:
    angle = np.radians(wind.from_deg_true - _BEARINGS_DEG)
    return _Across(wind.speed_mps * np.cos(angle), wind.speed_mps * np.abs(np.sin(angle)))


def _measure(scene: _Scene, field: LandingField, is_candidate: bool) -> MeasuredField:
    project, ground, wind = scene.project, scene.ground, scene.wind
    limits = project.fields
    drawn = ground.frame.geometry_to_local(field.geometry)
    polygon = _on_grid(drawn, ground)
    if polygon.is_empty:
        polygon = drawn  # nothing is known of its ground, and that is the reason against it
    lowest_m = float(lowest_under(ground, [polygon])[0])
    near = scene.surrounds.near(polygon, lowest_m, limits)
    parts = scene.lines.cut(polygon)
    strips = _strips(parts.polygon, near.features, near.keep_clear_m, limits, ground)
    density_m = _density_altitude_m(polygon, project, ground)
    needed_m, ranked_m = _needed(project, wind, strips, density_m)
    is_long = _is_long(project, wind, strips, needed_m)
    is_fit = _is_fit(strips, limits)
    is_enough = is_long & is_fit & _is_within(project, wind)
    # The same field with nothing standing in it or running through it: tells whether the field
    # itself or these are at fault.
    is_long_bare = np.zeros(DIRECTIONS, dtype=np.bool_)
    if (len(near.features) or parts.across) and not is_long.any():
        bare = _strips(polygon, _NOTHING, np.empty(0), limits, ground)
        bare_m, _ = _needed(project, wind, bare, density_m)
        is_long_bare = _is_long(project, wind, bare, bare_m)
    facts = FieldFacts(
        field=field,
        polygon=drawn,
        strips=strips,
        needed_m=needed_m,
        crosswind_mps=wind.crosswind_mps,
        crosswind_limit_mps=project.aircraft.crosswind_limit_mps,
        is_long=is_long,
        is_fit=is_fit,
        is_long_bare=is_long_bare,
        is_candidate=is_candidate,
        near=near,
        across=parts.across,
        limits=limits,
        ground=ground,
    )
    why_not = reasons_against(facts, is_enough)
    best = None
    if is_enough.any():
        # Into the wind where two directions are equally good.
        share = np.where(is_enough, strips.usable_m / ranked_m, -np.inf)
        best = int(np.lexsort((wind.headwind_mps, np.round(share, 6)))[-1])
    shown = int(np.argmax(strips.usable_m / needed_m)) if best is None else best
    solid, solid_m = nearest_solid(strips, shown, limits.width_m, near)
    return MeasuredField(
        field=field,
        is_candidate=is_candidate,
        counts=not why_not,
        why_not=why_not,
        strips=strips,
        needed_m=tuple(needed_m.tolist()),
        crosswind_mps=tuple(wind.crosswind_mps.tolist()),
        is_enough=tuple(is_enough.tolist()),
        best_direction_deg_true=None if best is None else round(best * DIRECTION_STEP_DEG),
        area_m2=float(drawn.area),
        density_altitude_m=density_m,
        across=parts.across,
        nearest_solid=solid,
        nearest_solid_m=solid_m,
        five_s=five_s(facts, shown),
    )


def _density_altitude_m(polygon: BaseGeometry, project: Project, ground: Ground) -> float:
    """Of a field's highest ground, no lower than on the standard day; NaN where it is unknown."""
    highest_m = float(highest_under(ground, [polygon])[0])
    if math.isnan(highest_m):
        return math.nan
    return density_altitude_m(highest_m, max(0.0, project.isa_deviation_k))


def _on_grid(drawn: BaseGeometry, ground: Ground) -> BaseGeometry:
    """The part of a field whose ground the grid can tell: as far as the middles of its cells."""
    grid, inset = ground.grid, 0.5 * ground.grid.cell_m
    on_grid = shapely.box(
        grid.x_min_m + inset, grid.y_min_m + inset, grid.x_max_m - inset, grid.y_max_m - inset
    )
    if on_grid.contains(drawn):
        return drawn
    parts = shapely.get_parts(drawn.intersection(on_grid))
    return shapely.MultiPolygon([part for part in parts if part.geom_type == "Polygon"])


def _strips(
    polygon: BaseGeometry,
    features: FeatureSet,
    keep_clear_m: Float64Array,
    limits: FieldLimits,
    ground: Ground,
) -> Strips:
    if polygon.is_empty:
        polygon = shapely.Point(ground.grid.x_min_m, ground.grid.y_max_m).buffer(_SPECK_M)
    return measure_strips(
        polygon,
        width_m=limits.width_m,
        approach_slope=limits.approach_slope,
        obstructions=features,
        keep_clear_m=keep_clear_m,
        lowest_amsl_m=ground.lowest_amsl_m,
        highest_amsl_m=ground.highest_amsl_m,
        grid=ground.grid,
    )


def _needed(
    project: Project, wind: _Across, strips: Strips, density_altitude_m: float
) -> tuple[Float64Array, Float64Array]:
    """Length needed in each direction, and the length by which directions are compared.

    Where the slope is unknown that of the steepest descent allowed stands in for it, and where the
    height is, sea level: such a direction is never enough, and its figure only shows.
    """
    limits, distance_m = project.fields, project.aircraft.landing_distance_m
    slopes = np.where(np.isnan(strips.slope), -limits.steepest, strips.slope)
    basis_m = limits.least_length_m if distance_m is None else distance_m
    height_m = 0.0 if math.isnan(density_altitude_m) else density_altitude_m
    corrected = np.array(
        [
            landing_distance_needed(basis_m, float(along), float(slope), height_m)
            for along, slope in zip(wind.headwind_mps, slopes, strict=True)
        ]
    )
    if distance_m is None:
        return np.full(DIRECTIONS, limits.least_length_m), corrected
    needed = np.maximum(corrected, limits.least_length_m)
    return needed, needed


def _is_long(project: Project, wind: _Across, strips: Strips, needed_m: Float64Array) -> BoolArray:
    is_long = strips.usable_m >= needed_m
    if project.aircraft.landing_distance_m is not None:
        is_long &= np.array([is_wind_covered(float(along)) for along in wind.headwind_mps])
    return np.asarray(is_long)


def _is_fit(strips: Strips, limits: FieldLimits) -> BoolArray:
    """Directions level and smooth enough; False where the ground is unknown."""
    with np.errstate(invalid="ignore"):
        return np.asarray(
            (strips.steepest <= limits.steepest) & (strips.roughness_m <= limits.roughest_m)
        )


def _is_within(project: Project, wind: _Across) -> BoolArray:
    """Directions with no more crosswind than the aircraft's limit; all where there is none."""
    limit_mps = project.aircraft.crosswind_limit_mps
    if limit_mps is None:
        return np.ones(DIRECTIONS, dtype=np.bool_)
    return np.asarray(wind.crosswind_mps <= limit_mps)
