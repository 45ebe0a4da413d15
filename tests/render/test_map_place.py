"""The page's polynomial follows the map projection, checked against PROJ."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.polynomial.polynomial import polyval2d

from areaplan.errors import InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.render.map_place import LARGEST_ERROR_M, fit_place, lonlat_box


def _evaluate(fit, lon, lat):
    u = (np.asarray(lon) - fit.lon_mid_deg) / fit.lon_half_deg
    v = (np.asarray(lat) - fit.lat_mid_deg) / fit.lat_half_deg
    return polyval2d(u, v, fit.x_m), polyval2d(u, v, fit.y_m)


@given(
    lat=st.floats(-70, 70),
    lon=st.floats(-170, 170),
    half_km=st.floats(2, 30),
    seed=st.integers(0, 1000),
)
@settings(deadline=None, max_examples=25)
def test_places_anywhere_on_the_grid_are_within_a_thumb(lat, lon, half_km, seed):
    frame = LocalFrame(lat=lat, lon=lon)
    half_m = half_km * 1000
    grid = Grid.covering(-half_m, -half_m, half_m, half_m, half_m / 50)
    fit = fit_place(frame, grid)
    generator = np.random.default_rng(seed)
    x_m, y_m = generator.uniform(-half_m, half_m, (2, 400))
    got_x, got_y = _evaluate(fit, *frame.to_lonlat(x_m, y_m))
    assert np.hypot(got_x - x_m, got_y - y_m).max() < LARGEST_ERROR_M
    assert fit.error_m < LARGEST_ERROR_M


def test_a_practice_area_is_met_to_a_millimetre():
    frame = LocalFrame(lat=45.5, lon=-35.25)
    assert fit_place(frame, Grid.covering(-15e3, -15e3, 15e3, 15e3, 25.0)).error_m < 1e-3


def test_a_grid_too_large_for_the_polynomial_is_refused():
    frame = LocalFrame(lat=84.0, lon=10.0)
    with pytest.raises(InputError, match="map projection"):
        fit_place(frame, Grid.covering(-600e3, -600e3, 600e3, 600e3, 1000.0))


def test_the_box_holds_every_corner_and_edge():
    frame = LocalFrame(lat=60.0, lon=5.0)
    grid = Grid.covering(-9000, -20000, 14000, 7000, 50.0)
    west, south, east, north = lonlat_box(frame, grid)
    x_m, y_m = np.meshgrid(
        np.linspace(grid.x_min_m, grid.x_max_m, 301), np.linspace(grid.y_min_m, grid.y_max_m, 301)
    )
    lon, lat = frame.to_lonlat(x_m, y_m)
    assert west <= lon.min() < west + 1e-4
    assert lon.max() <= east < lon.max() + 1e-4
    assert south <= lat.min() < south + 1e-4
    assert lat.max() <= north < lat.max() + 1e-4
