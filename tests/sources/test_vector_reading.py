"""Vector files of every format to checked features in WGS 84 longitude/latitude."""

import hashlib
import json
import sqlite3

import numpy as np
import pyproj
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

import areaplan.sources._vector as vector
from areaplan.errors import InputError
from areaplan.sources._vector import read_vector
from tests.sources.making import faults_of, feature, write_features, write_geojson

POINTS, LINES, POLYGONS, ANY = frozenset({0}), frozenset({1}), frozenset({2}), frozenset({0, 1, 2})
BARN = box(1.5, 42.5, 1.501, 42.501)
SHED = Polygon([(1.51, 42.5), (1.511, 42.5), (1.511, 42.502)])
# PROJ states the round trip of a UTM projection to some nanometres; a millimetre in degrees.
ONE_MILLIMETRE_DEG = 1e-8


def read(path, dimensions=ANY, **more):
    return read_vector(path, path.name, dimensions=dimensions, **more)


@pytest.mark.parametrize("ending", [".geojson", ".gpkg", ".kml", ".shp"])
def test_every_format_gives_the_same_features(tmp_path, ending):
    rows = [(BARN, {"name": "Barn", "height_ft": 35.0}), (SHED, {"name": "Shed"})]
    table = read(write_features(tmp_path / f"things{ending}", rows))

    assert [f.name for f in table.features] == ["Barn", "Shed"]
    assert table.rows_read == 2
    for found, (geometry, _) in zip(table.features, rows, strict=True):
        assert shapely.get_coordinate_dimension(found.geometry) == 2
        assert shapely.hausdorff_distance(found.geometry, geometry) < ONE_MILLIMETRE_DEG
    assert float(table.features[0].attributes["height_ft"]) == 35.0
    assert table.features[1].attributes["height_ft"] is None


@pytest.mark.parametrize("code", [32631, 3857, 2154, 25831, 3035])
def test_any_coordinate_system_comes_back_as_wgs84(tmp_path, code):
    path = tmp_path / "things.gpkg"
    there = pyproj.Transformer.from_crs(4326, code, always_xy=True)
    moved = shapely.transform(BARN, lambda xy: np.column_stack(there.transform(*xy.T)))
    write_features(path, [(moved, {"name": "Barn"})], crs=code)

    assert abs(moved.bounds[0]) > 1000.0  # metres, not degrees
    found = read(path).features[0].geometry
    # RGF93 and ETRS89 agree with WGS 84 within PROJ's stated metre; nothing else may creep in.
    assert shapely.hausdorff_distance(found, BARN) < ONE_MILLIMETRE_DEG


def test_a_datum_shift_is_applied_and_not_left_out(tmp_path):
    """NAD27 differs from WGS 84 by 50 m in the Midwest (NADCON; about -0.4" and +8.6" at 90 W)."""
    path = write_features(tmp_path / "old.gpkg", [(Point(-97.0, 41.0), {})], crs=4267)
    found = read(path).features[0].geometry
    shift_m = pyproj.Geod(ellps="WGS84").inv(-97.0, 41.0, found.x, found.y)[2]
    assert 20.0 < shift_m < 60.0


def test_heights_of_vertices_are_dropped(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson", feature({"type": "Point", "coordinates": [1, 2, 3]})
    )
    assert read(path).features[0].geometry.wkt == "POINT (1 2)"


def test_holes_and_parts_survive(tmp_path):
    ring = Polygon(box(1, 42, 2, 43).exterior, [box(1.2, 42.2, 1.4, 42.4).exterior])
    both = MultiPolygon([ring, box(3, 42, 4, 43)])
    path = write_features(tmp_path / "a.gpkg", [(both, {})])
    assert read(path).features[0].geometry.equals(both)


def test_the_digest_is_that_of_the_bytes(tmp_path):
    path = write_features(tmp_path / "a.geojson", [(BARN, {})])
    assert read(path).sha256 == hashlib.sha256(path.read_bytes()).hexdigest()

    shapefile = write_features(tmp_path / "b.shp", [(BARN, {"name": "x"})])
    parts = sorted(p for p in tmp_path.iterdir() if p.stem == "b")
    assert [p.suffix for p in parts] == [".cpg", ".dbf", ".prj", ".shp", ".shx"]
    joined = hashlib.sha256(b"".join(p.read_bytes() for p in parts)).hexdigest()
    assert read(shapefile).sha256 == joined


def test_attribute_names_are_read_without_regard_to_capitals(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(BARN, NAME="Barn", Height_FT=30))
    assert read(path).features[0].name == "Barn"
    assert read(path).features[0].attributes["height_ft"] == 30


def test_two_columns_that_differ_in_capitals_must_agree(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(BARN, height_ft=3, HEIGHT_FT=30))
    with pytest.raises(InputError, match="two values for height_ft") as error:
        read(path)
    assert faults_of(error)[0].key == "feature 1"


# --- KML: every folder is a layer -----------------------------------------------------------------
KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name>Top</name>
<Folder><name>Farms</name><Placemark><name>first</name><ExtendedData><Data name="height">
<value>35 ft</value></Data></ExtendedData><Point><coordinates>1,42,7</coordinates></Point>
</Placemark></Folder>
<Folder><name>Mills</name><Folder><name>Old</name><Placemark><name>second</name><Point>
<coordinates>2,42</coordinates></Point></Placemark></Folder></Folder>
<Folder><name>Farms</name><Placemark><name>third</name><Point><coordinates>3,42</coordinates>
</Point></Placemark></Folder></Document></kml>"""


def test_all_folders_of_a_kml_file_are_read(tmp_path):
    path = tmp_path / "a.kml"
    path.write_text(KML)
    table = read(path)
    assert [f.name for f in table.features] == ["first", "second", "third"]
    assert table.features[0].attributes["height"] == "35 ft"
    assert table.features[1].label == 'layer Old, feature 1 "second"'


def test_a_named_folder_is_read_wherever_it_occurs_and_the_rest_is_noted(tmp_path):
    path = tmp_path / "a.kml"
    path.write_text(KML)
    table = read(path, layer="Farms")
    assert [f.name for f in table.features] == ["first", "third"]
    assert "layers not read: " in table.notes[-1]
    assert "Old" in table.notes[-1]
    with pytest.raises(InputError, match='no layer "Barns"') as error:
        read(path, layer="Barns")
    assert "Farms" in faults_of(error)[0].expected


# --- GeoPackage -----------------------------------------------------------------------------------
def test_a_geopackage_is_one_by_its_header(tmp_path):
    """OGC 12-128, 1.1.1.1.1: application_id 1196444487, user_version 10300 for version 1.3."""
    path = write_features(tmp_path / "a.gpkg", [(BARN, {})], VERSION="1.3")
    head = path.read_bytes()[:72]
    assert head.startswith(b"SQLite format 3\x00")
    assert int.from_bytes(head[68:72], "big") == 1196444487
    with sqlite3.connect(path) as database:
        assert database.execute("PRAGMA application_id").fetchone() == (1196444487,)
        assert database.execute("PRAGMA user_version").fetchone() == (10300,)
    database.close()
    assert len(read(path).features) == 1


def test_of_several_layers_one_must_be_named(tmp_path):
    path = tmp_path / "a.gpkg"
    write_features(path, [(BARN, {"name": "Barn"})], layer="barns")
    write_features(path, [(Point(1, 42), {"name": "Mast"})], layer="masts")
    with pytest.raises(InputError, match="barns, masts") as error:
        read(path)
    assert "layer =" in faults_of(error)[0].fix
    assert [f.name for f in read(path, layer="masts").features] == ["Mast"]


def test_a_geopackage_that_is_being_edited_is_refused(tmp_path):
    path = write_features(tmp_path / "a.gpkg", [(BARN, {})])
    (tmp_path / "a.gpkg-wal").write_bytes(b"pending")
    with pytest.raises(InputError, match="another program has it open") as error:
        read(path)
    faults_of(error)


def test_reading_leaves_nothing_behind(tmp_path):
    for ending in (".geojson", ".gpkg", ".kml", ".shp"):
        write_features(tmp_path / f"a{ending}", [(BARN, {"name": "x"})])
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    for ending in (".geojson", ".gpkg", ".kml", ".shp"):
        read(tmp_path / f"a{ending}")
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


# --- clipping -------------------------------------------------------------------------------------
def test_small_files_are_read_whole_even_with_a_clip_box(tmp_path):
    path = write_features(tmp_path / "a.gpkg", [(Point(1, 42), {}), (Point(5, 42), {})])
    assert len(read(path, clip_lonlat=(0.5, 41.5, 1.5, 42.5)).features) == 2


def test_large_files_are_clipped_and_say_so(tmp_path, monkeypatch):
    monkeypatch.setattr(vector, "CLIP_ABOVE_ROWS", 2)
    points = [(Point(200_000 + 1000 * i, 4_700_000), {"name": f"n{i}"}) for i in range(9)]
    path = write_features(tmp_path / "a.gpkg", points, crs=32631)
    lonlat = [f.geometry for f in read(path).features]
    south, north = lonlat[3].y - 0.001, lonlat[5].y + 0.001
    table = read(path, clip_lonlat=(lonlat[3].x - 0.003, south, lonlat[5].x + 0.003, north))
    assert [f.name for f in table.features] == ["n3", "n4", "n5"]
    assert table.features[0].label == 'id 4 "n3"'
    assert table.rows_read == 9
    assert "6 of 9 features lie outside" in table.notes[0]


def test_too_many_rows_ask_for_a_smaller_file(tmp_path, monkeypatch):
    monkeypatch.setattr(vector, "MAX_ROWS", 2)
    path = write_features(tmp_path / "a.gpkg", [(Point(i, 42), {}) for i in range(3)])
    with pytest.raises(InputError, match="3 features") as error:
        read(path)
    assert "clip" in faults_of(error)[0].fix


# --- geometry -------------------------------------------------------------------------------------
def test_a_polygon_that_crosses_itself_is_named_with_the_place(tmp_path):
    bow_tie = Polygon([(1.0, 42.0), (1.2, 42.2), (1.2, 42.0), (1.0, 42.2)])
    path = write_geojson(tmp_path / "a.geojson", feature(BARN), feature(bow_tie, name="Bow"))
    with pytest.raises(InputError) as error:
        read(path)
    (fault,) = faults_of(error)
    assert fault.key == 'feature 2 "Bow"'
    # The diagonals cross in the middle.
    assert "latitude 42.100000, longitude 1.100000" in fault.found
    assert "crosses" in fault.found


@pytest.mark.parametrize(
    ("geometry", "words"),
    [
        (None, "no geometry"),
        ({"type": "Polygon", "coordinates": []}, "no geometry"),
        ({"type": "Polygon", "coordinates": [[[0, 0], [1, 0]]]}, "damaged"),
        ({"type": "Point", "coordinates": ["1", "2"]}, "no geometry"),
        ({"type": "Piont", "coordinates": [1, 2]}, "no geometry"),
        ({"type": "Point", "coordinates": [500_000, 4_600_000]}, "no place on earth"),
        ({"type": "Point", "coordinates": [42.1, -101.5]}, "no place on earth"),
        (box(-179, 10, 179, 11), "358 degrees"),
        (shapely.GeometryCollection([Point(1, 2), BARN]), "collection"),
    ],
)
def test_bad_geometries_name_their_feature(tmp_path, geometry, words):
    path = write_geojson(tmp_path / "a.geojson", feature(BARN), feature(geometry, name="Odd"))
    with pytest.raises(InputError, match=words) as error:
        read(path)
    (fault,) = faults_of(error)
    assert fault.key == 'feature 2 "Odd"'


def test_swapped_coordinates_are_recognised(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(Point(36.2, -101.5)))
    with pytest.raises(InputError, match="look swapped"):
        read(path)


@pytest.mark.parametrize("bad", ["NaN", "Infinity", "-Infinity"])
def test_coordinates_that_are_no_numbers_are_named(tmp_path, bad):
    path = tmp_path / "a.geojson"
    write_geojson(path, feature(Point(1, 2)), feature(Point(1, 2.25), name="Odd"))
    path.write_text(path.read_text().replace("2.25", bad))
    with pytest.raises(InputError) as error:
        read(path)
    (fault,) = faults_of(error)
    assert "not a number" in fault.found or "cannot be read" in fault.found


def test_lines_in_a_polygon_file_are_an_error(tmp_path):
    line = LineString([(1, 42), (1.1, 42)])
    path = write_geojson(tmp_path / "a.geojson", feature(BARN), feature(line, name="Fence"))
    with pytest.raises(InputError, match="it holds lines; expected polygons") as error:
        read(path, POLYGONS)
    assert faults_of(error)[0].key == 'feature 2 "Fence"'
    assert len(read(path, frozenset({1, 2})).features) == 2


def test_every_bad_feature_is_named_and_a_flood_is_counted(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", *[feature(None, name=f"n{i}") for i in range(50)])
    with pytest.raises(InputError) as error:
        read(path)
    faults = faults_of(error)
    assert [f.key for f in faults[:3]] == [f'feature {i + 1} "n{i}"' for i in range(3)]
    assert faults[-1].found == "30 more faults of this kind"


def test_a_file_without_features_is_an_error_that_offers_the_honest_way(tmp_path):
    with pytest.raises(InputError, match="no features") as error:
        read(write_geojson(tmp_path / "a.geojson"))
    assert "none_because" in faults_of(error)[0].fix


def test_members_that_are_no_features_are_not_left_out_in_silence(tmp_path):
    odd = {**feature(BARN), "type": "Feture"}
    with pytest.raises(InputError, match='its type is "Feture"') as error:
        read(write_geojson(tmp_path / "a.geojson", feature(BARN), odd))
    assert faults_of(error)[0].key == "feature 2"
    with pytest.raises(InputError, match="its type is missing"):
        read(write_geojson(tmp_path / "b.geojson", feature(BARN), None))


# --- coordinate systems ---------------------------------------------------------------------------
def test_a_shapefile_without_prj_is_refused(tmp_path):
    path = write_features(tmp_path / "a.shp", [(BARN, {"name": "x"})])
    (tmp_path / "a.prj").unlink()
    with pytest.raises(InputError, match="no coordinate reference system") as error:
        read(path)
    assert ".prj" in faults_of(error)[0].fix


@pytest.mark.parametrize("suffix", [".dbf", ".shx"])
def test_a_shapefile_without_its_parts_is_refused(tmp_path, suffix):
    path = write_features(tmp_path / "a.shp", [(BARN, {"name": "x"})])
    (tmp_path / f"a{suffix}").unlink()
    with pytest.raises(InputError, match=f"part {suffix} is missing") as error:
        read(path)
    faults_of(error)


def test_a_geopackage_without_coordinate_system_is_refused(tmp_path):
    path = write_features(tmp_path / "a.gpkg", [(BARN, {})], crs=None)
    with pytest.raises(InputError, match="no coordinate reference system") as error:
        read(path)
    faults_of(error)


def test_a_datum_that_nobody_knows_is_refused(tmp_path):
    """An ellipsoid alone says nothing about where it lies: PROJ would only offer a ballpark."""
    path = write_features(tmp_path / "a.gpkg", [(BARN, {})], crs="+proj=longlat +ellps=clrk66")
    with pytest.raises(InputError, match="no transformation is known") as error:
        read(path)
    faults_of(error)


def test_a_local_plane_is_refused(tmp_path):
    path = write_features(tmp_path / "a.shp", [(BARN, {"name": "x"})])
    (tmp_path / "a.prj").write_text('LOCAL_CS["site plan",UNIT["metre",1]]')
    with pytest.raises(InputError, match=r"tied to no place|no coordinate") as error:
        read(path)
    faults_of(error)


def test_old_geojson_with_a_stated_system_is_honoured(tmp_path):
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32631"}}
    path = write_geojson(tmp_path / "a.geojson", feature(Point(500_000, 4_600_000)), crs=crs)
    found = read(path).features[0].geometry
    assert found.x == pytest.approx(3.0, abs=ONE_MILLIMETRE_DEG)  # central meridian of zone 31


def test_single_features_and_bare_geometries_are_collections_of_one(tmp_path):
    for number, document in enumerate((feature(BARN), feature(BARN)["geometry"])):
        path = tmp_path / f"{number}.geojson"
        path.write_text(json.dumps(document))
        assert read(path).features[0].geometry.equals(BARN)
