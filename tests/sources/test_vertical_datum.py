"""Vertical datums of terrain files, and variables of other programs in the environment."""

import os
import subprocess
import sys

import numpy as np
import pyproj
import pytest

from areaplan.errors import InputError
from areaplan.sources import _environment
from areaplan.sources.vertical_datum import _ORTHOMETRIC, known_name, orthometric_name
from tests.sources.making import faults_of, write_geotiff
from tests.sources.tiny_terrain import (
    AROUND,
    FLAT,
    FRAME,
    GRID,
    heights_of,
    read,
)


# --- vertical datum -------------------------------------------------------------------------------
def test_every_name_is_a_vertical_system_of_the_epsg_dataset():
    """EPSG Geodetic Parameter Dataset, as PROJ carries it: "<name> height"."""
    kinds = [pyproj.enums.PJType.VERTICAL_CRS]
    names = [info.name for info in pyproj.database.query_crs_info("EPSG", kinds)]
    recognised = {known_name(name) for name in names} - {None}
    assert recognised == set(_ORTHOMETRIC)  # EPSG 5714, "MSL height", stands for the local one
    assert any("depth" in name for name in names)
    assert not any("depth" in name for name in names if known_name(name))


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("EGM96", "EGM96"), ("egm 2008", "EGM2008"), ("NAVD 88", "NAVD88"), ("ngvd29", "NGVD29"),
        ("NAVD88 height (ftUS)", "NAVD88"), ("local mean sea level", "local mean sea level"),
        ("MSL", "local mean sea level"), ("EVRF2007 height", "EVRF2007"),
        ("North American Vertical Datum of 1988", "NAVD88"),
    ],
)  # fmt: skip
def test_names_of_datums(text, name):
    assert orthometric_name(text, "terrain.tif", "source[0].vertical_datum") == name


@pytest.mark.parametrize(
    "text", ["WGS84", "WGS 84", "ellipsoid", "ellipsoidal", "EPSG:4979", "HAE", "NAD83", "GRS80"]
)
def test_heights_above_the_ellipsoid_are_refused_with_the_way_out(text, tmp_path):
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND)
    with pytest.raises(InputError, match="above the ellipsoid") as error:
        read(path, vertical_datum=text)
    (fault,) = faults_of(error)
    assert fault.key == "source[2].vertical_datum"
    assert "mean sea level" in fault.expected
    assert "geoid" in fault.fix


@pytest.mark.parametrize("text", ["", "  ", "sea", "feet", "EGM1996b"])
def test_other_words_are_no_datum(text):
    with pytest.raises(InputError) as error:
        orthometric_name(text, "terrain.tif", "source[0].vertical_datum")
    assert "EGM96" in faults_of(error)[0].expected


@pytest.mark.parametrize(
    ("crs", "declared", "is_fine"),
    [
        ("EPSG:4326+5773", "EGM96", True),  # 5773: EGM96 height
        ("EPSG:4326+5773", "EGM2008", False),
        ("EPSG:4326+3855", "EGM2008", True),  # 3855: EGM2008 height
        ("EPSG:4269+5703", "NAVD88", True),  # 5703: NAVD88 height
        ("EPSG:4269+5703", "NGVD29", False),
        ("EPSG:4269+5703", "local mean sea level", True),
        ("EPSG:4326+5831", "EGM96", False),  # 5831: instantaneous water level depth
    ],
)
def test_a_datum_in_the_file_must_agree(tmp_path, crs, declared, is_fine):
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND, crs)
    if is_fine:
        terrain = read(path, vertical_datum=declared)
        assert (terrain.on_grid(GRID, FRAME).highest_amsl_m == 100.0).all()
    else:
        with pytest.raises(InputError) as error:
            read(path, vertical_datum=declared)
        assert declared in faults_of(error)[0].found


def test_the_unit_of_a_vertical_system_counts(tmp_path):
    """EPSG 6360: NAVD88 height (ftUS)."""
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND, "EPSG:4269+6360")
    got = heights_of(path, vertical_datum="NAVD88")
    np.testing.assert_allclose(got.highest_amsl_m, 100.0 * 1200 / 3937, rtol=1e-9)


# --- the environment ------------------------------------------------------------------------------
@pytest.mark.parametrize("load", ["load_rasterio", "load_pyogrio", "load_pyproj"])
def test_variables_of_other_programs_are_cleared(monkeypatch, load):
    for variable in ("PROJ_DATA", "PROJ_LIB", "GDAL_DATA"):
        monkeypatch.setenv(variable, "/opt/another/program")
    module = getattr(_environment, load)()
    assert module.__name__ == load.removeprefix("load_")
    for variable in ("PROJ_DATA", "PROJ_LIB", "GDAL_DATA"):
        assert variable not in os.environ


def test_a_fresh_interpreter_reads_in_spite_of_misleading_variables(tmp_path):
    path = write_geotiff(tmp_path / "a.tif", FLAT, AROUND, "EPSG:4326", unit="m")
    script = (
        "from pathlib import Path\n"
        "from areaplan.sources.spec import SourceSpec\n"
        "from areaplan.sources.reading import read_source\n"
        f"spec = SourceSpec(kind='terrain', paths=(Path({str(path)!r}),), names=('a.tif',), "
        "vertical_datum='EGM96')\n"
        "from areaplan.sources.layers import SourceKind\n"
        "import attrs\n"
        "spec = attrs.evolve(spec, kind=SourceKind.TERRAIN)\n"
        "print(read_source(spec).record.vertical_datum)\n"
    )
    env = {**os.environ, "PROJ_DATA": "/tmp", "PROJ_LIB": "/tmp", "GDAL_DATA": "/tmp"}
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", script], env=env, capture_output=True, text=True
    )
    assert done.stderr == ""
    assert done.stdout == "EGM96\n"
