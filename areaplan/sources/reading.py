"""One entry for every kind of source."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, Final

from attrs import evolve

from areaplan.errors import InputError
from areaplan.sources._assembly import Gathered, make_layer
from areaplan.sources._vector import LonLatBox
from areaplan.sources.airspace import read_airspace
from areaplan.sources.areas import read_area, read_fields, read_zones
from areaplan.sources.land_cover import LandCover, read_land_cover
from areaplan.sources.landmarks import read_landmarks, read_references
from areaplan.sources.layers import Layer, Presence, SourceKind
from areaplan.sources.obstacles import read_obstacles
from areaplan.sources.spec import SourceSpec
from areaplan.sources.structures import read_roads, read_structures, read_wires, read_woods
from areaplan.sources.terrain import Terrain, read_terrain

_Reader = Callable[..., Layer[Any]]
_READERS: Final[dict[SourceKind, _Reader]] = {
    SourceKind.OBSTACLES: read_obstacles,
    SourceKind.STRUCTURES: partial(read_structures, presence=Presence.STRUCTURE),
    SourceKind.WIRES: read_wires,
    SourceKind.ROADS: read_roads,
    SourceKind.AIRWAYS: read_roads,
    SourceKind.AIRSPACE: read_airspace,
    SourceKind.FIELDS: read_fields,
    SourceKind.CONGESTED: read_zones,
    SourceKind.SPARSE: read_zones,
    SourceKind.ASSEMBLIES: read_zones,
    SourceKind.NOISE: read_zones,
    SourceKind.WOODS: read_woods,
    SourceKind.RAILS: read_roads,
    SourceKind.FENCES: read_roads,
    SourceKind.SECTION_LINES: read_roads,
    SourceKind.CANALS: read_roads,
    SourceKind.LANDMARKS: read_landmarks,
    SourceKind.REFERENCES: read_references,
}


def read_source(
    spec: SourceSpec, clip_lonlat: LonLatBox | None = None
) -> Layer[Any] | Terrain | LandCover:
    """Read one source of a project.

    Parameters
    ----------
    spec : SourceSpec
        What the project says about it.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees, WGS 84: rows wholly outside may be left unread in
        large files and in OpenStreetMap extracts. Ignored where `covers` is "extent".

    Returns
    -------
    Layer, Terrain or LandCover
        The layer of the source's kind. With `none_because` an empty layer, whose record carries
        these words as its edition.

    Raises
    ------
    InputError
        A file or a row of it is not usable, or the source names no file.
    """
    if spec.none_because:
        return _empty_layer(spec)
    if not spec.paths:
        raise InputError.single(
            str(spec.kind),
            spec.key,
            found="no files are named",
            expected="files, or none_because with who looked and when",
            fix='add files = ["..."] to the source',
        )
    if spec.kind is SourceKind.TERRAIN:
        return read_terrain(spec)
    if spec.kind is SourceKind.LAND_COVER:
        return read_land_cover(spec, clip_lonlat)
    if spec.kind is SourceKind.AREA:
        return read_area(spec)
    if spec.kind is SourceKind.PERSONS:
        return read_structures(spec, _person(spec), clip_lonlat)
    return _READERS[spec.kind](spec, clip_lonlat=clip_lonlat)


def _person(spec: SourceSpec) -> Presence:
    if not spec.presence:
        return Presence.PERSON
    try:
        return Presence(spec.presence)
    except ValueError:
        raise InputError.single(
            ", ".join(spec.names),
            f"{spec.key}.count_as",
            found=spec.presence,
            expected=f"one of {', '.join(Presence)}",
            fix="correct the word",
        ) from None


def _empty_layer(spec: SourceSpec) -> Layer[Any]:
    if spec.kind in (SourceKind.AREA, SourceKind.TERRAIN, SourceKind.LAND_COVER):
        raise InputError.single(
            str(spec.kind),
            f"{spec.key}.none_because",
            found="a project without it",
            expected=f"files for {spec.kind}",
            fix="name the files",
        )
    note = "declared to be none by a person; no data were read"
    gathered = Gathered(features=(), sha256=(), rows_read=0, rows_rejected=0, notes=(note,))
    return make_layer(evolve(spec, edition=spec.none_because), gathered, ())
