"""The practice area, zones with a reason, fields to land in, and what a source speaks for."""

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, box

from areaplan.errors import InputError
from areaplan.sources._assembly import clip_for
from areaplan.sources.areas import read_area, read_fields, read_zones
from areaplan.sources.coverage import coverage
from areaplan.sources.layers import Obstacle, Presence, SourceKind
from areaplan.sources.reading import read_source
from areaplan.sources.structures import read_structures
from tests.sources.making import faults_of, feature, spec_of, write_features, write_geojson

AREA = box(1.0, 42.0, 1.1, 42.1)
KM_DEG = 1.0 / 111.2  # a kilometre in degrees of latitude, for sizes only


# --- the practice area ----------------------------------------------------------------------------
def test_one_polygon(tmp_path):
    path = write_geojson(tmp_path / "north.geojson", feature(AREA, name="North"))
    layer = read_area(spec_of("area", path))
    assert layer.rows[0].name == "North"
    assert layer.rows[0].geometry.equals(AREA)
    assert layer.covers is None
    unnamed = write_geojson(tmp_path / "west block.geojson", feature(AREA))
    assert read_area(spec_of("area", unnamed)).rows[0].name == "west block"


def test_one_multipolygon(tmp_path):
    both = MultiPolygon([AREA, box(1.2, 42.0, 1.3, 42.1)])
    path = write_geojson(tmp_path / "a.geojson", feature(both))
    assert read_area(spec_of("area", path)).rows[0].geometry.equals(both)


def test_several_polygons_are_named(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(AREA, name="North"), feature(AREA))
    with pytest.raises(InputError, match="2 features") as error:
        read_area(spec_of("area", path))
    (fault,) = faults_of(error)
    assert 'feature 1 "North", feature 2' in fault.found


def test_a_named_layer_chooses_one(tmp_path):
    path = tmp_path / "a.gpkg"
    write_features(path, [(AREA, {})], layer="north")
    write_features(path, [(AREA, {})], layer="south")
    assert read_area(spec_of("area", path, layer="south")).rows[0].name == "south"


@pytest.mark.parametrize(
    ("shape", "words"),
    [
        (box(1, 42, 1 + KM_DEG / 4, 42 + KM_DEG / 4), "square kilometres"),
        (box(1, 42, 1 + 110 * KM_DEG, 42 + 130 * KM_DEG), "square kilometres"),
        (box(1, 83.9, 1.5, 84.1), "latitude 84.1"),
        (LineString([(1, 42), (2, 42)]), "it holds lines"),
        (Point(1, 42), "it holds points"),
    ],
)
def test_areas_that_cannot_be_meant(tmp_path, shape, words):
    path = write_geojson(tmp_path / "a.geojson", feature(shape, name="Odd"))
    with pytest.raises(InputError) as error:
        read_area(spec_of("area", path))
    (fault,) = faults_of(error)
    assert words in fault.found
    assert fault.key == 'feature 1 "Odd"'


def test_the_limits_of_size_are_where_they_are_said_to_be(tmp_path):
    """A 1 x 1 degree quadrangle at the equator has 12,308.778 km2 on WGS 84 (GeographicLib)."""
    side = np.sqrt(10_000.0 / 12_308.778)
    for factor, is_fine in ((0.999, True), (1.001, False)):
        edge = side * np.sqrt(factor)
        path = write_geojson(tmp_path / "a.geojson", feature(box(0, 0, edge, edge)))
        if is_fine:
            assert read_area(spec_of("area", path)).rows
        else:
            with pytest.raises(InputError, match="square kilometres"):
                read_area(spec_of("area", path))


# --- zones ----------------------------------------------------------------------------------------
@pytest.mark.parametrize("kind", ["congested", "sparse", "assemblies", "noise-sensitive"])
def test_zones_carry_a_reason(tmp_path, kind):
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(AREA, name="Village", reason="40 houses, seen on 2026-10-02"),
        feature(AREA, reason="drive-in"),
    )
    layer = read_source(spec_of(kind, path))
    assert layer.record.kind == kind
    assert [(z.name, z.reason) for z in layer.rows] == [
        ("Village", "40 houses, seen on 2026-10-02"),
        (f"{kind} zone 2", "drive-in"),
    ]


@pytest.mark.parametrize("reason", [None, "", "   ", "\n"])
def test_a_zone_without_reason_is_named(tmp_path, reason):
    path = write_geojson(
        tmp_path / "a.geojson", feature(AREA, reason="x"), feature(AREA, name="Town", reason=reason)
    )
    with pytest.raises(InputError, match="no reason") as error:
        read_zones(spec_of("congested", path))
    (fault,) = faults_of(error)
    assert fault.key == 'feature 2 "Town"'


# --- fields ---------------------------------------------------------------------------------------
def test_fields_with_words_of_the_person(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(AREA, name="Home meadow", surface="grass", consent="farmer, 2026-09",
                remarks="ditch at the east end"),
        feature(AREA),
    )  # fmt: skip
    first, second = read_fields(spec_of("fields", path)).rows
    assert (first.name, first.surface, first.consent, first.remarks) == (
        "Home meadow", "grass", "farmer, 2026-09", "ditch at the east end",
    )  # fmt: skip
    assert (second.name, second.surface, second.consent, second.remarks) == ("field 2", "", "", "")


def test_names_of_fields_are_unique(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(AREA, name="Mill"),
        feature(AREA, name="Mill"),
        feature(AREA, name="Mill (field 2)"),
        feature(AREA),
    )
    layer = read_fields(spec_of("fields", path))
    names = [field.name for field in layer.rows]
    assert names == ["Mill (field 1)", "Mill (field 2) #2", "Mill (field 2)", "field 4"]
    assert any("same name" in note and "Mill" in note for note in layer.record.notes)


def test_fields_without_names_in_several_files_stay_apart(tmp_path):
    paths = [write_geojson(tmp_path / f"{n}.geojson", feature(AREA)) for n in "ab"]
    layer = read_fields(spec_of("fields", *paths))
    assert [f.name for f in layer.rows] == ["field 1 (a.geojson)", "field 1 (b.geojson)"]


# --- coverage -------------------------------------------------------------------------------------
def obstacle(lon, lat):
    return Obstacle("x", "", lat, lon, 30.0, None, 1.0, 1.0, True, None)


def test_all_and_extent():
    rows = [obstacle(1.0, 42.0), obstacle(1.5, 42.25), obstacle(1.25, 41.0)]
    assert coverage(spec_of("obstacles", covers="all"), rows) is None
    assert coverage(spec_of("obstacles", covers="extent"), rows).bounds == (1.0, 41.0, 1.5, 42.25)


@pytest.mark.parametrize("rows", [[], [obstacle(1.0, 42.0)], [obstacle(1, 42), obstacle(2, 42)]])
def test_an_extent_without_area_covers_nothing(rows):
    region = coverage(spec_of("obstacles", covers="extent"), rows)
    assert region.is_empty
    assert not region.covers(Point(1, 42))


def test_a_polygon_file_says_where_the_source_speaks(tmp_path):
    things = write_geojson(tmp_path / "a.geojson", feature(Point(1, 42), height_ft=10))
    region = write_features(tmp_path / "seen.gpkg", [(AREA, {}), (box(1.1, 42, 1.2, 42.1), {})])
    layer = read_structures(
        spec_of("structures", things, covers="seen.gpkg", covers_path=region), Presence.STRUCTURE
    )
    assert layer.covers.equals(box(1.0, 42.0, 1.2, 42.1))
    assert layer.record.paths == ("a.geojson", "seen.gpkg")
    assert len(layer.record.sha256) == 2


def test_a_polygon_file_that_is_none(tmp_path):
    lines = write_geojson(tmp_path / "b.geojson", feature(LineString([(1, 42), (2, 42)])))
    with pytest.raises(InputError, match="it holds lines") as error:
        coverage(spec_of("structures", covers="b.geojson", covers_path=lines), [])
    assert faults_of(error)[0].place == "b.geojson"
    with pytest.raises(InputError, match="covers") as error:
        coverage(spec_of("structures", covers="somewhere"), [])
    faults_of(error)


def test_the_extent_is_that_of_all_rows_whatever_the_clip_box():
    box_of_interest = (1.0, 42.0, 1.1, 42.1)
    assert clip_for(spec_of("structures", covers="extent"), box_of_interest) is None
    assert clip_for(spec_of("structures", covers="all"), box_of_interest) == box_of_interest


def test_extent_of_footprints(tmp_path):
    path = write_geojson(
        tmp_path / "a.geojson", feature(AREA, height_ft=1), feature(Point(2, 43), height_ft=1)
    )
    layer = read_structures(spec_of("structures", path, covers="extent"), Presence.STRUCTURE)
    assert layer.covers.equals(shapely.box(1.0, 42.0, 2.0, 43.0))
    assert SourceKind.STRUCTURES is layer.record.kind


# --- candidates that come back --------------------------------------------------------------------
def candidates(*words):
    """One square for each word, numbered from west to east."""
    return [
        feature(box(1 + n / 10, 42, 1.05 + n / 10, 42.05), name=f"c{n}", confirmed=word)
        for n, word in enumerate(words)
    ]


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        ([True, False, True], ["c0", "c2"]),
        ([True, None], ["c0"]),
        (["yes", "no"], ["c0"]),
        (["TRUE", ""], ["c0"]),
        ([1, 0], ["c0"]),
        ([False, False], []),
    ],
)
def test_only_confirmed_candidates_are_fields(tmp_path, words, kept):
    path = write_geojson(tmp_path / "c.geojson", *candidates(*words))
    layer = read_fields(spec_of("fields", path))
    assert [row.name for row in layer.rows] == kept
    left_out = len(words) - len(kept)
    assert layer.record.notes == (
        f"c.geojson: {left_out} candidates are not confirmed and are no fields",
    )
    assert (layer.record.rows_read, layer.record.rows_used) == (len(words), len(kept))


def test_a_row_that_lacks_the_property_that_others_have_is_not_confirmed(tmp_path):
    bare = feature(box(2, 42, 2.1, 42.1), name="bare")
    path = write_geojson(tmp_path / "c.geojson", *candidates(True), bare)
    assert [row.name for row in read_fields(spec_of("fields", path)).rows] == ["c0"]


def test_files_without_the_property_are_as_before(tmp_path):
    drawn = write_geojson(tmp_path / "d.geojson", feature(box(2, 42, 2.1, 42.1), name="drawn"))
    found = write_geojson(tmp_path / "c.geojson", *candidates(False, True))
    layer = read_fields(spec_of("fields", drawn, found))
    assert [row.name for row in layer.rows] == ["drawn", "c1"]


def test_confirmed_is_true_or_false_and_nothing_else(tmp_path):
    path = write_geojson(tmp_path / "c.geojson", *candidates("yes", "perhaps"))
    with pytest.raises(InputError, match="perhaps") as error:
        read_fields(spec_of("fields", path))
    (fault,) = faults_of(error)
    assert '"c1"' in fault.key
