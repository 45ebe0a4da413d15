"""Terrain on a grid: exact extremes of the bilinear surface, against a slow twin and by physics."""

import numpy as np
import pyproj
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

import areaplan.sources._cell_places as cell_places
import areaplan.sources._resampling as resampling
from areaplan.errors import InputError
from areaplan.grid import Grid
from areaplan.sources.terrain import Terrain
from tests.oracles.terrain_twin import dense_extremes
from tests.sources.lattices import (
    FRAME,
    ONE_CENTIMETRE_M,
    ONE_MILLIMETRE_M,
    RECORD,
    STEP,
    posts,
    read,
    same,
    terrain_of,
)
from tests.sources.making import lonlat_transform, write_geotiff


# --- against the twin -----------------------------------------------------------------------------
@pytest.mark.parametrize("cell_m", [13.0, 25.0, 70.0, 210.0, 500.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_extremes_are_those_of_the_surface(cell_m, seed):
    heights = np.random.default_rng(seed).uniform(0.0, 300.0, (24, 31))
    lons, lats = posts(*heights.shape)
    side = min(20, max(2, int(900 / cell_m)))
    grid = Grid(-side * cell_m / 2 + 3.7, side * cell_m / 2 - 1.9, cell_m, side, side)
    got = terrain_of(heights, lons, lats).on_grid(grid, FRAME)
    places = 40
    lowest, highest = dense_extremes(heights, lons, lats, grid, FRAME, places)
    # Exact extremes are at or outside every sample ...
    assert (got.highest_amsl_m >= highest - ONE_MILLIMETRE_M).all()
    assert (got.lowest_amsl_m <= lowest + ONE_MILLIMETRE_M).all()
    # ... and no further off than the steepest slope allows within half a sampling step.
    post_m = STEP * 80_000.0  # a post is at least this far from the next, east-west, at 42 degrees
    slack_m = 300.0 * np.sqrt(2.0) / post_m * (cell_m / places)
    assert (got.highest_amsl_m <= highest + slack_m).all()
    assert (got.lowest_amsl_m >= lowest - slack_m).all()


@settings(deadline=None, max_examples=30)
@given(
    arrays(np.float64, (7, 6), elements=st.floats(0, 4000)),
    st.floats(-60, 60),
    st.floats(-60, 60),
    st.sampled_from([20.0, 33.0, 75.0]),
)
def test_extremes_of_any_surface(heights, dx, dy, cell_m):
    lons, lats = posts(*heights.shape)
    grid = Grid(dx - cell_m, dy + cell_m, cell_m, 2, 2)
    got = terrain_of(heights, lons, lats).on_grid(grid, FRAME)
    lowest, highest = dense_extremes(heights, lons, lats, grid, FRAME, 12)
    # The edge of a cell of 75 m bends by 0.1 mm in degrees; slopes here reach 4000 m in 68 m.
    assert (got.highest_amsl_m >= highest - ONE_CENTIMETRE_M).all()
    assert (got.lowest_amsl_m <= lowest + ONE_CENTIMETRE_M).all()
    assert (got.highest_amsl_m <= heights.max() + ONE_MILLIMETRE_M).all()
    assert (got.lowest_amsl_m >= heights.min() - ONE_MILLIMETRE_M).all()


def test_a_ridge_between_lattice_lines_is_not_missed():
    """A sharp ridge along a line of nodes, narrower than the cell, off its edges and middle."""
    heights = np.zeros((21, 21))
    heights[10] = 500.0
    lons, lats = posts(21, 21)
    grid = Grid(-300.0, 333.0, 100.0, 6, 6)
    got = terrain_of(heights, lons, lats).on_grid(grid, FRAME)
    assert (got.highest_amsl_m.max(axis=0) == 500.0).all()
    crossed = got.highest_amsl_m == 500.0
    assert crossed.sum() == 6  # one row of cells and no more


@settings(deadline=None, max_examples=25)
@given(
    arrays(np.float64, (6, 6), elements=st.floats(0, 3000)),
    st.tuples(st.integers(0, 5), st.integers(0, 5)),
    st.floats(0, 2000),
)
def test_higher_ground_never_lowers_an_answer(heights, node, more_m):
    lons, lats = posts(6, 6)
    grid = Grid(-80.0, 80.0, 40.0, 4, 4)
    higher = heights.copy()
    higher[node] += more_m
    before = terrain_of(heights, lons, lats).on_grid(grid, FRAME)
    after = terrain_of(higher, lons, lats).on_grid(grid, FRAME)
    assert (after.highest_amsl_m >= before.highest_amsl_m - ONE_MILLIMETRE_M).all()
    assert (after.lowest_amsl_m >= before.lowest_amsl_m - ONE_MILLIMETRE_M).all()


def test_coarser_cells_hold_the_extremes_of_finer_ones():
    heights = np.random.default_rng(3).uniform(0, 900, (40, 40))
    terrain = terrain_of(heights, *posts(40, 40))
    fine = terrain.on_grid(Grid(-400.0, 400.0, 25.0, 32, 32), FRAME)
    coarse = terrain.on_grid(Grid(-400.0, 400.0, 100.0, 8, 8), FRAME)
    pooled = fine.highest_amsl_m.reshape(8, 4, 8, 4)
    # The edge of a cell of 100 m bends by 0.2 mm in degrees, on slopes of up to nine in one.
    np.testing.assert_allclose(
        coarse.highest_amsl_m, pooled.max(axis=(1, 3)), atol=ONE_CENTIMETRE_M
    )
    pooled = fine.lowest_amsl_m.reshape(8, 4, 8, 4)
    np.testing.assert_allclose(coarse.lowest_amsl_m, pooled.min(axis=(1, 3)), atol=ONE_CENTIMETRE_M)


def test_blocks_leave_no_seam(monkeypatch):
    heights = np.random.default_rng(4).uniform(0, 900, (60, 60))
    terrain = terrain_of(heights, *posts(60, 60))
    grid = Grid(-700.0, 700.0, 20.0, 70, 70)
    whole = terrain.on_grid(grid, FRAME)
    monkeypatch.setattr(cell_places, "BLOCK_CELLS", 9)
    same(terrain.on_grid(grid, FRAME), whole, 1e-9)
    monkeypatch.setattr(cell_places, "BLOCK_CELLS", 512)
    monkeypatch.setattr(resampling, "_MAX_WINDOW_NODES", 60)  # forces splitting
    monkeypatch.setattr(resampling, "_MAX_PLACES", 10)
    same(terrain.on_grid(grid, FRAME), whole, 1e-9)


# --- one surface, two coordinate systems ----------------------------------------------------------
def hills(x_m, y_m):
    return 400 + 120 * np.sin(x_m / 900) * np.cos(y_m / 700) + 0.05 * x_m


def test_two_coordinate_systems_agree(tmp_path):
    """The same smooth hills, posted every 10 m or so in degrees, in UTM and in Web Mercator."""
    results = []
    for code, step in ((4326, 0.0001), (32631, 10.0), (3857, 13.0)):
        there = pyproj.Transformer.from_crs(4326, code, always_xy=True)
        x0, y0 = there.transform(1.5, 42.5)
        j = (np.arange(401) - 200) * step
        x, y = np.meshgrid(x0 + j, y0 - j)
        lon, lat = there.transform(x, y, direction="INVERSE")
        heights = hills(*FRAME.to_local(lon, lat))
        transform = lonlat_transform(x0 + j[0], y0 - j[0], step)
        path = write_geotiff(tmp_path / f"{code}.tif", heights, transform, f"EPSG:{code}")
        results.append(read(path).on_grid(Grid(-1000.0, 1000.0, 25.0, 80, 80), FRAME))
        assert not np.isnan(results[-1].highest_amsl_m).any()
    # Curvature of the hills is at most 120/700^2 per metre; chords of 14 m miss 6 mm of that.
    same(results[0], results[1], 0.02)
    same(results[0], results[2], 0.02)


def test_a_plane_in_utm_is_exact(tmp_path):
    """Bilinear interpolation reproduces a plane, so the extremes lie at corners, known exactly."""
    there = pyproj.Transformer.from_crs(4326, 32631, always_xy=True)
    x0, y0 = there.transform(1.5, 42.5)
    step = 30.0
    j = (np.arange(101) - 50) * step
    x, y = np.meshgrid(x0 + j, y0 - j)
    plane = lambda x, y: 500 + 0.2 * (x - x0) - 0.1 * (y - y0)  # noqa: E731
    transform = lonlat_transform(x0 + j[0], y0 - j[0], step)
    path = write_geotiff(tmp_path / "a.tif", plane(x, y), transform, "EPSG:32631")
    grid = Grid(-800.0, 800.0, 25.0, 64, 64)
    got = read(path).on_grid(grid, FRAME)
    edges_x = grid.x_min_m + np.arange(65) * 25.0
    edges_y = grid.y_max_m - np.arange(65) * 25.0
    corners = plane(*there.transform(*FRAME.to_lonlat(*np.meshgrid(edges_x, edges_y))))
    around = np.stack([corners[:-1, :-1], corners[1:, :-1], corners[:-1, 1:], corners[1:, 1:]])
    np.testing.assert_allclose(got.highest_amsl_m, around.max(axis=0), atol=1e-6)
    np.testing.assert_allclose(got.lowest_amsl_m, around.min(axis=0), atol=1e-6)


def test_a_rotated_and_a_south_up_raster(tmp_path):
    """Any georeference that a GeoTIFF can carry: rows going north, axes turned."""
    heights = np.random.default_rng(5).uniform(0, 900, (60, 60)).astype(np.float32)
    up = lonlat_transform(1.5 - 30 * STEP, 42.5 + 30 * STEP, STEP)
    plain = read(write_geotiff(tmp_path / "a.tif", heights, up))
    grid = Grid(-900.0, 900.0, 60.0, 30, 30)
    meant = plain.on_grid(grid, FRAME)
    flipped = up * up.translation(0, 60) * up.scale(1, -1)
    same(
        read(write_geotiff(tmp_path / "b.tif", heights[::-1], flipped)).on_grid(grid, FRAME), meant
    )
    # Columns run south, rows run east.
    turned = up * type(up)(0, 1, 0, 1, 0, 0)
    same(read(write_geotiff(tmp_path / "c.tif", heights.T, turned)).on_grid(grid, FRAME), meant)


# --- what is unknown ------------------------------------------------------------------------------
def test_outside_the_model_nothing_is_known():
    heights = np.full((20, 20), 100.0)
    lons, lats = posts(20, 20)
    terrain = terrain_of(heights, lons, lats)
    east_m, _ = FRAME.to_local(lons[-1], 42.5)
    half_m = (east_m - FRAME.to_local(lons[-2], 42.5)[0]) / 2
    # One column of narrow cells across the edge: known to half a post beyond the outer posts.
    grid = Grid(float(east_m) - 20.0, 5.0, 1.0, 10, 80)
    got = terrain.on_grid(grid, FRAME)
    is_known = ~np.isnan(got.highest_amsl_m)
    right_edges_m = grid.centre_x_m() + 0.5
    np.testing.assert_array_equal(is_known[4], right_edges_m <= east_m + half_m)
    assert (got.highest_amsl_m[is_known] == 100.0).all()
    far = terrain.on_grid(Grid(50_000.0, 50_000.0, 100.0, 5, 5), FRAME)
    assert np.isnan(far.highest_amsl_m).all()
    assert np.isnan(far.lowest_amsl_m).all()


def test_a_void_makes_every_cell_it_touches_unknown():
    heights = np.full((41, 41), 100.0)
    heights[20, 20] = np.nan
    lons, lats = posts(41, 41)
    grid = Grid(-500.0, 500.0, 10.0, 100, 100)
    got = terrain_of(heights, lons, lats).on_grid(grid, FRAME)
    is_unknown = np.isnan(got.highest_amsl_m)
    np.testing.assert_array_equal(is_unknown, np.isnan(got.lowest_amsl_m))
    # Four squares of posts touch the void: two posts by two posts.
    x, y = FRAME.to_local(lons[[19, 21]], lats[[19, 21]])
    west, east, north, south = x[0], x[1], y[0], y[1]
    cell_x, cell_y = np.meshgrid(grid.centre_x_m(), grid.centre_y_m())
    inside = (cell_x > west + 5) & (cell_x < east - 5) & (cell_y < north - 5) & (cell_y > south + 5)
    beyond = (cell_x < west - 6) | (cell_x > east + 6) | (cell_y > north + 6) | (cell_y < south - 6)
    assert is_unknown[inside].all()
    assert not is_unknown[beyond].any()


@pytest.mark.parametrize("inside_m", [np.nan, np.inf, -np.inf, -9999.0, 29_000.0, -32768.0])
def test_a_void_inside_one_large_cell_is_seen(inside_m):
    heights = np.full((41, 41), 100.0)
    heights[20, 20] = inside_m
    got = terrain_of(heights, *posts(41, 41)).on_grid(Grid(-600.0, 600.0, 1200.0, 1, 1), FRAME)
    assert np.isnan(got.highest_amsl_m).all()
    if np.isfinite(inside_m):
        assert f"{inside_m:.0f} m" in got.notes[0]
        assert "unknown" in got.notes[0]
    else:
        assert got.notes == ()


def test_the_true_extremes_on_earth_are_not_absurd():
    """The Dead Sea shore (about -430 m) and Everest (8,849 m) are heights like any other."""
    for height_m in (-435.0, 8849.0):
        terrain = terrain_of(np.full((10, 10), height_m), *posts(10, 10))
        got = terrain.on_grid(Grid(-50.0, 50.0, 50.0, 2, 2), FRAME)
        assert (got.highest_amsl_m == height_m).all()
        assert got.notes == ()


# --- from memory ----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("shape", "box"),
    [
        ((1, 5), (1, 42, 2, 43)),
        ((5,), (1, 42, 2, 43)),
        ((5, 5), (2, 42, 1, 43)),
        ((5, 5), (1, 43, 2, 42)),
        ((5, 5), (1, np.nan, 2, 43)),
    ],
)
def test_arrays_without_a_box(shape, box):
    west, south, east, north = box
    with pytest.raises(InputError):
        Terrain.from_array(
            np.zeros(shape), west=west, south=south, east=east, north=north, record=RECORD
        )


def test_an_array_is_copied():
    heights = np.full((10, 10), 100.0)
    terrain = terrain_of(heights, *posts(10, 10))
    heights[:] = 0.0
    got = terrain.on_grid(Grid(-50.0, 50.0, 50.0, 2, 2), FRAME)
    assert (got.highest_amsl_m == 100.0).all()
    assert terrain.record is RECORD
