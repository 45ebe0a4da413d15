"""The starter's data: a small, easy piece of the same country, with few things of each kind."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from making.air import airspace_feature
from making.files import write_geojson, write_obstacles, write_terrain
from making.frame import box_at, circle_lonlat, to_lonlat
from making.obstacles import Tall

_COUNTRY_M: Final = (-5_600.0, -5_400.0, 5_600.0, 5_400.0)
_POST_DEG: Final = 3.0 / 3600.0
_AREA: Final = box(-1_900.0, -1_700.0, 1_900.0, 1_700.0)
_FARMS_M: Final = ((-1_000.0, 1_080.0), (1_040.0, -1_000.0), (1_000.0, 1_950.0), (-2_100.0, -950.0))
Drawn = tuple[dict[str, Any], BaseGeometry]


def write_data(folder: Path) -> None:
    """Write the starter's data files; its project.toml is written by hand."""
    folder.mkdir(parents=True, exist_ok=True)
    write_terrain(folder / "terrain.tif", _COUNTRY_M, step_deg=_POST_DEG, has_hole=False)
    write_obstacles(
        folder / "obstacles.dat",
        [Tall("EXAMPLE", "TOWER", 2_950.0, 2_050.0, 260, "R", "1A", "P")],
    )
    write_geojson(folder / "airspace.geojson", _airspace())
    layers = {
        "area": [({"name": "Practice area"}, _AREA)],
        "structures": _structures(),
        "wires": [
            (
                {"name": "Wires along the road", "power": "minor_line", "height": "34 ft"},
                LineString([(-5_000.0, 20.0), (5_000.0, 20.0)]),
            )
        ],
        "woods": [({"name": "Copse", "height": "55 ft"}, Point(-60.0, 1_000.0).buffer(160.0, 4))],
        "roads": [
            ({"name": "East-west road", "kind": "road"}, _line((-5_000.0, 0.0), (5_000.0, 0.0))),
            ({"name": "North-south road", "kind": "road"}, _line((0.0, -5_000.0), (0.0, 5_000.0))),
        ],
        "fields": _fields(),
    }
    for name, rows in layers.items():
        write_geojson(folder / f"{name}.geojson", ((row, to_lonlat(shape)) for row, shape in rows))


def _line(start: tuple[float, float], end: tuple[float, float]) -> LineString:
    return LineString([start, end])


def _structures() -> Iterator[Drawn]:
    for number, (x, y) in enumerate(_FARMS_M, 1):
        house, barn = box_at(x, y, 14.0, 10.0, 90.0), box_at(x + 32.0, y + 5.0, 28.0, 13.0, 0.0)
        yield {"name": f"Farm {number} house", "height": "25 ft"}, house
        yield {"name": f"Farm {number} barn"}, barn  # takes default_height of the project


def _fields() -> Iterator[Drawn]:
    """Every other square of a half-kilometre board holds a field."""
    number = 0
    for row in range(-3, 3):
        for column in range(-3, 3):
            if (row + column) % 2:
                continue
            number += 1
            x, y = 1_000.0 * column + 500.0, 1_000.0 * row + 500.0
            shape = box_at(x, y, 520.0, 260.0, 90.0 if row % 2 else 0.0)
            yield (
                {"name": f"Field {number}", "surface": "pasture", "consent": "owner agreed"},
                shape,
            )


def _airspace() -> list[Drawn]:
    return [
        airspace_feature(
            "EXAMPLE", "E", "CLASS_E5", (700, "AGL"), (17_999, "MSL"), circle_lonlat(0, 0, 9.0)
        ),
        airspace_feature(
            "EXAMPLE",
            "D",
            "CLASS_D",
            (0, "SFC"),
            (3500, "MSL"),
            circle_lonlat(9_500.0, -7_000.0, 4.1),
        ),
    ]
