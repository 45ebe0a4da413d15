"""Structures, persons, wires, woods and roads; heights with their units or an honest default."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from areaplan.errors import InputError
from areaplan.sources._columns import (
    MAX_TOP_AGL_M,
    number_of,
    openstreetmap_height_m,
    stated_top_m,
)
from areaplan.sources._features import Feature
from areaplan.sources.layers import Presence, SourceKind
from areaplan.sources.reading import read_source
from areaplan.sources.structures import read_roads, read_structures, read_wires, read_woods
from areaplan.units import FOOT_M
from tests.sources.making import faults_of, feature, spec_of, write_features, write_geojson

BARN = box(1.5, 42.5, 1.501, 42.501)
LINE = LineString([(1.5, 42.5), (1.6, 42.5)])


def thing(**attributes):
    return Feature("a.geojson", "", 1, attributes, BARN)


@pytest.mark.parametrize(
    ("attributes", "top_m"),
    [
        ({"height_ft": 35}, 35 * FOOT_M),
        ({"height_ft": "35"}, 35 * FOOT_M),
        ({"height_m": 10.5}, 10.5),
        ({"height": "35 ft"}, 35 * FOOT_M),
        ({"height": "12.5 m"}, 12.5),
        ({"height": "1,000 ft"}, 1000 * FOOT_M),
        ({"height_ft": 35, "height": "35 ft"}, 35 * FOOT_M),
        ({"height_ft": 0}, 0.0),
        ({"height_ft": None, "height_m": "", "height": " "}, None),
        ({}, None),
    ],
)
def test_heights_of_generic_files(attributes, top_m):
    found = stated_top_m(thing(**attributes))
    assert found == (None if top_m is None else pytest.approx(top_m))


@pytest.mark.parametrize(
    ("attributes", "words"),
    [
        ({"height": 10}, "has no unit"),
        ({"height": "10"}, "has no unit"),
        ({"height": "tall"}, 'height = "tall"'),
        ({"height": "-3 m"}, "height"),
        ({"height_ft": "35 ft"}, "is not a number"),
        ({"height_ft": True}, "is not a number"),
        ({"height_ft": float("inf")}, "is not a number"),
        ({"height_ft": -1}, "height is -0.3 m"),
        ({"height_m": MAX_TOP_AGL_M + 1}, "height is 1001.0 m"),
        ({"height_ft": 30, "height_m": 30}, "disagree"),
    ],
)
def test_bad_heights_name_the_feature_and_the_forms(attributes, words):
    with pytest.raises(InputError) as error:
        stated_top_m(thing(name="Barn", **attributes))
    (fault,) = faults_of(error)
    assert fault.key == 'feature 1 "Barn"'
    assert words in fault.found


@pytest.mark.parametrize(
    ("tag", "top_m"),
    [
        # OpenStreetMap wiki, Key:height: metres unless a unit is given; feet and inches as 7'4".
        ("12", 12.0), ("12.5", 12.5), (12, 12.0), ("12 m", 12.0), ("40 ft", 40 * FOOT_M),
        ("40'", 40 * FOOT_M), ("7'4\"", (7 + 4 / 12) * FOOT_M),
        ("about 10", None), ("10;12", None), ("-3", None), ("1e9", None), ("", None), (None, None),
        ("10 yd", None), ("1 km", 1000.0), ("2 km", None),
    ],
)  # fmt: skip
def test_heights_of_openstreetmap(tag, top_m):
    found = openstreetmap_height_m(tag)
    assert found == (None if top_m is None else pytest.approx(top_m))


@settings(deadline=None)
@given(st.one_of(st.text(), st.floats(), st.integers(), st.booleans(), st.none()))
def test_no_height_comes_from_nowhere(value):
    """Whatever a tag holds: a finite height in range, or nothing."""
    height_m = openstreetmap_height_m(value)
    assert height_m is None or 0.0 <= height_m <= MAX_TOP_AGL_M
    number = number_of(value)
    assert number is None or number == float(value)


def test_bare_heights_are_metres_in_exports_of_openstreetmap(tmp_path):
    export = write_geojson(
        tmp_path / "a.geojson", feature(BARN, height="12", **{"@id": "way/1"}), feature(BARN)
    )
    layer = read_structures(spec_of("structures", export, default_height_m=9.0), Presence.STRUCTURE)
    assert [(r.top_agl_m, r.height_is_assumed) for r in layer.rows] == [(12.0, False), (9.0, True)]


def test_points_lines_and_footprints_in_file_order(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(Point(1, 42), name="Silo", height_ft=60),
        feature(BARN, height_m=9),
        feature(LINE, name="Wall", height="6 ft"),
    )
    layer = read_structures(spec_of("structures", path), Presence.STRUCTURE)
    assert [row.name for row in layer.rows] == ["Silo", "structure 2", "Wall"]
    assert [row.top_agl_m for row in layer.rows] == pytest.approx([60 * FOOT_M, 9.0, 6 * FOOT_M])
    assert not any(row.height_is_assumed for row in layer.rows)
    assert {row.presence for row in layer.rows} == {Presence.STRUCTURE}
    assert layer.record.notes == ()
    assert (layer.record.rows_read, layer.record.rows_used) == (3, 3)


def test_a_missing_height_takes_the_declared_default_and_says_so(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(BARN, height_ft=20), feature(BARN))
    layer = read_structures(
        spec_of("structures", path, default_height_m=30 * FOOT_M), Presence.STRUCTURE
    )
    assert [row.height_is_assumed for row in layer.rows] == [False, True]
    assert layer.rows[1].top_agl_m == 30 * FOOT_M
    assert layer.record.notes == ("1 of 2 rows state no height: 30 ft above ground assumed",)


@pytest.mark.parametrize(
    ("kind", "geometry"),
    [("structures", BARN), ("persons", BARN), ("wires", LINE), ("woods", BARN)],
)
def test_a_missing_height_without_default_names_the_key(tmp_path, kind, geometry):
    path = write_geojson(
        tmp_path / "a.geojson", feature(geometry, height_ft=20), feature(geometry, name="Low")
    )
    with pytest.raises(InputError) as error:
        read_source(spec_of(kind, path))
    (fault,) = faults_of(error)
    assert fault.key == "source[2].default_height"
    assert 'feature 2 "Low"' in fault.found
    assert "default_height" in fault.fix


def test_persons_vessels_and_vehicles(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(BARN, name="Bathers"),
        feature(BARN, presence="Vessel"),
        feature(BARN, presence="vehicle"),
    )
    spec = spec_of("persons", path, default_height_m=2.0)
    rows = read_source(spec).rows
    assert [r.presence for r in rows] == [Presence.PERSON, Presence.VESSEL, Presence.VEHICLE]
    assert [r.name for r in rows] == ["Bathers", "vessel 2", "vehicle 3"]
    boats = read_source(spec_of("persons", path, default_height_m=2.0, presence="vessel")).rows
    assert boats[0].presence is Presence.VESSEL
    with pytest.raises(InputError, match="count_as") as error:
        read_source(spec_of("persons", path, default_height_m=2.0, presence="boat"))
    faults_of(error)
    odd = write_geojson(tmp_path / "b.geojson", feature(BARN, name="Yacht", presence="boat"))
    with pytest.raises(InputError, match='presence = "boat"') as error:
        read_source(spec_of("persons", odd, default_height_m=2.0))
    assert faults_of(error)[0].key == 'feature 1 "Yacht"'


def test_wires_and_woods(tmp_path):
    wires = write_geojson(tmp_path / "w.geojson", feature(LINE, name="Feeder", height="90 ft"))
    (wire,) = read_wires(spec_of("wires", wires)).rows
    assert (wire.name, wire.height_is_assumed) == ("Feeder", False)
    assert wire.top_agl_m == pytest.approx(90 * FOOT_M)
    woods = write_geojson(tmp_path / "t.geojson", feature(BARN))
    (wood,) = read_woods(spec_of("woods", woods, default_height_m=20.0)).rows
    assert (wood.name, wood.top_agl_m, wood.height_is_assumed) == ("wood 1", 20.0, True)
    with pytest.raises(InputError, match="it holds polygons; expected lines"):
        read_wires(spec_of("wires", woods, default_height_m=20.0))
    with pytest.raises(InputError, match="it holds lines; expected polygons"):
        read_woods(spec_of("woods", wires, default_height_m=20.0))


def test_roads_and_airways(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(LINE, name="Mill Lane", kind="lane"),
        feature(LINE, ref="B 12", highway="secondary"),
        feature(LINE, railway="rail"),
        feature(LINE),
    )
    rows = read_roads(spec_of("roads", path)).rows
    assert [(r.name, r.kind) for r in rows] == [
        ("Mill Lane", "lane"), ("B 12", "secondary"), ("road 3", "rail"), ("road 4", "road"),
    ]  # fmt: skip
    airway = read_roads(spec_of("airways", path)).rows[3]
    assert (airway.name, airway.kind) == ("airway 4", "airway")


def test_several_files_keep_their_rows_apart(tmp_path):
    first = write_geojson(tmp_path / "a.geojson", feature(BARN, height_ft=10))
    second = write_features(tmp_path / "b.gpkg", [(BARN, {"height_ft": 20.0})])
    layer = read_structures(spec_of("structures", first, second), Presence.STRUCTURE)
    assert [row.name for row in layer.rows] == ["structure 1 (a.geojson)", "structure 1 (b.gpkg)"]
    assert layer.record.paths == ("a.geojson", "b.gpkg")
    assert len(set(layer.record.sha256)) == 2
    assert layer.record.kind is SourceKind.STRUCTURES


def test_faults_of_many_features_come_together(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", *[feature(BARN, height=10) for _ in range(3)])
    with pytest.raises(InputError) as error:
        read_structures(spec_of("structures", path, default_height_m=9.0), Presence.STRUCTURE)
    assert [f.key for f in faults_of(error)] == ["feature 1", "feature 2", "feature 3"]
