"""Distances and the local frame against GeographicLib, its published rows and PROJ."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import CRS, Transformer

from areaplan.geodesy import LocalFrame, distance_and_bearing

AUTHORITIES = Path(__file__).parents[1] / "authorities"
WGS84 = Geodesic.WGS84
GRS80 = Geodesic(6378137.0, 1 / 298.257222101)

MILLIMETRE_M = 1e-3
MICROMETRE_M = 1e-6
ARC_SECOND_DEG = 1 / 3600
LATITUDES_DEG = (-80.0, -60.0, -35.0, 0.0, 20.0, 45.0, 60.0, 75.0, 85.0)
AZIMUTHS_DEG = range(0, 360, 15)
RANGES_M = (10.0, 1000.0, 10_000.0, 30_000.0, 60_000.0)
EARTH_RADIUS_M = 6_371_008.8  # mean radius of the WGS 84 ellipsoid (Moritz 2000)


def degrees(degree: int, minute: int, second: float) -> float:
    return math.copysign(abs(degree) + minute / 60 + second / 3600, degree)


def azimuth_difference_deg(one: float, other: float) -> float:
    return abs((one - other + 180.0) % 360.0 - 180.0)


# ------------------------------------------------------------------ published geodesics


def test_row_45_new_york_to_singapore() -> None:
    """GeographicLib manual, GeodSolve(1): 15347628 m, azimuths 003:18:29.9 and 177:29:09.2."""
    new_york = degrees(40, 38, 23), -degrees(73, 46, 44)
    singapore = degrees(1, 21, 33), degrees(103, 59, 22)
    distance_m, bearing = distance_and_bearing(*new_york, *singapore)
    assert distance_m == pytest.approx(15_347_628, abs=0.5)
    assert bearing == pytest.approx(degrees(3, 18, 29.9), abs=0.05 * ARC_SECOND_DEG)
    back_m, back = distance_and_bearing(*singapore, *new_york)
    assert back_m == pytest.approx(distance_m, abs=MILLIMETRE_M)
    assert (back + 180.0) % 360.0 == pytest.approx(degrees(177, 29, 9.2), abs=0.05 * ARC_SECOND_DEG)


def geodesic_rows() -> list[dict[str, float]]:
    lines = (AUTHORITIES / "geodesic_inverse.csv").read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [{key: float(value) for key, value in row.items()} for row in rows]


def test_the_published_rows_are_there() -> None:
    rows = geodesic_rows()
    assert len(rows) == 20
    assert rows[0]["distance_m"] == 8935244.5604818305


@pytest.mark.parametrize("row", geodesic_rows(), ids=lambda row: f"{row['distance_m']:.0f}m")
def test_row_46_published_geodesic(row: dict[str, float]) -> None:
    """GeographicLib, tests/geodtest.cpp: the whole table, its first row 8,935,244.5605 m."""
    start, end = (row["lat1_deg"], row["lon1_deg"]), (row["lat2_deg"], row["lon2_deg"])
    distance_m, bearing = distance_and_bearing(*start, *end)
    assert distance_m == pytest.approx(row["distance_m"], abs=MILLIMETRE_M)
    assert azimuth_difference_deg(bearing, row["azimuth1_deg"]) < 1e-9
    _, back = distance_and_bearing(*end, *start)
    assert azimuth_difference_deg(back + 180.0, row["azimuth2_deg"]) < 1e-9


def test_row_47_flinders_peak_to_buninyong() -> None:
    """GDA Technical Manual, GRS 80 (from memory, recomputed): 54,972.271 m, 306 52 05.37."""
    flinders = -degrees(37, 57, 3.72030), degrees(144, 25, 29.52440)
    buninyong = -degrees(37, 39, 10.15610), degrees(143, 55, 35.38390)
    published = GRS80.Inverse(*flinders, *buninyong)
    assert published["s12"] == pytest.approx(54_972.271, abs=MILLIMETRE_M)
    # WGS 84 differs from GRS 80 by a tenth of a millimetre in the semi-minor axis.
    distance_m, bearing = distance_and_bearing(*flinders, *buninyong)
    assert distance_m == pytest.approx(54_972.271, abs=MILLIMETRE_M)
    assert bearing == pytest.approx(degrees(306, 52, 5.37), abs=0.01 * ARC_SECOND_DEG)
    _, back = distance_and_bearing(*buninyong, *flinders)
    assert back == pytest.approx(degrees(127, 10, 25.07), abs=0.01 * ARC_SECOND_DEG)


def test_row_48_planimeter_square() -> None:
    """GeographicLib manual, Planimeter(1), UTM 18n square: 400139.53295860 m, 10007388597.2 m2."""
    to_lonlat = Transformer.from_crs("EPSG:32618", "EPSG:4326", always_xy=True)
    utm = [(500e3, 4400e3), (600e3, 4400e3), (600e3, 4500e3), (500e3, 4500e3)]
    corners = [to_lonlat.transform(*point) for point in utm]
    sides_m = [
        distance_and_bearing(one[1], one[0], other[1], other[0])[0]
        for one, other in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    assert sum(sides_m) == pytest.approx(400_139.533, abs=MILLIMETRE_M)
    polygon = WGS84.Polygon()
    for lon, lat in corners:
        polygon.AddPoint(lat, lon)
    _, perimeter_m, area_m2 = polygon.Compute()
    assert perimeter_m == pytest.approx(sum(sides_m), abs=MILLIMETRE_M)
    assert area_m2 == pytest.approx(10_007_388_597.2, abs=1.0)
    # The frame's own area of that square (70 km to a corner): at most 1 + d^2 / 6 R^2 too large.
    frame = LocalFrame(
        lat=shapely.Polygon(corners).centroid.y, lon=shapely.Polygon(corners).centroid.x
    )
    edges = [
        _geodesic(*one, *other, 200)
        for one, other in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    local = shapely.Polygon([frame.to_local(*point) for edge in edges for point in edge[:-1]])
    excess = local.area / area_m2 - 1.0
    assert 0.0 < excess < 75e3**2 / (6 * EARTH_RADIUS_M**2)


def _geodesic(
    lon1: float, lat1: float, lon2: float, lat2: float, parts: int
) -> list[tuple[float, float]]:
    line = WGS84.InverseLine(lat1, lon1, lat2, lon2)
    places = [line.Position(line.s13 * part / parts) for part in range(parts + 1)]
    return [(place["lon2"], place["lat2"]) for place in places]


@settings(deadline=None)
@given(
    lat1=st.floats(-89.0, 89.0),
    lon1=st.floats(-180.0, 180.0),
    lat2=st.floats(-89.0, 89.0),
    lon2=st.floats(-180.0, 180.0),
)
def test_distances_agree_with_geographiclib(
    lat1: float, lon1: float, lat2: float, lon2: float
) -> None:
    distance_m, bearing = distance_and_bearing(lat1, lon1, lat2, lon2)
    published = WGS84.Inverse(lat1, lon1, lat2, lon2)
    assert distance_m == pytest.approx(published["s12"], abs=MICROMETRE_M)
    assert 0.0 <= bearing < 360.0
    if 1.0 < distance_m < 19_900_000.0:
        off_m = math.radians(azimuth_difference_deg(bearing, published["azi1"])) * min(
            distance_m, 1e6
        )
        assert off_m < MILLIMETRE_M


def test_a_bearing_a_hair_west_of_north_is_north() -> None:
    assert distance_and_bearing(0.0, 0.0, 1.0, -1e-16)[1] == 0.0
    assert distance_and_bearing(0.0, 0.0, 1.0, -1e-6)[1] == pytest.approx(360.0, abs=1e-3)


def test_an_unknown_place_has_no_distance() -> None:
    assert math.isnan(distance_and_bearing(math.nan, 0.0, 1.0, 1.0)[0])


# ------------------------------------------------------------------ the local frame


@pytest.mark.parametrize("lat", LATITUDES_DEG)
@pytest.mark.parametrize("range_m", RANGES_M)
def test_distance_and_direction_from_the_centre_are_true(lat: float, range_m: float) -> None:
    frame = LocalFrame(lat, 20.0)
    for azimuth in AZIMUTHS_DEG:
        place = WGS84.Direct(lat, 20.0, azimuth, range_m)
        x_m, y_m = frame.to_local(place["lon2"], place["lat2"])
        assert math.hypot(x_m, y_m) == pytest.approx(range_m, abs=0.1 * MILLIMETRE_M)
        assert x_m == pytest.approx(
            range_m * math.sin(math.radians(azimuth)), abs=0.1 * MILLIMETRE_M
        )
        assert y_m == pytest.approx(
            range_m * math.cos(math.radians(azimuth)), abs=0.1 * MILLIMETRE_M
        )


@pytest.mark.parametrize("lat", LATITUDES_DEG)
def test_the_scale_across_grows_as_the_docstring_says(lat: float) -> None:
    """1 + d^2 / 6 R^2 (Snyder, USGS PP 1395, ch. 25): 4 parts in a million at 30 km."""
    frame = LocalFrame(lat, 20.0)
    for range_m in RANGES_M[2:]:
        expected = range_m**2 / (6 * EARTH_RADIUS_M**2)
        for azimuth in AZIMUTHS_DEG:
            place = WGS84.Direct(lat, 20.0, azimuth, range_m)
            ends = [
                WGS84.Direct(place["lat2"], place["lon2"], place["azi2"] + side, 250.0)
                for side in (-90.0, 90.0)
            ]
            local = [frame.to_local(end["lon2"], end["lat2"]) for end in ends]
            too_long = math.dist(*local) / 500.0 - 1.0
            assert too_long == pytest.approx(expected, rel=0.02, abs=1e-8)
            assert range_m > 30_000.0 or too_long < 4e-6


@pytest.mark.parametrize("lat", LATITUDES_DEG)
def test_500_ft_is_500_ft_anywhere_in_the_frame(lat: float) -> None:
    """The design asks for better than 0.1 %; measured between any two near places, 60 km out."""
    frame = LocalFrame(lat, 20.0)
    for azimuth in (0, 77, 190):
        place = WGS84.Direct(lat, 20.0, azimuth, 60_000.0)
        here = frame.to_local(place["lon2"], place["lat2"])
        for toward in range(0, 360, 30):
            near = WGS84.Direct(place["lat2"], place["lon2"], toward, 152.4)
            there = frame.to_local(near["lon2"], near["lat2"])
            assert math.dist(here, there) == pytest.approx(152.4, rel=2e-5)


def test_the_frame_is_what_proj_calls_azimuthal_equidistant() -> None:
    frame = LocalFrame(47.5, 9.25)
    crs = CRS.from_user_input(frame.crs_text)
    assert crs.coordinate_operation.method_name == "Azimuthal Equidistant"
    assert [axis.unit_name for axis in crs.axis_info] == ["metre", "metre"]
    assert frame.to_local(9.25, 47.5) == pytest.approx((0.0, 0.0), abs=MICROMETRE_M)


@settings(deadline=None)
@given(
    lat=st.floats(-85.0, 85.0),
    lon=st.floats(-180.0, 180.0),
    x_m=st.floats(-60_000.0, 60_000.0),
    y_m=st.floats(-60_000.0, 60_000.0),
)
def test_there_and_back(lat: float, lon: float, x_m: float, y_m: float) -> None:
    frame = LocalFrame(lat, lon)
    again = frame.to_local(*frame.to_lonlat(x_m, y_m))
    assert again == pytest.approx((x_m, y_m), abs=MILLIMETRE_M)


def test_arrays_and_single_places_agree() -> None:
    frame = LocalFrame(47.5, 9.25)
    lon, lat = np.array([9.2, 9.3]), np.array([47.4, 47.6])
    x_m, y_m = frame.to_local(lon, lat)
    assert (x_m[1], y_m[1]) == pytest.approx(frame.to_local(9.3, 47.6), abs=MICROMETRE_M)
    lon_again, lat_again = frame.to_lonlat(x_m, y_m)
    assert lon_again == pytest.approx(lon, abs=1e-10)
    assert lat_again == pytest.approx(lat, abs=1e-10)


def test_the_antimeridian_is_no_edge() -> None:
    frame = LocalFrame(52.7, 179.99)
    x_m, _ = frame.to_local(-179.99, 52.7)
    width_m, _ = distance_and_bearing(52.7, 179.99, 52.7, -179.99)
    assert x_m == pytest.approx(width_m, rel=1e-5)


def test_unknown_stays_unknown_and_nonsense_raises() -> None:
    from pyproj.exceptions import ProjError

    frame = LocalFrame(47.5, 9.25)
    assert np.isnan(frame.to_local(math.nan, 47.0)).all()
    with pytest.raises(ProjError):
        frame.to_local(9.0, 91.0)


@pytest.mark.parametrize(
    "lat_lon", [(85.1, 0.0), (-85.1, 0.0), (0.0, 180.1), (0.0, -180.1), (math.nan, 0.0)]
)
def test_a_centre_off_the_map_is_refused(lat_lon: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="must be"):
        LocalFrame(*lat_lon)


def test_frames_are_values() -> None:
    assert LocalFrame(47.5, 9.25) == LocalFrame(47.5, 9.25)
    assert len({LocalFrame(47.5, 9.25), LocalFrame(47.5, 9.25), LocalFrame(47.5, 9.0)}) == 2


# ------------------------------------------------------------------ long edges

EDGE_ERROR_M = 0.1


@pytest.mark.parametrize("lat", LATITUDES_DEG)
@pytest.mark.parametrize("range_m", [0.0, 30_000.0, 60_000.0])
@pytest.mark.parametrize("direction_deg", range(0, 180, 15))
def test_a_long_edge_stays_where_geojson_puts_it(
    lat: float, range_m: float, direction_deg: int
) -> None:
    """RFC 7946, 3.1.1: an edge is straight in longitude and latitude."""
    frame = LocalFrame(lat, 20.0)
    place = WGS84.Direct(lat, 20.0, 40.0, range_m)
    half_deg = 0.15
    dlon = half_deg * math.sin(math.radians(direction_deg))
    dlat = half_deg * math.cos(math.radians(direction_deg))
    start = place["lon2"] - dlon, place["lat2"] - dlat
    end = place["lon2"] + dlon, place["lat2"] + dlat
    moved = frame.geometry_to_local(shapely.LineString([start, end]))
    share = np.linspace(0.0, 1.0, 601)
    x_m, y_m = frame.to_local(
        start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
    )
    off_m = shapely.distance(shapely.points(x_m, y_m), moved)
    assert off_m.max() < EDGE_ERROR_M


def test_an_uncut_edge_would_be_far_off() -> None:
    frame = LocalFrame(60.0, 20.0)
    start, end = frame.to_local(19.5, 60.0), frame.to_local(20.5, 60.0)
    middle = shapely.Point(frame.to_local(20.0, 60.0))
    assert middle.distance(shapely.LineString([start, end])) > 100.0


@pytest.mark.parametrize(
    "geometry",
    [
        shapely.Point(9.3, 47.6),
        shapely.LineString(
            [
                (9.2, 47.4),
                (
                    9.3,
                    47.6,
                ),
            ]
        ),
        shapely.Polygon(
            [(9.2, 47.4), (9.3, 47.4), (9.3, 47.5)], [[(9.25, 47.41), (9.27, 47.41), (9.27, 47.43)]]
        ),
        shapely.MultiPolygon(
            [shapely.box(9.0, 47.0, 9.1, 47.1), shapely.box(9.2, 47.0, 9.3, 47.1)]
        ),
        shapely.Point(9.3, 47.6, 432.0),
    ],
    ids=lambda geometry: geometry.geom_type,
)
def test_a_geometry_keeps_its_kind_and_its_corners(geometry) -> None:
    frame = LocalFrame(47.5, 9.25)
    moved = frame.geometry_to_local(geometry)
    assert moved.geom_type == geometry.geom_type
    assert moved.is_valid
    assert not moved.has_z
    corners = {frame.to_local(*point[:2]) for point in shapely.get_coordinates(geometry)}
    kept = shapely.MultiPoint(shapely.get_coordinates(moved))
    for corner in corners:
        assert kept.distance(shapely.Point(corner)) < MILLIMETRE_M


def test_a_polygon_keeps_its_size() -> None:
    """The geodesic area of a box, GeographicLib, against the frame's own."""
    frame = LocalFrame(47.5, 9.25)
    box = shapely.box(9.2, 47.45, 9.3, 47.55)
    polygon = WGS84.Polygon()
    for lon, lat in shapely.get_coordinates(shapely.segmentize(box, 0.0005))[:-1]:
        polygon.AddPoint(lat, lon)
    assert frame.geometry_to_local(box).area == pytest.approx(polygon.Compute()[2], rel=1e-5)
