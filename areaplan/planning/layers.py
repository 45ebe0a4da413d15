"""All layers of a project, read and checked, side by side."""

from __future__ import annotations

from attrs import frozen

from areaplan.sources.land_cover import LandCover
from areaplan.sources.layers import (
    AirspaceVolume,
    DrawnReference,
    LandingField,
    Landmark,
    Layer,
    Obstacle,
    PracticeArea,
    Road,
    Structure,
    Wire,
    Wood,
    Zone,
)
from areaplan.sources.terrain import Terrain


@frozen(eq=False)
class Layers:
    """What a project's sources say.

    A layer that the project does not name is empty (), and a rule that needs it answers UNKNOWN.
    """

    area: Layer[PracticeArea]
    terrain: Terrain
    obstacles: tuple[Layer[Obstacle], ...] = ()
    structures: tuple[Layer[Structure], ...] = ()
    persons: tuple[Layer[Structure], ...] = ()
    wires: tuple[Layer[Wire], ...] = ()
    roads: tuple[Layer[Road], ...] = ()
    vehicles: tuple[Layer[Road], ...] = ()  # the roads and rails that the project counts as such
    airspace: tuple[Layer[AirspaceVolume], ...] = ()
    fields: tuple[Layer[LandingField], ...] = ()
    congested: tuple[Layer[Zone], ...] = ()
    sparse: tuple[Layer[Zone], ...] = ()
    assemblies: tuple[Layer[Zone], ...] = ()
    noise: tuple[Layer[Zone], ...] = ()
    woods: tuple[Layer[Wood], ...] = ()
    airways: tuple[Layer[Road], ...] = ()
    land_cover: tuple[LandCover, ...] = ()
    rails: tuple[Layer[Road], ...] = ()
    fences: tuple[Layer[Road], ...] = ()
    section_lines: tuple[Layer[Road], ...] = ()
    canals: tuple[Layer[Road], ...] = ()
    landmarks: tuple[Layer[Landmark], ...] = ()
    references: tuple[Layer[DrawnReference], ...] = ()
