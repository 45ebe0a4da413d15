"""Obstacle tables: the government file in both forms, a plain table, drawn points, a map."""

from __future__ import annotations

from typing import Final

import shapely
from attrs import evolve

from areaplan.errors import InputError
from areaplan.geodesy import distance_and_bearing
from areaplan.sources._aixm_obstacles import read_aixm_obstacles
from areaplan.sources._aixm_xml import is_aixm_file
from areaplan.sources._assembly import Gathered, clip_for, make_layer
from areaplan.sources._columns import stated_top_m, text_of
from areaplan.sources._features import Feature, FeatureTable
from areaplan.sources._obstacle_files import ObstacleTable, read_csv, read_dat
from areaplan.sources._obstacle_rows import PLAIN_COLUMNS, RowError, plain_obstacle
from areaplan.sources._openstreetmap import is_openstreetmap_file, read_openstreetmap
from areaplan.sources._vector import LonLatBox, read_vector
from areaplan.sources.layers import Layer, Obstacle
from areaplan.sources.obstacle_accuracy import DEFAULT_HORIZONTAL_M, DEFAULT_VERTICAL_M
from areaplan.sources.spec import SourceSpec
from areaplan.sources.vertical_datum import orthometric_name
from areaplan.units import FOOT_M

_POINTS: Final = frozenset({0})
_NAMED_ROWS: Final = 100
_SHAPEFILE_NAME_CHARS: Final = 10  # dBASE III field names


def read_obstacles(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[Obstacle]:
    """Read one or more obstacle tables.

    By its ending a file is the fixed-width government file (.dat), a table (.csv: the published
    form or the plain one, see `areaplan.sources._obstacle_files.read_csv`), an AIXM message (.xml,
    see `areaplan.sources._aixm_obstacles.read_aixm_obstacles`), an OpenStreetMap extract (.osm,
    .pbf) or a vector file of points whose attributes have the names of the plain table's columns.

    Parameters
    ----------
    spec : SourceSpec
        Its `default_height_m` is needed for OpenStreetMap objects without a height.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: rows outside may be left unread in large vector files
        and OpenStreetMap extracts.

    Returns
    -------
    Layer of Obstacle
        In file order. A row that cannot be used is counted in `rows_rejected` and named in the
        notes, which then say that obstacles may be missing. Dismantled obstacles are left out and
        counted in the notes, so `rows_read` may exceed `rows_used` plus `rows_rejected`. Accuracy
        that is not stated is taken as 250 ft and 50 ft (FAA OE/AAA, "Survey Accuracy").

    Raises
    ------
    InputError
        A file is not usable, more than half of its rows are not, or a declared vertical datum is
        not one of heights above mean sea level.
    """
    if spec.vertical_datum:
        orthometric_name(spec.vertical_datum, ", ".join(spec.names), f"{spec.key}.vertical_datum")
    tables = [_read_file(spec, index, clip_lonlat) for index in range(len(spec.paths))]
    rows = [row for table in tables for row in table.rows]
    notes = [note for table in tables for note in table.notes]
    unknown = sum(not row.accuracy_is_known for row in rows)
    if unknown:
        notes.append(
            f"accuracy of {unknown} of {len(rows)} rows is not stated: at least "
            f"{DEFAULT_HORIZONTAL_M / FOOT_M:.0f} ft horizontally and "
            f"{DEFAULT_VERTICAL_M / FOOT_M:.0f} ft vertically assumed"
        )
    days = [table.effective for table in tables if table.effective]
    effective = min(days, default=None)
    if effective and spec.effective and effective != spec.effective:
        notes.append(
            f"the project says effective {spec.effective.isoformat()}, the file's currency date is "
            f"{effective.isoformat()}"
        )
    gathered = Gathered(
        features=(),
        sha256=tuple(table.sha256 for table in tables),
        rows_read=sum(table.rows_read for table in tables),
        rows_rejected=sum(len(table.rejected) for table in tables),
        notes=tuple(notes),
    )
    return make_layer(spec, gathered, rows, effective=effective)


def _read_file(spec: SourceSpec, index: int, clip_lonlat: LonLatBox | None) -> ObstacleTable:
    path, name = spec.paths[index], spec.names[index]
    ending = path.suffix.lower()
    box = clip_for(spec, clip_lonlat)
    if ending == ".dat":
        table = read_dat(path, name)
    elif ending in (".csv", ".txt"):
        table = read_csv(path, name)
    elif is_aixm_file(path):
        table = read_aixm_obstacles(path, name, spec.day)
    elif is_openstreetmap_file(path):
        table = _map_table(spec, read_openstreetmap(path, name, spec.kind, clip_lonlat=box))
    else:
        table = _vector_table(
            read_vector(path, name, dimensions=_POINTS, layer=spec.layer, clip_lonlat=box)
        )
    if table.rows_read == 0 and not is_openstreetmap_file(path):
        raise InputError.single(
            name,
            "",
            found="it holds no rows",
            expected="at least one obstacle",
            fix="give the right file; where there are none on the ground, write "
            'none_because = "who looked and when" instead of files',
        )
    if 2 * len(table.rejected) > table.rows_read:
        raise InputError.single(
            name,
            "",
            found=f"{len(table.rejected)} of {table.rows_read} rows cannot be used "
            f"({table.rejected[0]})",
            expected="an obstacle table of which most rows are sound",
            fix="get the file again; a damaged table must not pass for a country without obstacles",
        )
    return evolve(table, notes=table.notes + _loss_notes(name, table))


def _loss_notes(name: str, table: ObstacleTable) -> tuple[str, ...]:
    notes: list[str] = []
    if table.rejected:
        more = len(table.rejected) - _NAMED_ROWS
        notes.append(
            f"{name}: {len(table.rejected)} rows could not be used, so as many obstacles may be "
            f"missing: {'; '.join(table.rejected[:_NAMED_ROWS])}"
            + (f"; and {more} more" if more > 0 else "")
        )
    if table.dismantled:
        notes.append(f"{name}: {table.dismantled} rows are of dismantled obstacles and left out")
    return tuple(notes)


def _vector_table(table: FeatureTable) -> ObstacleTable:
    rows: list[Obstacle] = []
    rejected: list[str] = []
    for feature in table.features:
        try:
            rows.append(_drawn_obstacle(feature))
        except RowError as fault:
            rejected.append(f"{feature.label}: {fault}")
    return ObstacleTable(tuple(rows), tuple(rejected), table.sha256, notes=table.notes)


def _drawn_obstacle(feature: Feature) -> Obstacle:
    points = shapely.get_coordinates(feature.geometry)
    if len(points) != 1:
        raise RowError(f"{len(points)} points in one feature; draw one obstacle a point")
    row = {column: _attribute(feature, column) for column in PLAIN_COLUMNS}
    lon, lat = points[0].tolist()
    return plain_obstacle(row, lat, lon, feature.name_or("obstacle"))


def _attribute(feature: Feature, column: str) -> object:
    """Value of a column, also under the name to which a shapefile cuts it."""
    value = feature.attributes.get(column)
    cut = column[:_SHAPEFILE_NAME_CHARS]
    if value is None and [other[: len(cut)] for other in PLAIN_COLUMNS].count(cut) == 1:
        value = feature.attributes.get(cut)
    return value


def _map_table(spec: SourceSpec, table: FeatureTable) -> ObstacleTable:
    """Objects of a map: no accuracy is stated, so the default, from the whole of an outline."""
    tops = [stated_top_m(feature) for feature in table.features]
    missing = tops.count(None)
    if missing and spec.default_height_m is None:
        raise InputError.single(
            ", ".join(spec.names),
            f"{spec.key}.default_height",
            found=f"{missing} of {len(tops)} objects of the map state no height",
            expected="a default height for them",
            fix=f'add default_height = "150 ft" (or what fits) to {spec.key or "the source"}',
        )
    rows: list[Obstacle] = []
    for feature, top_m in zip(table.features, tops, strict=True):
        centre = feature.geometry.centroid
        vertices = shapely.get_coordinates(feature.geometry)
        reach_m = max(
            distance_and_bearing(centre.y, centre.x, lat, lon)[0] for lon, lat in vertices
        )
        kind = text_of(feature, "man_made", "power", "aerialway", "generator:source", max_chars=40)
        obstacle = plain_obstacle(
            {
                "name": feature.name_or(kind),
                "kind": kind,
                "top_agl_m": spec.default_height_m if top_m is None else top_m,
                "horizontal_accuracy_m": DEFAULT_HORIZONTAL_M + reach_m,
            },
            centre.y,
            centre.x,
            kind,
        )
        rows.append(obstacle)
    notes = list(table.notes)
    if missing and spec.default_height_m is not None:
        height_ft = spec.default_height_m / FOOT_M
        notes.append(
            f"{missing} of {len(tops)} objects of the map state no height: {height_ft:.0f} ft "
            "above ground assumed"
        )
    return ObstacleTable(tuple(rows), (), table.sha256, notes=tuple(notes))
