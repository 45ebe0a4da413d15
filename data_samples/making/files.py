"""Writes the file formats of the scenario, the same bytes every time."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from making.frame import FRAME, LONLAT_DECIMALS
from making.ground import COUNTRY_M, height_m
from making.obstacles import Tall

_STEP_DEG: Final = 1.0 / 3600.0  # one second of arc: about 31 m north-south, 23 m east-west
NODATA_M: Final = -9999.0
# A hole in the elevation data, as clouds and steep slopes leave them: west, south, east, north.
_HOLE_M: Final = (8_700.0, 7_450.0, 9_250.0, 7_900.0)

_DAT_LENGTH: Final = 128
_DAT_HEAD: Final = (
    "  CURRENCY DATE = 10/01/26",
    "                                     LATITUDE    LONGITUDE     OBSTACLE            AGL   "
    "AMSL LT ACC MAR FAA         ACTION",
    "OAS#      V CO ST CITY            DEG MIN SEC   DEG MIN SEC   TYPE                 HT    "
    "HT     H V IND STUDY           JDATE",
    "-" * (_DAT_LENGTH - 1),
)


def write_geojson(path: Path, features: Iterable[tuple[dict[str, Any], BaseGeometry]]) -> None:
    """Write longitude/latitude features, one a line, as RFC 7946 has them."""
    lines = []
    for attributes, geometry in features:
        shape = json.loads(shapely.to_geojson(geometry))
        feature = {"type": "Feature", "properties": attributes, "geometry": _rounded(shape)}
        lines.append(json.dumps(feature, ensure_ascii=False, separators=(",", ":")))
    text = '{"type":"FeatureCollection","features":[\n' + ",\n".join(lines) + "\n]}\n"
    path.write_bytes(text.encode("utf-8"))


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return round(value, LONLAT_DECIMALS) if isinstance(value, float) else value


def write_obstacles(path: Path, rows: Iterable[Tall]) -> None:
    """Write the published fixed-width obstacle layout: 128 columns, CRLF."""
    lines = [*_DAT_HEAD, *(dat_line(number, row) for number, row in enumerate(rows, 1))]
    path.write_bytes("".join(f"{line}\r\n" for line in lines).encode("ascii"))


def dat_line(number: int, row: Tall) -> str:
    """One record; the comments give the columns, counted from 1."""
    lon, lat = FRAME.to_lonlat(row.x_m, row.y_m)
    horizontal, vertical = (row.accuracy or "  ")[:2]
    parts = (
        (1, f"99-{number:06d}"),
        (11, "O" if row.is_verified else "U"),
        (13, "ZZ"),
        (19, row.city),  # 19-34
        (36, _degrees(lat, 2, "NS")),  # 36-47
        (49, _degrees(lon, 3, "EW")),  # 49-61
        (63, row.kind),  # 63-80
        (82, "1"),
        (84, f"{row.agl_ft:05d}"),
        (90, f"{row.amsl_ft:05d}"),
        (96, row.lighting),
        (98, horizontal),
        (100, vertical),
        (102, row.marking),
        (104, f"2026ZZZ{number:05d}OE"),  # 104-117
        (119, "A"),
        (121, "2026274"),
    )
    line = [" "] * _DAT_LENGTH
    for start, text in parts:
        line[start - 1 : start - 1 + len(text)] = text
    return "".join(line)


def _degrees(value_deg: float, width: int, letters: str) -> str:
    hundredths = round(abs(float(value_deg)) * 360_000)
    degrees, rest = divmod(hundredths, 360_000)
    minutes, seconds = divmod(rest, 6_000)
    letter = letters[0] if value_deg >= 0 else letters[1]
    return f"{degrees:0{width}d} {minutes:02d} {seconds / 100:05.2f}{letter}"


def write_terrain(
    path: Path,
    bounds_m: tuple[float, float, float, float] = COUNTRY_M,
    *,
    step_deg: float = _STEP_DEG,
    has_hole: bool = True,
) -> None:
    """Write elevations in metres as a GeoTIFF in longitude and latitude.

    Heights are rounded to a decimetre; the hole and everything outside is nodata.
    """
    import rasterio
    from rasterio.transform import from_origin

    west, south, east, north = _lonlat_bounds(bounds_m)
    cols, rows = round((east - west) / step_deg), round((north - south) / step_deg)
    lon = west + (np.arange(cols) + 0.5) * step_deg
    lat = north - (np.arange(rows) + 0.5) * step_deg
    x_m, y_m = FRAME.to_local(*np.meshgrid(lon, lat))
    height = np.round(height_m(x_m, y_m), 1)
    if has_hole:
        hole = shapely.box(*_HOLE_M)
        height[shapely.contains_xy(hole, x_m, y_m)] = NODATA_M
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=cols,
        height=rows,
        count=1,
        dtype="float32",
        crs="EPSG:4326",
        transform=from_origin(west, north, step_deg, step_deg),
        nodata=NODATA_M,
        compress="deflate",
        predictor=3,
        zlevel=9,
        tiled=True,
        blockxsize=256,
        blockysize=256,
    ) as file:
        file.write(height.astype(np.float32), 1)
        file.set_band_unit(1, "metre")
        file.update_tags(AREA_OR_POINT="Area", SOURCE="invented; made by make_scenario.py")


def _lonlat_bounds(bounds_m: tuple[float, float, float, float]) -> tuple[float, ...]:
    """A box in degrees, on whole hundredths, that holds the local box."""
    xy = shapely.get_coordinates(shapely.box(*bounds_m))
    lon, lat = FRAME.to_lonlat(xy[:, 0], xy[:, 1])
    low = np.floor(np.array([lon.min(), lat.min()]) * 100.0) / 100.0
    high = np.ceil(np.array([lon.max(), lat.max()]) * 100.0) / 100.0
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])
