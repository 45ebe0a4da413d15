"""Obstacles from comma-separated tables and from drawn points."""

import pytest
from shapely.geometry import LineString, MultiPoint, Point

from areaplan.errors import InputError
from areaplan.sources.obstacles import read_obstacles
from areaplan.units import FOOT_M
from tests.sources.making import faults_of, feature, spec_of, write_features, write_geojson
from tests.sources.obstacle_tables import (
    dat_line,
    read,
    write_dat,
    write_published_csv,
)


# --- comma-separated forms ------------------------------------------------------------------------
def test_the_published_csv_form(tmp_path):
    path = write_published_csv(tmp_path / "a.csv", {}, {"OAS": "09-000001", "CITY": "CA\xd1ON"})
    first, second = read(path).rows
    assert (first.name, first.kind) == ("09-021145", "TOWER")
    assert (first.lat, first.lon) == (41.005065, -73.648312)
    assert (first.horizontal_accuracy_m, first.vertical_accuracy_m) == (50 * FOOT_M, 20 * FOOT_M)
    assert second.name == "09-000001"


@pytest.mark.parametrize(
    ("cells", "why"),
    [
        ({"LATDEC": "41.1"}, "two positions disagree"),
        ({"LATDEC": "north"}, "not a position"),
        ({"DMSLON": "73 W"}, "not a position"),
        ({"AGL": ""}, "whole number of feet"),
        ({"ACCURACY": "2Z"}, "accuracy code"),
        ({"CITY": "A,B"}, "20 cells under 19"),
        ({"OAS": ""}, "no obstacle number"),
    ],
)
def test_bad_rows_of_the_published_csv_form(tmp_path, cells, why):
    record = read(write_published_csv(tmp_path / "a.csv", {}, cells)).record
    assert (record.rows_used, record.rows_rejected) == (1, 1)
    assert any(why in note for note in record.notes)


def write_csv(path, text, encoding="utf-8"):
    path.write_bytes(text.encode(encoding))
    return path


def test_the_plain_table(tmp_path):
    text = (
        "name,lat,lon,top_agl_ft,top_amsl_ft,horizontal_accuracy_ft,vertical_accuracy_ft,kind\n"
        'Mast at the "Old" mill,41.5,-101.25,310,1510,100,20,mast\n'
        ",41.6,-101.3,,1400,,,\n"
    )
    first, second = read(write_csv(tmp_path / "a.csv", text)).rows
    assert (first.name, first.kind, first.lat, first.lon) == (
        'Mast at the "Old" mill', "mast", 41.5, -101.25,
    )  # fmt: skip
    assert first.top_agl_m == pytest.approx(310 * FOOT_M)
    assert first.horizontal_accuracy_m == pytest.approx(100 * FOOT_M)
    assert first.accuracy_is_known
    assert first.is_verified is None
    assert second.name == "obstacle in line 3"
    assert second.top_agl_m is None
    assert second.top_amsl_m == pytest.approx(1400 * FOOT_M)
    assert (second.horizontal_accuracy_m, second.vertical_accuracy_m) == (250 * FOOT_M, 50 * FOOT_M)
    assert not second.accuracy_is_known


def test_the_plain_table_in_metres_with_a_mark_and_other_capitals(tmp_path):
    path = write_csv(tmp_path / "a.csv", "\ufeffName,LAT,Lon,Top_AGL_m,owner\nA,1,2,50,me\n")
    layer = read(path)
    assert layer.rows[0].top_agl_m == 50.0
    assert any('columns not used: "owner"' in note for note in layer.record.notes)


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("A,91,2,50,,", "not a position"),
        ("A,1,x,50,,", "not a position"),
        ("A,1,2,,,", "no height"),
        ("A,1,2,fifty,,", "is not a number"),
        ("A,1,2,-5,,", "absurd"),
        ("A,1,2,nan,,", "is not a number"),
        ("A,1,2,50,99,", "disagree"),
        ("A,1,2,50,,-1", "absurd"),
        ("A,1,2,50", "4 cells under 6"),
    ],
)
def test_bad_rows_of_the_plain_table(tmp_path, row, why):
    text = f"name,lat,lon,top_agl_ft,top_agl_m,vertical_accuracy_m\nB,1,2,50,,\n{row}\n"
    record = read(write_csv(tmp_path / "a.csv", text)).record
    assert (record.rows_used, record.rows_rejected) == (1, 1)
    assert any(why in note for note in record.notes)


@pytest.mark.parametrize(
    "text",
    [
        "name,lat,lon\nA,1,2\n",
        "name,lat,top_agl_ft\nA,1,2\n",
        "name,lat,lon,height\nA,1,2,50\n",
        "lat,lat,lon,top_agl_ft\n1,1,2,50\n",
        "OAS,LATDEC\n1,2\n",
        "name,lat,lon,top_agl_ft\n",
        "\n\n",
        "name,lat,lon,top_agl_ft\n" + "x" * 200_000 + ",1,2,3\n",
        'name,lat,lon,top_agl_ft\n"open,1,2,3\n',
    ],
)
def test_tables_that_are_none(tmp_path, text):
    with pytest.raises(InputError) as error:
        read(write_csv(tmp_path / "a.csv", text))
    faults_of(error)


# --- drawn points ---------------------------------------------------------------------------------
@pytest.mark.parametrize("ending", [".geojson", ".gpkg", ".kml", ".shp"])
def test_drawn_points_have_the_attributes_of_the_plain_table(tmp_path, ending):
    rows = [
        (
            Point(-101.25, 41.5),
            {"name": "Mast", "kind": "mast", "top_agl_ft": 310.0, "top_amsl_ft": 1510.0,
             "vertical_accuracy_ft": 20.0},
        )
    ]  # fmt: skip
    (mast,) = read(write_features(tmp_path / f"a{ending}", rows)).rows
    assert (mast.name, mast.kind) == ("Mast", "mast")
    assert (mast.lon, mast.lat) == pytest.approx((-101.25, 41.5), abs=1e-9)
    assert mast.top_agl_m == pytest.approx(310 * FOOT_M)
    assert mast.top_amsl_m == pytest.approx(1510 * FOOT_M)
    assert mast.horizontal_accuracy_m == 250 * FOOT_M
    # A shapefile cuts "vertical_accuracy_ft" to "vertical_a", which might mean metres.
    expected_ft = 50 if ending == ".shp" else 20
    assert mast.vertical_accuracy_m == pytest.approx(expected_ft * FOOT_M)
    assert not mast.accuracy_is_known


def test_drawn_points_that_make_no_sense_are_rejected_by_name(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson",
        *[feature(Point(1, 42), name=f"good {i}", top_agl_m=30) for i in range(3)],
        feature(Point(1, 42), name="bare", height=30),
        feature(MultiPoint([(1, 42), (2, 42)]), name="two", top_agl_m=30),
    )
    layer = read(path)
    assert [o.name for o in layer.rows] == ["good 0", "good 1", "good 2"]
    assert layer.record.rows_rejected == 2
    notes = " ".join(layer.record.notes)
    assert 'feature 4 "bare": no height' in notes
    assert 'feature 5 "two": 2 points' in notes


def test_names_that_are_cut_are_noted(tmp_path):
    text = f"name,lat,lon,top_agl_ft\n{'x' * 200},1,2,50\n{'y' * 200},1,2,tall\nA,1,2,3\n"
    layer = read(write_csv(tmp_path / "a.csv", text))
    assert layer.rows[0].name == "x" * 119 + "…"
    notes = " ".join(layer.record.notes)
    assert "2 names are cut to 120 characters" in notes
    assert f"{'y' * 119}… (line 3): top_agl_ft" in notes


def test_drawn_lines_are_no_obstacles(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(LineString([(1, 42), (2, 42)])))
    with pytest.raises(InputError, match="it holds lines; expected points") as error:
        read(path)
    faults_of(error)


def test_several_tables_are_one_layer(tmp_path):
    dat = write_dat(tmp_path / "a.dat", dat_line())
    points = write_csv(tmp_path / "b.csv", "name,lat,lon,top_agl_ft\nB,1,2,50\n")
    layer = read_obstacles(spec_of("obstacles", dat, points))
    assert [o.name for o in layer.rows] == ["47-000001", "B"]
    assert layer.record.rows_read == 2
    assert len(layer.record.sha256) == 2
    assert layer.record.paths == ("a.dat", "b.csv")


def test_heights_above_the_ellipsoid_are_refused(tmp_path):
    path = write_dat(tmp_path / "a.dat", dat_line())
    assert read(path, vertical_datum="NAVD88").record.vertical_datum == "NAVD88"
    with pytest.raises(InputError, match="above the ellipsoid") as error:
        read(path, vertical_datum="WGS84")
    assert faults_of(error)[0].key == "source[2].vertical_datum"
