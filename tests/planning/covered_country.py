"""Small countries with a map of classes, for tests of candidates."""

import numpy as np
import rasterio
from rasterio.transform import from_origin

from tests.planning.builder import FRAME, Country, box, lonlat

GRASS, PASTURE, CROPS, BARREN, FOREST = 71, 81, 82, 31, 41
LINE = "LineString"


def line(*places):
    return {"type": LINE, "coordinates": [lonlat(*place) for place in places]}


def with_cover(country, class_at, *, name="cover.tif", half_m=4000.0, pixel_m=30.0, blank=250):
    """Add a land-cover source: `class_at` takes x and y in metres and gives codes."""
    west, south = lonlat(-half_m, -half_m)
    east, north = lonlat(half_m, half_m)
    count = int(2 * half_m / pixel_m)
    step_x, step_y = (east - west) / count, (north - south) / count
    lon = west + (np.arange(count) + 0.5) * step_x
    lat = north - (np.arange(count) + 0.5) * step_y
    x_m, y_m = FRAME.to_local(*np.meshgrid(lon, lat))
    codes = np.broadcast_to(class_at(np.asarray(x_m), np.asarray(y_m)), x_m.shape)
    with rasterio.open(
        country.folder / name,
        "w",
        driver="GTiff",
        width=count,
        height=count,
        count=1,
        dtype="uint8",
        crs="EPSG:4326",
        transform=from_origin(west, north, step_x, step_y),
        nodata=blank,
    ) as file:
        file.write(codes.astype(np.uint8), 1)
    return country.more(
        f'\n[[source]]\nkind = "land-cover"\nfiles = ["{name}"]\nedition = "test"\n'
        'legend = "nlcd"\n'
    )


def patches(*rows, elsewhere=FOREST):
    """Classes by boxes: (code, west, south, east, north), the later on top."""

    def class_at(x_m, y_m):
        codes = np.full(x_m.shape, elsewhere)
        for code, west, south, east, north in rows:
            codes[(x_m >= west) & (x_m <= east) & (y_m >= south) & (y_m <= north)] = code
        return codes

    return class_at


def bare_country(folder, heights_m=None):
    """Nothing stands, nothing is drawn, and somebody has looked."""
    country = Country(folder).terrain(heights_m)
    return country.none(
        "obstacles",
        "structures",
        "wires",
        "woods",
        "roads",
        "airspace",
        "fields",
        "congested",
        "assemblies",
        "noise-sensitive",
    )


def write(country, fields="", **keys):
    """Write the project, `fields` being lines of its `[fields]` table."""
    if fields:
        country.more(f"\n[fields]\n{fields}\n")
    keys.setdefault("cell", "25 m")
    keys.setdefault("around", "0.5 NM")
    return country.project(**keys)


__all__ = ["bare_country", "box", "line", "patches", "with_cover", "write"]
