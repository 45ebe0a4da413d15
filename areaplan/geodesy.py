"""From longitude and latitude to the project's own metres, and back.

One azimuthal equidistant frame per project, centred on the practice area. On the WGS 84
ellipsoid its scale is exact along every line through the centre; at 30 km from the centre the
scale across those lines is 4 parts in a million too long (1 + d^2 / 6 R^2; Snyder, *Map
Projections: A Working Manual*, USGS Professional Paper 1395, ch. 25).
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from attrs import define, field, validators
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

if TYPE_CHECKING:
    from pyproj import Transformer

# Edges of GeoJSON polygons are straight in longitude and latitude (RFC 7946, 3.1.1). Cut to this
# length, such an edge stays within 0.1 m of the straight line in the local frame, in whatever
# direction it runs and up to 60 km from the centre (measured in tests/floor0/test_geodesy.py:
# 0.085 m at 60 degrees of latitude, 0.098 m at 85).
_EDGE_STEP_DEG = 0.02


@define(frozen=True, slots=False)
class LocalFrame:
    """Local metres around a centre: x east, y north.

    Attributes
    ----------
    lat, lon : float
        The centre, degrees on WGS 84.
    """

    lat: float = field(validator=[validators.ge(-85.0), validators.le(85.0)])
    lon: float = field(validator=[validators.ge(-180.0), validators.le(180.0)])

    @property
    def crs_text(self) -> str:
        """PROJ string of the frame."""
        return (
            f"+proj=aeqd +lat_0={self.lat:.9f} +lon_0={self.lon:.9f} +datum=WGS84 +units=m +no_defs"
        )

    @cached_property
    def _forward(self) -> Transformer:
        from pyproj import Transformer

        return Transformer.from_crs("EPSG:4326", self.crs_text, always_xy=True)

    def to_local(self, lon_deg: ArrayLike, lat_deg: ArrayLike) -> tuple[Any, Any]:
        """Longitude and latitude in degrees (WGS 84) to local x, y in metres."""
        x_m, y_m = self._forward.transform(lon_deg, lat_deg, errcheck=True)
        return x_m, y_m

    def to_lonlat(self, x_m: ArrayLike, y_m: ArrayLike) -> tuple[Any, Any]:
        """Local metres to longitude and latitude in degrees (WGS 84)."""
        lon, lat = self._forward.transform(x_m, y_m, direction="INVERSE", errcheck=True)
        return lon, lat

    def geometry_to_local(self, geometry: BaseGeometry) -> BaseGeometry:
        """Move a longitude/latitude geometry into local metres, long edges cut first."""
        cut = shapely.segmentize(shapely.force_2d(geometry), _EDGE_STEP_DEG)
        return shapely.transform(cut, self._forward_pairs)

    def _forward_pairs(self, lonlat: NDArray[np.float64]) -> NDArray[np.float64]:
        x_m, y_m = self.to_local(lonlat[:, 0], lonlat[:, 1])
        return np.column_stack([x_m, y_m])


def distance_and_bearing(
    lat1_deg: float, lon1_deg: float, lat2_deg: float, lon2_deg: float
) -> tuple[float, float]:
    """Geodesic distance in metres and initial true bearing in degrees [0, 360) on WGS 84.

    References
    ----------
    Karney (2013), "Algorithms for geodesics", J. Geodesy 87, 43-55, as carried by PROJ.
    """
    from pyproj import Geod

    azimuth, _, distance_m = Geod(ellps="WGS84").inv(lon1_deg, lat1_deg, lon2_deg, lat2_deg)
    bearing = float(azimuth) % 360.0
    # The remainder of an azimuth a hair west of north rounds up to 360 itself.
    return float(distance_m), 0.0 if bearing == 360.0 else bearing
