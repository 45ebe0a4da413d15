"""GeoJSON by RFC 7946: WGS 84, right-hand rule, no `crs` member; repeatable bytes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

_DECIMALS: Final = 7  # of a degree: a centimetre


def feature(geometry: BaseGeometry, properties: Mapping[str, Any]) -> dict[str, Any]:
    """One feature: coordinates to a centimetre, outer rings against the clock (RFC 7946, 3.1.6).

    Parameters
    ----------
    geometry : shapely geometry
        Longitude/latitude.
    properties : mapping
        Plain values.
    """
    flat = shapely.force_2d(geometry)
    shape = shapely.transform(flat, lambda lonlat: np.round(lonlat, _DECIMALS))
    return {
        "type": "Feature",
        "properties": dict(properties),
        "geometry": shapely.geometry.mapping(shapely.orient_polygons(shape)),
    }


def geojson_bytes(features: Iterable[dict[str, Any]], about: Mapping[str, Any]) -> bytes:
    """Write a feature collection, a line for each feature.

    Parameters
    ----------
    features : iterable of dict
        As `feature` makes them.
    about : mapping
        Foreign members beside the features (RFC 7946, 6.1): title, cautions, editions.

    Raises
    ------
    ValueError
        A number is NaN or infinite, which JSON can't say.
    """
    head = "".join(f'"{key}":{_json(value)},\n' for key, value in about.items())
    rows = ",\n".join(_json(one) for one in features)
    return f'{{"type":"FeatureCollection",\n{head}"features":[\n{rows}\n]}}\n'.encode()


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
