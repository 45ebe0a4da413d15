"""The land-cover map: a class for every 30 m pixel, right in the large and wrong in patches."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from making.farms import farmsteads
from making.fields import fields
from making.frame import FRAME, MILE_M, between, chance
from making.ground import COUNTRY_M, lake, marsh, nethrow_woods, river, woods
from making.roads import highway, roads
from making.town import buildings, outline

_CRS: Final = "EPSG:32614"  # a projected frame, a little askew to the project's own, as in life
_PIXEL_M: Final = 30.0
_NODATA: Final = 250
_PATCHES: Final = 260  # where the map says shrub and there is none, or the other way round

# Codes of the national map of 2001 and later, with colours of our own.
WATER, OPEN_SPACE, LOW, MEDIUM = 11, 21, 22, 23
BARREN, FOREST, SHRUB, GRASS, PASTURE, CROPS, MARSH = 31, 41, 52, 71, 81, 82, 95
_COLOURS: Final = {
    WATER: (70, 120, 190),
    OPEN_SPACE: (215, 190, 190),
    LOW: (210, 140, 120),
    MEDIUM: (200, 60, 50),
    BARREN: (180, 175, 165),
    FOREST: (60, 120, 60),
    SHRUB: (190, 170, 110),
    GRASS: (220, 215, 150),
    PASTURE: (200, 205, 80),
    CROPS: (165, 110, 50),
    MARSH: (120, 170, 190),
}
# What a quarter of a mile square is used for, and how often, out of 20.
_USES: Final = ((CROPS, 8), (PASTURE, 5), (GRASS, 4), (SHRUB, 3))
_OF_SURFACE: Final = {"pasture": PASTURE, "hay meadow": PASTURE, "stubble": CROPS}


def write_land_cover(path: Path) -> None:
    """Write the classes as an 8-bit GeoTIFF with a palette."""
    import rasterio
    from rasterio.transform import from_origin
    from rasterio.warp import transform, transform_bounds

    xy = shapely.get_coordinates(shapely.box(*COUNTRY_M))
    lon, lat = FRAME.to_lonlat(xy[:, 0], xy[:, 1])
    box = transform_bounds("EPSG:4326", _CRS, lon.min(), lat.min(), lon.max(), lat.max())
    west, south = (_PIXEL_M * np.floor(edge / _PIXEL_M) for edge in box[:2])
    east, north = (_PIXEL_M * np.ceil(edge / _PIXEL_M) for edge in box[2:])
    cols, rows = round((east - west) / _PIXEL_M), round((north - south) / _PIXEL_M)
    x, y = np.meshgrid(
        west + (np.arange(cols) + 0.5) * _PIXEL_M, north - (np.arange(rows) + 0.5) * _PIXEL_M
    )
    lon_of, lat_of = transform(_CRS, "EPSG:4326", x.ravel(), y.ravel())
    x_m, y_m = (np.reshape(v, x.shape) for v in FRAME.to_local(np.array(lon_of), np.array(lat_of)))
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=cols,
        height=rows,
        count=1,
        dtype="uint8",
        crs=_CRS,
        transform=from_origin(west, north, _PIXEL_M, _PIXEL_M),
        nodata=_NODATA,
        compress="deflate",
        zlevel=9,
    ) as file:
        file.write(classes_at(x_m, y_m), 1)
        file.write_colormap(1, {code: (*rgb, 255) for code, rgb in _COLOURS.items()})
        file.update_tags(AREA_OR_POINT="Area", SOURCE="invented; made by make_scenario.py")


def classes_at(x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Class at places in local metres; nodata beyond the country."""
    found = _uses_at(x_m, y_m)
    for code, shape in _painted():
        west, south, east, north = shape.bounds
        near = (x_m >= west) & (x_m <= east) & (y_m >= south) & (y_m <= north)
        shapely.prepare(shape)
        inside = np.zeros(x_m.shape, dtype=np.bool_)
        inside[near] = shapely.contains_xy(shape, x_m[near], y_m[near])
        found[inside] = code
    west, south, east, north = COUNTRY_M
    is_country = (x_m >= west) & (x_m <= east) & (y_m >= south) & (y_m <= north)
    return np.where(is_country, found, _NODATA).astype(np.uint8)


def _uses_at(x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.uint8]:
    """What each quarter of a mile square is used for."""
    half = MILE_M / 2.0
    col, row = (np.floor(value / half).astype(int) for value in (x_m, y_m))
    of_ten = [code for code, times in _USES for _ in range(times)]
    use = {
        (c, r): of_ten[int(chance(f"use {c} {r}").random() * len(of_ten))]
        for c in range(int(col.min()), int(col.max()) + 1)
        for r in range(int(row.min()), int(row.max()) + 1)
    }
    table = np.array(
        [
            [use[c, r] for c in range(int(col.min()), int(col.max()) + 1)]
            for r in range(int(row.min()), int(row.max()) + 1)
        ],
        dtype=np.uint8,
    )
    return table[row - row.min(), col - col.min()]


def _painted() -> list[tuple[int, BaseGeometry]]:
    """Shapes over the uses, the later ones on top."""
    stream = chance("land cover")
    west, south, east, north = COUNTRY_M
    painted: list[tuple[int, BaseGeometry]] = [(SHRUB, nethrow_woods().buffer(420.0))]
    painted += [(_OF_SURFACE[field.surface], field.geometry) for field in fields()]
    for _ in range(_PATCHES):
        place = Point(between(stream, west, east), between(stream, south, north))
        code = SHRUB if stream.random() < 0.7 else GRASS
        painted.append((code, place.buffer(between(stream, 40.0, 110.0), 3)))
    painted += [(OPEN_SPACE, line.buffer(16.0)) for _, _, line in roads()]
    painted.append((LOW, highway().buffer(25.0)))
    painted += [(OPEN_SPACE, item.geometry.buffer(40.0)) for item in farmsteads()]
    painted.append((OPEN_SPACE, outline()))
    painted += [(LOW, item.geometry.buffer(35.0)) for item in buildings()]
    painted += [(MEDIUM, item.geometry.buffer(18.0)) for item in buildings()[:5]]
    painted += [(FOREST, shape) for _, _, shape in woods()]
    painted += [(MARSH, marsh()), (WATER, lake()), (WATER, river().buffer(18.0))]
    return painted
