"""The glide of a project: from fields, wind and aircraft to the altitude that each cell needs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, cast

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.atmosphere import true_airspeed
from areaplan.engine.features import FeatureSet
from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import MoveLosses, move_losses
from areaplan.engine.standoff import cells_inside_index, raise_ground
from areaplan.engine.worst_heading import TurnModel, worst_heading
from areaplan.grid import Float32Array, Float64Array, Int16Array
from areaplan.planning.ground import Ground, covered
from areaplan.planning.layers import Layers
from areaplan.planning.plan import NOBODY
from areaplan.planning.project import Project
from areaplan.planning.things import collect, woods
from areaplan.rules.model import Counted
from areaplan.sources.layers import LandingField, Layer
from areaplan.units import FOOT_M

# What a glide has to clear besides the ground. Trees are added to these.
SOLID_THINGS: Final = (Counted.OBSTACLE, Counted.STRUCTURE, Counted.WIRE)
# True airspeed is taken at the lowest ground and this far above the highest planned altitude.
ABOVE_PLANNED_M: Final = 3000.0 * FOOT_M


@frozen(eq=False)
class Glide:
    """The glide surfaces of a project, metres AMSL.

    Attributes
    ----------
    required_amsl_m : float32 array of the grid's shape
        Whatever the heading; NaN unknown, inf unreachable.
    sector_amsl_m : float32 array, shape (12, rows, cols)
        By departure sector; NaN unknown, inf unreachable.
    sector_field : int16 array, shape (12, rows, cols)
        The field that each sector's glide ends at; NOBODY where none.
    field : int16 array of the grid's shape
        The field of the lowest of the twelve sectors; NOBODY where none.
    fields : tuple of LandingField
        Fields of all layers, in the order that indices mean.
    warnings : tuple of str
        Fields that do not count, and why.
    sources : tuple of str
    """

    required_amsl_m: Float32Array
    sector_amsl_m: Float32Array
    sector_field: Int16Array
    field: Int16Array
    fields: tuple[LandingField, ...]
    warnings: tuple[str, ...]
    sources: tuple[str, ...]


def glide_surfaces(project: Project, layers: Layers, ground: Ground) -> Glide:
    """Lowest altitudes from which a field is reached, by sector and whatever the heading.

    They hold for every point of a cell (see `engine.glide` and `engine.worst_heading`). Ground,
    obstacles, wires, structures and trees are cleared by the project's margin. Where the terrain
    or the obstacle data do not speak the ground is unknown and no glide is led across it.
    """
    fields = tuple(row for layer in layers.fields for row in layer.rows)
    field_of, arrival, warnings = _arrivals(fields, project, ground)
    surface = _surface_to_clear(project, layers, ground)
    losses = _losses(project, ground)
    model = _turn_model(project, ground)
    cell_m = ground.grid.cell_m
    sectors = sector_surfaces(surface, arrival, cell_m, losses, field_of)
    required = worst_heading(sectors, surface, cell_m, model)
    labels = cast(Int16Array, sectors.field)  # asked for, hence there
    used: list[Layer[object]] = [
        *layers.fields,
        *layers.obstacles,
        *layers.wires,
        *layers.structures,
        *layers.woods,
    ]
    return Glide(
        required,
        sectors.required_amsl_m,
        labels,
        _field_of_lowest(sectors.required_amsl_m, labels),
        fields,
        warnings,
        layers.terrain.record.paths + tuple(path for layer in used for path in layer.record.paths),
    )


def _field_of_lowest(sector_amsl_m: Float32Array, sector_field: Int16Array) -> Int16Array:
    lowest = np.where(np.isnan(sector_amsl_m), np.float32(np.inf), sector_amsl_m).argmin(axis=0)
    return np.asarray(np.take_along_axis(sector_field, lowest[np.newaxis], axis=0)[0])


def _arrivals(
    fields: Sequence[LandingField], project: Project, ground: Ground
) -> tuple[Int16Array, Float32Array, tuple[str, ...]]:
    """Which field a cell wholly lies in, the altitude to arrive at, and the fields that fail."""
    shape = ground.grid.shape
    arrival = np.full(shape, np.inf, dtype=np.float32)
    if not fields:
        return np.full(shape, NOBODY, dtype=np.int16), arrival, ("no field is drawn",)
    local = [ground.frame.geometry_to_local(field.geometry) for field in fields]
    index = cells_inside_index(ground.grid, FeatureSet.from_geometries(local, 0.0))
    is_field = index != NOBODY
    highest = ground.highest_amsl_m[is_field]
    top = np.full(len(fields), -np.inf)
    # A field with unknown ground anywhere in it becomes infinitely high: nobody arrives there.
    unknown_as_top = np.where(np.isnan(highest), np.inf, highest)
    np.maximum.at(top, index[is_field], unknown_as_top)
    arrival[is_field] = (top + project.margins.arrival_height_m)[index[is_field]]
    return index.astype(np.int16), arrival, _left_out(fields, local, top, ground)


def _left_out(
    fields: Sequence[LandingField],
    local: Sequence[BaseGeometry],
    top_amsl_m: Float64Array,
    ground: Ground,
) -> tuple[str, ...]:
    """Sentences on the fields that do not count, and why."""
    grid = ground.grid
    on_grid = shapely.box(grid.x_min_m, grid.y_min_m, grid.x_max_m, grid.y_max_m)
    off: list[str] = []
    unknown: list[str] = []
    narrow: list[str] = []
    for field, polygon, top_m in zip(fields, local, top_amsl_m, strict=True):
        if np.isposinf(top_m):
            unknown.append(field.name)
        elif np.isneginf(top_m):
            (narrow if on_grid.contains(polygon) else off).append(field.name)
    reasons = (
        (narrow, "no cell of the grid lies wholly inside: too narrow, or the cells too large"),
        (unknown, "the ground in them is not known throughout"),
        (off, "they lie beyond the evaluated grid (grid.around)"),
    )
    return tuple(
        f"fields that do not count ({why}): {', '.join(names)}" for names, why in reasons if names
    )


def _surface_to_clear(project: Project, layers: Layers, ground: Ground) -> Float32Array:
    surface = ground.highest_amsl_m
    for things in (collect(layers, ground, SOLID_THINGS), woods(layers, ground)):
        surface = raise_ground(surface, ground.grid, things.features)
    surface = np.where(covered(layers.obstacles, ground, 0.0), surface, np.nan)
    cleared = surface + project.margins.glide_clearance_m
    return np.nextafter(cleared.astype(np.float32), np.float32(np.inf))


def _airspeeds(speed_mps: float, project: Project, ground: Ground) -> tuple[float, float]:
    """True airspeed at the lowest ground and well above the highest planned altitude."""
    known = ground.lowest_amsl_m[~np.isnan(ground.lowest_amsl_m)]
    lowest_m = float(known.min()) if known.size else 0.0
    highest_m = project.planned_altitudes_amsl_ft[-1] * FOOT_M + ABOVE_PLANNED_M
    return true_airspeed(speed_mps, lowest_m), true_airspeed(speed_mps, highest_m)


def _losses(project: Project, ground: Ground) -> MoveLosses:
    aircraft = project.aircraft
    return move_losses(
        _airspeeds(aircraft.best_glide_speed_mps, project, ground),
        aircraft.glide_ratio_used,
        project.wind.speed_mps,
        project.wind.from_deg_true,
    )


def _turn_model(project: Project, ground: Ground) -> TurnModel:
    aircraft, margins = project.aircraft, project.margins
    return TurnModel(
        bank_deg=margins.turn_bank_deg,
        tas_mps=_airspeeds(aircraft.best_glide_speed_mps, project, ground),
        glide_ratio=aircraft.glide_ratio_used,
        reaction_time_s=margins.reaction_time_s,
        manoeuvre_tas_mps=_airspeeds(aircraft.manoeuvre_speed_mps, project, ground),
        wind_speed_mps=project.wind.speed_mps,
        wind_from_deg_true=project.wind.from_deg_true,
    )
