"""OpenStreetMap extracts (.osm, .pbf) to features, by the kind of source that asks.

Which tags count is data in `_SELECTIONS`. power=line, power=minor_line, power=tower, power=pole
and communication=line are as the OpenStreetMap wiki describes them; the other keys are from memory
of the same wiki. Underground cables are left out.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray

from areaplan.errors import InputError
from areaplan.sources._environment import load_pyogrio
from areaplan.sources._features import Feature, FeatureTable, cut_names_note, feature_label
from areaplan.sources._files import MAX_ROWS, library_faults, require_file, sha256_of
from areaplan.sources._formats import SAVE_AGAIN, check_xml
from areaplan.sources._text import clean_name
from areaplan.sources._vector import LonLatBox
from areaplan.sources.layers import SourceKind

_ENDINGS: Final = frozenset({".osm", ".pbf"})
_CONFIG: Final = Path(__file__).with_name("openstreetmap.ini")
_NAMED_ROWS: Final = 20
_TALL: Final = (
    "\"man_made\" IN ('mast', 'tower', 'communications_tower', 'chimney', 'water_tower', 'silo', "
    "'windmill', 'cooling_tower', 'flare', 'crane', 'antenna', 'gasometer')"
)
_WIND_TURBINE: Final = "\"generator:source\" = 'wind'"
_BUILDING: Final = '("building" IS NOT NULL AND "building" <> \'no\')'
_ABOVE_GROUND: Final = (
    "(\"location\" IS NULL OR \"location\" NOT IN ('underground', 'underwater', 'indoor')) "
    'AND "tunnel" IS NULL'
)
_WIRE: Final = (
    "(\"power\" IN ('line', 'minor_line') OR \"communication\" = 'line' OR (\"aerialway\" IS NOT "
    "NULL AND \"aerialway\" NOT IN ('station', 'pylon', 'magic_carpet')))"
)
_ROAD: Final = (
    "((\"highway\" IS NOT NULL AND \"highway\" NOT IN ('proposed', 'construction', 'razed', "
    "'abandoned', 'platform', 'corridor', 'elevator')) OR \"railway\" IN ('rail', 'light_rail', "
    "'narrow_gauge', 'preserved', 'tram', 'funicular'))"
)
_RAIL: Final = "\"railway\" IN ('rail', 'light_rail', 'narrow_gauge', 'preserved', 'disused')"
# What stands out from the air: hedges and rows of trees as well as fences.
_FENCE: Final = "\"barrier\" IN ('fence', 'wall', 'hedge') OR \"natural\" = 'tree_row'"
_CANAL: Final = "\"waterway\" IN ('canal', 'ditch', 'drain') AND \"tunnel\" IS NULL"
_LANDMARK: Final = (
    "\"man_made\" IN ('silo', 'storage_tank', 'water_tower', 'windmill', 'windpump', 'chimney', "
    "'tower', 'mast', 'lighthouse', 'gasometer') OR \"building\" IN ('church', 'chapel', 'silo', "
    "'barn', 'water_tower')"
)
_POINT_OBSTACLE: Final = (
    f"{_TALL} OR {_WIND_TURBINE} OR \"power\" IN ('tower', 'pole', 'portal') "
    "OR \"aerialway\" = 'pylon'"
)
# For each kind of source: layer of GDAL's OSM driver and the condition on its columns.
_SELECTIONS: Final = {
    SourceKind.STRUCTURES: (
        ("points", f"{_BUILDING} OR {_TALL} OR {_WIND_TURBINE}"),
        ("lines", f"{_BUILDING} OR {_TALL}"),  # outlines that nobody closed still stand there
        ("multipolygons", f"{_BUILDING} OR {_TALL} OR {_WIND_TURBINE}"),
    ),
    SourceKind.OBSTACLES: (
        ("points", _POINT_OBSTACLE),
        ("multipolygons", f"{_TALL} OR {_WIND_TURBINE}"),
    ),
    SourceKind.WIRES: (("lines", f"{_WIRE} AND {_ABOVE_GROUND}"),),
    SourceKind.ROADS: (("lines", _ROAD),),
    SourceKind.WOODS: (("multipolygons", "\"landuse\" = 'forest' OR \"natural\" = 'wood'"),),
    SourceKind.RAILS: (("lines", _RAIL),),
    SourceKind.FENCES: (("lines", _FENCE),),
    SourceKind.CANALS: (("lines", _CANAL),),
    SourceKind.LANDMARKS: (
        ("points", f"{_LANDMARK} OR \"natural\" = 'tree'"),
        ("multipolygons", _LANDMARK),
    ),
}
_CAVEATS: Final = {
    SourceKind.OBSTACLES: "most masts and poles below 200 ft are in no map",
    SourceKind.WIRES: "small and roadside distribution lines are mostly not mapped",
    SourceKind.STRUCTURES: "many buildings are not mapped",
    SourceKind.ROADS: "tracks and new roads may not be mapped",
    SourceKind.WOODS: "small woods and rows of trees are mostly not mapped",
    SourceKind.RAILS: "sidings may not be mapped, and disused lines may be overgrown",
    SourceKind.FENCES: "most fences and hedges are not mapped",
    SourceKind.CANALS: "small ditches are mostly not mapped",
    SourceKind.LANDMARKS: "most trees and silos are not mapped",
}


def is_openstreetmap_file(path: Path) -> bool:
    """Whether a path ends as OpenStreetMap extracts do."""
    return path.suffix.lower() in _ENDINGS


def read_openstreetmap(
    path: Path, name: str, kind: SourceKind, *, clip_lonlat: LonLatBox | None = None
) -> FeatureTable:
    """Read the features of one kind from an OpenStreetMap extract.

    Parameters
    ----------
    path : Path
        A .osm (XML) or .pbf file.
    name : str
        The path as the project writes it.
    kind : SourceKind
        One of `_SELECTIONS`.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: features wholly outside are not read.

    Returns
    -------
    FeatureTable
        Attributes are the tags of the object. An outline that crosses itself is replaced by its
        convex hull, which is larger, and named in the notes; an object without a usable geometry
        is rejected and named.

    Raises
    ------
    InputError
        The file is missing, damaged or too large, or the kind cannot come from a map.

    Notes
    -----
    `rows_read` counts the objects whose tags match, inside the clip box. Relations that miss
    members at the edge of an extract are left out by GDAL without a count.
    """
    if kind not in _SELECTIONS:
        raise InputError.single(
            name,
            "",
            found=f"an OpenStreetMap extract given for {kind}",
            expected=f"OpenStreetMap for {', '.join(_SELECTIONS)} only",
            fix="draw these by hand and save them as GeoJSON",
        )
    require_file(path, name)
    _check_mark(path, name)
    batches = [
        _read_batch(path, name, layer, where, clip_lonlat) for layer, where in _SELECTIONS[kind]
    ]
    rows_read = sum(len(batch.tags) for batch in batches)
    if rows_read > MAX_ROWS:
        raise InputError.single(
            name,
            "",
            found=f"{rows_read:,} objects",
            expected=f"at most {MAX_ROWS:,}",
            fix="clip the file to the country around the practice area",
        )
    features: list[Feature] = []
    hulls: list[str] = []
    rejected: list[str] = []
    for batch in batches:
        _use_batch(batch, name, features, hulls, rejected)
    where_read = " inside the evaluated region" if clip_lonlat else ""
    notes = [
        f"{name}: {rows_read:,} OpenStreetMap objects match {kind}{where_read}; "
        f"{_CAVEATS[kind]}, so a gap in the map means nothing"
    ]
    if hulls:
        notes.append(
            f"{name}: outlines that cross themselves, widened to their hull: {_some(hulls)}"
        )
    if rejected:
        notes.append(
            f"{name}: {len(rejected)} objects have no usable geometry and are missing: "
            f"{_some(rejected)}"
        )
    notes += [note for batch in batches for note in batch.notes]
    notes += cut_names_note(name, features)
    return FeatureTable(
        tuple(features), sha256_of([path]), rows_read, tuple(dict.fromkeys(notes)), len(rejected)
    )


@frozen(eq=False)
class _Batch:
    """What one layer of the driver gave: tags, identifiers, geometries, warnings."""

    tags: list[dict[str, object]]
    references: list[str]
    geometries: NDArray[Any]
    notes: list[str]


def _read_batch(
    path: Path, name: str, layer: str, where: str, clip_lonlat: LonLatBox | None
) -> _Batch:
    pyogrio = load_pyogrio()
    expected = "an OpenStreetMap extract that can be read to its end"
    with library_faults(name, path, expected=expected, fix="get the extract again") as notes:
        meta, _, blobs, columns = pyogrio.raw.read(
            path, layer=layer, where=where, bbox=clip_lonlat, CONFIG_FILE=str(_CONFIG)
        )
    fields = [str(field) for field in meta["fields"]]
    values = [column.tolist() for column in columns]
    tags: list[dict[str, object]] = [
        dict(zip(fields, row, strict=True)) for row in zip(*values, strict=True)
    ]
    geometries = shapely.force_2d(
        shapely.from_wkb(np.asarray(blobs, dtype=object), on_invalid="ignore")
    )
    return _Batch(tags, [_reference(layer, row) for row in tags], geometries, notes)


def _use_batch(
    batch: _Batch, name: str, features: list[Feature], hulls: list[str], rejected: list[str]
) -> None:
    for tags, reference, geometry in zip(
        batch.tags, batch.references, batch.geometries, strict=True
    ):
        label = feature_label("", reference, clean_name(tags.get("name")))
        if geometry is None or geometry.is_empty or not _is_on_earth(geometry):
            rejected.append(label)
            continue
        usable = geometry
        if not shapely.is_valid(geometry):
            usable = geometry.convex_hull
            hulls.append(label)
        if shapely.get_dimensions(usable) != shapely.get_dimensions(geometry):
            rejected.append(label)
            continue
        features.append(
            Feature(
                name,
                "",
                len(features) + 1,
                tags,
                usable,
                is_openstreetmap=True,
                reference=reference,
            )
        )


def _reference(layer: str, tags: dict[str, object]) -> str:
    if layer == "points":
        return f"node/{tags['osm_id']}"
    if layer == "lines":
        return f"way/{tags['osm_id']}"
    way = tags.get("osm_way_id")
    return f"way/{way}" if way else f"relation/{tags['osm_id']}"


def _is_on_earth(geometry: Any) -> bool:
    lonlat = shapely.get_coordinates(geometry)
    return bool((np.abs(lonlat) <= (180.0, 90.0)).all())


def _some(labels: list[str]) -> str:
    more = len(labels) - _NAMED_ROWS
    return ", ".join(labels[:_NAMED_ROWS]) + (f" and {more} more" if more > 0 else "")


def _check_mark(path: Path, name: str) -> None:
    with path.open("rb") as stream:
        head = stream.read(64)
    is_xml = path.suffix.lower() == ".osm"
    # A PBF file starts with the length of a header whose type is "OSMHeader" (OpenStreetMap wiki,
    # "PBF Format").
    if not (
        head.lstrip(b"\xef\xbb\xbf \r\n\t").startswith(b"<") if is_xml else b"OSMHeader" in head
    ):
        raise InputError.single(
            name,
            "",
            found="its first bytes are not those of an OpenStreetMap extract",
            expected="a .osm (XML) or .pbf file",
            fix=SAVE_AGAIN,
        )
    if is_xml:
        check_xml(path, name)
