"""Terrain models for the tests: posts on a lattice round one place, and how to compare them."""

from datetime import date

import numpy as np

from areaplan.geodesy import LocalFrame
from areaplan.sources.layers import SourceKind, SourceRecord
from areaplan.sources.terrain import Terrain, read_terrain
from tests.sources.making import spec_of

FRAME = LocalFrame(42.5, 1.5)
ONE_MILLIMETRE_M = 1e-3
ONE_CENTIMETRE_M = 1e-2
STEP = 1.0 / 1200.0  # three seconds of arc
RECORD = SourceRecord(
    SourceKind.TERRAIN, ("model",), ("",), "made", date(2026, 1, 1), vertical_datum="EGM96"
)


def posts(rows, cols, *, lat=42.5, lon=1.5, step=STEP):
    """Longitudes (ascending) and latitudes (descending) of posts around a place."""
    lons = lon + (np.arange(cols) - (cols - 1) / 2) * step
    lats = lat - (np.arange(rows) - (rows - 1) / 2) * step
    return lons, lats


def terrain_of(heights, lons, lats):
    return Terrain.from_array(
        heights, west=lons[0], south=lats[-1], east=lons[-1], north=lats[0], record=RECORD
    )


def read(*paths, **more):
    more.setdefault("vertical_datum", "EGM96")
    return read_terrain(spec_of("terrain", *paths, **more))


def same(a, b, tolerance_m=ONE_MILLIMETRE_M):
    np.testing.assert_allclose(a.lowest_amsl_m, b.lowest_amsl_m, atol=tolerance_m)
    np.testing.assert_allclose(a.highest_amsl_m, b.highest_amsl_m, atol=tolerance_m)
