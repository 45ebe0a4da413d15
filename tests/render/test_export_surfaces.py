"""GeoTIFF surfaces: the plan's own values back through GDAL, and no overview that flatters."""

import numpy as np
import pytest
import rasterio

from areaplan.planning.plan import NO_BAND_FT, UNKNOWN_FT, UNREACHABLE_FT
from areaplan.render import geotiff
from areaplan.render.export_notes import export_notes
from areaplan.render.geotiff import surface_files
from tests.render.plan_fixture import plan as make_plan


@pytest.fixture(scope="module")
def plan():
    return make_plan()


@pytest.fixture(scope="module")
def folder(plan, tmp_path_factory):
    found = tmp_path_factory.mktemp("surfaces")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(geotiff, "BLOCK", 128)  # so that a small grid has overviews
        for name, content in surface_files(plan, export_notes(plan), has_sectors=True).items():
            (found / name).write_bytes(content)
    return found


def test_values_come_back_cell_for_cell(plan, folder):
    cells = plan.cells
    expected = {
        "terrain_amsl_ft": cells.terrain_amsl_ft,
        "legal_floor_amsl_ft": cells.legal_floor_amsl_ft,
        "glide_required_amsl_ft": cells.glide_required_amsl_ft,
    }
    for name, values in expected.items():
        with rasterio.open(folder / f"{name}.tif") as file:
            np.testing.assert_array_equal(file.read(1), values)
    with rasterio.open(folder / "sector_required_amsl_ft.tif") as file:
        np.testing.assert_array_equal(file.read(), cells.sector_amsl_ft)
        assert "090 degrees true" in file.descriptions[3]


def test_bands_never_read_as_open_where_they_are_not(plan, folder):
    with rasterio.open(folder / "lowest_band_floor_amsl_ft.tif") as file:
        floor = file.read(1)
    with rasterio.open(folder / "lowest_band_ceiling_amsl_ft.tif") as file:
        ceiling = file.read(1)
    bands, is_unknown = plan.cells.bands_amsl_ft[0], plan.cells.is_legal_unknown
    is_closed = ~is_unknown & (bands[0] == NO_BAND_FT)
    is_open = ~is_unknown & ~is_closed
    assert is_closed.any()
    assert is_unknown.any()
    assert is_open.any()
    assert (floor[is_unknown] == UNKNOWN_FT).all()
    assert (floor[is_closed] == UNREACHABLE_FT).all()
    assert (ceiling[is_unknown | is_closed] == UNKNOWN_FT).all()
    np.testing.assert_array_equal(floor[is_open], bands[0][is_open])
    np.testing.assert_array_equal(ceiling[is_open], bands[1][is_open])
    for altitude_ft in (900, 1500, 2200, 3500):
        says_open = (floor != UNKNOWN_FT) & (floor <= altitude_ft) & (altitude_ft <= ceiling)
        assert not (says_open & ~plan.cells.is_legal(altitude_ft)).any()


def test_files_are_cloud_optimised_with_unit_datum_and_cautions(plan, folder):
    for path in sorted(folder.iterdir()):
        with rasterio.open(path) as file:
            structure, tags = file.tags(ns="IMAGE_STRUCTURE"), file.tags()
            assert structure["LAYOUT"] == "COG"  # GDAL's own verdict on the file's layout
            assert structure["COMPRESSION"] == "DEFLATE"
            assert file.nodata == UNKNOWN_FT
            assert set(file.units) == {"ft"}
            assert file.block_shapes[0] == (128, 128)
            assert plan.cautions[0] in tags["CAUTIONS"]
            assert plan.project.sha256 in tags["NOTES"]
            assert "mean sea level" in tags["UNIT"]
            assert tags["VERTICAL_DATUM"]
            assert tags["MEANING"]


def test_places_are_the_grids(plan, folder):
    with rasterio.open(folder / "terrain_amsl_ft.tif") as file:
        assert file.shape == plan.grid.shape
        x_m, y_m = file.xy(0, 0)
        assert x_m == pytest.approx(plan.grid.centre_x_m()[0], abs=1e-6)
        assert y_m == pytest.approx(plan.grid.centre_y_m()[0], abs=1e-6)
        from rasterio.warp import transform

        lon, lat = transform(file.crs, "EPSG:4326", [x_m], [y_m])
    assert (lon[0], lat[0]) == pytest.approx(plan.frame.to_lonlat(x_m, y_m), abs=1e-8)


def test_an_overview_takes_the_worst_of_its_block(folder):
    """Against a plain loop over blocks: GDAL's own averages would lower a floor."""
    path = folder / "glide_required_amsl_ft.tif"
    with rasterio.open(path) as file:
        full, factors = file.read(1), file.overviews(1)
    assert factors == [2, 4]
    for level, factor in enumerate(factors):
        with rasterio.open(path, overview_level=level) as file:
            coarse = file.read(1)
        for row in range(coarse.shape[0]):
            for col in range(coarse.shape[1]):
                block = full[row * factor : (row + 1) * factor, col * factor : (col + 1) * factor]
                is_dark = (block == UNKNOWN_FT).any() or block.shape != (factor, factor)
                assert coarse[row, col] == (UNKNOWN_FT if is_dark else block.max())


def test_a_small_grid_has_no_overview_and_the_same_bytes_twice(plan):
    notes = export_notes(plan)
    one, two = surface_files(plan, notes), surface_files(plan, notes)
    assert one == two
    assert "sector_required_amsl_ft.tif" not in one
    with rasterio.MemoryFile(one["terrain_amsl_ft.tif"]) as memory, memory.open() as file:
        assert file.overviews(1) == []
        assert file.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
