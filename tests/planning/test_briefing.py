"""What a briefing tells: places against GeographicLib, lists against the plan they come from."""

import math
from pathlib import Path

import pytest
from geographiclib.geodesic import Geodesic

from areaplan.errors import InputError
from areaplan.planning.briefing import make_briefing, wind_altitude_ft
from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from tests.planning.briefing_country import (
    HOME_LAT,
    HOME_LON,
    LANDMARKS,
    QUIET,
    WORDS,
    bare_plan,
    country,
    obstacle_file,
    plan_of_country,
)

ONE_MILLIMETRE_M = 0.001
MICRODEGREE = 1e-6
CELL_M = 50.0


@pytest.fixture(scope="module")
def briefing():
    return make_briefing(plan_of_country(), has_wind_limits=False)


def test_corners_lie_where_geographiclib_says(briefing):
    """GeographicLib, Karney (2013): another implementation than the one in PROJ."""
    ring = list(briefing.plan.layers.area.rows[0].geometry.exterior.coords)[:-1]
    assert len(briefing.corners) == len(ring) == 4
    for corner, (lon, lat) in zip(briefing.corners, ring, strict=True):
        line = Geodesic.WGS84.Inverse(HOME_LAT, HOME_LON, lat, lon)
        assert (corner.place.lat, corner.place.lon) == (lat, lon)
        assert corner.place.distance_m == pytest.approx(line["s12"], abs=ONE_MILLIMETRE_M)
        assert corner.place.bearing_deg_true == pytest.approx(line["azi1"] % 360, abs=MICRODEGREE)
    assert tuple(corner.landmark for corner in briefing.corners) == LANDMARKS


def test_obstacles_and_wires_are_listed_by_height_and_none_is_dropped(briefing):
    on_file = sum(len(layer.rows) for layer in briefing.plan.layers.obstacles)
    assert [row.name for row in briefing.obstacles] == ["mast in", "mast near"]
    assert len(briefing.obstacles) + briefing.obstacles_beyond == on_file == 3
    inside, near = briefing.obstacles
    assert inside.place.gap_m == 0.0
    assert near.place.gap_m == pytest.approx(500.0, abs=0.1)  # drawn 1,500 m east, edge at 1,000
    # 100 ft on ground of 1,000 ft, and never less: the cautious side of ground and accuracy.
    assert 1100 < inside.top_amsl_ft < 1200
    wire = briefing.wires[0]
    assert (wire.name, wire.place.gap_m, briefing.wires_beyond) == ("Mill wires", 0.0, 0)
    assert wire.remarks == "crosses the area"
    assert wire.top_agl_ft == 40


def test_quiet_places_and_neighbours(briefing):
    assert [row.name for row in briefing.quiet] == [QUIET]
    assert briefing.quiet_beyond == 1
    (neighbour,) = briefing.neighbours
    assert neighbour.gap_m == pytest.approx(2000.0, abs=0.1)  # drawn 3,000 m east
    assert [row.frequency for row in neighbour.frequencies] == ["118.350"]


def test_heights_above_the_ground_are_those_of_the_slope(briefing):
    """Ground of 1,000 ft rising 1 ft in 50 m to the east, over cells that touch 1,000 m."""
    low, high = briefing.lowest_ground_ft, briefing.highest_ground_ft
    slack_ft = math.ceil(2 * CELL_M / 50.0) + 1
    assert 980 - slack_ft <= low <= 980
    assert 1020 <= high <= 1020 + slack_ft
    assert [row.altitude_amsl_ft for row in briefing.altitudes] == [1400, 2500]
    for row in briefing.altitudes:
        assert row.above_highest_ft == row.altitude_amsl_ft - high
        assert row.above_lowest_ft == row.altitude_amsl_ft - low
        assert row.weather.cloud_base_amsl_ft is not None


def test_every_field_of_the_plan_is_told_once(briefing):
    assert sorted(row.field.name for row in briefing.fields) == sorted(
        row.name for row in briefing.plan.fields
    )
    assert len(briefing.field_places) == len(briefing.fields)


def test_variation_is_that_of_the_aerodrome(briefing):
    east = briefing.variation.deg_east
    assert briefing.variation.magnetic(90.0) == pytest.approx((90.0 - east) % 360.0)


def test_wind_limits_are_told_at_the_most_usable_altitude():
    plan = plan_of_country()
    best = max(row.legal_and_safe_share for row in plan.planned)
    chosen = next(row for row in plan.planned if row.legal_and_safe_share == best)
    assert wind_altitude_ft(plan) == chosen.altitude_amsl_ft


def test_without_a_table_nothing_is_made_up():
    found = make_briefing(bare_plan(), has_wind_limits=False, has_sites=False)
    assert found.words.revision == found.words.author == ""
    assert {corner.landmark for corner in found.corners} == {""}
    assert {corner.place.distance_m for corner in found.corners} == {None}
    assert (found.obstacles, found.wires, found.quiet, found.ways) == ((), (), (), None)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('"pond", ', "", "briefing.landmarks"),
        ('airspace = "OSTREL D"', 'airspace = "OSTREL C"', "briefing.frequencies[1].airspace"),
    ],
)
def test_words_that_do_not_fit_the_drawing_are_refused(tmp_path: Path, old, new, key):
    assert old in WORDS
    path = country(tmp_path).more(obstacle_file(tmp_path) + WORDS.replace(old, new)).project()
    plan = evaluate(read_project(path))
    with pytest.raises(InputError) as caught:
        make_briefing(plan, has_wind_limits=False)
    assert [fault.key for fault in caught.value.faults] == [key]
