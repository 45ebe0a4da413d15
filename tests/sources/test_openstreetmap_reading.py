"""OpenStreetMap extracts: which tags count, which heights are taken, what is said about gaps."""

import os

import pytest

from areaplan.errors import InputError
from areaplan.geodesy import distance_and_bearing
from areaplan.sources.layers import SourceKind
from areaplan.sources.reading import read_source
from areaplan.units import FOOT_M
from tests.sources.making import faults_of, spec_of
from tests.sources.map_writing import write_osm, write_pbf

MAP_KINDS = [
    SourceKind.STRUCTURES, SourceKind.OBSTACLES, SourceKind.WIRES, SourceKind.ROADS,
    SourceKind.WOODS, SourceKind.RAILS, SourceKind.FENCES, SourceKind.CANALS, SourceKind.LANDMARKS,
]  # fmt: skip
D = 0.001


def square(first, lon, lat):
    """Four nodes of a square, numbered from `first`."""
    corners = ((0, 0), (D, 0), (D, D), (0, D))
    return {first + k: (lon + x, lat + y, {}) for k, (x, y) in enumerate(corners)}


def ring(first):
    return [first, first + 1, first + 2, first + 3, first]


NODES = {
    1: (1.0, 42.0, {"power": "tower"}),
    2: (1.01, 42.0, {"power": "tower", "height": "45"}),
    3: (1.02, 42.0, {"power": "pole"}),
    4: (1.03, 42.0, {"man_made": "mast", "height": "300 ft", "name": "Hill mast"}),
    5: (1.04, 42.0, {"man_made": "survey_point"}),
    6: (1.05, 42.0, {"power": "generator", "generator:source": "wind", "height": "about 99"}),
    7: (1.06, 42.0, {"building": "yes", "name": "Hut"}),
    8: (1.07, 42.0, {"power": "generator", "generator:source": "solar"}),
    9: (1.08, 42.0, {"amenity": "bench"}),
    **square(10, 1.1, 42.0), **square(20, 1.2, 42.0), **square(30, 1.3, 42.0),
    **square(40, 1.4, 42.0), **square(50, 1.5, 42.0), **square(60, 1.6, 42.0),
}  # fmt: skip
WAYS = {
    101: (ring(10), {"building": "yes", "name": "Barn & <b>loft</b>"}),
    102: (ring(20), {"building": "house", "height": "12.5 m"}),
    103: (ring(30), {"building": "yes", "building:levels": "9"}),
    104: ([40, 42, 41, 43, 40], {"building": "yes"}),  # a bow tie
    105: (ring(50), {"man_made": "chimney", "height": "80"}),
    106: (ring(60), {"landuse": "forest"}),
    107: (ring(10), {"building": "no"}),
    201: ([1, 2], {"power": "line", "voltage": "110000"}),
    202: ([2, 3], {"power": "minor_line"}),
    203: ([1, 3], {"power": "cable"}),
    204: ([1, 4], {"power": "line", "location": "underground"}),
    205: ([1, 5], {"communication": "line"}),
    206: ([1, 6], {"aerialway": "gondola", "name": "Lift"}),
    301: ([7, 8], {"highway": "track"}),
    302: ([7, 9], {"highway": "primary", "ref": "N 5"}),
    303: ([8, 9], {"railway": "rail"}),
    304: ([8, 5], {"highway": "proposed"}),
    305: ([8, 4], {"waterway": "river"}),
}


@pytest.fixture(params=["osm", "pbf"])
def extract(request, tmp_path):
    write = write_osm if request.param == "osm" else write_pbf
    return write(tmp_path / f"map.{request.param}", NODES, WAYS)


def read(path, kind, clip=None, **more):
    more.setdefault("default_height_m", 10.0)
    return read_source(spec_of(kind, path, **more), clip)


def test_structures(extract):
    layer = read(extract, "structures")
    rows = {row.name: row for row in layer.rows}
    assert set(rows) == {
        "Hut", "Hill mast", "structure node/6", "Barn & <b>loft</b>", "structure way/102",
        "structure way/103", "structure way/104", "structure way/105",
    }  # fmt: skip
    assert (rows["Hut"].top_agl_m, rows["Hut"].height_is_assumed) == (10.0, True)
    assert (rows["structure way/102"].top_agl_m, rows["structure way/102"].height_is_assumed) == (
        12.5, False,
    )  # fmt: skip
    # Nine storeys are higher than the default: taken, generously, and still an assumption.
    assert rows["structure way/103"].top_agl_m > 9 * 3.0
    assert rows["structure way/103"].height_is_assumed
    assert rows["Hill mast"].top_agl_m == pytest.approx(300 * FOOT_M)
    assert rows["structure node/6"].top_agl_m == 10.0  # "about 99" is no height
    assert layer.record.rows_read == layer.record.rows_used == 8
    notes = " ".join(layer.record.notes)
    assert "widened to their hull: way/104" in notes
    assert "storey" in notes
    assert rows["structure way/104"].geometry.is_valid


def test_obstacles(extract):
    layer = read(extract, "obstacles")
    rows = {row.name: row for row in layer.rows}
    assert set(rows) == {
        "tower node/1", "tower node/2", "pole node/3", "Hill mast", "generator node/6",
        "chimney way/105",
    }  # fmt: skip
    assert rows["tower node/2"].top_agl_m == 45.0
    assert rows["tower node/1"].top_agl_m == 10.0
    assert rows["tower node/1"].top_amsl_m is None
    for row in layer.rows:
        assert not row.accuracy_is_known
        assert row.vertical_accuracy_m == 50 * FOOT_M
    chimney = rows["chimney way/105"]
    corner_m, _ = distance_and_bearing(chimney.lat, chimney.lon, 42.0, 1.5)
    assert chimney.horizontal_accuracy_m == pytest.approx(250 * FOOT_M + corner_m, abs=0.1)
    assert rows["Hill mast"].horizontal_accuracy_m == 250 * FOOT_M
    assert any("3 of 6 objects of the map state no height" in n for n in layer.record.notes)


def test_wires(extract):
    layer = read(extract, "wires")
    assert {row.name for row in layer.rows} == {
        "wire way/201",
        "wire way/202",
        "wire way/205",
        "Lift",
    }
    assert any("distribution lines are mostly not mapped" in n for n in layer.record.notes)


def test_roads(extract):
    rows = read(extract, "roads").rows
    assert {(row.name, row.kind) for row in rows} == {
        ("road way/301", "track"), ("N 5", "primary"), ("road way/303", "rail"),
    }  # fmt: skip


def test_woods(extract):
    assert [row.name for row in read(extract, "woods").rows] == ["wood way/106"]


def test_a_clip_box_leaves_out_what_lies_outside(extract):
    layer = read(extract, "structures", (1.15, 41.9, 1.35, 42.1))
    assert {row.name for row in layer.rows} == {"structure way/102", "structure way/103"}
    assert layer.record.rows_read == 2
    assert "inside the evaluated region" in layer.record.notes[0]
    everything = read(extract, "structures", (1.15, 41.9, 1.35, 42.1), covers="extent")
    assert len(everything.rows) == 8


def test_nothing_of_a_kind_is_an_answer_that_says_what_it_is_worth(tmp_path):
    path = write_osm(tmp_path / "map.osm", NODES, {101: WAYS[101]})
    layer = read(path, "wires")
    assert layer.rows == ()
    assert "0 OpenStreetMap objects match wires" in layer.record.notes[0]
    assert "a gap in the map means nothing" in layer.record.notes[0]


@pytest.mark.parametrize("kind", ["structures", "obstacles", "wires", "woods"])
def test_a_default_height_must_be_declared(extract, kind):
    with pytest.raises(InputError) as error:
        read(extract, kind, default_height_m=None)
    assert faults_of(error)[0].key == "source[2].default_height"


@pytest.mark.parametrize(
    "kind", [k for k in SourceKind if k not in (*MAP_KINDS, "terrain", "land-cover")]
)
def test_other_kinds_are_drawn_and_not_taken_from_a_map(extract, kind):
    with pytest.raises(InputError, match="OpenStreetMap") as error:
        read(extract, kind)
    assert "by hand" in faults_of(error)[0].fix


@pytest.mark.parametrize("kind", MAP_KINDS)
def test_damaged_extracts(extract, kind, tmp_path, capfd):
    raw = extract.read_bytes()
    for size in (len(raw) // 3, len(raw) - 5):
        path = tmp_path / f"cut.{extract.suffix[1:]}"
        path.write_bytes(raw[:size])
        with pytest.raises(InputError) as error:
            read(path, kind)
        faults_of(error)
    assert capfd.readouterr().err == ""


def test_no_file_and_no_warning_is_left(extract, recwarn, monkeypatch, tmp_path_factory):
    scratch = tmp_path_factory.mktemp("scratch")
    for variable in ("TMPDIR", "TEMP", "CPL_TMPDIR"):
        monkeypatch.setenv(variable, str(scratch))
    for kind in MAP_KINDS:
        read(extract, kind)
    assert os.listdir(scratch) == []
    assert os.listdir(extract.parent) == [extract.name]
    assert not recwarn.list


@pytest.mark.parametrize("write", [write_osm, write_pbf])
def test_an_outline_that_nobody_closed_still_stands_there(tmp_path, write):
    """As in a real extract: two buildings of 313 in a whole country were lines."""
    ways = {101: ([10, 11, 12, 13], {"building": "yes", "name": "Half-drawn barn"})}
    layer = read(write(tmp_path / f"m.{write.__name__[6:]}", NODES, ways), SourceKind.STRUCTURES)
    assert "LineString" in {row.geometry.geom_type for row in layer.rows if "barn" in row.name}
