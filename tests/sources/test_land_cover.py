"""Maps of classes: published codes, the worst pixel of each cell, files that are not maps."""

import ast
import re
from pathlib import Path

import numpy as np
import pyproj
import pytest
import rasterio
from hypothesis import given, settings
from hypothesis import strategies as st
from rasterio.transform import Affine

import areaplan.sources
from areaplan.errors import InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.sources.land_cover import read_land_cover
from areaplan.sources.land_cover_legends import legend_names, load_legend
from tests.oracles.land_cover_twin import worst_ranks
from tests.sources.making import faults_of, spec_of, write_geotiff

FRAME = LocalFrame(lat=41.2, lon=-100.0)
UTM = "EPSG:32614"
GRASS, CROPS, FOREST, BARREN, WATER, BLANK = 71, 82, 41, 31, 11, 250
RANK = {GRASS: 1, CROPS: 2, BARREN: 3, FOREST: 0, WATER: 0, BLANK: -1}


def write_classes(path, codes, transform, crs=UTM, **more):
    more.setdefault("nodata", BLANK)
    return write_geotiff(path, np.asarray(codes, dtype=np.uint8), transform, crs, **more)


def read(*paths, legend="nlcd", **more):
    return read_land_cover(spec_of("land-cover", *paths, legend=legend, edition="test"), **more)


def utm_corner(x_m=-600.0, y_m=600.0, pixel_m=30.0):
    """Transform of a raster in UTM whose north-west corner is at a place in local metres."""
    lon, lat = FRAME.to_lonlat(x_m, y_m)
    x, y = pyproj.Transformer.from_crs("EPSG:4326", UTM, always_xy=True).transform(lon, lat)
    return Affine(pixel_m, 0.0, x, 0.0, -pixel_m, y)


# --- legends --------------------------------------------------------------------------------------
# MRLC, "National Land Cover Database class legend and description"; ESA WorldCover Product User
# Manual v2.0, table of classes; EEA, "CORINE Land Cover nomenclature": 44 classes at level 3.
PUBLISHED = {
    "nlcd": {11, 12, 21, 22, 23, 24, 31, 41, 42, 43, 52, 71, 72, 73, 74, 81, 82, 90, 95},
    "worldcover": {10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100},
}
# The ranks are this project's: facts gathered for it, section on land cover.
RANKS = {
    "nlcd": {71: 1, 81: 1, 82: 2, 31: 3},
    "worldcover": {30: 1, 40: 2, 60: 3},
    "corine": {231: 1, 321: 1, 211: 2},
}


def test_the_legends_are_those_of_the_publishers():
    assert legend_names() == ("corine", "nlcd", "worldcover")
    for name, codes in PUBLISHED.items():
        assert {row.code for row in load_legend(name).classes} == codes
    corine = load_legend("corine").classes
    assert len(corine) == 44
    # Level 3 numbers its classes within 5 groups; rasters number them in the same order from 1.
    assert {row.code // 100 for row in corine} == {1, 2, 3, 4, 5}
    assert [row.also for row in corine] == list(range(1, 45))
    assert [row.code for row in corine] == sorted(row.code for row in corine)


@pytest.mark.parametrize("name", RANKS)
def test_only_open_ground_is_a_candidate_and_each_class_says_how_sure_it_is(name):
    legend = load_legend(name)
    assert {row.code: row.rank for row in legend.classes if row.rank} == RANKS[name]
    assert all(row.tag in ("VERIFIED", "FROM MEMORY") and row.source for row in legend.classes)
    for row in legend.classes:
        if re.search(r"forest|urban|developed|water|wetland|marsh|orchard|vine|ice", row.name):
            assert row.rank == 0, row


def test_no_code_stands_in_python():
    folder = Path(areaplan.sources.__file__).parent
    names = ("land_cover.py", "land_cover_legends.py", "_class_cells.py", "_class_rasters.py")
    numbers = {
        node.value
        for name in names
        for node in ast.walk(ast.parse((folder / name).read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, int)
    }
    codes = {row.code for name in legend_names() for row in load_legend(name).classes}
    assert len(codes) > 60
    assert not numbers & (codes - {100})  # the confidence asked of a name for a frame, per cent


# --- cells ----------------------------------------------------------------------------------------
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_a_cell_is_never_better_than_the_worst_pixel_under_it(data, tmp_path_factory):
    """Against polygons cut one by one; the box round a tilted cell may only make it worse."""
    codes = np.array(
        data.draw(st.lists(st.sampled_from(list(RANK)), min_size=120, max_size=120))
    ).reshape(10, 12)
    pixel_m = data.draw(st.sampled_from([30.0, 55.0, 100.0]))
    x_m, y_m = data.draw(st.tuples(st.floats(-700, 100), st.floats(-100, 700)))
    turn = data.draw(st.sampled_from([0.0, 0.0, 17.0]))
    transform = utm_corner(x_m, y_m, pixel_m) @ Affine.rotation(turn)
    path = write_classes(tmp_path_factory.mktemp("c") / "c.tif", codes, transform)
    grid = Grid(-250.0, 250.0, 50.0, 8, 9)
    found = read(path).on_grid(grid, FRAME)
    assert found.dtype == np.int16
    to_file = pyproj.Transformer.from_crs("EPSG:4326", UTM, always_xy=True).transform
    ranks = np.vectorize(RANK.get)(codes)
    matrix = np.array(transform[:6]).reshape(2, 3)
    truth = worst_ranks(ranks, matrix, grid, FRAME, to_file)
    is_field = found > 0
    assert (truth[is_field] > 0).all()
    assert (found[is_field] >= truth[is_field]).all()
    assert (found[truth == 0] == 0).all()
    if turn == 0.0:
        # The convergence here is 0.66 degrees: a cell's box reaches 0.6 m further than the cell.
        assert (found == truth).mean() > 0.8


def test_a_frame_along_the_pixels_gives_exactly_the_polygons_answer(tmp_path):
    rng = np.random.default_rng(7)
    codes = rng.choice(list(RANK), size=(14, 14), p=[0.45, 0.2, 0.05, 0.2, 0.05, 0.05])
    transform = Affine(1e-4, 0.0, -100.0007, 0.0, -1e-4, 41.2007)
    path = write_classes(tmp_path / "c.tif", codes, transform, "EPSG:4326")
    grid = Grid(-50.0, 70.0, 4.0, 34, 26)
    truth = worst_ranks(
        np.vectorize(RANK.get)(codes), np.array(transform[:6]).reshape(2, 3), grid, FRAME,
        lambda lon, lat: (lon, lat),
    )  # fmt: skip
    assert set(np.unique(truth)) == {-1, 0, 1, 2, 3}
    np.testing.assert_array_equal(read(path).on_grid(grid, FRAME), truth)


def test_one_pixel_of_forest_closes_every_cell_that_it_touches(tmp_path):
    codes = np.full((40, 40), GRASS)
    codes[20, 20] = FOREST
    transform = utm_corner()
    cover = read(write_classes(tmp_path / "c.tif", codes, transform))
    grid = Grid(-400.0, 400.0, 10.0, 80, 80)
    ranks = cover.on_grid(grid, FRAME)
    assert set(np.unique(ranks)) == {0, 1}
    # A 30 m pixel, cells of 10 m and an edge that leans by 0.66 degrees: 3 or 4 cells a side, or 5.
    assert 9 <= (ranks == 0).sum() <= 25
    names = [row.name for row in cover.legend.classes]
    at_centres = cover.classes_on_grid(grid, FRAME)
    assert (at_centres == names.index("deciduous forest")).sum() in range(8, 11)
    assert (ranks[at_centres == names.index("deciduous forest")] == 0).all()


def test_two_tiles_are_one_map_without_a_seam(tmp_path):
    rng = np.random.default_rng(3)
    codes = rng.choice([GRASS, GRASS, GRASS, CROPS, FOREST], size=(40, 40))
    transform = utm_corner()
    grid = Grid(-500.0, 500.0, 25.0, 40, 40)
    whole = read(write_classes(tmp_path / "a.tif", codes, transform)).on_grid(grid, FRAME)
    west = write_classes(tmp_path / "w.tif", codes[:, :17], transform)
    east = write_classes(
        tmp_path / "e.tif", codes[:, 17:], transform @ Affine.translation(17.0, 0.0)
    )
    assert (whole > 0).any()
    np.testing.assert_array_equal(read(west, east).on_grid(grid, FRAME), whole)
    half = read(west).on_grid(grid, FRAME)
    assert (half[:, -5:] == -1).all()


def test_of_files_that_overlap_the_worst_counts_and_one_may_fill_anothers_blanks(tmp_path):
    transform = utm_corner()
    grid = Grid(-500.0, 500.0, 25.0, 40, 40)
    first, second = np.full((40, 40), GRASS), np.full((40, 40), CROPS)
    first[:20], second[30:] = BLANK, FOREST
    paths = [
        write_classes(tmp_path / "1.tif", first, transform),
        write_classes(tmp_path / "2.tif", second, transform),
        write_classes(tmp_path / "3.tif", second, utm_corner(-607.0, 611.0)),  # another lattice
    ]
    for pair in ((paths[0], paths[1]), (paths[1], paths[0]), (paths[0], paths[2])):
        ranks = read(*pair).on_grid(grid, FRAME)
        assert (ranks[2:27] == 2).all()
        assert (ranks[-5:] == 0).all()


def test_beyond_the_file_and_in_its_blanks_nothing_is_known(tmp_path):
    codes = np.full((10, 10), GRASS)
    codes[:, :5] = BLANK
    cover = read(write_classes(tmp_path / "c.tif", codes, utm_corner(0.0, 300.0)))
    grid = Grid(-500.0, 500.0, 50.0, 20, 20)
    ranks = cover.on_grid(grid, FRAME)
    assert set(np.unique(ranks)) == {-1, 1}
    assert (ranks[:, :13] == -1).all()
    assert (cover.record.rows_read, cover.record.rows_used) == (1, 1)
    far = LocalFrame(lat=-41.0, lon=80.0)
    assert (cover.on_grid(grid, far) == -1).all()
    assert (cover.classes_on_grid(grid, far) == -1).all()


def test_reading_a_part_changes_no_answer(tmp_path):
    rng = np.random.default_rng(11)
    codes = rng.choice([GRASS, CROPS, FOREST], p=[0.8, 0.1, 0.1], size=(400, 400))
    path = write_classes(tmp_path / "c.tif", codes, utm_corner(-6000.0, 6000.0))
    grid = Grid(-500.0, 500.0, 25.0, 40, 40)
    clip = (
        *map(float, FRAME.to_lonlat(-600.0, -600.0)),
        *map(float, FRAME.to_lonlat(600.0, 600.0)),
    )
    part = read(path, clip_lonlat=clip)
    assert part.tiles[0].classes.size < 60 * 60
    np.testing.assert_array_equal(part.on_grid(grid, FRAME), read(path).on_grid(grid, FRAME))
    away = read(path, clip_lonlat=(10.0, 50.0, 10.1, 50.1))
    assert away.tiles[0].classes.size == 0
    assert any("does not reach" in note for note in away.record.notes)
    assert (away.on_grid(grid, FRAME) == -1).all()


def test_the_180th_meridian_is_no_edge(tmp_path):
    frame = LocalFrame(lat=52.0, lon=180.0)
    codes = np.full((30, 60), GRASS)
    codes[:, 30:] = CROPS
    west = write_classes(
        tmp_path / "w.tif", codes[:, :30], Affine(1e-3, 0, 179.97, 0, -1e-3, 52.015), "EPSG:4326"
    )
    east = write_classes(
        tmp_path / "e.tif", codes[:, 30:], Affine(1e-3, 0, -180.0, 0, -1e-3, 52.015), "EPSG:4326"
    )
    ranks = read(west, east).on_grid(Grid(-1000.0, 1000.0, 50.0, 40, 40), frame)
    assert (ranks[:, :20] == 1).all()
    assert (ranks[:, 20:] == 2).all()


def test_a_palette_a_sidecar_and_a_datum_a_little_off_do_no_harm(tmp_path):
    path = write_classes(tmp_path / "c.tif", np.full((40, 40), GRASS), utm_corner())
    with rasterio.open(path, "r+") as file:
        file.write_colormap(1, {GRASS: (1, 2, 3, 255)})
        # Mexico ITRF2008, as a real file of a US map is tagged: metres, not kilometres, away.
        file.crs = rasterio.crs.CRS.from_epsg(6369)
    cover = read(path)
    assert (cover.on_grid(Grid(-400.0, 400.0, 50.0, 16, 16), FRAME) == 1).all()
    assert len(cover.record.sha256[0]) == 64
    assert any("one pixel in four" in note for note in cover.record.notes)


def test_corine_by_either_number(tmp_path):
    transform = utm_corner(pixel_m=100.0)
    grid = Grid(-300.0, 300.0, 50.0, 12, 12)
    for code, rank in ((231, 1), (18, 1), (211, 2), (12, 2), (311, 0), (23, 0), (48, -1)):
        codes = np.full((12, 12), code, dtype=np.int16)
        path = write_geotiff(tmp_path / f"{code}.tif", codes, transform, UTM)
        assert (read(path, legend="corine").on_grid(grid, FRAME) == rank).all(), code


# --- files that are not such maps -----------------------------------------------------------------
def test_codes_that_the_legend_lacks_are_named_with_their_counts(tmp_path):
    codes = np.full((10, 10), GRASS)
    codes[0, :7], codes[1, 0] = 99, 13
    path = write_classes(tmp_path / "odd.tif", codes, utm_corner())
    with pytest.raises(InputError) as error:
        read(path)
    (fault,) = faults_of(error)
    assert fault.place == "odd.tif"
    assert "code 99 in 7 pixels, code 13 in 1 pixels" in fault.found
    assert "source[2].legend" in fault.fix


@pytest.mark.parametrize("code", [32, 33, 51, 61, 83, 84, 85])
def test_the_legend_of_1992_is_told_from_the_later_one(tmp_path, code):
    """Its 21 to 23 are houses and quarries by another order: reading it would be quietly wrong."""
    codes = np.full((10, 10), GRASS)
    codes[3, 3] = code
    with pytest.raises(InputError, match="1992") as error:
        read(write_classes(tmp_path / "c.tif", codes, utm_corner()))
    (fault,) = faults_of(error)
    assert "legend differs" in fault.expected
    assert f"code {code} in 1 pixels" in fault.found


def test_the_wrong_legend_is_noticed(tmp_path):
    path = write_classes(tmp_path / "c.tif", [[GRASS, CROPS], [FOREST, WATER]], utm_corner())
    for legend in ("worldcover", "corine"):
        with pytest.raises(InputError, match="code"):
            read(path, legend=legend)


def test_pictures_and_averages_are_no_maps_of_classes(tmp_path):
    grass = np.full((5, 5), GRASS)
    picture = write_classes(tmp_path / "rgb.tif", grass, utm_corner(), count=3, photometric="RGB")
    with pytest.raises(InputError, match="picture"):
        read(picture)
    mean = write_geotiff(tmp_path / "mean.tif", np.full((5, 5), 71.5), utm_corner(), UTM)
    with pytest.raises(InputError, match="averaging"):
        read(mean)
    lost = write_geotiff(tmp_path / "lost.tif", grass.astype(np.uint8), Affine.identity(), UTM)
    with pytest.raises(InputError, match="where its pixels lie"):
        read(lost)
    bare = write_geotiff(tmp_path / "bare.tif", grass.astype(np.uint8), utm_corner(), None)
    with pytest.raises(InputError, match="no coordinate reference system"):
        read(bare)
    other = tmp_path / "map.png"
    other.write_bytes(b"\x89PNG\r\n\x1a\n")
    with pytest.raises(InputError, match="ending"):
        read(other)
    torn = tmp_path / "torn.tif"
    torn.write_bytes(write_classes(tmp_path / "c.tif", grass, utm_corner()).read_bytes()[:60])
    with pytest.raises(InputError, match=r"torn\.tif"):
        read(torn)


def test_whole_numbers_in_floating_point_and_nan_are_read(tmp_path):
    codes = np.full((40, 40), float(GRASS))
    codes[:, 30:] = np.nan
    path = write_geotiff(tmp_path / "f.tif", codes, utm_corner(), UTM)
    ranks = read(path).on_grid(Grid(-400.0, 400.0, 50.0, 16, 16), FRAME)
    assert (ranks[:, :13] == 1).all()
    assert (ranks[:, 14:] == -1).all()
