"""The section through the area: along its longest axis, and what the plan says there."""

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.planning.point import answer_point
from areaplan.planning.vertical_section import _long_axis, vertical_section
from tests.planning.briefing_country import plan_of_country

ONE_METRE_M = 1.0
HALF_A_DEGREE = 0.5
HALF_MILE_M = 926.0


def test_it_crosses_the_square_and_goes_on_as_far_as_asked():
    cut = vertical_section(plan_of_country(), beyond_m=HALF_MILE_M)
    assert cut.along_m[0] == 0.0
    assert cut.along_m[-1] == pytest.approx(2000.0 + 2 * HALF_MILE_M, abs=ONE_METRE_M)
    assert np.diff(cut.along_m).max() <= plan_of_country().grid.cell_m / 2
    inside = cut.along_m[cut.is_in_area]
    assert inside[0] == pytest.approx(HALF_MILE_M, abs=50.0)
    assert inside[-1] == pytest.approx(2000.0 + HALF_MILE_M, abs=50.0)


def test_its_bearing_is_the_geodesic_one():
    """GeographicLib, Karney (2013)."""
    cut = vertical_section(plan_of_country())
    (lon1, lat1), (lon2, lat2) = cut.ends_lonlat
    line = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)
    apart = (line["azi1"] - cut.bearing_deg_true + 180.0) % 360.0 - 180.0
    assert abs(apart) < HALF_A_DEGREE
    assert line["s12"] == pytest.approx(cut.along_m[-1], abs=ONE_METRE_M)


def test_it_says_what_a_point_says():
    plan = plan_of_country()
    cut = vertical_section(plan, beyond_m=HALF_MILE_M)
    for index in range(3, cut.along_m.size - 3, 17):
        share = cut.along_m[index] / cut.along_m[-1]
        x_m, y_m = cut.ends_m[0] + share * (cut.ends_m[1] - cut.ends_m[0])
        lon, lat = plan.frame.to_lonlat(x_m, y_m)
        answer = answer_point(plan, float(lat), float(lon), 2500)
        assert cut.terrain_amsl_ft[index] == answer.terrain_amsl_ft
        assert cut.glide_required_amsl_ft[index] == answer.glide_required_amsl_ft
        assert cut.bands_amsl_ft[0, 0, index] == answer.bands[0].floor_amsl_ft


def test_it_stops_at_the_edge_of_the_grid():
    plan = plan_of_country()
    cut = vertical_section(plan, beyond_m=1e6)
    grid = SimpleNamespace(west=plan.grid.x_min_m, east=plan.grid.x_max_m)
    assert cut.ends_m[:, 0].min() >= grid.west - ONE_METRE_M
    assert cut.ends_m[:, 0].max() <= grid.east + ONE_METRE_M


@settings(deadline=None, max_examples=100)
@given(
    st.floats(0.0, 360.0),
    st.floats(2000.0, 9000.0),
    st.floats(300.0, 1500.0),
)
def test_the_axis_of_a_turned_rectangle_is_its_long_middle_line(turn_deg, long_m, short_m):
    flat = shapely.box(-long_m / 2, -short_m / 2, long_m / 2, short_m / 2)
    ends = _long_axis(shapely.affinity.rotate(flat, turn_deg, origin=(0, 0)), 0.0)
    wanted = long_m / 2 * np.array([np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))])
    assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(long_m, rel=1e-6)
    assert abs(abs(ends[1] @ wanted) - (long_m / 2) ** 2) < 1e-6 * long_m**2
    assert tuple(ends[0]) <= tuple(ends[1])
