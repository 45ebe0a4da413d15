"""Fields measured: which of them the glide may lead to, landing which way, and what speaks against.

A field counts when in some direction a strip of the school's width lies in it whose usable length
is at least the aircraft's landing distance, corrected for wind, slope and grass, and the school's
least length; no steeper and no rougher than the school allows; clear of wires and structures.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.engine.features import FeatureSet
from areaplan.engine.strip_table import DIRECTION_STEP_DEG, DIRECTIONS, Strips
from areaplan.engine.strips import measure_strips
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.field_surrounds import Surrounds, find_surrounds
from areaplan.planning.field_words import FieldFacts, five_s, reasons_against
from areaplan.planning.ground import Ground, lowest_under
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


@frozen(eq=False)
class _Scene:
    project: Project
    ground: Ground
    surrounds: Surrounds
    headwind_mps: Float64Array  # for each direction of landing


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
        Trees, structures, wires and obstacles of which strips keep clear.
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
    wind = project.wind
    scene = _Scene(
        project,
        ground,
        find_surrounds(layers, ground, project.fields),
        _headwind_mps(wind),
    )
    return tuple(_measure(scene, field, is_candidate) for field in fields)


def counts_in_wind(row: MeasuredField, project: Project, wind: Wind) -> bool:
    """Whether a field that counts in the project's own wind counts in another one too.

    One that does not count in the project's wind counts in none: its reasons may be others.
    """
    if not row.counts or project.aircraft.landing_distance_m is None:
        return row.counts
    headwind_mps = _headwind_mps(wind)
    needed_m, _ = _needed(project, headwind_mps, row.strips)
    is_long = _is_long(project, headwind_mps, row.strips, needed_m)
    return bool(np.any(is_long & _is_fit(row.strips, project.fields)))


def _headwind_mps(wind: Wind) -> Float64Array:
    """For each direction of landing; negative from behind."""
    speeds: Float64Array = wind.speed_mps * np.cos(np.radians(wind.from_deg_true - _BEARINGS_DEG))
    return speeds


def _measure(scene: _Scene, field: LandingField, is_candidate: bool) -> MeasuredField:
    limits, ground = scene.project.fields, scene.ground
    drawn = ground.frame.geometry_to_local(field.geometry)
    polygon = _on_grid(drawn, ground)
    if polygon.is_empty:
        polygon = drawn  # nothing is known of its ground, and that is the reason against it
    lowest_m = float(lowest_under(ground, [polygon])[0])
    near = scene.surrounds.near(polygon, lowest_m, limits)
    strips = _strips(polygon, near.features, near.keep_clear_m, limits, ground)
    needed_m, ranked_m = _needed(scene.project, scene.headwind_mps, strips)
    is_long, is_fit = (
        _is_long(scene.project, scene.headwind_mps, strips, needed_m),
        _is_fit(strips, limits),
    )
    is_enough = is_long & is_fit
    # The same field with nothing standing: tells whether the field or its surrounds are at fault.
    is_long_bare = np.zeros(DIRECTIONS, dtype=np.bool_)
    if len(near.features) and not is_long.any():
        bare = _strips(polygon, _NOTHING, np.empty(0), limits, ground)
        bare_m, _ = _needed(scene.project, scene.headwind_mps, bare)
        is_long_bare = _is_long(scene.project, scene.headwind_mps, bare, bare_m)
    facts = FieldFacts(
        field, drawn, strips, needed_m, is_long, is_long_bare, is_candidate, near, limits, ground
    )
    why_not = reasons_against(facts, is_enough)
    best = None
    if is_enough.any():
        # Into the wind where two directions are equally good.
        share = np.where(is_enough, strips.usable_m / ranked_m, -np.inf)
        best = int(np.lexsort((scene.headwind_mps, np.round(share, 6)))[-1])
    return MeasuredField(
        field=field,
        is_candidate=is_candidate,
        counts=not why_not,
        why_not=why_not,
        strips=strips,
        needed_m=tuple(needed_m.tolist()),
        is_enough=tuple(is_enough.tolist()),
        best_direction_deg_true=None if best is None else round(best * DIRECTION_STEP_DEG),
        area_m2=float(drawn.area),
        five_s=five_s(facts, best),
    )


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
    project: Project, headwind_mps: Float64Array, strips: Strips
) -> tuple[Float64Array, Float64Array]:
    """Length needed in each direction, and the length by which directions are compared.

    Where the slope is unknown that of the steepest descent allowed stands in for it: such a
    direction is never enough, but its figure is not optimistic either.
    """
    limits, distance_m = project.fields, project.aircraft.landing_distance_m
    slopes = np.where(np.isnan(strips.slope), -limits.steepest, strips.slope)
    basis_m = limits.least_length_m if distance_m is None else distance_m
    corrected = np.array(
        [
            landing_distance_needed(basis_m, float(wind), float(slope))
            for wind, slope in zip(headwind_mps, slopes, strict=True)
        ]
    )
    if distance_m is None:
        return np.full(DIRECTIONS, limits.least_length_m), corrected
    needed = np.maximum(corrected, limits.least_length_m)
    return needed, needed


def _is_long(
    project: Project, headwind_mps: Float64Array, strips: Strips, needed_m: Float64Array
) -> BoolArray:
    is_long = strips.usable_m >= needed_m
    if project.aircraft.landing_distance_m is not None:
        is_long &= np.array([is_wind_covered(float(wind)) for wind in headwind_mps])
    return np.asarray(is_long)


def _is_fit(strips: Strips, limits: FieldLimits) -> BoolArray:
    """Directions level and smooth enough; False where the ground is unknown."""
    with np.errstate(invalid="ignore"):
        return np.asarray(
            (strips.steepest <= limits.steepest) & (strips.roughness_m <= limits.roughest_m)
        )
