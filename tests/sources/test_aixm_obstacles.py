"""AIXM VerticalStructure: tops, accuracies, parts, lines and surfaces."""

import pytest
import shapely
from geographiclib.geodesic import Geodesic

from areaplan.errors import InputError
from areaplan.sources.obstacles import read_obstacles
from tests.sources.aixm_writing import (
    DAY,
    LAT_LON,
    SQUARE,
    curve,
    element,
    feature,
    ring,
    slice_of,
    string,
    valid,
    write,
)  # fmt: skip
from tests.sources.making import spec_of

DEFAULTS_M = (250 * 0.3048, 50 * 0.3048)  # FAA Order 8260.19J app. C, 4D


def figures(elevation=None, horizontal=None, vertical=None):
    said = element("horizontalAccuracy", horizontal, uom="M") if horizontal else ""
    said += element("elevation", elevation, uom="M") if elevation else ""
    return said + (element("verticalAccuracy", vertical, uom="M") if vertical else "")


def point(lat, lon, **keys):
    return (
        f'<aixm:horizontalProjection_location><aixm:ElevatedPoint srsName="{LAT_LON}">'
        f"<gml:pos>{lat} {lon}</gml:pos>{figures(**keys)}</aixm:ElevatedPoint>"
        "</aixm:horizontalProjection_location>"
    )


def line(pairs, **keys):
    return (
        f'<aixm:horizontalProjection_linearExtent><aixm:ElevatedCurve srsName="{LAT_LON}">'
        f"<gml:segments>{string(pairs)}</gml:segments>{figures(**keys)}</aixm:ElevatedCurve>"
        "</aixm:horizontalProjection_linearExtent>"
    )


def area(pairs, **keys):
    return (
        f'<aixm:horizontalProjection_surfaceExtent><aixm:ElevatedSurface srsName="{LAT_LON}">'
        "<gml:patches><gml:PolygonPatch><gml:exterior>"
        f"{ring(curve(string(pairs)))}</gml:exterior></gml:PolygonPatch></gml:patches>"
        f"{figures(**keys)}</aixm:ElevatedSurface></aixm:horizontalProjection_surfaceExtent>"
    )


def part(place, extent=None, accuracy=None, kind="MAST"):
    said = element("verticalExtent", extent, uom="M") if extent else ""
    said += element("verticalExtentAccuracy", accuracy, uom="M") if accuracy else ""
    return (
        f"<aixm:part><aixm:VerticalStructurePart>{said}{element('type', kind)}{place}"
        "</aixm:VerticalStructurePart></aixm:part>"
    )


def structure(*inside, name="OBS-1", uuid="o1", when=None):
    body = element("name", name) + "".join(inside)
    return feature("VerticalStructure", uuid, slice_of("VerticalStructure", body, when))


def read(tmp_path, *features):
    path = write(tmp_path / "obstacles.xml", *features)
    return read_obstacles(spec_of("obstacles", path, day=DAY))


def test_a_mast_with_all_its_figures(tmp_path):
    mast = part(
        point(52.36171389, -28.03756667, elevation=150, horizontal=50, vertical=30), 120, 30
    )
    (row,) = read(tmp_path, structure(mast)).rows
    assert (row.name, row.kind) == ("OBS-1", "MAST")
    assert (row.lat, row.lon) == (52.36171389, -28.03756667)
    assert (row.top_agl_m, row.top_amsl_m) == (120.0, 150.0)
    assert (row.horizontal_accuracy_m, row.vertical_accuracy_m) == (50.0, 30.0)
    assert row.accuracy_is_known


def test_unstated_accuracy_takes_the_cautious_default(tmp_path):
    (row,) = read(tmp_path, structure(part(point(42, 1, elevation=150), 120))).rows
    assert (row.horizontal_accuracy_m, row.vertical_accuracy_m) == pytest.approx(DEFAULTS_M)
    assert not row.accuracy_is_known


def test_the_reach_of_guy_wires_widens_a_mast(tmp_path):
    mast = part(point(42, 1, elevation=150, horizontal=5, vertical=3))
    (row,) = read(tmp_path, structure(element("radius", 81, uom="M"), mast)).rows
    assert row.horizontal_accuracy_m == 86.0
    sides = element("length", 60, uom="M") + element("width", 80, uom="M")
    (row,) = read(tmp_path, structure(sides, mast)).rows
    assert row.horizontal_accuracy_m == 55.0


def test_an_extent_is_no_height_above_ground_where_parts_may_stand_on_each_other(tmp_path):
    """An antenna of 20 m on a roof: its extent of 20 m is not its height above the ground."""
    house = part(point(42, 1, elevation=168), 110)
    antenna = part(point(42, 1, elevation=191), 20)
    rows = read(tmp_path, structure(house, antenna)).rows
    assert [(row.top_agl_m, row.top_amsl_m) for row in rows] == [(None, 168.0), (None, 191.0)]


def test_a_rope_without_elevation_is_as_high_as_the_higher_station(tmp_path):
    low, high = (46.827, -27.992), (46.806, -27.986)
    rope = structure(
        part(point(*low, elevation=2438, horizontal=5, vertical=1)),
        part(line([low, high], horizontal=5), kind="CATENARY"),
        part(point(*high, elevation=2870, horizontal=5, vertical=2)),
    )
    rows = [row for row in read(tmp_path, rope).rows if row.kind == "CATENARY"]
    assert {row.top_amsl_m for row in rows} == {2870.0}
    assert {row.vertical_accuracy_m for row in rows} == {2.0}
    track = Geodesic.WGS84.InverseLine(*low, *high)
    for share in range(101):
        on_line = track.Position(share / 100 * track.s13)
        assert any(
            Geodesic.WGS84.Inverse(row.lat, row.lon, on_line["lat2"], on_line["lon2"])["s12"]
            <= row.horizontal_accuracy_m
            for row in rows
        )


def test_a_farm_of_windmills_is_covered_whole(tmp_path):
    corners = [(42.0, 1.0), (42.0, 1.02), (42.01, 1.03), (42.02, 1.0), (42.0, 1.0)]
    layer = read(tmp_path, structure(part(area(corners, elevation=215), 119)))
    rows = layer.rows
    assert {row.top_agl_m for row in rows} == {119.0}
    for lon, lat in shapely.get_coordinates(
        shapely.segmentize(shapely.Polygon([p[::-1] for p in corners]).exterior, 0.001)
    ):
        assert any(
            Geodesic.WGS84.Inverse(row.lat, row.lon, lat, lon)["s12"] <= row.horizontal_accuracy_m
            for row in rows
        )
    assert any("1 structures" in note for note in layer.record.notes)


def test_a_small_building_is_not_blown_up(tmp_path):
    corners = [(42.0, 1.0), (42.0, 1.0002), (42.0002, 1.0002), (42.0002, 1.0), (42.0, 1.0)]
    rows = read(
        tmp_path, structure(part(area(corners, elevation=30, horizontal=1, vertical=1)))
    ).rows
    assert len(rows) <= 2
    assert max(row.horizontal_accuracy_m for row in rows) < 20.0


SOUND = part(point(42, 1, elevation=150), 120)


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (part(point(42, 1)), "no height"),
        (part("", 120), "0 places"),
        (part(point(42, 1, elevation=99999)), "absurd"),
        (part(point(42, 1, elevation="high")), "not a height"),
        (part(point(142, 1, elevation=150)), "no place on earth"),
        (part(point("north", 1, elevation=150)), "not numbers"),
        (part(point(42, 1), 5000), "absurd"),
        (part(area(SQUARE, elevation=150)), None),
        (part(area([(0, 0), (0, 60), (60, 60), (0, 0)], elevation=150)), "too large"),
        ("", "no parts"),
    ],
)
def test_a_part_that_cannot_be_used_is_named_and_counted(tmp_path, bad, words):
    layer = read(
        tmp_path,
        structure(bad, name="BAD"),
        *(structure(SOUND, name=f"GOOD {i}", uuid=f"g{i}") for i in range(2)),
    )
    assert {"GOOD 0", "GOOD 1"} <= {row.name for row in layer.rows}
    if words is None:
        assert layer.record.rows_rejected == 0
        return
    assert layer.record.rows_rejected == 1
    (note,) = [note for note in layer.record.notes if "could not be used" in note]
    assert "BAD" in note
    assert words in note


def test_a_table_of_which_most_is_bad_is_an_error(tmp_path):
    with pytest.raises(InputError, match="most rows are sound"):
        read(tmp_path, structure(part(point(42, 1))), structure(SOUND, uuid="o2"),
             structure(part(""), uuid="o3"))  # fmt: skip


def test_what_has_ended_is_left_out_and_counted_and_what_is_coming_stands(tmp_path):
    ended = structure(
        SOUND, name="GONE", when=valid("2020-01-01T00:00:00Z", "2026-01-01T00:00:00Z")
    )
    coming = structure(SOUND, name="NEW", uuid="o2", when=valid("2027-01-01T00:00:00Z"))
    layer = read(tmp_path, ended, coming)
    assert [row.name for row in layer.rows] == ["NEW"]
    assert any("1 rows are of dismantled obstacles" in note for note in layer.record.notes)
