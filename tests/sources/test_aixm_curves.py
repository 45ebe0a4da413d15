"""Outlines of AIXM airspace: axis order, arcs, circles, geodesics, borders, corridors.

Distances are checked with geographiclib, C. Karney's own code, independent of PROJ.
"""

import math

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from shapely.geometry import Point, Polygon

from areaplan.errors import InputError
from areaplan.units import NAUTICAL_MILE_M
from tests.sources.aixm_writing import (
    LAT_LON,
    LON_LAT,
    SQUARE,
    airspace,
    arc,
    border,
    border_reference,
    circle,
    component,
    curve,
    element,
    limits,
    read,
    ring,
    string,
    surface,
)  # fmt: skip
from tests.sources.making import faults_of

WGS84 = Geodesic.WGS84
ISSUE_TOLERANCE_M = 5.0  # arcs densified to better than 5 m
# How far outside an arc an outline may be drawn, and how far it may cut a corner.
SAGITTA_M = 0.5
EDGE_NOISE_M = 0.02  # edges straight in longitude/latitude, between corners some 100 m apart


def outline(tmp_path, shape):
    layer = read(tmp_path, airspace(component(limits() + shape)))
    (row,) = layer.rows
    assert row.lower is not None, layer.record.notes
    return row.geometry


def along(geometry, step_deg=2e-4):
    """Latitude and longitude of places all along the edge of a polygon."""
    return shapely.get_coordinates(shapely.segmentize(geometry.exterior, step_deg))[:, ::-1]


def distances(centre, places):
    return np.array([WGS84.Inverse(*centre, *place)["s12"] for place in places])


def place_at(centre, azimuth, distance_m):
    found = WGS84.Direct(*centre, azimuth, distance_m)
    return found["lat2"], found["lon2"]


def holds(polygon, place):
    return polygon.covers(Point(place[1], place[0]))


@pytest.mark.parametrize(
    ("radius", "uom", "radius_m"),
    [
        (15, "NM", 15 * 1852.0), (10, "[nmi_i]", 18_520.0), (20, "km", 20_000.0),
        (35, "KM", 35_000.0), (900, "M", 900.0), (3000, "FT", 914.4),
    ],
)  # fmt: skip
@pytest.mark.parametrize("centre", [(52.37, -22.1), (-33.0, 151.0), (69.5, 18.9)])
def test_a_circle_lies_just_outside_the_true_one(tmp_path, centre, radius, uom, radius_m):
    polygon = outline(tmp_path, surface(ring(curve(circle(centre, radius, uom)))))
    away = distances(centre, along(polygon, 1e-3))
    assert away.min() >= radius_m - EDGE_NOISE_M
    assert away.max() <= radius_m + SAGITTA_M + EDGE_NOISE_M
    assert away.max() - radius_m < ISSUE_TOLERANCE_M


def test_an_arc_past_north_runs_clockwise_from_270_to_497(tmp_path):
    """The published sample of facts.md 4.3: 270 to 497 is west over north to south-east."""
    centre, radius_m = (55.25, -36.2), 25 * NAUTICAL_MILE_M
    west, south_east = place_at(centre, 270, radius_m), place_at(centre, 137, radius_m)
    polygon = outline(
        tmp_path,
        surface(ring(curve(
            string([centre, west]), arc(centre, 25, "NM", 270, 497), string([south_east, centre])
        ))),
    )  # fmt: skip
    for azimuth in range(272, 497, 5):
        assert holds(polygon, place_at(centre, azimuth, radius_m - EDGE_NOISE_M))
        assert not holds(polygon, place_at(centre, azimuth, radius_m + ISSUE_TOLERANCE_M))
    for azimuth in (140, 180, 265):
        assert not holds(polygon, place_at(centre, azimuth, 5000))


def test_a_negative_sweep_runs_anticlockwise(tmp_path):
    centre, radius_m = (42.0, 1.0), 5000.0
    north, west = place_at(centre, 0, radius_m), place_at(centre, 270, radius_m)
    shape = surface(ring(curve(
        string([centre, north]), arc(centre, 5000, "M", 0, -90), string([west, centre])
    )))  # fmt: skip
    polygon = outline(tmp_path, shape)
    assert holds(polygon, place_at(centre, 315, 4999.9))
    assert not holds(polygon, place_at(centre, 315, 5005))
    assert not holds(polygon, place_at(centre, 45, 100))


def test_an_arc_that_bites_into_the_airspace_is_bitten_no_deeper(tmp_path):
    """The cut-out of a quarter circle at a corner: nothing outside the true arc is lost."""
    centre, radius_m = (42.0, 1.0), 10_000.0
    north, east = place_at(centre, 0, radius_m), place_at(centre, 90, radius_m)
    far = (42.3, 1.4)
    corners = [east, (42.0, 1.4), far, (42.3, 1.0), north]
    polygon = outline(
        tmp_path, surface(ring(curve(string(corners), arc(centre, 10_000, "M", 0, 90))))
    )
    for azimuth in np.arange(1.0, 90.0, 1.7):
        assert holds(polygon, place_at(centre, azimuth, radius_m + 0.01))
        assert not holds(polygon, place_at(centre, azimuth, radius_m - ISSUE_TOLERANCE_M))


def test_a_hole_is_no_larger_than_its_circle(tmp_path):
    centre = (42.25, 1.25)
    hole = ring(curve(circle(centre, 3, "NM")))
    polygon = outline(tmp_path, surface(ring(curve(string(SQUARE))), hole))
    assert len(polygon.interiors) == 1
    away = distances(centre, along(Polygon(polygon.interiors[0])))
    assert away.max() <= 3 * NAUTICAL_MILE_M + EDGE_NOISE_M
    assert away.min() >= 3 * NAUTICAL_MILE_M - SAGITTA_M - EDGE_NOISE_M


def test_latitude_comes_first_in_epsg_4326_and_longitude_in_crs84(tmp_path):
    """OGC 12-028r1; CRS84 is longitude, latitude (OGC 06-042, annex B)."""
    swapped = [(lon, lat) for lat, lon in SQUARE]
    one = outline(tmp_path, surface(ring(curve(string(SQUARE))), srs=LAT_LON))
    other = outline(tmp_path, surface(ring(curve(string(swapped))), srs=LON_LAT))
    assert one.equals_exact(other, 1e-12)
    assert one.bounds[:2] == pytest.approx((1.0, 42.0), abs=1e-9)
    assert one.bounds[2] == pytest.approx(1.5, abs=1e-9)


def test_angles_of_crs84_run_anticlockwise_from_east(tmp_path):
    centre, radius_m = (42.0, 1.0), 5000.0
    north, east = place_at(centre, 0, radius_m), place_at(centre, 90, radius_m)
    flip = [(lon, lat) for lat, lon in (centre, east, north)]
    shape = surface(
        ring(curve(string(flip[:2]), arc(flip[0], 5000, "M", 0, 90), string([flip[2], flip[0]]))),
        srs=LON_LAT,
    )
    polygon = outline(tmp_path, shape)
    assert holds(polygon, place_at(centre, 45, 4999.9))
    assert not holds(polygon, place_at(centre, 225, 10))


@pytest.mark.parametrize("srs", ["", "EPSG:4326", "urn:ogc:def:crs:EPSG::4269"])
def test_a_reference_system_that_is_missing_or_of_two_readings_is_refused(tmp_path, srs):
    with pytest.raises(InputError, match="srsName") as error:
        read(
            tmp_path, airspace(component(limits() + surface(ring(curve(string(SQUARE))), srs=srs)))
        )
    assert "XR1" in faults_of(error)[0].key


def test_a_geodesic_bulges_from_the_parallel_and_a_straight_segment_does_not(tmp_path):
    corners = [(60.0, 0.0), (60.0, 4.0), (61.0, 4.0), (61.0, 0.0), (60.0, 0.0)]
    geodesic = outline(tmp_path, surface(ring(curve(string(corners)))))
    straight = outline(tmp_path, surface(ring(curve(string(corners, "LineStringSegment")))))
    assert straight.bounds == (0.0, 60.0, 4.0, 61.0)
    line = WGS84.InverseLine(60.0, 0.0, 60.0, 4.0)
    for share in np.linspace(0.013, 0.987, 40):
        on_line = line.Position(share * line.s13)
        edge = geodesic.exterior.distance(Point(on_line["lon2"], on_line["lat2"]))
        assert edge * 111_000 < 0.2
    middle = line.Position(line.s13 / 2)
    assert (middle["lat2"] - 60.0) * 111_000 > 1500
    assert not holds(geodesic, (60.005, 2.0))
    assert holds(straight, (60.005, 2.0))


COAST = [
    (41.9, 1.5),
    (42.0, 1.5),
    (42.1, 1.55),
    (42.2, 1.48),
    (42.3, 1.6),
    (42.5, 1.5),
    (42.7, 1.5),
]


@pytest.mark.parametrize("coast", [COAST, COAST[::-1]])
@pytest.mark.parametrize("reference", ["urn:uuid:b7", "#uuid.b7"])
def test_only_the_stretch_of_a_shared_border_between_its_neighbours_is_used(
    tmp_path, coast, reference
):
    start, end = (42.0, 1.5), (42.5, 1.5)
    shape = surface(ring(
        border_reference(reference), curve(string([end, (42.5, 1.0), (42.0, 1.0), start]))
    ))  # fmt: skip
    layer = read(tmp_path, airspace(component(limits() + shape)), border("b7", coast))
    (row,) = layer.rows
    assert holds(row.geometry, (42.3, 1.59))
    assert not holds(row.geometry, (42.2, 1.49))
    assert row.geometry.bounds[1] > 41.999
    assert row.geometry.bounds[3] < 42.51


def test_a_border_that_is_not_in_the_file_is_an_error_that_names_the_airspace(tmp_path):
    shape = surface(ring(border_reference("urn:uuid:none"), curve(string(SQUARE[1:]))))
    with pytest.raises(InputError, match="urn:uuid:none") as error:
        read(tmp_path, airspace(component(limits() + shape), name="COAST"))
    assert "R XR1 COAST" in faults_of(error)[0].key


def test_a_closed_border_could_be_followed_either_way_and_so_is_unknown(tmp_path):
    island = [(42.0, 1.5), (42.5, 1.5), (42.5, 1.8), (42.0, 1.8), (42.0, 1.5)]
    shape = surface(ring(
        border_reference("urn:uuid:b7"),
        curve(string([(42.5, 1.5), (42.5, 1.0), (42.0, 1.0), (42.0, 1.5)])),
    ))  # fmt: skip
    layer = read(tmp_path, airspace(component(limits() + shape)), border("b7", island))
    assert layer.rows[0].lower is None
    assert layer.rows[0].upper is None
    assert holds(layer.rows[0].geometry, (42.25, 1.75))


def test_the_points_of_an_arc_may_be_elsewhere_in_the_file(tmp_path):
    point = (
        '<aixm:DesignatedPoint gml:id="d1"><aixm:timeSlice><aixm:DesignatedPointTimeSlice>'
        f'<aixm:location><aixm:Point gml:id="p1" srsName="{LAT_LON}"><gml:pos>42.2 1.2</gml:pos>'
        "</aixm:Point></aixm:location></aixm:DesignatedPointTimeSlice></aixm:timeSlice>"
        "</aixm:DesignatedPoint>"
    )
    by_link = (
        '<gml:CircleByCenterPoint numArc="1"><gml:pointProperty xlink:href="#p1"/>'
        '<gml:radius uom="KM">10</gml:radius></gml:CircleByCenterPoint>'
    )
    layer = read(tmp_path, airspace(component(limits() + surface(ring(curve(by_link))))), point)
    assert layer.rows[0].geometry.centroid.distance(Point(1.2, 42.2)) < 1e-3


BOW = [(42.0, 1.0), (42.5, 1.5), (42.5, 1.0), (42.0, 1.5), (42.0, 1.0)]
OPEN = [(42.0, 1.0), (42.0, 1.5), (42.5, 1.5), (42.5, 1.3)]


@pytest.mark.parametrize(("corners", "words"), [(BOW, "crosses"), (OPEN, "do not meet")])
def test_an_outline_of_two_readings_is_unknown_wherever_it_may_be(tmp_path, corners, words):
    layer = read(tmp_path, airspace(component(limits() + surface(ring(curve(string(corners)))))))
    (row,) = layer.rows
    assert (row.lower, row.upper) == (None, None)
    assert row.geometry.is_valid
    for lat, lon in corners:
        assert holds(row.geometry, (lat, lon))
    (note,) = layer.record.notes
    assert "R XR1" in note
    assert words in note
    counts = layer.record.rows_read, layer.record.rows_used, layer.record.rows_rejected
    assert counts == (1, 0, 1)


@pytest.mark.parametrize(
    ("segment", "words"),
    [
        (circle((42, 1), 5, "SM"), "radius"),
        (circle((42, 1), "five", "NM"), "radius"),
        (circle((42, 1), -5, "NM"), "radius"),
        (circle((42, 1), "nan", "NM"), "radius"),
        (circle((142, 1), 5, "NM"), "no place on earth"),
        (arc((42, 1), 5, "NM", 10, 10), "sweeps"),
        (arc((42, 1), 5, "NM", 10, 400), "sweeps"),
        (arc((42, 1), 5, "NM", "north", 400), "startAngle"),
        (arc((42, 1), 5, "NM"), "startAngle"),
        ("<gml:CubicSpline/>", "CubicSpline"),
        ("", "no segments"),
        (string([(42.0, 1.0)]), "single position"),
        ("<gml:GeodesicString/>", "no positions"),
        ("<gml:GeodesicString><gml:posList>42 1 42</gml:posList></gml:GeodesicString>", "pairs"),
        ("<gml:GeodesicString><gml:posList>42 one</gml:posList></gml:GeodesicString>", "numbers"),
        (
            "<gml:GeodesicString><gml:posList>42 nan 42 1</gml:posList></gml:GeodesicString>",
            "place",
        ),
    ],
)
def test_what_cannot_be_placed_is_an_error_that_names_the_airspace(tmp_path, segment, words):
    with pytest.raises(InputError) as error:
        read(tmp_path, airspace(component(limits() + surface(ring(curve(segment))))))
    (fault,) = faults_of(error)
    assert "uuid.a1" in fault.key
    assert words in fault.found


def test_an_airspace_over_the_180_degree_meridian_lies_on_both_sides_of_it(tmp_path):
    polygon = outline(tmp_path, surface(ring(curve(circle((-17.0, 179.9), 20, "NM")))))
    assert holds(polygon, (-17.0, 179.99))
    assert holds(polygon, (-17.0, -179.99))
    assert not holds(polygon, (-17.0, 0.0))
    assert polygon.is_valid
    assert polygon.bounds[0] >= -180.0
    assert polygon.bounds[2] <= 180.0


def test_an_unsound_outline_at_a_pole_stays_on_earth(tmp_path):
    corners = [(89.0, 1.0), (90.0, 1.5), (90.0, 1.0), (89.0, 1.5), (89.0, 1.0)]
    straight = curve(string(corners, "LineStringSegment"))
    layer = read(tmp_path, airspace(component(limits() + surface(ring(straight)))))
    assert layer.rows[0].upper is None
    assert layer.rows[0].geometry.bounds[3] <= 90.0


def test_a_corridor_holds_everything_within_half_its_width(tmp_path):
    line = [(47.4, -41.6), (47.6, -41.2), (47.5, -40.6)]
    shape = element("width", "10000", uom="M") + (
        f'<aixm:centreline><aixm:Curve srsName="{LAT_LON}"><gml:segments>{string(line)}'
        "</gml:segments></aixm:Curve></aixm:centreline>"
    )
    polygon = outline(tmp_path, shape)
    first = WGS84.InverseLine(*line[0], *line[1])
    for share in np.linspace(0.0, 1.0, 9):
        on_line = first.Position(share * first.s13)
        for side in (-90, 90):
            for away_m, is_inside in ((4990, True), (5060, False)):
                place = place_at((on_line["lat2"], on_line["lon2"]), on_line["azi2"] + side, away_m)
                near_bend = share > 0.8 and side == 90
                assert holds(polygon, place) is is_inside or near_bend
    assert math.isclose(polygon.area, 0.1, rel_tol=0.5)
