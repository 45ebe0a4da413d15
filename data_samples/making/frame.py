"""Where the invented country lies, its units, and its only source of chance."""

from __future__ import annotations

import random
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.units import FOOT_M, NAUTICAL_MILE_M, STATUTE_MILE_M

# The coordinates only give the scenario a latitude and a sun; nothing there is real.
FRAME: Final = LocalFrame(lat=41.2, lon=-100.0)
MILE_M: Final = STATUTE_MILE_M
LONLAT_DECIMALS: Final = 6  # about 0.1 m

_GEOD: Final = Geod(ellps="WGS84")
_CIRCLE_POINTS: Final = 72


def chance(what: str) -> random.Random:
    """A stream of its own for each kind of thing, the same on every machine and every day.

    Python promises the sequence of `random.random` for a given seed across versions.
    """
    return random.Random(f"areaplan scenario 2026-10: {what}")


def between(stream: random.Random, low: float, high: float) -> float:
    """A number in an interval, by `random.random` alone."""
    return low + (high - low) * stream.random()


def feet(value_ft: float) -> float:
    """Feet in metres."""
    return value_ft * FOOT_M


def to_lonlat(geometry: BaseGeometry) -> BaseGeometry:
    """Local metres to longitude and latitude, outer rings counter-clockwise (RFC 7946, 3.1.6)."""

    def pairs(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        lon, lat = FRAME.to_lonlat(xy[:, 0], xy[:, 1])
        return np.round(np.column_stack([lon, lat]), LONLAT_DECIMALS)

    return shapely.orient_polygons(shapely.transform(geometry, pairs))


def circle_lonlat(x_m: float, y_m: float, radius_nm: float) -> Polygon:
    """A circle on the ellipsoid round a place, by its geodesics, in longitude and latitude."""
    lon, lat = FRAME.to_lonlat(x_m, y_m)
    azimuths = np.linspace(0.0, 360.0, _CIRCLE_POINTS, endpoint=False)
    same = np.full(_CIRCLE_POINTS, 1.0)
    east, north, _ = _GEOD.fwd(same * lon, same * lat, azimuths, same * radius_nm * NAUTICAL_MILE_M)
    return shapely.orient_polygons(
        Polygon(np.round(np.column_stack([east, north]), LONLAT_DECIMALS))
    )


def box_at(
    x_m: float, y_m: float, length_m: float, width_m: float, along_deg_true: float
) -> Polygon:
    """A rectangle round a place, its long side along a true direction."""
    along = np.radians(90.0 - along_deg_true)
    axis = np.array([np.cos(along), np.sin(along)])
    across = np.array([-axis[1], axis[0]])
    corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
    return Polygon(
        [np.array([x_m, y_m]) + s * length_m * axis + t * width_m * across for s, t in corners]
    )
