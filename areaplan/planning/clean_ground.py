"""Ground on which to look for fields: of the right class, and clear of everything on file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np
from attrs import frozen

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import cells_touching
from areaplan.grid import Float64Array, Int16Array
from areaplan.planning.ground import Ground, covered, touched
from areaplan.planning.layers import Layers
from areaplan.planning.project import Project
from areaplan.planning.things import collect, woods
from areaplan.rules.model import Counted
from areaplan.sources.land_cover_legends import NOT_A_CANDIDATE, UNKNOWN_RANK
from areaplan.sources.layers import Layer

# Distances kept in the search, edge to edge; common practice, no source. They only choose where to
# look: what a field loses behind trees and wires is measured later, with the project's own figures.
CLEAR_OF_STRUCTURES_M: Final = 50.0  # the yard, its fences and the wires to the house
CLEAR_OF_OBSTACLES_M: Final = 50.0  # added to the published accuracy; guy wires reach further
CLEAR_OF_ROADS_M: Final = 20.0  # half the road, its ditch, and the poles along it
CLEAR_OF_WOODS_M: Final = 30.0  # branches, fallen timber, shade

# Slope is told over this run either way, so that heights in whole metres still tell it.
SLOPE_RUN_M: Final = 60.0
# Kinds of which a project without any is told: ground is seldom free of all of them.
_EXPECTED: Final = ("structures", "obstacles", "wires", "woods", "roads")


@frozen(eq=False)
class CleanCells:
    """Where to look.

    Attributes
    ----------
    rank : int16 array of the grid's shape
        1 to 3 where a field may lie, the best first; 0 elsewhere.
    notes : tuple of str
        What the cells could not be cleaned of, for want of a source.
    """

    rank: Int16Array
    notes: tuple[str, ...]


def clean_cells(project: Project, layers: Layers, ground: Ground) -> CleanCells:
    """Cells of candidate classes, cleaned by every other layer.

    Out go cells within the clear distances of structures, persons, obstacles (their accuracy
    added), wires, roads and woods; that touch a congested zone, an open-air assembly or a field
    that a person drew; that are steeper than `fields.steepest`, or whose ground is unknown; and for
    which a layer that the project names does not speak. A kind of layer that the project does not
    name at all cleans nothing, and `notes` says so.
    """
    rank = _land_cover_rank(layers, ground)
    if not (rank > NOT_A_CANDIDATE).any():
        return CleanCells(np.zeros_like(rank), ())
    is_closed = ~(_slope(ground) <= project.fields.steepest)  # NaN is closed
    is_closed |= touched((row.geometry for layer in layers.fields for row in layer.rows), ground)
    notes = []
    for what, given, features, distance_m in _kept_clear_of(project, layers, ground):
        if given:
            is_closed |= ~covered(given, ground, distance_m)
            is_closed |= cells_touching(ground.grid, features, distance_m)
        elif what in _EXPECTED:
            notes.append(f"candidates are not cleaned of {what}: the project has no such source")
    rank = np.where(is_closed, NOT_A_CANDIDATE, np.maximum(rank, NOT_A_CANDIDATE))
    return CleanCells(rank.astype(np.int16), tuple(notes))


def _land_cover_rank(layers: Layers, ground: Ground) -> Int16Array:
    """Worst rank of all sources that know a cell; one that says no closes it."""
    rank = np.full(ground.grid.shape, UNKNOWN_RANK, dtype=np.int16)
    is_refused = np.zeros(ground.grid.shape, dtype=np.bool_)
    for cover in layers.land_cover:
        found = cover.on_grid(ground.grid, ground.frame)
        is_refused |= found == NOT_A_CANDIDATE
        rank = np.maximum(rank, found)
    return np.where(is_refused, NOT_A_CANDIDATE, rank).astype(np.int16)


_Kept = tuple[str, Sequence[Layer[Any]], FeatureSet, float]


def _kept_clear_of(project: Project, layers: Layers, ground: Ground) -> Iterator[_Kept]:
    """What to keep clear of: what it is, the layers that tell of it, its features, how far."""
    solid = collect(layers, ground, [Counted.STRUCTURE]).features
    yield "structures", layers.structures, solid, CLEAR_OF_STRUCTURES_M
    tall = collect(layers, ground, [Counted.OBSTACLE]).features
    yield "obstacles", layers.obstacles, tall, CLEAR_OF_OBSTACLES_M
    wires = collect(layers, ground, [Counted.WIRE]).features
    yield "wires", layers.wires, wires, project.fields.wire_clearance_m
    yield "woods", layers.woods, woods(layers, ground).features, CLEAR_OF_WOODS_M
    flat: tuple[tuple[str, Sequence[Layer[Any]], float], ...] = (
        ("roads", layers.roads, CLEAR_OF_ROADS_M),
        ("persons", layers.persons, CLEAR_OF_STRUCTURES_M),
        ("congested", layers.congested, 0.0),
        ("assemblies", layers.assemblies, 0.0),
    )
    for what, given, distance_m in flat:
        shapes = [
            ground.frame.geometry_to_local(row.geometry) for layer in given for row in layer.rows
        ]
        yield what, given, FeatureSet.from_geometries(shapes, 0.0), distance_m


def _slope(ground: Ground) -> Float64Array:
    """Slope of the ground over twice `SLOPE_RUN_M`, rise over run; NaN where unknown."""
    grid = ground.grid
    middle = 0.5 * (ground.lowest_amsl_m + ground.highest_amsl_m)
    step = max(1, round(SLOPE_RUN_M / grid.cell_m))
    padded = np.pad(middle, step, constant_values=np.nan)
    run_m = 2.0 * step * grid.cell_m
    inner = slice(step, -step)
    east = (padded[inner, 2 * step :] - padded[inner, : -2 * step]) / run_m
    north = (padded[: -2 * step, inner] - padded[2 * step :, inner]) / run_m
    return np.asarray(np.hypot(east, north) + 0.0 * middle)
