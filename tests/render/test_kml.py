"""KML: order of elements, heights, escapes, and what GDAL's own reader makes of it."""

import html
from xml.etree import ElementTree as ET

import pyogrio
import pytest
import shapely

from areaplan.render.kml import (
    NAMESPACE,
    AltitudeMode,
    Folder,
    KmlStyle,
    Placemark,
    Shape,
    kml_bytes,
)
from tests.render.scenery import HOSTILE_NAMES
from tests.render.schema_order import KML, order_faults

STYLES = {"plain": KmlStyle("#123456", 2.0, "#ABCDEF", 0.5)}
HOLED = shapely.Polygon(
    [(-35, 45), (-35, 46), (-34, 46), (-34, 45)],
    [[(-34.6, 45.4), (-34.4, 45.4), (-34.4, 45.6), (-34.6, 45.6)]],
)


def one(name="A place", *shapes, **more):
    return Placemark(name, shapes or (Shape(shapely.Point(-35.25, 45.5)),), "plain", **more)


def written(*placemarks, **more):
    return kml_bytes([Folder("Things", placemarks, **more)], title="T", styles=STYLES)


def found(content, tag):
    return ET.fromstring(content).iter(f"{{{NAMESPACE}}}{tag}")


@pytest.fixture(scope="module")
def everything():
    raised = shapely.force_3d(HOLED, 914.4)
    line = shapely.LineString([(-35, 45), (-34, 45.5)])
    return written(
        one("point", lines=("said",), values={"key": "value"}),
        one("two faces", *(Shape(raised, AltitudeMode.ABOVE_SEA) for _ in range(2))),
        one("wall", Shape(raised, AltitudeMode.ABOVE_SEA, is_extruded=True)),
        one("line", Shape(line)),
        lines=("a note",),
    )


def test_elements_stand_in_the_schemas_order(everything):
    assert order_faults(everything, NAMESPACE, KML) == []


def test_the_order_check_finds_a_fault(everything):
    wrong = everything.replace(b"styleUrl", b"description")
    assert any("two description" in fault for fault in order_faults(wrong, NAMESPACE, KML))


def test_colours_are_alpha_blue_green_red():
    # OGC 07-147r2, 16.2: "aabbggrr".
    content = written(one())
    colours = [element.text for element in found(content, "color")]
    assert colours == ["ff563412", "ff563412", "80efcdab"]


def test_rings_close_and_run_against_the_clock(everything):
    outer, inner = (
        [tuple(map(float, row.split(",")[:2])) for row in ring.text.split()]
        for ring in list(found(everything, "coordinates"))[1:3]
    )
    assert outer[0] == outer[-1]
    assert shapely.LinearRing(outer).is_ccw
    assert not shapely.LinearRing(inner).is_ccw


def test_heights_are_written_only_with_a_mode_that_means_them():
    raised = shapely.force_3d(HOLED, 300.0)
    flat = written(one("f", Shape(raised)))
    assert [row.count(",") for each in found(flat, "coordinates") for row in each.text.split()] == [
        1
    ] * 10
    assert [each.text for each in found(flat, "altitudeMode")] == ["clampToGround"]
    assert not list(found(flat, "extrude"))
    high = written(one("h", Shape(raised, AltitudeMode.ABOVE_SEA)))
    assert all(row.endswith(",300.00") for row in next(found(high, "coordinates")).text.split())
    with pytest.raises(ValueError, match="without heights"):
        written(one("w", Shape(HOLED, AltitudeMode.ABOVE_SEA)))


def test_hostile_words_stay_words():
    marks = [
        one(name, lines=(name,), values={name: name})
        for name in (*HOSTILE_NAMES, "bell \a null \0")
    ]
    content = written(*marks, lines=HOSTILE_NAMES)
    assert order_faults(content, NAMESPACE, KML) == []
    names = [element.text for element in found(content, "name")][2:]
    assert names[:5] == list(HOSTILE_NAMES)
    assert names[5] == "bell \ufffd null \ufffd"
    for element in found(content, "description"):  # a viewer takes it as HTML: no tag but breaks
        assert "<" not in element.text.replace("<br>", "")
    assert html.unescape(list(found(content, "description"))[1].text).startswith(HOSTILE_NAMES[0])


def test_a_style_that_is_not_there_is_refused():
    with pytest.raises(KeyError, match="gone"):
        written(Placemark("x", (Shape(HOLED),), "gone"))


def test_gdal_reads_geometry_name_and_values_back(everything, tmp_path):
    path = tmp_path / "t.kml"
    path.write_bytes(everything)
    _, _, geometry, _ = pyogrio.raw.read(path)
    frame = pyogrio.read_dataframe(path)
    assert list(frame["Name"] if "Name" in frame else frame["name"]) == [
        "point",
        "two faces",
        "wall",
        "line",
    ]
    shapes = shapely.from_wkb(geometry)
    assert shapes[0].equals_exact(shapely.Point(-35.25, 45.5), 1e-7)
    assert shapely.get_coordinates(shapes[1], include_z=True)[:, 2] == pytest.approx(914.4)
    assert shapely.force_2d(shapes[2]).equals(HOLED)
    assert frame["key"][0] == "value"
