"""Rails, fences, section lines, canals, landmarks and drawn references, from every format."""

import pytest
import shapely

from areaplan.errors import InputError
from areaplan.sources.layers import ReferenceKind
from areaplan.sources.reading import read_source
from tests.sources.making import faults_of, feature, spec_of, write_features, write_geojson
from tests.sources.map_writing import write_osm, write_pbf

LINE = shapely.LineString([(1.0, 42.0), (1.01, 42.0)])
SQUARE = shapely.box(1.0, 42.0, 1.002, 42.004)
TREE = shapely.Point(1.0, 42.0)
TWO = shapely.MultiPoint([(1.0, 42.0), (1.01, 42.0)])
FORMATS = [".geojson", ".gpkg", ".kml", ".shp"]
NODES = {
    1: (1.00, 42.0, {"natural": "tree", "name": "Lone oak"}),
    2: (1.01, 42.0, {"man_made": "silo"}),
    3: (1.02, 42.0, {"natural": "peak"}),
    4: (1.03, 42.0, {}), 5: (1.04, 42.0, {}), 6: (1.04, 42.01, {}), 7: (1.03, 42.01, {}),
}  # fmt: skip
WAYS = {
    11: ([4, 5], {"railway": "rail"}), 12: ([4, 5], {"railway": "abandoned"}),
    13: ([4, 6], {"barrier": "fence"}), 14: ([4, 6], {"barrier": "kerb"}),
    15: ([4, 7], {"natural": "tree_row"}), 16: ([5, 6], {"waterway": "canal", "name": "Old cut"}),
    17: ([5, 6], {"waterway": "river"}), 18: ([5, 7], {"waterway": "drain", "tunnel": "culvert"}),
    19: ([4, 5, 6, 7, 4], {"building": "chapel"}), 20: ([6, 7], {"highway": "road"}),
    21: ([4, 5], {"highway": "primary", "tunnel": "yes"}),
    22: ([4, 6], {"highway": "primary", "tunnel": "no"}),
}  # fmt: skip


@pytest.mark.parametrize("ending", FORMATS)
@pytest.mark.parametrize(
    ("kind", "word"),
    [("rails", "railway"), ("fences", "fence"), ("section-lines", "section line"),
     ("canals", "canal")],
)  # fmt: skip
def test_lines_of_every_format(tmp_path, ending, kind, word):
    path = write_features(tmp_path / f"lines{ending}", [(LINE, {"name": "North"})])
    layer = read_source(spec_of(kind, path))
    assert layer.record.kind == kind
    (row,) = layer.rows
    assert row.name == "North"
    assert row.kind == word
    assert row.geometry.equals(LINE)


@pytest.mark.parametrize("write", [write_osm, write_pbf])
def test_openstreetmap_tags(tmp_path, write):
    path = write(tmp_path / f"m.{write.__name__[6:]}", NODES, WAYS)

    def names(kind):
        return {row.name for row in read_source(spec_of(kind, path)).rows}

    assert names("rails") == {"railway way/11"}
    assert names("fences") == {"fence way/13", "fence way/15"}
    assert names("canals") == {"Old cut"}
    assert names("landmarks") == {"Lone oak", "landmark node/2", "landmark way/19"}
    (chapel,) = (
        row for row in read_source(spec_of("landmarks", path)).rows if row.name == "landmark way/19"
    )
    assert chapel.kind == "chapel"
    assert chapel.geometry.equals_exact(shapely.Point(1.035, 42.005), 1e-9)


@pytest.mark.parametrize("kind", ["section-lines", "references"])
def test_what_the_map_does_not_hold_is_refused(tmp_path, kind):
    path = write_osm(tmp_path / "m.osm", NODES, WAYS)
    with pytest.raises(InputError) as error:
        read_source(spec_of(kind, path))
    assert "draw these by hand" in faults_of(error)[0].fix


def test_roads_in_tunnels_are_told(tmp_path):
    path = write_osm(tmp_path / "m.osm", NODES, WAYS)
    rows = {row.name: row for row in read_source(spec_of("roads", path)).rows}
    assert rows["road way/21"].is_in_tunnel
    assert not rows["road way/22"].is_in_tunnel
    assert not rows["road way/20"].is_in_tunnel


@pytest.mark.parametrize("ending", FORMATS)
def test_landmarks_are_points_with_a_kind(tmp_path, ending):
    path = write_features(tmp_path / f"points{ending}", [(TREE, {"name": "Oak", "kind": "tree"})])
    (row,) = read_source(spec_of("landmarks", path)).rows
    assert (row.name, row.kind) == ("Oak", "tree")
    assert row.geometry.equals(TREE)


def test_outlines_and_sets_of_points_as_landmarks(tmp_path):
    path = write_geojson(tmp_path / "l.geojson", feature(SQUARE), feature(TWO, name="Silos"))
    rows = read_source(spec_of("landmarks", path)).rows
    assert [row.name for row in rows] == ["landmark 1", "Silos", "Silos"]
    assert rows[0].geometry.equals_exact(shapely.Point(1.001, 42.002), 1e-9)
    assert all(row.geometry.geom_type == "Point" for row in rows)


@pytest.mark.parametrize("ending", FORMATS[:3])
@pytest.mark.parametrize(
    ("shape", "use"), [(LINE, "line"), (TREE, "point"), (SQUARE, "rectangle"), (TWO, "pair")]
)
def test_a_drawn_reference_is_used_as_it_looks(tmp_path, ending, shape, use):
    path = write_features(tmp_path / f"r{ending}", [(shape, {"name": "Mine"})])
    (row,) = read_source(spec_of("references", path)).rows
    assert (row.name, row.use) == ("Mine", ReferenceKind(use))
    assert row.geometry.equals(shape)


def test_a_line_may_stand_for_a_pair(tmp_path):
    path = write_geojson(tmp_path / "r.geojson", feature(LINE, use="Pair"))
    (row,) = read_source(spec_of("references", path)).rows
    assert row.use is ReferenceKind.PAIR
    assert row.geometry.equals(TWO)
    assert row.name == "drawn pair 1"


@pytest.mark.parametrize(
    ("shape", "use", "found", "expected"),
    [
        (LINE, "lines", 'use = "lines"', "line, point, rectangle, pair"),
        (LINE, "rectangle", "LineString to be used as a rectangle", "outline without holes"),
        (SQUARE, "line", "Polygon to be used as a line", "a single line"),
        (shapely.MultiPoint([(1, 42), (1, 43), (2, 42)]), "", "used as a pair", "two points"),
        (shapely.MultiPoint([(1, 42), (1, 42)]), "", "used as a pair", "two points"),
        (shapely.LineString([(1, 42), (1, 43), (2, 43)]), "pair", "used as a pair", "two points"),
        (SQUARE.difference(shapely.box(1.001, 42.001, 1.0011, 42.0011)), "", "used as a rectangle",
         "without holes"),
        (shapely.MultiLineString([[(1, 42), (2, 42)], [(1, 43), (2, 43)]]), "",
         "MultiLineString of 2 parts", "a single line"),
    ],
)  # fmt: skip
def test_shapes_that_cannot_serve_are_named(tmp_path, shape, use, found, expected):
    path = write_geojson(tmp_path / "r.geojson", feature(TREE), feature(shape, name="B", use=use))
    with pytest.raises(InputError) as error:
        read_source(spec_of("references", path))
    (fault,) = faults_of(error)
    assert "feature 2" in fault.key
    assert found in fault.found
    assert expected in fault.expected
