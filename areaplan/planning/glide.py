"""The glide of a project: from fields, wind and aircraft to the altitude that each cell needs."""

from __future__ import annotations

import math
from typing import Final, cast

import numpy as np
from attrs import frozen

from areaplan.atmosphere import true_airspeed_range
from areaplan.engine.flight import load_factor
from areaplan.engine.glide import SectorSurfaces, sector_surfaces
from areaplan.engine.moves import MoveLosses, move_losses
from areaplan.engine.standoff import raise_ground
from areaplan.engine.worst_heading import TurnModel, worst_heading
from areaplan.grid import Float32Array, Int16Array
from areaplan.planning.arrivals import find_arrivals
from areaplan.planning.candidates import Candidates
from areaplan.planning.ground import Ground, covered
from areaplan.planning.landings import Landings, find_landings, least_arrivals
from areaplan.planning.layers import Layers
from areaplan.planning.measured import MeasuredField
from areaplan.planning.project import Project
from areaplan.planning.things import collect, woods
from areaplan.planning.winds import WindsMet, winds_met
from areaplan.rules.model import Counted
from areaplan.sources.land_cover import LandCover
from areaplan.sources.layers import LandingField, Layer
from areaplan.units import FOOT_M, Wind

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
    measured : tuple of MeasuredField
        The same fields, measured; glides lead only to those that count.
    warnings : tuple of str
        Fields that do not count, and why.
    sources : tuple of str
    candidates : Candidates
        What land cover proposes; those that count are among `fields` too.
    """

    required_amsl_m: Float32Array
    sector_amsl_m: Float32Array
    sector_field: Int16Array
    field: Int16Array
    fields: tuple[LandingField, ...]
    measured: tuple[MeasuredField, ...]
    warnings: tuple[str, ...]
    sources: tuple[str, ...]
    candidates: Candidates = Candidates()  # noqa: RUF009 - it is frozen


@frozen(eq=False)
class GlideScene:
    """What a glide meets, before any wind: made once, flown in many winds.

    Attributes
    ----------
    project : Project
    ground : Ground
    measured : tuple of MeasuredField
        Fields of all layers, in the order that indices mean.
    field_of : int16 array of the grid's shape
        Which field that counts a cell wholly lies in; NOBODY where none.
    arrival_amsl_m : float32 array of the grid's shape
        Over a field its highest ground and the arrival height, infinity elsewhere: where the glide
        may end, or, with key positions, below which none lies (`landings_in_wind`).
    surface_amsl_m : float32 array of the grid's shape
        Altitude to clear; NaN where unknown.
    warnings : tuple of str
        Fields that do not count, and why.
    candidates : Candidates
        What land cover proposes; those that count are in `measured` too.
    """

    project: Project
    ground: Ground
    measured: tuple[MeasuredField, ...]
    field_of: Int16Array
    arrival_amsl_m: Float32Array
    surface_amsl_m: Float32Array
    warnings: tuple[str, ...]
    candidates: Candidates = Candidates()  # noqa: RUF009 - it is frozen

    @property
    def fields(self) -> tuple[LandingField, ...]:
        """The fields themselves, in the same order."""
        return tuple(row.field for row in self.measured)


def glide_scene(project: Project, layers: Layers, ground: Ground) -> GlideScene:
    """Lay fields and everything to clear on the grid."""
    arrivals = find_arrivals(project, layers, ground)
    return GlideScene(
        project,
        ground,
        arrivals.measured,
        arrivals.field_of,
        arrivals.amsl_m,
        _surface_to_clear(project, layers, ground),
        arrivals.warnings,
        arrivals.candidates,
    )


def sectors_in_wind(
    scene: GlideScene, wind: Wind | WindsMet, *, is_labelled: bool = True
) -> SectorSurfaces:
    """The twelve sector surfaces in one wind, the same at all heights, or in all winds met.

    Parameters
    ----------
    scene : GlideScene
    wind : Wind or WindsMet
    is_labelled : bool
        Whether to tell which field each glide ends at.
    """
    return _sectors(scene, wind, landings_in_wind(scene, wind), is_labelled=is_labelled)


def _sectors(
    scene: GlideScene, wind: Wind | WindsMet, landings: Landings | None, *, is_labelled: bool
) -> SectorSurfaces:
    arrival = scene.arrival_amsl_m
    if landings is not None:
        arrival = np.full(arrival.shape, np.inf, np.float32)
    return sector_surfaces(
        scene.surface_amsl_m,
        arrival,
        scene.ground.grid.cell_m,
        _losses(scene, wind),
        scene.field_of if is_labelled else None,
        goals=None if landings is None else landings.goals,
    )


def landings_in_wind(scene: GlideScene, wind: Wind | WindsMet) -> Landings | None:
    """Where the glide may end and for which landing; None where the arrival height is enough."""
    if not scene.project.fields.is_key_asked:
        return None
    return find_landings(
        scene.measured,
        least_arrivals(scene.measured, scene.field_of, scene.arrival_amsl_m),
        scene.surface_amsl_m,
        scene.ground,
        scene.project,
        turn_model(scene, wind),
        _all_winds(wind).winds[0],
    )


def own_winds(scene: GlideScene) -> WindsMet:
    """All winds that the project's own data have the glide meet."""
    return winds_met(scene.project, *_altitudes(scene.project, scene.ground))


def glide_surfaces(project: Project, layers: Layers, ground: Ground) -> Glide:
    """Lowest altitudes from which a field is reached, by sector and whatever the heading.

    They hold for every point of a cell (see `engine.glide` and `engine.worst_heading`). Ground,
    obstacles, wires, structures and trees are cleared by the project's margin. Where the terrain
    or the obstacle data do not speak the ground is unknown and no glide is led across it.
    """
    scene = glide_scene(project, layers, ground)
    winds = own_winds(scene)
    landings = landings_in_wind(scene, winds)
    sectors = _sectors(scene, winds, landings, is_labelled=True)
    required = worst_heading(
        sectors, scene.surface_amsl_m, ground.grid.cell_m, turn_model(scene, winds)
    )
    labels = cast(Int16Array, sectors.field)  # asked for, hence there
    used: list[Layer[object] | LandCover] = [
        *layers.fields,
        *layers.obstacles,
        *layers.wires,
        *layers.structures,
        *layers.woods,
    ]
    if scene.candidates.counting:
        used += layers.land_cover
    return Glide(
        required,
        sectors.required_amsl_m,
        labels,
        _field_of_lowest(sectors.required_amsl_m, labels),
        scene.fields,
        scene.measured,
        scene.warnings + _without_key(scene, landings),
        layers.terrain.record.paths + tuple(path for layer in used for path in layer.record.paths),
        scene.candidates,
    )


def _field_of_lowest(sector_amsl_m: Float32Array, sector_field: Int16Array) -> Int16Array:
    lowest = np.where(np.isnan(sector_amsl_m), np.float32(np.inf), sector_amsl_m).argmin(axis=0)
    return np.asarray(np.take_along_axis(sector_field, lowest[np.newaxis], axis=0)[0])


def _surface_to_clear(project: Project, layers: Layers, ground: Ground) -> Float32Array:
    surface = ground.highest_amsl_m
    for things in (collect(layers, ground, SOLID_THINGS), woods(layers, ground)):
        surface = raise_ground(surface, ground.grid, things.features)
    surface = np.where(covered(layers.obstacles, ground, 0.0), surface, np.nan)
    cleared = surface + project.margins.glide_clearance_m
    return np.nextafter(cleared.astype(np.float32), np.float32(np.inf))


def _without_key(scene: GlideScene, landings: Landings | None) -> tuple[str, ...]:
    """A sentence on the fields that count, but have no key position in these winds."""
    if landings is None:
        return ()
    names = [
        row.field.name
        for number, row in enumerate(scene.measured)
        if row.counts and not landings.reaches(number)
    ]
    reason = (
        "no approach from a key position clears the ground and what stands round them, in this wind"
    )
    return (f"fields that no glide is led to ({reason}): {', '.join(names)}",) if names else ()


def _altitudes(project: Project, ground: Ground) -> tuple[float, float]:
    """Lowest ground, and well above the highest planned altitude, metres AMSL."""
    known = ground.lowest_amsl_m[~np.isnan(ground.lowest_amsl_m)]
    lowest_m = float(known.min()) if known.size else 0.0
    return lowest_m, project.planned_altitudes_amsl_ft[-1] * FOOT_M + ABOVE_PLANNED_M


def _airspeeds(speed_mps: float, scene: GlideScene) -> tuple[float, float]:
    """Least and greatest true airspeed, on the standard day and on the project's own."""
    project = scene.project
    altitudes_m = _altitudes(project, scene.ground)
    return true_airspeed_range(speed_mps, *altitudes_m, project.isa_deviation_k)


def _glide_ratio(scene: GlideScene, winds: WindsMet) -> float:
    """The derated ratio, less what the winds' change with height costs at the fastest."""
    project = scene.project
    _, glide_mps = _airspeeds(project.aircraft.best_glide_speed_mps, scene)
    _, manoeuvre_mps = _airspeeds(project.aircraft.manoeuvre_speed_mps, scene)
    turn_mps = glide_mps * math.sqrt(float(load_factor(project.margins.turn_bank_deg)))
    fastest_mps = max(turn_mps, manoeuvre_mps)
    return winds.glide_ratio(project.aircraft.glide_ratio_used, fastest_mps, project)


def _all_winds(wind: Wind | WindsMet) -> WindsMet:
    return wind if isinstance(wind, WindsMet) else WindsMet((wind,))


def _losses(scene: GlideScene, wind: Wind | WindsMet) -> MoveLosses:
    winds = _all_winds(wind)
    return move_losses(
        _airspeeds(scene.project.aircraft.best_glide_speed_mps, scene),
        _glide_ratio(scene, winds),
        winds.speed_mps,
        winds.from_deg_true,
    )


def turn_model(scene: GlideScene, wind: Wind | WindsMet) -> TurnModel:
    """The turn on to the glide in one wind, the same at all heights, or in all winds met."""
    winds = _all_winds(wind)
    aircraft, margins = scene.project.aircraft, scene.project.margins
    return TurnModel(
        bank_deg=margins.turn_bank_deg,
        tas_mps=_airspeeds(aircraft.best_glide_speed_mps, scene),
        glide_ratio=_glide_ratio(scene, winds),
        reaction_time_s=margins.reaction_time_s,
        manoeuvre_tas_mps=_airspeeds(aircraft.manoeuvre_speed_mps, scene),
        wind_speed_mps=winds.speed_mps[0],
        wind_from_deg_true=winds.from_deg_true[0],
        winds_aloft=winds.aloft if winds.shear_per_s > 0.0 else (),
        shear_per_s=winds.shear_per_s,
    )
