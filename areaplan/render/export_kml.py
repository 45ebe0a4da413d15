"""Layers of an export as KML, drawn at their height where that is true, on the ground else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.errors import QuantityError
from areaplan.render.export_notes import ExportNotes
from areaplan.render.export_styles import STYLES
from areaplan.render.export_table import Table, Value, value_words
from areaplan.render.kml import AltitudeMode, Folder, KmlStyle, Placemark, Shape, kml_bytes
from areaplan.units import FOOT_M, Height, HeightReference, parse_height

_ABOUT_HEIGHTS: Final = (
    "Heights are drawn only where they are true: airspace between two altitudes above mean sea "
    "level as its lower and upper face, things of known height standing on the ground. Everything "
    "else lies on the ground, and its text says where it holds. KML takes mean sea level from the "
    "geoid EGM96; the data's own datum may differ by a metre or two."
)
_AT_ONE_ALTITUDE: Final = ("classes", "standoffs")
_AT_ALTITUDE: Final = ("findings", "gates", "routes")
_IN_THE_AIR: Final = ("wires", "routes")  # lines without a wall below them
_ON_GROUND: Final = (
    "Drawn on the ground: a limit by flight level, above ground, unlimited or unknown has no one "
    "altitude above mean sea level."
)


def plan_kml(tables: Sequence[Table], notes: ExportNotes) -> bytes:
    """Write all layers as one KML document, a folder each.

    Parameters
    ----------
    tables : sequence of Table
    notes : ExportNotes
        Become the document's description.
    """
    first_classes = next((one.name for one in tables if one.style == "classes"), "")
    return kml_bytes(
        [
            Folder(
                name=table.title,
                placemarks=tuple(_placemarks(table)),
                lines=(table.note,) if table.note else (),
                is_visible=table.style not in _AT_ONE_ALTITUDE or table.name == first_classes,
            )
            for table in tables
        ],
        title=notes.title,
        lines=(
            *notes.lines()[: len(notes.cautions)],
            _ABOUT_HEIGHTS,
            *notes.lines()[len(notes.cautions) :],
        ),
        styles={
            name: KmlStyle(style.line, style.width, style.fill, style.fill_opacity)
            for name, style in STYLES.items()
        },
    )


def _placemarks(table: Table) -> Iterator[Placemark]:
    for index, (values, geometry) in enumerate(table.records()):
        shapes, words = _shapes(table, values, geometry)
        told = [value_words(column, value) for column, value in values.items() if column != "name"]
        yield Placemark(
            name=str(values["name"]),
            shapes=shapes,
            style=table.style_of(index),
            lines=(*(text for text in told if text), *words),
            values={key: _text(value) for key, value in values.items() if value is not None},
        )


def _text(value: Value) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _shapes(
    table: Table, values: Mapping[str, Value], geometry: BaseGeometry
) -> tuple[tuple[Shape, ...], tuple[str, ...]]:
    """How a row is drawn, and what must be said about it."""
    if table.name == "airspace":
        faces = _faces(str(values["lower"]), str(values["upper"]), geometry)
        return (faces, ()) if faces else ((Shape(geometry),), (_ON_GROUND,))
    if table.style in _AT_ONE_ALTITUDE:
        return (Shape(geometry),), ("Drawn on the ground; holds at the altitude given alone.",)
    agl_ft, amsl_ft = values.get("top_agl_ft"), values.get("top_amsl_ft")
    if isinstance(agl_ft, int):
        mode, top_ft = AltitudeMode.ABOVE_GROUND, agl_ft
    elif isinstance(amsl_ft, int):
        mode, top_ft = AltitudeMode.ABOVE_SEA, amsl_ft
    elif table.name in _AT_ALTITUDE and isinstance(values["altitude_amsl_ft"], int):
        mode, top_ft = AltitudeMode.ABOVE_SEA, values["altitude_amsl_ft"]
    else:
        return (Shape(geometry),), ()
    raised = shapely.force_3d(geometry, top_ft * FOOT_M)
    return (Shape(raised, mode, is_extruded=table.name not in _IN_THE_AIR),), ()


def _faces(lower: str, upper: str, geometry: BaseGeometry) -> tuple[Shape, ...]:
    """Faces of a volume between fixed altitudes; none where a limit is not one."""
    bottom, top = _height(lower), _height(upper.removeprefix("below "))
    if bottom is None or top is None or top.reference is not HeightReference.AMSL:
        return ()
    upper_face = shapely.force_3d(geometry, top.value_m)
    if bottom.reference is HeightReference.SFC:
        return (Shape(upper_face, AltitudeMode.ABOVE_SEA, is_extruded=True),)
    if bottom.reference is not HeightReference.AMSL:
        return ()
    lower_face = shapely.force_3d(geometry, bottom.value_m)
    return (
        Shape(lower_face, AltitudeMode.ABOVE_SEA),
        Shape(upper_face, AltitudeMode.ABOVE_SEA),
    )


def _height(text: str) -> Height | None:
    try:
        return parse_height(text)
    except QuantityError:  # "unknown", or a level that has no whole number: drawn on the ground
        return None
