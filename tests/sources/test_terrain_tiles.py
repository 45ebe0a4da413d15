"""Several terrain files as one surface, and what of them is read."""

import tracemalloc

import numpy as np
import pyproj
import pytest
import rasterio
from scipy.interpolate import RegularGridInterpolator

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from tests.sources.lattices import (
    FRAME,
    ONE_MILLIMETRE_M,
    STEP,
    posts,
    read,
    same,
    terrain_of,
)
from tests.sources.making import lonlat_transform, write_geotiff, write_hgt


# --- several files --------------------------------------------------------------------------------
def test_tiles_of_one_lattice_are_one_surface(tmp_path):
    """Areas that meet without overlap: the surface runs across the seam as in one file."""
    heights = np.random.default_rng(6).uniform(0, 900, (80, 80)).astype(np.float32)
    west, north = 1.5 - 40 * STEP, 42.5 + 40 * STEP
    whole = read(write_geotiff(tmp_path / "a.tif", heights, lonlat_transform(west, north, STEP)))
    parts = [
        write_geotiff(
            tmp_path / f"{row}-{col}.tif",
            heights[row : row + 40, col : col + 40],
            lonlat_transform(west + col * STEP, north - row * STEP, STEP),
        )
        for row in (0, 40)
        for col in (0, 40)
    ]
    grid = Grid(-1000.0, 1000.0, 25.0, 80, 80)
    meant = whole.on_grid(grid, FRAME)
    assert not np.isnan(meant.highest_amsl_m).any()
    same(read(*parts).on_grid(grid, FRAME), meant, 1e-6)
    same(read(*parts[::-1]).on_grid(grid, FRAME), meant, 1e-6)


def test_neighbouring_hgt_tiles_share_their_edge(tmp_path):
    heights = np.random.default_rng(7).integers(0, 900, (1201, 2401))
    paths = [
        write_hgt(tmp_path / "N42E001.hgt", heights[:, :1201]),
        write_hgt(tmp_path / "N42E002.hgt.zip", heights[:, 1200:]),
    ]
    frame = LocalFrame(42.5, 2.0)
    grid = Grid(-500.0, 500.0, 25.0, 40, 40)
    got = read(*paths).on_grid(grid, frame)
    lons, lats = 1.0 + np.arange(2401) * STEP, 43.0 - np.arange(1201) * STEP
    meant = terrain_of(heights.astype(float), lons, lats).on_grid(grid, frame)
    same(got, meant, 1e-6)
    alone = read(paths[0]).on_grid(grid, frame)
    assert np.isnan(alone.highest_amsl_m[:, 21:]).sum() > 0.8 * 19 * 40


@pytest.mark.parametrize("order", [1, -1])
def test_where_files_overlap_the_first_counts(tmp_path, order):
    """The same lattice, a shifted one, and another coordinate system."""
    there = pyproj.Transformer.from_crs(4326, 32631, always_xy=True)
    x0, y0 = there.transform(1.5, 42.5)
    low = write_geotiff(
        tmp_path / "low.tif", np.full((80, 80), 100.0), lonlat_transform(1.46, 42.54, STEP)
    )
    others = [
        write_geotiff(
            tmp_path / "b.tif", np.full((40, 40), 200.0), lonlat_transform(1.46, 42.54, STEP)
        ),
        write_geotiff(
            tmp_path / "c.tif", np.full((40, 40), 200.0), lonlat_transform(1.4603, 42.5402, STEP)
        ),
        write_geotiff(
            tmp_path / "d.tif",
            np.full((90, 90), 200.0),
            lonlat_transform(x0 - 2000.0, y0 + 2000.0, 25.0),
            "EPSG:32631",
        ),
    ]
    grid = Grid(-1500.0, 1500.0, 50.0, 60, 60)
    for other in others:
        terrain = read(*[low, other][::order])
        got = terrain.on_grid(grid, FRAME)
        assert not np.isnan(got.highest_amsl_m).any()
        is_high = got.highest_amsl_m == 200.0
        if order == 1:
            assert not is_high.any()
        else:
            assert is_high.any()
            assert not is_high.all()
            # Nowhere anything but the two heights, or the way from one to the other.
            assert set(np.unique(got.lowest_amsl_m)) >= {100.0, 200.0}


def test_another_resolution_next_door_leaves_no_unknown_strip(tmp_path):
    """One second beside three seconds, and UTM beside both, edges not parallel."""
    fine = np.full((241, 241), 300.0)
    coarse = np.full((81, 81), 700.0)
    frame = LocalFrame(42.5, 1.5)
    west = write_geotiff(
        tmp_path / "w.tif", fine, lonlat_transform(1.5 - 240 * STEP / 3, 42.54, STEP / 3)
    )
    east = write_geotiff(tmp_path / "e.tif", coarse, lonlat_transform(1.5, 42.54, STEP))
    for paths in ((west, east), (east, west)):
        got = read(*paths).on_grid(Grid(-1000.0, 1000.0, 25.0, 80, 80), frame)
        assert not np.isnan(got.highest_amsl_m).any()
        assert set(np.unique(got.highest_amsl_m)) == {300.0, 700.0}
        cell_x = Grid(-1000.0, 1000.0, 25.0, 80, 80).centre_x_m()
        assert (got.highest_amsl_m[:, cell_x > 60.0] == 700.0).all()
        assert (got.highest_amsl_m[:, cell_x < -60.0] == 300.0).all()
        straddling = got.highest_amsl_m != got.lowest_amsl_m
        assert straddling.any()  # cells on the seam hold both


def test_a_later_file_fills_the_voids_of_an_earlier_one(tmp_path):
    heights = np.full((80, 80), 100.0, dtype=np.float32)
    heights[30:50, 30:50] = -9999.0
    heights[28, 40] = 450.0  # a peak at the rim, in the first file only
    holes = write_geotiff(
        tmp_path / "a.tif", heights, lonlat_transform(1.5 - 40 * STEP, 42.5 + 40 * STEP, STEP),
        nodata=-9999.0,
    )  # fmt: skip
    full = write_geotiff(
        tmp_path / "b.tif", np.full((30, 30), 150.0, dtype=np.float32),
        lonlat_transform(1.5 - 31 * STEP, 42.5 + 29.5 * STEP, 2.13 * STEP),
    )  # fmt: skip
    grid = Grid(-1200.0, 1200.0, 60.0, 40, 40)
    alone = read(holes).on_grid(grid, FRAME)
    assert np.isnan(alone.highest_amsl_m).any()
    both = read(holes, full).on_grid(grid, FRAME)
    assert not np.isnan(both.highest_amsl_m).any()
    known = ~np.isnan(alone.highest_amsl_m)
    np.testing.assert_array_equal(both.highest_amsl_m[known], alone.highest_amsl_m[known])
    assert both.highest_amsl_m.max() == 450.0
    assert (both.lowest_amsl_m[~known] >= 100.0).all()
    assert (both.highest_amsl_m[19:21, 19:21] == 150.0).all()


@pytest.mark.parametrize("seed", range(4))
def test_no_cell_with_an_unknown_place_is_ever_known(tmp_path, seed):
    """Two models full of voids: what neither knows anywhere in a cell makes the cell unknown."""
    chance = np.random.default_rng(seed)
    lons, lats = posts(30, 30)
    models, known = [], []
    for number, shift in enumerate((0.0, 0.37 * STEP)):
        heights = chance.uniform(0.0, 300.0, (30, 30))
        heights[chance.uniform(size=heights.shape) < 0.08] = np.nan
        models.append(heights)
        path = tmp_path / f"{number}.tif"
        write_geotiff(path, heights, lonlat_transform(lons[0] + shift, lats[0] + shift, STEP))
        known.append((path, lons + shift, lats + shift))
    grid = Grid(-500.0, 500.0, 40.0, 25, 25)
    got = read(*[path for path, _, _ in known]).on_grid(grid, FRAME)
    steps = np.arange(0.5, 40.0, 1.0)
    x, y = np.meshgrid(
        (grid.x_min_m + np.arange(25)[:, None] * 40.0 + steps).ravel(),
        (grid.y_max_m - np.arange(25)[:, None] * 40.0 - steps).ravel(),
    )
    lon, lat = FRAME.to_lonlat(x, y)
    surfaces = [
        RegularGridInterpolator((lats_[::-1], lons_), model[::-1])((lat, lon))
        for model, (_, lons_, lats_) in zip(models, known, strict=True)
    ]
    first_known = np.where(np.isnan(surfaces[0]), surfaces[1], surfaces[0])
    by_cell = first_known.reshape(25, 40, 25, 40)
    has_unknown = np.isnan(by_cell).any(axis=(1, 3))
    is_known = ~np.isnan(got.highest_amsl_m)
    assert has_unknown.any()
    assert not (is_known & has_unknown).any()
    assert is_known.sum() > 0.5 * (~has_unknown).sum()
    highest, lowest = by_cell.max(axis=(1, 3)), by_cell.min(axis=(1, 3))
    assert (got.highest_amsl_m[is_known] >= highest[is_known] - ONE_MILLIMETRE_M).all()
    assert (got.lowest_amsl_m[is_known] <= lowest[is_known] + ONE_MILLIMETRE_M).all()


def test_a_peak_in_a_half_known_cell_counts(tmp_path):
    """The first file knows half of a cell, with a peak in it; the second knows all, and is flat."""
    first = np.full((20, 20), 100.0)
    first[5, 10] = 800.0
    first[10:] = np.nan
    flat = np.full((30, 30), 100.0)
    lons, lats = posts(20, 20)
    half = write_geotiff(tmp_path / "a.tif", first, lonlat_transform(lons[0], lats[0], STEP))
    full = write_geotiff(tmp_path / "b.tif", flat, lonlat_transform(1.48, 42.52, 1.7 * STEP))
    got = read(half, full).on_grid(Grid(-400.0, 400.0, 800.0, 1, 1), FRAME)
    assert got.highest_amsl_m[0, 0] == 800.0


def test_across_the_180_degree_meridian(tmp_path):
    heights = np.random.default_rng(8).integers(0, 900, (1201, 2401))
    east = write_hgt(tmp_path / "N51E179.hgt", heights[:, :1201])
    west = write_hgt(tmp_path / "N51W180.hgt", heights[:, 1200:])
    for lon in (180.0, -180.0, 179.99, -179.99):
        frame = LocalFrame(51.5, lon)
        grid = Grid(-1500.0, 1500.0, 50.0, 60, 60)
        got = read(east, west).on_grid(grid, frame)
        assert not np.isnan(got.highest_amsl_m).any()
        assert got.highest_amsl_m.max() > 850.0


def test_longitudes_from_0_to_360(tmp_path):
    heights = np.random.default_rng(9).uniform(0, 900, (60, 60))
    plain = write_geotiff(tmp_path / "a.tif", heights, lonlat_transform(-101.03, 41.53, STEP))
    turned = write_geotiff(tmp_path / "b.tif", heights, lonlat_transform(258.97, 41.53, STEP))
    frame, grid = LocalFrame(41.505, -101.005), Grid(-800.0, 800.0, 40.0, 40, 40)
    same(read(turned).on_grid(grid, frame), read(plain).on_grid(grid, frame), 1e-5)
    assert not np.isnan(read(turned).on_grid(grid, frame).highest_amsl_m).any()


# --- cost -----------------------------------------------------------------------------------------
def test_only_what_the_grid_needs_is_read(tmp_path):
    """A model of 1.6 thousand million posts, of which 100 by 100 lie under the grid."""
    path = tmp_path / "a.tif"
    side = 40_000
    west, north = 1.5 - side / 2 * STEP / 100, 42.5 + side / 2 * STEP / 100
    with rasterio.open(
        path, "w", driver="GTiff", height=side, width=side, count=1, dtype="float32",
        crs="EPSG:4326", transform=lonlat_transform(west, north, STEP / 100), tiled=True,
        SPARSE_OK=True, BIGTIFF="YES",
    ) as data:  # fmt: skip
        data.write(
            np.full((1, 512, 512), 123.0, dtype=np.float32),
            window=rasterio.windows.Window(19_968, 19_968, 512, 512),
        )
    terrain = read(path)
    tracemalloc.start()
    got = terrain.on_grid(Grid(-10.0, 10.0, 5.0, 4, 4), FRAME)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert (got.highest_amsl_m == 123.0).all()
    assert peak < 20e6
