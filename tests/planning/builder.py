"""Small projects written to disk, one fact at a time, for tests of the whole evaluation.

The country is flat unless told otherwise, 1,000 ft above the sea, around 10 N 20 E (invented). The
practice area is a square of 2 km by 2 km in the middle; places are given in metres from its centre.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_origin

from areaplan.geodesy import LocalFrame
from areaplan.units import FOOT_M

FRAME = LocalFrame(lat=10.0, lon=20.0)
GROUND_FT = 1000

PROJECT = """\
[project]
name = "Builder area"
school = "Test school"
area = "area.geojson"
planned_altitudes = {planned}
rules = {rules}
activities = ["training"]
day = 2026-11-25

[aircraft]
name = "trainer"
best_glide_speed = {{ value = "65 kt", source = "invented" }}
best_glide_ratio = {{ value = 10.0, source = "invented" }}
glide_derating = {{ value = "10 %", source = "invented" }}
manoeuvre_speed = {{ value = "80 kt", source = "invented" }}
stall_speed = {{ value = "48 kt", source = "invented" }}

[wind]
value = "{wind}"
source = "invented"

[margins]
airspace_lateral = "100 m"
airspace_vertical = "100 ft"
glide_clearance = "100 ft"
arrival_height = "300 ft"
reaction_time = "4 s"
turn_bank = "30 deg"

[grid]
cell = "{cell}"
around = "{around}"
"""


def lonlat(x_m, y_m):
    lon, lat = FRAME.to_lonlat(float(x_m), float(y_m))
    return [float(lon), float(lat)]


def box(x_min, y_min, x_max, y_max):
    ring = [(x_min, y_min), (x_max, y_min), (x_max, y_max), (x_min, y_max), (x_min, y_min)]
    return {"type": "Polygon", "coordinates": [[lonlat(*xy) for xy in ring]]}


def point(x_m, y_m):
    return {"type": "Point", "coordinates": lonlat(x_m, y_m)}


class Country:
    """Collects sources and writes the project."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._sources: list[str] = []
        self._extra = ""

    def terrain(self, heights_m=None, half_m=12_000.0, post_m=60.0, expires=None):
        """Heights as a function of x, y in metres (default flat at GROUND_FT)."""
        west, south = lonlat(-half_m, -half_m)
        east, north = lonlat(half_m, half_m)
        count = int(2 * half_m / post_m)
        step_x, step_y = (east - west) / count, (north - south) / count
        lon = west + (np.arange(count) + 0.5) * step_x
        lat = north - (np.arange(count) + 0.5) * step_y
        x_m, y_m = FRAME.to_local(*np.meshgrid(lon, lat))
        values = np.full(x_m.shape, GROUND_FT * FOOT_M)
        if heights_m is not None:
            values = np.broadcast_to(heights_m(np.asarray(x_m), np.asarray(y_m)), x_m.shape)
        with rasterio.open(
            self.folder / "terrain.tif",
            "w",
            driver="GTiff",
            width=count,
            height=count,
            count=1,
            dtype="float64",
            crs="EPSG:4326",
            transform=from_origin(west, north, step_x, step_y),
            nodata=-9999.0,
        ) as file:
            file.write(np.where(np.isnan(values), -9999.0, values), 1)
        ends = f"expires = {expires}\n" if expires else ""
        self._sources.append(
            '[[source]]\nkind = "terrain"\nfiles = ["terrain.tif"]\nedition = "test"\n'
            f'vertical_datum = "EGM96"\n{ends}'
        )
        return self

    def features(self, kind, rows, covers="all", **keys):
        """A GeoJSON source from (geometry, properties) pairs."""
        name = f"{kind}-{len(self._sources)}.geojson"
        self.write(name, rows)
        lines = [f'{key} = "{value}"' for key, value in keys.items()]
        self._sources.append(
            f'[[source]]\nkind = "{kind}"\nfiles = ["{name}"]\nedition = "test"\n'
            f'covers = "{covers}"\n' + "\n".join(lines) + "\n"
        )
        return self

    def none(self, *kinds):
        """Declare that there are none of these, as a person would."""
        for kind in kinds:
            self._sources.append(f'[[source]]\nkind = "{kind}"\nnone_because = "looked, none"\n')
        return self

    def more(self, text):
        """Append TOML as it stands."""
        self._extra += text
        return self

    def write(self, name, rows):
        features = [
            {"type": "Feature", "properties": properties, "geometry": geometry}
            for geometry, properties in rows
        ]
        content = {"type": "FeatureCollection", "features": features}
        (self.folder / name).write_text(json.dumps(content), encoding="utf-8")

    def project(
        self,
        planned='["2000 ft AMSL"]',
        rules='["us"]',
        wind="calm",
        cell="50 m",
        around="2.5 NM",
        half_m=1000.0,
    ) -> Path:
        """Write area and project file and give the project's path."""
        self.write("area.geojson", [(box(-half_m, -half_m, half_m, half_m), {"name": "Square"})])
        path = self.folder / "project.toml"
        head = PROJECT.format(planned=planned, rules=rules, wind=wind, cell=cell, around=around)
        path.write_text(head + "\n" + "\n".join(self._sources) + self._extra, encoding="utf-8")
        return path


def plain_country(folder: Path) -> Country:
    """Flat, empty, all layers spoken for, one great field over everything."""
    country = Country(folder).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    return country.none(
        "obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive"
    )
