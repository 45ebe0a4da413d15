"""GPX: order of elements, closed tracks, times in UTC, and what GDAL's own reader makes of it."""

from datetime import UTC, datetime, timedelta, timezone
from xml.etree import ElementTree as ET

import pyogrio
import pytest
import shapely

from areaplan.render.gpx import (
    NAMESPACE,
    GpxPoint,
    GpxRoute,
    GpxTrack,
    gpx_bytes,
    outline_track,
)
from tests.render.scenery import HOSTILE_NAMES
from tests.render.schema_order import GPX, order_faults

DAY = datetime(2026, 11, 25, tzinfo=UTC)
RING = [(-35.0, 45.0), (-34.9, 45.0), (-34.9, 45.1), (-35.0, 45.1), (-35.0, 45.0)]
HOLE = [(-34.97, 45.03), (-34.93, 45.03), (-34.93, 45.07), (-34.97, 45.03)]


@pytest.fixture(scope="module")
def everything():
    local = datetime(2026, 11, 25, 8, 30, 15, 250_000, timezone(timedelta(hours=-6)))
    flown = (GpxPoint(45.0, -35.0, 300.5, local), GpxPoint(45.01, -35.01, 310.0, local))
    return gpx_bytes(
        title="Area",
        description="Planning aid only",
        made=DAY,
        waypoints=[
            GpxPoint(45.5, -35.25, 123.456, DAY, name, name, "kind") for name in HOSTILE_NAMES
        ],
        routes=[GpxRoute("In", (GpxPoint(45.0, -35.0, name="Gate"), GpxPoint(45.1, -35.1)))],
        tracks=[
            outline_track("Practice area", shapely.Polygon(RING, [HOLE]), "said before."),
            outline_track("Wire", shapely.LineString(RING[:3])),
            GpxTrack("Flown", (flown,)),
        ],
    )


def every(content, tag):
    return ET.fromstring(content).iter(f"{{{NAMESPACE}}}{tag}")


def test_elements_stand_in_the_schemas_order(everything):
    assert order_faults(everything, NAMESPACE, GPX) == []


def test_the_order_check_finds_a_fault(everything):
    wrong = everything.replace(b"<ele>", b"<type>").replace(b"</ele>", b"</type>")
    assert any("too late" in fault for fault in order_faults(wrong, NAMESPACE, GPX))


def test_root_says_version_and_creator(everything):
    root = ET.fromstring(everything)
    assert root.attrib == {"version": "1.1", "creator": "areaplan"}
    assert everything.startswith(b'<?xml version="1.0" encoding="UTF-8"?>')


def test_times_are_utc(everything):
    times = [element.text for element in every(everything, "time")]
    assert times[0] == "2026-11-25T00:00:00Z"
    assert times[-1] == "2026-11-25T14:30:15.250Z"
    with pytest.raises(ValueError, match="offset"):
        gpx_bytes(title="", description="", made=datetime(2026, 1, 1))


def test_an_area_is_a_closed_track_and_says_so(everything):
    area = next(every(everything, "trk"))
    segments = list(area.iter(f"{{{NAMESPACE}}}trkseg"))
    assert len(segments) == 2
    for segment in segments:
        assert segment[0].attrib == segment[-1].attrib
    words = area.find(f"{{{NAMESPACE}}}desc").text
    assert words.startswith("said before.")
    assert "outline of an area" in words
    wire = list(every(everything, "trk"))[1]
    assert wire.find(f"{{{NAMESPACE}}}desc") is None


def test_hostile_names_stay_names(everything):
    names = [point.find(f"{{{NAMESPACE}}}name").text for point in every(everything, "wpt")]
    assert names == list(HOSTILE_NAMES)


def test_places_off_the_globe_are_refused_and_the_date_line_lies_west():
    for lat, lon in ((90.1, 0.0), (0.0, 180.1), (float("nan"), 0.0)):
        with pytest.raises(ValueError, match="no place"):
            gpx_bytes(title="", description="", made=DAY, waypoints=[GpxPoint(lat, lon)])
    content = gpx_bytes(title="", description="", made=DAY, waypoints=[GpxPoint(1.0, 180.0)])
    # The schema's longitudeType ends before 180 (maxExclusive).
    assert next(every(content, "wpt")).get("lon") == "-180.0000000"


def test_gdal_reads_every_kind_back(everything, tmp_path):
    path = tmp_path / "t.gpx"
    path.write_bytes(everything)
    points = pyogrio.read_dataframe(path, layer="waypoints")
    assert list(points["name"]) == list(HOSTILE_NAMES)
    assert points["ele"].tolist() == pytest.approx([123.46] * 5)
    assert points.geometry[0].equals_exact(shapely.Point(-35.25, 45.5), 1e-7)
    tracks = pyogrio.read_dataframe(path, layer="tracks")
    expected = shapely.MultiLineString([RING, HOLE])
    assert tracks.geometry[0].equals_exact(expected, 1e-7)
    assert pyogrio.read_dataframe(path, layer="routes")["name"].tolist() == ["In"]
