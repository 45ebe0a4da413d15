"""From rules and layers to surfaces: the floor that each rule in force sets over the grid."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np
from attrs import evolve, frozen
from shapely.geometry.base import BaseGeometry

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import Floor, highest_within, standoff_floor
from areaplan.grid import BoolArray, Float64Array, Int32Array
from areaplan.planning.ground import Ground, covered, touched, wholly_inside
from areaplan.planning.layers import Layers
from areaplan.planning.plan import NOBODY, Limit, Standoff
from areaplan.planning.project import Project
from areaplan.planning.things import Things, collect
from areaplan.rules.asking import Severity
from areaplan.rules.model import Counted, Rule, RuleKind, RuleSet
from areaplan.rules.model import Ground as GroundKind
from areaplan.rules.sourced import Sourced
from areaplan.sources.layers import AirspaceVolume, Layer, Zone
from areaplan.units import HeightReference


@frozen(eq=False)
class RuleSurface:
    """One rule over the grid.

    Attributes
    ----------
    limit : Limit
        The rule as outputs name it.
    floor_amsl_m : float64 array
        Lowest altitude that the rule leaves; -inf where it asks nothing, +inf where it closes the
        cell, NaN where it can't be told. Of the grid's shape, or (after `over`) one value for each
        cell of the area.
    feature : int32 array, shape as above
        Index into `names` of what binds; NOBODY for the ground itself.
    names : tuple of str
    sources : tuple of str
        Paths of the files used.
    standoff : Standoff or None
        For drawing; None where the rule keeps no distance from features.
    """

    limit: Limit
    floor_amsl_m: Float64Array
    feature: Int32Array
    names: tuple[str, ...]
    sources: tuple[str, ...]
    standoff: Standoff | None = None

    def over(self, is_in_area: BoolArray) -> RuleSurface:
        """The same for the cells of the area alone, which is all that findings need."""
        return evolve(
            self,
            floor_amsl_m=self.floor_amsl_m[is_in_area],
            feature=self.feature[is_in_area],
        )


def as_limit(rule: Rule) -> Limit:
    """The rule as outputs name it."""
    return limit_by(rule, rule.id, rule.title, rule.severity)


def limit_by(sentence: Sourced, rule: str, title: str, severity: Severity) -> Limit:
    """What a sentence asks for, as outputs name it."""
    return Limit(
        rule=rule,
        title=title,
        severity=severity,
        quote=sentence.quote,
        document=sentence.citation,
        confirm=sentence.confirm,
        reading=sentence.reading,
    )


def sets_in_force(rule_sets: Iterable[RuleSet], project: Project) -> tuple[RuleSet, ...]:
    """The sets with those of their rules that apply to what is flown and to who flies."""
    return tuple(
        evolve(
            one,
            rules=tuple(
                rule for rule in one.rules if rule.is_in_force(project.activities, project.flight)
            ),
        )
        for one in rule_sets
    )


_SURFACE_KINDS = (
    RuleKind.HEIGHT_ABOVE_SURFACE,
    RuleKind.HIGHEST_IN_RADIUS,
    RuleKind.SLANT_DISTANCE,
    RuleKind.LATERAL_DISTANCE,
    RuleKind.CLOSED_OVER,
    RuleKind.AIRSPACE_COLUMN,
)


def rule_surfaces(rules: Iterable[Rule], layers: Layers, ground: Ground) -> Iterator[RuleSurface]:
    """The floor that each height and distance rule sets, one surface a rule, made one at a time."""
    where = _grounds(layers, ground)
    things: dict[tuple[Counted, ...], Things] = {}
    for rule in rules:
        if rule.kind not in _SURFACE_KINDS:
            continue
        counts = tuple(rule.counts)
        if counts not in things:
            things[counts] = collect(layers, ground, counts)
        applies, is_unsure = _where_it_applies(rule, where)
        surface = _surface(rule, layers, ground, things[counts], applies)
        unknown = is_unsure | (applies & ~_spoken_for(rule, layers, ground))
        surface.floor_amsl_m[unknown] = np.nan
        yield surface


def _surface(
    rule: Rule, layers: Layers, ground: Ground, things: Things, applies: BoolArray
) -> RuleSurface:
    if rule.kind is RuleKind.HEIGHT_ABOVE_SURFACE:
        return _above_surface(rule, ground, applies)
    if rule.kind is RuleKind.CLOSED_OVER:
        return _closed(rule, applies, _zone_paths(layers))
    if rule.kind is RuleKind.AIRSPACE_COLUMN:
        return _columns(rule, layers.airspace, ground, applies)
    is_slant = rule.kind is RuleKind.SLANT_DISTANCE
    radius_m = _needed(rule.radius_m, rule, "radius")
    height_m = 0.0 if is_slant else _needed(rule.height_m, rule, "height")
    profile = "slant" if is_slant else "level"
    floor = standoff_floor(
        ground.grid,
        things.features,
        radius_m=radius_m,
        height_m=height_m,
        profile="slant" if is_slant else "level",
        is_radius_inclusive=rule.is_radius_inclusive,
        applies=applies,
    )
    if Counted.TERRAIN in rule.counts:
        floor = _with_terrain(floor, ground, radius_m, height_m, applies)
    limit = as_limit(rule)
    # What binds nowhere adds nothing to the union of the shapes at any altitude.
    binding = np.unique(floor.feature[floor.feature != NOBODY])
    standoff = Standoff(
        limit,
        profile,
        radius_m,
        height_m,
        tuple(things.geometries[i] for i in binding),
        tuple(things.names[i] for i in binding),
        things.features.top_amsl_m[binding],
        things.features.spread_m[binding],
    )
    return RuleSurface(limit, floor.amsl_m, floor.feature, things.names, things.sources, standoff)


def _above_surface(rule: Rule, ground: Ground, applies: BoolArray) -> RuleSurface:
    height_m = _needed(rule.height_m, rule, "height")
    floor = np.where(applies, ground.highest_amsl_m + height_m, -np.inf)
    return RuleSurface(as_limit(rule), floor, _nobody(ground), (), ())


def _closed(rule: Rule, applies: BoolArray, sources: tuple[str, ...]) -> RuleSurface:
    floor = np.where(applies, np.inf, -np.inf)
    nobody = np.full(applies.shape, NOBODY, dtype=np.int32)
    return RuleSurface(as_limit(rule), floor, nobody, (), sources)


def _columns(
    rule: Rule, airspace: Iterable[Layer[AirspaceVolume]], ground: Ground, applies: BoolArray
) -> RuleSurface:
    """Closed at every altitude inside the lateral boundaries of surface areas."""
    rows = [row for layer in airspace for row in layer.rows if _is_surface_area(row, rule)]
    local = [ground.frame.geometry_to_local(row.geometry) for row in rows]
    floor = standoff_floor(
        ground.grid,
        FeatureSet.from_geometries(local, 0.0, [row.boundary_accuracy_m or 0.0 for row in rows]),
        radius_m=0.0,
        height_m=math.inf,
        profile="level",
        applies=applies,
    )
    names = tuple(row.name for row in rows)
    sources = tuple(path for layer in airspace for path in layer.record.paths)
    return RuleSurface(as_limit(rule), floor.amsl_m, floor.feature, names, sources)


def _is_surface_area(row: AirspaceVolume, rule: Rule) -> bool:
    is_class = (
        row.airspace_class.upper() in rule.airspace_classes
        or row.type_code.upper() in rule.airspace_types
    )
    if row.lower is None:
        return is_class  # an unknown lower limit may be the surface
    is_from_ground = row.lower.reference is HeightReference.AGL and row.lower.value_m <= 0.0
    return is_class and (row.lower.reference is HeightReference.SFC or is_from_ground)


def _with_terrain(
    floor: Floor, ground: Ground, radius_m: float, height_m: float, applies: BoolArray
) -> Floor:
    above = highest_within(ground.highest_amsl_m, ground.grid, radius_m, applies) + height_m
    is_ground = applies & ~(above <= floor.amsl_m)
    return Floor(
        np.where(is_ground, above, floor.amsl_m),
        np.where(is_ground, np.int32(NOBODY), floor.feature),
    )


def _grounds(layers: Layers, ground: Ground) -> Mapping[GroundKind, tuple[BoolArray, BoolArray]]:
    """For each kind of ground: where it may be (cautious), and where nobody has said."""

    def drawn(zones: Sequence[Layer[Zone]]) -> tuple[BoolArray, BoolArray]:
        touching = touched((row.geometry for layer in zones for row in layer.rows), ground)
        return touching, ~touching & ~covered(zones, ground, 0.0)

    sparse_rows = [row.geometry for layer in layers.sparse for row in layer.rows]
    nowhere = np.zeros(ground.grid.shape, dtype=np.bool_)
    return {
        GroundKind.CONGESTED: drawn(layers.congested),
        GroundKind.ASSEMBLY: drawn(layers.assemblies),
        # A cell on the edge of a sparse polygon obeys both rules. Outside, the ground is "other":
        # nobody needs to have said so.
        GroundKind.SPARSE: (touched(sparse_rows, ground), nowhere),
        GroundKind.OTHER: (~wholly_inside(sparse_rows, ground), nowhere),
    }


def _where_it_applies(
    rule: Rule, grounds: Mapping[GroundKind, tuple[BoolArray, BoolArray]]
) -> tuple[BoolArray, BoolArray]:
    applies = np.zeros_like(grounds[GroundKind.SPARSE][0])
    is_unsure = np.zeros_like(applies)
    if set(rule.where) >= {GroundKind.SPARSE, GroundKind.OTHER}:
        applies |= True
        return applies, is_unsure
    for kind in rule.where:
        applies = applies | grounds[kind][0]
        is_unsure = is_unsure | grounds[kind][1]
    return applies, is_unsure & ~applies


def _spoken_for(rule: Rule, layers: Layers, ground: Ground) -> BoolArray:
    """Cells where every layer that the rule needs speaks, out to the rule's radius."""
    needed: dict[Counted, Sequence[Layer[object]]] = {
        Counted.OBSTACLE: layers.obstacles,
        Counted.STRUCTURE: layers.structures,
        Counted.NOISE: layers.noise,
        Counted.AIRWAY: layers.airways,
    }
    # Persons, vehicles and vessels move and most wires are in no data: their absence from the
    # files is never taken as absence, which the standing cautions say.
    spoken = np.ones(ground.grid.shape, dtype=np.bool_)
    for counted in rule.counts:
        if counted in needed:
            spoken &= covered(needed[counted], ground, rule.radius_m or 0.0)
    if rule.kind is RuleKind.AIRSPACE_COLUMN:
        spoken &= covered(layers.airspace, ground, 0.0)
    return spoken


def _zone_paths(layers: Layers) -> tuple[str, ...]:
    zones = [*layers.congested, *layers.assemblies, *layers.sparse]
    return tuple(path for layer in zones for path in layer.record.paths)


def _nobody(ground: Ground) -> Int32Array:
    return np.full(ground.grid.shape, NOBODY, dtype=np.int32)


def _needed(value: float | None, rule: Rule, what: str) -> float:
    if value is None:
        raise ValueError(f"rule {rule.id} has no {what}")
    return value


def area_cells(area_lonlat: BaseGeometry, ground: Ground) -> BoolArray:
    """Cells that the drawn area touches."""
    return touched([area_lonlat], ground)
