"""Airspace drawn as KML: heights of extruded polygons, texts, and what bounds no volume."""

import pytest

from areaplan.errors import InputError
from areaplan.sources.airspace import read_airspace
from areaplan.units import HeightReference
from tests.sources.making import faults_of, spec_of

RING = "1.0,42.0,{a} 1.5,42.0,{a} 1.5,42.5,{b} 1.0,42.5,{b} 1.0,42.0,{a}"


def placemark(mode="absolute", extrude="1", low=900, high=900, **data):
    data = {"class": "D", **data}
    said = "".join(f'<Data name="{k}"><value>{v}</value></Data>' for k, v in data.items())
    heights = RING.format(a=low, b=high) if low is not None else "1,42 1.5,42 1.5,42.5 1,42.5 1,42"
    extruded = f"<extrude>{extrude}</extrude>" if extrude else ""
    moded = f"<altitudeMode>{mode}</altitudeMode>" if mode else ""
    return (
        f"<Placemark><name>Own zone</name><ExtendedData>{said}</ExtendedData><Polygon>"
        f"{extruded}{moded}<outerBoundaryIs><LinearRing><coordinates>{heights}</coordinates>"
        "</LinearRing></outerBoundaryIs></Polygon></Placemark>"
    )


def layer_of(tmp_path, *placemarks):
    path = tmp_path / "zone.kml"
    path.write_text(
        '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2">'
        f"<Document>{''.join(placemarks)}</Document></kml>",
        encoding="utf-8",
    )
    return read_airspace(spec_of("airspace", path))


@pytest.mark.parametrize(
    ("mode", "reference"),
    [("absolute", HeightReference.AMSL), ("relativeToGround", HeightReference.AGL)],
)
def test_an_extruded_polygon_reaches_from_the_surface_to_its_vertices(tmp_path, mode, reference):
    """OGC 07-147r2 (KML 2.2): absolute is above mean sea level, both modes in metres."""
    (row,) = layer_of(tmp_path, placemark(mode)).rows
    assert (row.upper.value_m, row.upper.reference) == (900.0, reference)
    assert row.lower.reference is HeightReference.SFC
    assert row.upper_is_inclusive
    assert not row.geometry.has_z


def test_a_lower_text_lifts_its_floor(tmp_path):
    (row,) = layer_of(tmp_path, placemark(lower="500 ft AGL")).rows
    assert str(row.lower) == "500 ft AGL"
    assert row.upper.value_m == 900.0


def test_the_highest_vertex_of_an_uneven_top_counts_and_is_told(tmp_path):
    layer = layer_of(tmp_path, placemark(low=300, high=900))
    assert layer.rows[0].upper.value_m == 900.0
    assert any("uneven top" in note and "Own zone" in note for note in layer.record.notes)


def test_texts_count_before_heights_and_serve_flat_polygons(tmp_path):
    texts = {"lower": "SFC", "upper": "2500 ft AMSL", "accuracy": "100 m"}
    for drawn in (
        placemark(**texts),
        placemark("", "", None, **texts),
        placemark("x", "0", **texts),
    ):
        (row,) = layer_of(tmp_path, drawn).rows
        assert str(row.upper) == "2500 ft AMSL"
        assert row.boundary_accuracy_m == 100.0


def test_several_extruded_polygons_in_one_placemark_are_refused(tmp_path):
    one = placemark()
    start, end = one.index("<Polygon>"), one.index("</Polygon>") + len("</Polygon>")
    polygon = one[start:end]
    other = polygon.replace("42.", "43.")
    both = f"{one[:start]}<MultiGeometry>{polygon}{other}</MultiGeometry>{one[end:]}"
    with pytest.raises(InputError, match="several polygons"):
        layer_of(tmp_path, both)


@pytest.mark.parametrize(
    ("drawn", "words"),
    [
        (placemark(extrude="0"), "extrude not 1"),
        (placemark(extrude=""), "extrude not 1"),
        (placemark(low=-9000, high=-9000), "top is at"),
        (placemark(low=10, high=10, lower="5000 ft AMSL"), "above its ceiling"),
        (placemark(mode="", extrude="1"), "no limits"),
        (placemark(mode="clampToGround"), "no limits"),
        (placemark(mode="", extrude="", low=None), "no limits"),
        (placemark(accuracy="100"), "accuracy"),
        (placemark(upper="2500"), "upper"),
    ],
)
def test_heights_that_bound_no_volume_are_refused_by_name(tmp_path, drawn, words):
    with pytest.raises(InputError, match=words) as error:
        layer_of(tmp_path, drawn)
    assert '"Own zone"' in faults_of(error)[0].key
