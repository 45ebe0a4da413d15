"""Every row of every layer of a plan, in words and heights by which two rows can be compared."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.planning.plan import Plan
from areaplan.sources.layers import (
    AirspaceVolume,
    DrawnReference,
    Landmark,
    Layer,
    Obstacle,
    Road,
    Structure,
    Wire,
    Wood,
    Zone,
)

_Row = TypeVar("_Row")


@frozen(eq=False)
class Thing:
    """A row of a layer.

    Attributes
    ----------
    name : str
    geometry : shapely geometry
        Longitude/latitude.
    tops_m : tuple of (str, float or None)
        Its top in metres by reference ("AMSL", "AGL"), None where not told; of one kind always the
        same references in the same order.
    told : tuple of (str, str)
        What else is told of it, label and words; of one kind always the same labels.
    """

    name: str
    geometry: BaseGeometry
    tops_m: tuple[tuple[str, float | None], ...]
    told: tuple[tuple[str, str], ...]


def things_told(plan: Plan) -> dict[str, list[Thing]]:
    """Rows by kind of layer, in file order."""
    layers = plan.layers
    counting = {id(row.field): row.counts for row in plan.measured}
    found = {
        "obstacles": [_obstacle(row) for row in _rows(layers.obstacles)],
        "structures": [_standing(row) for row in _rows(layers.structures)],
        "persons": [_standing(row) for row in _rows(layers.persons)],
        "wires": [_standing(row) for row in _rows(layers.wires)],
        "woods": [_standing(row) for row in _rows(layers.woods)],
        "airspace": [_volume(row) for row in _rows(layers.airspace)],
        "congested areas": [_zone(row) for row in _rows(layers.congested)],
        "sparse country": [_zone(row) for row in _rows(layers.sparse)],
        "assemblies": [_zone(row) for row in _rows(layers.assemblies)],
        "noise-sensitive places": [_zone(row) for row in _rows(layers.noise)],
        "airways": [_road(row) for row in _rows(layers.airways)],
        "roads and rails that count as vehicles": [_road(row) for row in _rows(layers.vehicles)],
        "landmarks": [_landmark(row) for row in _rows(layers.landmarks)],
        "references": [_reference(row) for row in _rows(layers.references)],
    }
    found["fields"] = [
        Thing(
            row.name,
            row.geometry,
            (),
            (
                ("counts", {True: "yes", False: "no", None: "not measured"}[counting.get(id(row))]),
                ("surface", row.surface),
                ("consent", row.consent),
                ("remarks", row.remarks),
            ),
        )
        for row in _rows(layers.fields)
    ]
    return found


def _rows(layers: Sequence[Layer[_Row]]) -> Iterator[_Row]:
    for layer in layers:
        yield from layer.rows


def _obstacle(row: Obstacle) -> Thing:
    return Thing(
        row.name,
        shapely.Point(row.lon, row.lat),
        (("AMSL", row.top_amsl_m), ("AGL", row.top_agl_m)),
        (
            ("type", row.kind),
            ("accuracy", f"{row.horizontal_accuracy_m:.1f} m / {row.vertical_accuracy_m:.1f} m"),
            ("verified", {True: "yes", False: "no", None: "not told"}[row.is_verified]),
        ),
    )


def _standing(row: Structure | Wire | Wood) -> Thing:
    told: tuple[tuple[str, str], ...] = (
        ("height", "assumed" if row.height_is_assumed else "told"),
    )
    if isinstance(row, Structure):
        told = (("presence", row.presence.value), *told)
    return Thing(row.name, row.geometry, (("AGL", row.top_agl_m),), told)


def _volume(row: AirspaceVolume) -> Thing:
    upper = "unknown" if row.upper is None else str(row.upper)
    return Thing(
        row.name,
        row.geometry,
        (),
        (
            ("class", row.airspace_class),
            ("type", row.type_code),
            ("lower limit", "unknown" if row.lower is None else str(row.lower)),
            ("upper limit", upper if row.upper_is_inclusive else f"{upper}, not including it"),
            ("hours", row.hours),
        ),
    )


def _zone(row: Zone) -> Thing:
    return Thing(row.name, row.geometry, (), (("reason", row.reason),))


def _landmark(row: Landmark) -> Thing:
    return Thing(row.name, row.geometry, (), (("kind", row.kind),))


def _reference(row: DrawnReference) -> Thing:
    return Thing(row.name, row.geometry, (), (("use", row.use.value),))


def _road(row: Road) -> Thing:
    return Thing(row.name, row.geometry, (), (("kind", row.kind),))
