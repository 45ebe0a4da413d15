"""Read every source of a project into `Layers`, all faults gathered before any is raised."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, cast

from areaplan.errors import Fault, InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.planning.ground import Ground, lay_grid, lonlat_bounds
from areaplan.planning.layers import Layers
from areaplan.planning.project import Project
from areaplan.planning.things import NEAR_M
from areaplan.sources.land_cover import LandCover
from areaplan.sources.layers import Layer, PracticeArea, SourceKind
from areaplan.sources.reading import read_source
from areaplan.sources.terrain import Terrain

_PLACES: Final = {
    SourceKind.OBSTACLES: "obstacles",
    SourceKind.STRUCTURES: "structures",
    SourceKind.PERSONS: "persons",
    SourceKind.WIRES: "wires",
    SourceKind.ROADS: "roads",
    SourceKind.AIRSPACE: "airspace",
    SourceKind.FIELDS: "fields",
    SourceKind.CONGESTED: "congested",
    SourceKind.SPARSE: "sparse",
    SourceKind.ASSEMBLIES: "assemblies",
    SourceKind.NOISE: "noise",
    SourceKind.WOODS: "woods",
    SourceKind.AIRWAYS: "airways",
    SourceKind.LAND_COVER: "land_cover",
    SourceKind.RAILS: "rails",
    SourceKind.FENCES: "fences",
    SourceKind.SECTION_LINES: "section_lines",
    SourceKind.CANALS: "canals",
    SourceKind.LANDMARKS: "landmarks",
    SourceKind.REFERENCES: "references",
}


def read_layers(project: Project, progress: Callable[[str], None]) -> tuple[Layers, Ground]:
    """Read the area, lay the grid over it, read the rest around it and the terrain onto it.

    Parameters
    ----------
    project : Project
    progress : callable
        Told in a few words what is being read.

    Raises
    ------
    InputError
        With the faults of every source, not only the first.
    """
    faults: list[Fault] = []
    area = _read_area(project)
    frame, grid = lay_grid(area.rows[0].geometry, project)
    clip = lonlat_bounds(frame, grid, NEAR_M)
    found: dict[str, list[Layer[Any] | LandCover]] = {}
    terrain: Terrain | None = None
    for spec in project.sources:
        if spec.kind is SourceKind.AREA:
            continue
        progress(f"reading {spec.kind}")
        try:
            read = read_source(spec, clip)
        except InputError as error:
            faults += error.faults
            continue
        if isinstance(read, Terrain):
            terrain = read
            continue
        found.setdefault(_PLACES[spec.kind], []).append(read)
        if spec.presence == "vehicle":
            found.setdefault("vehicles", []).append(read)
    if faults or terrain is None:
        raise InputError(faults)
    places = {place: tuple(layers) for place, layers in found.items()}
    progress("laying the terrain on the grid")
    return Layers(area=area, terrain=terrain, **cast(Any, places)), lay_ground(terrain, frame, grid)


def _read_area(project: Project) -> Layer[PracticeArea]:
    spec = next(spec for spec in project.sources if spec.kind is SourceKind.AREA)
    return cast("Layer[PracticeArea]", read_source(spec))


def lay_ground(terrain: Terrain, frame: LocalFrame, grid: Grid) -> Ground:
    """The terrain on the grid, as every surface is computed over it."""
    on_grid = terrain.on_grid(grid, frame)
    return Ground(frame, grid, on_grid.lowest_amsl_m, on_grid.highest_amsl_m, on_grid.notes)
