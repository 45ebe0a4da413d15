"""Layers of an export as GPX: points as waypoints, routes, lines and outlines as tracks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import shapely

from areaplan.render.export_notes import ExportNotes
from areaplan.render.export_table import Table, value_words
from areaplan.render.gpx import CLOSED_TRACK, GpxPoint, GpxRoute, GpxTrack, gpx_bytes, outline_track

_LEFT_OUT: Final = (
    "The classes of the cells are left out: GPX can't say which side of a line is which. Heights "
    "stand in the descriptions."
)


def plan_gpx(tables: Sequence[Table], notes: ExportNotes) -> bytes:
    """Write layers as one GPX document; the classes of the cells are left out, and it says so.

    Parameters
    ----------
    tables : sequence of Table
    notes : ExportNotes
        Become the file's description, and its day the time.
    """
    waypoints: list[GpxPoint] = []
    routes: list[GpxRoute] = []
    tracks: list[GpxTrack] = []
    places = {
        (shape.x, shape.y): str(row["name"])
        for table in tables
        if table.name == "gates"
        for row, shape in table.records()
        if isinstance(shape, shapely.Point)
    }
    for table in tables:
        if table.style == "classes":
            continue
        note = f" {table.note}." if table.note else ""
        for values, geometry in table.records():
            name = str(values["name"])
            told = [value_words(key, value) for key, value in values.items() if key != "name"]
            words = "; ".join(text for text in told if text)
            description = f"{words}.{note}" if words else note.strip()
            for part in _by_dimension(geometry):
                if shapely.get_dimensions(part) == 0:
                    waypoints += [
                        GpxPoint(lat, lon, name=name, description=description, kind=table.title)
                        for lon, lat in shapely.get_coordinates(part).tolist()
                    ]
                elif table.name == "routes":
                    points = _named_points(part, places)
                    routes.append(GpxRoute(name, points, description, table.title))
                else:
                    tracks.append(outline_track(name, part, description, table.title))
    return gpx_bytes(
        title=notes.title,
        description="\n".join(
            (*notes.cautions, CLOSED_TRACK, _LEFT_OUT, *notes.lines()[len(notes.cautions) :])
        ),
        made=notes.made,
        waypoints=waypoints,
        routes=routes,
        tracks=tracks,
    )


def _by_dimension(
    geometry: shapely.geometry.base.BaseGeometry,
) -> list[shapely.geometry.base.BaseGeometry]:
    """The geometry whole, or the parts of a collection of mixed kinds."""
    if geometry.geom_type == "GeometryCollection":
        parts: list[shapely.geometry.base.BaseGeometry] = shapely.get_parts(geometry).tolist()
        return parts
    return [geometry]


def _named_points(
    line: shapely.geometry.base.BaseGeometry, places: Mapping[tuple[float, float], str]
) -> tuple[GpxPoint, ...]:
    """Points of a route, named where a gate stands."""
    return tuple(
        GpxPoint(lat, lon, name=places.get((lon, lat), ""))
        for lon, lat in shapely.get_coordinates(line).tolist()
    )
