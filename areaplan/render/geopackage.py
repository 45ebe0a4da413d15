"""GeoPackage with every layer, its style, and the words beside the data.

References
----------
OGC 12-128r18, *GeoPackage Encoding Standard*, version 1.3. The table `layer_styles` is a convention
of GIS programs, not of the standard; it carries SLD 1.0 texts.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from areaplan.render.export_notes import ExportNotes
from areaplan.render.export_table import Table, Value
from areaplan.render.sld import sld_text
from areaplan.sources._environment import load_pyogrio

VERSION: Final = "1.3"
_CRS: Final = "EPSG:4326"
_KINDS: Final[Mapping[type, Any]] = {
    str: np.dtype(object),
    int: np.dtype(np.int64),
    float: np.dtype(np.float64),
    bool: np.dtype(np.bool_),
}


def geopackage_bytes(tables: Sequence[Table], notes: ExportNotes) -> bytes:
    """Write layers as one GeoPackage 1.3.

    Parameters
    ----------
    tables : sequence of Table
        A layer each, longitude/latitude on WGS 84.
    notes : ExportNotes
        Kept as the table `notes` and as metadata of the file; its day is the time of change.

    Returns
    -------
    bytes
        The same for the same content and libraries.
    """
    pyogrio = load_pyogrio()
    with tempfile.TemporaryDirectory(prefix="areaplan-") as folder, _clock(notes):
        path = Path(folder) / "export.gpkg"
        for table in tables:
            _write_layer(pyogrio, path, table, notes)
        _write_rows(pyogrio, path, "notes", {"line": str}, [(line,) for line in notes.lines()])
        _write_rows(pyogrio, path, "layer_styles", _STYLE_COLUMNS, _style_rows(tables, notes))
        return path.read_bytes()


@contextmanager
def _clock(notes: ExportNotes) -> Iterator[None]:
    """Let GDAL write the day judged where it would write today's time."""
    pyogrio = load_pyogrio()
    before = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options(
        {"OGR_CURRENT_DATE": notes.made.strftime("%Y-%m-%dT%H:%M:%S.000Z")}
    )
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": before})


def _write_layer(pyogrio: Any, path: Path, table: Table, notes: ExportNotes) -> None:
    kind, shapes = _one_kind(table.geometries)
    note = f"{table.note}. " if table.note else ""
    pyogrio.raw.write(
        path,
        shapely.to_wkb(np.asarray(shapes, dtype=object)),
        *_fields(table.columns, table.rows),
        layer=table.name,
        driver="GPKG",
        geometry_type=kind,
        crs=_CRS,
        append=path.exists(),
        layer_options={
            "IDENTIFIER": table.title,
            "DESCRIPTION": f"{note}{' '.join(notes.cautions)}",
        },
        dataset_metadata=None if path.exists() else _metadata(notes),
        dataset_options=None if path.exists() else {"VERSION": VERSION},
    )


def _write_rows(
    pyogrio: Any,
    path: Path,
    layer: str,
    columns: Mapping[str, type],
    rows: Sequence[tuple[Value, ...]],
) -> None:
    """A table without geometry."""
    pyogrio.raw.write(
        path,
        None,
        *_fields(columns, rows),
        layer=layer,
        driver="GPKG",
        append=True,
        layer_options={"FID": "id", "ASPATIAL_VARIANT": "GPKG_ATTRIBUTES"},
    )


def _fields(
    columns: Mapping[str, type], rows: Sequence[tuple[Value, ...]]
) -> tuple[list[NDArray[Any]], NDArray[Any], list[NDArray[np.bool_]]]:
    """Field data, names and masks (True: null) as pyogrio takes them."""
    data, masks = [], []
    for place, kind in enumerate(columns.values()):
        values = [row[place] for row in rows]
        masks.append(np.array([value is None for value in values], dtype=np.bool_))
        filled = [kind() if value is None else value for value in values]
        data.append(np.array(filled, dtype=_KINDS[kind]))
    return data, np.array(list(columns), dtype=object), masks


def _one_kind(
    shapes: Sequence[shapely.geometry.base.BaseGeometry],
) -> tuple[str, list[shapely.geometry.base.BaseGeometry]]:
    """Geometry type of a layer: plain, multi where some are, unknown where dimensions differ."""
    kinds = {shape.geom_type for shape in shapes}
    if len(kinds) == 1:
        return kinds.pop(), list(shapes)
    multi: dict[str, Any] = {
        "Point": shapely.MultiPoint,
        "LineString": shapely.MultiLineString,
        "Polygon": shapely.MultiPolygon,
    }
    bases = {kind.removeprefix("Multi") for kind in kinds}
    if len(bases) > 1:
        return "Unknown", list(shapes)
    base = bases.pop()
    grown = [multi[base]([shape]) if shape.geom_type == base else shape for shape in shapes]
    return f"Multi{base}", grown


def _metadata(notes: ExportNotes) -> dict[str, str]:
    told = notes.as_json()
    words = {
        key: value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
        for key, value in told.items()
    }
    return {key.upper(): value for key, value in words.items()}


_STYLE_COLUMNS: Final[Mapping[str, type]] = {
    "f_table_catalog": str,
    "f_table_schema": str,
    "f_table_name": str,
    "f_geometry_column": str,
    "styleName": str,
    "styleQML": str,
    "styleSLD": str,
    "useAsDefault": bool,
    "description": str,
    "owner": str,
    "ui": str,
    "update_time": str,
}


def _style_rows(tables: Sequence[Table], notes: ExportNotes) -> list[tuple[Value, ...]]:
    time = notes.made.strftime("%Y-%m-%dT%H:%M:%S.000Z")
    return [
        (
            "",
            "",
            table.name,
            "geom",
            "areaplan",
            "",
            sld_text(table),
            True,
            table.title,
            "",
            None,
            time,
        )
        for table in tables
    ]
