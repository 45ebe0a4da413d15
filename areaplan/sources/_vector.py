"""GeoJSON, GeoPackage, KML and shapefiles to checked features in WGS 84 longitude/latitude."""

from __future__ import annotations

import re
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.errors import Fault, InputError
from areaplan.sources._coordinates import parse_crs, strict_transformer, to_lonlat
from areaplan.sources._environment import load_pyogrio
from areaplan.sources._features import Feature, FeatureTable, cut_names_note, feature_label
from areaplan.sources._files import (
    MAX_ROWS,
    library_faults,
    raise_faults,
    require_file,
    sha256_of,
)
from areaplan.sources._formats import FORMATS, SAVE_AGAIN, Format, check_container
from areaplan.sources._geometry_checks import checked_geometries, vertex_heights
from areaplan.sources._text import clean_name, shown

if TYPE_CHECKING:
    from pyproj import Transformer

# Larger layers are clipped while they are read; smaller ones are read and checked whole, so that a
# feature with wrong coordinates is found and not merely left out.
CLIP_ABOVE_ROWS: Final = 100_000
# Columns by which exports of OpenStreetMap are known.
_OPENSTREETMAP_COLUMNS: Final = frozenset({"osm_id", "osm_way_id", "@id"})
LonLatBox = tuple[float, float, float, float]


def read_vector(
    path: Path,
    name: str,
    *,
    dimensions: frozenset[int],
    layer: str = "",
    clip_lonlat: LonLatBox | None = None,
) -> FeatureTable:
    """Read and check every feature of a vector file.

    Parameters
    ----------
    path : Path
        GeoJSON, GeoPackage, KML or shapefile.
    name : str
        The path as the project writes it.
    dimensions : frozenset of int
        Kinds of geometry accepted: 0 points, 1 lines, 2 polygons.
    layer : str
        Layer to read. With "", all folders of a KML file are read; any other file must then have
        a single layer.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: features outside may be left unread in a large file.

    Returns
    -------
    FeatureTable
        In file order; geometries are plane, the heights of their vertices are kept as a range.

    Raises
    ------
    InputError
        The file is missing, damaged, empty or too large, states no coordinate reference system,
        or a feature's geometry is not usable; every bad feature is named.
    """
    require_file(path, name)
    kind = _format_of(path, name)
    parts = check_container(path, name, kind)
    pyogrio = load_pyogrio()
    with library_faults(name, path, expected=f"a {kind.words} file", fix=SAVE_AGAIN) as warned:
        listed = [(str(row[0]), row[1] is not None) for row in pyogrio.list_layers(path)]
    present = [each for each, _ in listed]
    with_geometry = [each for each, has_geometry in listed if has_geometry]
    layers = _chosen_layers(present if layer else with_geometry or present, layer, name, kind)
    tables = [
        _read_layer(
            _Layer(path, name, chosen, chosen if len(present) > 1 else "", kind),
            dimensions,
            clip_lonlat,
        )
        for chosen in layers
    ]
    raise_faults([fault for table in tables for fault in table.faults])
    rows_read = sum(table.rows_read for table in tables)
    if rows_read == 0:
        raise InputError.single(
            name,
            "",
            found="it holds no features",
            expected="at least one feature",
            fix="give the right file; where there are none on the ground, write "
            'none_because = "who looked and when" instead of files',
        )
    notes = [*warned, *(note for table in tables for note in table.notes)]
    unread = [clean_name(other) for other in present if other not in layers]
    if unread:
        notes.append(f"{name}: layers not read: {', '.join(unread)}")
    features = tuple(feature for table in tables for feature in table.features)
    notes += cut_names_note(name, features)
    return FeatureTable(features, sha256_of(parts), rows_read, tuple(dict.fromkeys(notes)))


@frozen
class _Layer:
    """Where one layer is: file, its name in the project, layer, its label and the format."""

    path: Path
    file: str
    layer: str
    label: str
    kind: Format

    def reading(self) -> AbstractContextManager[list[str]]:
        expected = f"a {self.kind.words} file that can be read to its end"
        return library_faults(self.file, self.path, expected=expected, fix=SAVE_AGAIN)

    def error(self, found: str, expected: str, fix: str) -> InputError:
        return InputError.single(self.file, self.label, found=found, expected=expected, fix=fix)


@frozen(eq=False)
class _LayerTable:
    """What one layer gave; no features when there is a fault."""

    rows_read: int
    features: tuple[Feature, ...] = ()
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()


@frozen(eq=False)
class _RawRows:
    """Rows of one layer as GDAL gives them, see `_attribute_rows`; geometries as WKB."""

    attributes: list[dict[str, object]]
    clashes: dict[int, str]
    references: list[str]
    blobs: NDArray[Any]


def _read_layer(
    source: _Layer, dimensions: frozenset[int], clip_lonlat: LonLatBox | None
) -> _LayerTable:
    pyogrio = load_pyogrio()
    with source.reading():
        info = pyogrio.read_info(source.path, layer=source.layer, force_feature_count=True)
    count = int(info["features"])
    if info["driver"] not in source.kind.drivers:
        found = f"its content is {shown(str(info['driver']))}"
        raise source.error(found, f"a {source.kind.words} file", SAVE_AGAIN)
    if count > MAX_ROWS:
        fix = "clip the file to the country around the practice area"
        raise source.error(f"{count:,} features", f"at most {MAX_ROWS:,}", fix)
    if count == 0:
        return _LayerTable(0)
    crs = parse_crs(info["crs"], source.file, source.label, source.kind.missing_crs_fix)
    transformer = strict_transformer(crs, source.file, source.label)
    box = _clip_box(transformer, clip_lonlat) if count > CLIP_ABOVE_ROWS else None
    with source.reading() as notes:
        meta, fids, blobs, columns = pyogrio.raw.read(
            source.path, layer=source.layer, bbox=box, return_fids=True
        )
    if blobs is None:  # a table without a geometry column
        blobs = np.full(len(fids), None, dtype=object)
    if box is not None:
        notes.append(
            f"{source.file}: {count - len(blobs):,} of {count:,} features lie outside the "
            "evaluated region and were not read"
        )
    elif len(blobs) != count:
        found = f"{len(blobs)} of {count} features could be read"
        raise source.error(found, "a file that can be read to its end", SAVE_AGAIN)
    rows, clashes = _attribute_rows([str(field) for field in meta["fields"]], columns, len(blobs))
    # In a clipped layer the position in the file is not known, but its identifier is.
    references = ["" if box is None else f"id {fid}" for fid in fids.tolist()]
    raw = _RawRows(rows, clashes, references, blobs)
    features, faults = _checked_features(source, raw, transformer, dimensions)
    return _LayerTable(count, features, faults, tuple(notes))


def _clip_box(transformer: Transformer, clip_lonlat: LonLatBox | None) -> LonLatBox | None:
    """Clip box in the coordinates of the layer; None where it cannot be expressed in them."""
    if clip_lonlat is None:
        return None
    bounds: LonLatBox = transformer.transform_bounds(*clip_lonlat)
    return bounds if np.isfinite(bounds).all() else None


def _checked_features(
    source: _Layer, raw: _RawRows, transformer: Transformer, dimensions: frozenset[int]
) -> tuple[tuple[Feature, ...], tuple[Fault, ...]]:
    def fault_at(index: int, found: str, expected: str, fix: str) -> Fault:
        name = clean_name(raw.attributes[index].get("name"))
        which = raw.references[index] or f"feature {index + 1}"
        label = feature_label(source.label, which, name)
        return Fault(source.file, label, found, expected, fix)

    geometries, faults = checked_geometries(
        raw.blobs, lambda xy: to_lonlat(transformer, xy), dimensions, fault_at
    )
    faults += [
        fault_at(
            index,
            f"it has two values for {key}, under names that differ only in capitals",
            "one value",
            "delete one of the two columns",
        )
        for index, key in raw.clashes.items()
    ]
    if faults:
        return (), tuple(faults)
    # Only KML says from what the heights of its vertices are measured.
    has_heights = source.kind is FORMATS[".kml"]
    heights = vertex_heights(raw.blobs) if has_heights else [None] * len(raw.blobs)
    columns = raw.attributes[0] if raw.attributes else {}
    is_openstreetmap = not _OPENSTREETMAP_COLUMNS.isdisjoint(columns)
    features = (
        Feature(
            source.file,
            source.label,
            number,
            row,
            geometry,
            is_openstreetmap,
            raw.references[number - 1],
            origin=clean_name(source.label),
            vertex_heights_m=height_range,
        )
        for number, (row, geometry, height_range) in enumerate(
            zip(raw.attributes, geometries, heights, strict=True), start=1
        )
    )
    return tuple(features), ()


def _attribute_rows(
    fields: list[str], columns: list[NDArray[Any]], count: int
) -> tuple[list[dict[str, object]], dict[int, str]]:
    """Columns to one mapping a row, names in lower case.

    Also the rows in which two columns, whose names differ only in capitals, disagree. Of two names
    the first counts: KML has one of its own beside those that a person adds.
    """
    rows: list[dict[str, object]] = [{} for _ in range(count)]
    clashes: dict[int, str] = {}
    for field, column in zip(fields, columns, strict=True):
        key = field.strip().lower()
        for index, value in enumerate(column.tolist()):
            is_missing = value is None or (isinstance(value, float) and np.isnan(value))
            earlier = rows[index].get(key)
            if earlier is None:
                rows[index][key] = None if is_missing else value
            elif not is_missing and key != "name" and str(earlier) != str(value):
                clashes[index] = key
    return rows, clashes


def _format_of(path: Path, name: str) -> Format:
    kind = FORMATS.get(path.suffix.lower())
    if kind is None:
        raise InputError.single(
            name,
            "",
            found=f"the ending {shown(path.suffix)} is not known",
            expected=f"one of {', '.join(FORMATS)}",
            fix="save the data as GeoJSON or GeoPackage (unpack an archive first)",
        )
    return kind


def _chosen_layers(present: list[str], wanted: str, name: str, kind: Format) -> list[str]:
    names = ", ".join(clean_name(layer) for layer in present)
    if wanted:
        # GDAL numbers folders of the same name: "Farms", "Farms (#2)".
        same = re.compile(re.escape(wanted) + r"( \(#\d+\))?")
        chosen = [layer for layer in present if same.fullmatch(layer)]
        if not chosen:
            raise InputError.single(
                name,
                "",
                found=f"there is no layer {shown(wanted)}",
                expected=f"one of: {names}",
                fix="correct the layer's name in the project file",
            )
        return chosen
    if len(present) > 1 and not kind.reads_all_layers:
        raise InputError.single(
            name,
            "",
            found=f"it has {len(present)} layers: {names}",
            expected="the name of one of them",
            fix='add layer = "..." to the source in the project file',
        )
    return present
