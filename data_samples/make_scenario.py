"""Makes the demo scenario and the starter's data: python data_samples/make_scenario.py [FOLDER].

Everything is invented. The same files come out every time, byte for byte (elevations: value for
value), so that a change of the scenario shows as a change of this code.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from making import air, cover, files, starter, zones
from making.farms import farmsteads
from making.fields import fields
from making.frame import to_lonlat
from making.ground import woods
from making.lines import tower_structures, wires
from making.obstacles import tall_things
from making.roads import roads
from making.standing import Standing
from making.town import buildings
from shapely.geometry.base import BaseGeometry


def main() -> None:
    """Write both sets of files, below the folder given or where this script stands."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    write_scenario(folder / "scenario")
    starter.write_data(folder / "starter")


def write_scenario(folder: Path) -> None:
    """Write the data files of the demo; its project.toml and policy.toml are written by hand."""
    folder.mkdir(parents=True, exist_ok=True)
    files.write_terrain(folder / "terrain.tif")
    cover.write_land_cover(folder / "land_cover.tif")
    files.write_obstacles(folder / "obstacles.dat", tall_things())
    files.write_geojson(folder / "airspace_class.geojson", air.class_airspace())
    files.write_geojson(folder / "airspace_special_use.geojson", air.special_use_airspace())
    layers: dict[str, Iterable[tuple[dict[str, Any], BaseGeometry]]] = {
        "area": [({"name": "North practice area"}, zones.practice_area())],
        "structures": map(_structure, (*buildings(), *farmsteads(), *tower_structures())),
        "persons": zones.persons(),
        "wires": (
            (with_height({"name": name, "power": kind}, height_ft), line)
            for name, kind, line, height_ft in wires()
        ),
        "roads": (({"name": name, "kind": kind}, line) for name, kind, line in roads()),
        "fields": (
            (
                {
                    "name": field.name,
                    "surface": field.surface,
                    "consent": field.consent,
                    "remarks": field.remarks,
                },
                field.geometry,
            )
            for field in fields()
        ),
        "congested": zones.congested(),
        "sparse": zones.sparse(),
        "assemblies": zones.assemblies(),
        "noise_sensitive": zones.noise_sensitive(),
        "woods": (
            (with_height({"name": name}, height_ft), shape) for name, height_ft, shape in woods()
        ),
        "airways": air.airways(),
        "surveyed": zones.surveyed(),
    }
    for name, rows in layers.items():
        local = ((attributes, to_lonlat(geometry)) for attributes, geometry in rows)
        files.write_geojson(folder / f"{name}.geojson", local)


def _structure(item: Standing) -> tuple[dict[str, Any], BaseGeometry]:
    attributes = with_height({"name": item.name, "kind": item.kind}, item.height_ft)
    return attributes, item.geometry


def with_height(attributes: dict[str, Any], height_ft: float | None) -> dict[str, Any]:
    """Add a height with its unit, where it is known."""
    return attributes if height_ft is None else {**attributes, "height": f"{height_ft:g} ft"}


if __name__ == "__main__":
    main()
