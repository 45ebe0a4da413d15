"""Terrain files: names, sizes, units, datums, and where exactly the nodes lie."""

import hashlib
import os
import struct
import warnings
import zipfile

import numpy as np
import pytest
import rasterio
from rasterio.transform import Affine

from areaplan.errors import InputError
from areaplan.sources._terrain_files import read_hgt
from tests.sources.making import faults_of, write_geotiff, write_hgt
from tests.sources.tiny_terrain import (
    AROUND,
    FLAT,
    FRAME,
    GRID,
    STEP,
    heights_of,
    read,
)


# --- SRTM tiles -----------------------------------------------------------------------------------
def test_the_size_of_a_tile_is_the_published_one(tmp_path):
    """NASA/JPL SRTM FAQ: 1 arc-second 25,934,402 bytes, 3 arc-seconds 2,884,802 bytes."""
    for side, size in ((3601, 25_934_402), (1201, 2_884_802)):
        path = tmp_path / "N34W119.hgt"
        path.write_bytes(b"\0" * size)
        tile = read_hgt(path, path.name)
        assert tile.shape == (side, side)


def test_the_name_of_a_tile_is_its_south_west_corner(tmp_path):
    """NASA/JPL SRTM FAQ: N34W119 covers 34 to 35 N and 118 to 119 W."""
    path = tmp_path / "N34W119.hgt"
    path.write_bytes(b"\0" * 2_884_802)
    matrix = read_hgt(path, path.name).placement.matrix
    np.testing.assert_allclose(matrix @ (0, 0, 1), (-119, 35), atol=1e-12)
    np.testing.assert_allclose(matrix @ (1200, 1200, 1), (-118, 34), atol=1e-12)


@pytest.mark.parametrize(
    ("name", "corner"),
    [("S01E000.hgt", (0, -1)), ("n42e001.HGT", (1, 42)), ("N42E001.SRTMGL3.hgt", (1, 42))],
)
def test_names_of_tiles(tmp_path, name, corner):
    path = tmp_path / name
    path.write_bytes(b"\0" * 2_884_802)
    west, south = read_hgt(path, name).placement.matrix @ (0, 1200, 1)
    assert (west, south) == pytest.approx(corner, abs=1e-12)


@pytest.mark.parametrize("ending", [".hgt", ".hgt.zip"])
def test_heights_are_big_endian_from_the_north_and_voids_are_unknown(tmp_path, ending):
    heights = np.zeros((1201, 1201), dtype=int)
    heights[0, 0], heights[0, 1200], heights[1200, 0] = 258, -3, 8000
    heights[600, 600] = -32768
    tile = read_hgt(write_hgt(tmp_path / f"N42E001{ending}", heights), "x")
    values, absurd = tile.read(0, 0, 1201, 1201)
    assert absurd is None
    assert (values[0, 0], values[0, 1200], values[1200, 0]) == (258.0, -3.0, 8000.0)
    assert np.isnan(values[600, 600])
    assert np.isnan(values).sum() == 1


def test_nodes_lie_where_gdal_puts_them(tmp_path):
    """GDAL's SRTMHGT driver reports pixel areas around the same nodes, half a pixel out."""
    path = write_hgt(tmp_path / "N42E001.hgt", np.zeros((1201, 1201), dtype=int))
    matrix = read_hgt(path, path.name).placement.matrix
    with rasterio.open(path) as data:
        for row, col in ((0, 0), (0, 1200), (700, 31), (1200, 1200)):
            np.testing.assert_allclose(matrix @ (col, row, 1), data.xy(row, col), atol=1e-12)


@pytest.mark.parametrize(
    ("name", "size", "words"),
    [
        ("tile.hgt", 2_884_802, "states no tile"),
        ("N91E001.hgt", 2_884_802, "states no tile"),
        ("N42E181.hgt", 2_884_802, "states no tile"),
        ("N42E0015.hgt", 2_884_802, "states no tile"),
        ("N42E001.hgt", 2_884_801, "2,884,801 bytes"),
        ("N42E001.hgt", 12_967_201, "12,967,201 bytes"),
    ],
)
def test_files_that_are_no_tile(tmp_path, name, size, words):
    path = tmp_path / name
    path.write_bytes(b"\0" * size)
    with pytest.raises(InputError) as error:
        read(path)
    assert words in faults_of(error)[0].found


def test_archives_that_hold_something_else(tmp_path):
    path = tmp_path / "N42E001.hgt.zip"
    raw = b"\0" * 2_884_802
    for members, words in (
        ({}, "0 .hgt files"),
        ({"N42E001.hgt": raw, "N42E002.hgt": raw}, "2 .hgt files"),
        ({"N42E002.hgt": raw}, 'holds "N42E002.hgt"'),
        ({"N42E001.hgt": raw[:-1]}, "2,884,801 bytes"),
        ({"tile.hgt": raw}, "states no tile"),
    ):
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, content in members.items():
                archive.writestr(name, content)
        with pytest.raises(InputError) as error:
            read(path)
        assert words in faults_of(error)[0].found
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("../../deep/N42E001.hgt", raw)
    assert read(path).tiles[0].shape == (1201, 1201)
    assert not (tmp_path.parent.parent / "deep").exists()


# --- GeoTIFF: where the nodes lie -----------------------------------------------------------------
def tiff_doubles(path, wanted):
    """Doubles of one tag of a little-endian TIFF, by the TIFF 6.0 specification, section 2."""
    raw = path.read_bytes()
    assert raw[:4] == b"II*\0"
    (first,) = struct.unpack_from("<I", raw, 4)
    (count,) = struct.unpack_from("<H", raw, first)
    for k in range(count):
        tag, kind, length, value = struct.unpack_from("<HHII", raw, first + 2 + 12 * k)
        if tag == wanted:
            assert kind == 12
            return struct.unpack_from(f"<{length}d", raw, value)
    raise AssertionError(f"no tag {wanted}")


@pytest.mark.parametrize("kind", ["Area", "Point"])
def test_pixel_is_area_and_pixel_is_point(tmp_path, kind):
    """OGC GeoTIFF 1.1, 7.2.6 and annex: the tie point is the corner of a pixel area, or the node.

    33922 is ModelTiepoint, 33550 ModelPixelScale. The two files differ in their tie points by half
    a pixel and mean the same nodes.
    """
    heights = np.random.default_rng(1).uniform(0, 900, (21, 21))
    path = write_geotiff(tmp_path / "a.tif", heights, None, None)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # not georeferenced yet
        with rasterio.open(path, "r+") as data:
            # The tag must be there when the georeference is written.
            data.update_tags(AREA_OR_POINT=kind)
            data.crs, data.transform = "EPSG:4326", AROUND
    i, j, _, x, y, _ = tiff_doubles(path, 33922)
    size_x, size_y, _ = tiff_doubles(path, 33550)
    assert (i, j) == (0, 0)
    assert (size_x, size_y) == pytest.approx((STEP, STEP))
    half = 0.0 if kind == "Point" else 0.5
    node = read(path).tiles[0].placement.matrix @ (0, 0, 1)
    np.testing.assert_allclose(node, (x + half * size_x, y - half * size_y), atol=1e-12)
    np.testing.assert_allclose(node, (1.5 - 10 * STEP, 42.5 + 10 * STEP), atol=1e-12)


# --- GeoTIFF: values ------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        ("m", 1.0), ("metre", 1.0), ("Meters", 1.0), ("ft", 0.3048), ("Foot", 0.3048),
        # NIST SP 811, appendix B: the US survey foot is 1200/3937 m.
        ("US survey foot", 1200 / 3937), ("us-ft", 1200 / 3937),
    ],
)  # fmt: skip
def test_units_of_the_band(tmp_path, unit, factor):
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND, unit=unit)
    got = heights_of(path)
    np.testing.assert_allclose(got.highest_amsl_m, 100.0 * factor, rtol=1e-12)
    assert read(path).record.notes == ()


def test_a_file_without_unit_is_taken_as_metres_with_a_note(tmp_path):
    terrain = read(write_geotiff(tmp_path / "a.tif", FLAT, AROUND))
    assert terrain.record.notes == ("a.tif: it states no unit; its heights are taken as metres",)


@pytest.mark.parametrize("unit", ["fathom", "cm", "degrees", "km"])
def test_other_units_are_refused(tmp_path, unit):
    with pytest.raises(InputError) as error:
        read(write_geotiff(tmp_path / "a.tif", FLAT, AROUND, unit=unit))
    (fault,) = faults_of(error)
    assert unit in fault.found


def test_scale_offset_and_nodata(tmp_path):
    raw = np.full((21, 21), 1500, dtype=np.int16)
    raw[0, 0] = -9999
    path = write_geotiff(tmp_path / "a.tif", raw, AROUND, nodata=-9999, unit="ft")
    with rasterio.open(path, "r+") as data:
        data.scales, data.offsets = (0.1,), (1000.0,)
    values, absurd = read(path).tiles[0].read(0, 0, 21, 21)
    assert absurd is None
    assert np.isnan(values[0, 0])
    np.testing.assert_allclose(values[1:], (1500 * 0.1 + 1000) * 0.3048, rtol=1e-6)


def test_masks_count_as_unknown(tmp_path):
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND)
    mask = np.full((21, 21), 255, dtype=np.uint8)
    mask[3, 4] = 0
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True), rasterio.open(path, "r+") as data:
        data.write_mask(mask)
    values, _ = read(path).tiles[0].read(0, 0, 21, 21)
    assert np.isnan(values[3, 4])
    assert np.isnan(values).sum() == 1


def test_an_undeclared_void_value_is_unknown_with_a_note(tmp_path):
    heights = FLAT.copy()
    heights[10, 10] = -9999.0
    got = heights_of(write_geotiff(tmp_path / "a.tif", heights, AROUND))
    assert np.isnan(got.highest_amsl_m).any()
    assert got.notes == (
        "a.tif: heights outside -500 to 9000 m, such as -9999 m, are taken as unknown",
    )


@pytest.mark.parametrize("dtype", ["int16", "uint16", "int32", "float32", "float64"])
def test_every_sort_of_number(tmp_path, dtype):
    path = write_geotiff(tmp_path / "a.tif", FLAT.astype(dtype), AROUND, unit="m")
    assert (heights_of(path).highest_amsl_m == 100.0).all()


# --- GeoTIFF: what is no terrain model ------------------------------------------------------------
def test_pictures_and_maps_of_classes_are_refused(tmp_path):
    cases = [
        write_geotiff(tmp_path / "a.tif", FLAT.astype(np.uint8), AROUND),
        write_geotiff(tmp_path / "b.tif", FLAT, AROUND, count=3),
        write_geotiff(tmp_path / "c.tif", FLAT.astype(np.complex64), AROUND),
    ]
    palette = write_geotiff(tmp_path / "d.tif", FLAT.astype(np.uint16), AROUND)
    with rasterio.open(palette, "r+") as data:
        data.colorinterp = [rasterio.enums.ColorInterp.palette]
    for path in [*cases, palette]:
        with pytest.raises(InputError, match="a picture or a map of classes") as error:
            read(path)
        faults_of(error)


@pytest.mark.parametrize(
    ("transform", "crs", "words"),
    [
        (None, "EPSG:4326", "says not where its pixels lie"),
        (Affine(0, 0, 1, 0, 0, 42), "EPSG:4326", "says not where its pixels lie"),
        (AROUND, None, "no coordinate reference system"),
        (AROUND, "EPSG:4979", "above the ellipsoid"),
    ],
)
def test_files_without_place_or_sea_level(tmp_path, transform, crs, words):
    path = write_geotiff(tmp_path / "a.tif", FLAT, transform, crs)
    with pytest.raises(InputError) as error:
        read(path)
    assert words in faults_of(error)[0].found


def test_one_row_of_pixels_is_no_surface(tmp_path):
    with pytest.raises(InputError, match="at least 2 by 2"):
        read(write_geotiff(tmp_path / "a.tif", FLAT[:1], AROUND))


def test_other_endings(tmp_path):
    path = tmp_path / "a.asc"
    path.write_text("ncols 3")
    with pytest.raises(InputError, match=r'"\.asc" is not known') as error:
        read(path)
    faults_of(error)
    path = tmp_path / "a.tif"
    path.write_text("hello")
    with pytest.raises(InputError, match="cannot be read") as error:
        read(path)
    faults_of(error)


def test_a_file_that_changes_after_it_was_checked(tmp_path):
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND)
    terrain = read(path)
    write_geotiff(path, FLAT + 500, AROUND)
    os.utime(path, ns=(1, 1))
    with pytest.raises(InputError, match="changed since") as error:
        terrain.on_grid(GRID, FRAME)
    faults_of(error)


def test_the_record(tmp_path):
    first = write_geotiff(tmp_path / "a.tif", FLAT, AROUND, unit="m")
    second = write_hgt(tmp_path / "N42E001.hgt", np.zeros((1201, 1201), dtype=int))
    record = read(first, second, edition="2026-10", vertical_datum="egm 96").record
    assert record.paths == ("a.tif", "N42E001.hgt")
    assert record.sha256 == tuple(
        hashlib.sha256(path.read_bytes()).hexdigest() for path in (first, second)
    )
    assert (record.edition, record.vertical_datum) == ("2026-10", "EGM96")
    assert (record.rows_read, record.rows_used, record.rows_rejected) == (2, 2, 0)


def test_files_beside_a_geotiff_count_in_its_digest(tmp_path):
    """GDAL reads an .aux.xml beside the file, so the digest covers it."""
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND)
    alone = read(path).record.sha256
    (tmp_path / "a.tif.aux.xml").write_text(
        "<PAMDataset><PAMRasterBand band='1'><UnitType>ft</UnitType></PAMRasterBand></PAMDataset>"
    )
    assert read(path).record.sha256 != alone
