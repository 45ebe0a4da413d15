"""The sections through the area: where they lie, why, and what the plan says there."""

import math
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from attrs import evolve
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import NO_BAND_FT, UNREACHABLE_FT, Names, Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.planning.section_line import SectionLine
from areaplan.planning.vertical_section import (
    SectionKind,
    _across,
    _along,
    vertical_sections,
    worst_finding,
)
from areaplan.rules.model import Severity
from tests.planning.briefing_country import plan_of_country
from tests.planning.builder import Country, box, plain_country

ONE_METRE_M = 1.0
HALF_A_DEGREE = 0.5
HALF_MILE_M = 926.0
PLANNED_FT = 2500
SHELF = (300.0, 400.0, 900.0, 3000.0)  # local metres: over the area's north-eastern part
SHELF_FLOOR_FT = 2000


@cache
def plan_with_shelf():
    """A shelf of closed airspace over a corner; all else is met at the planned altitude."""
    made = Country(Path(mkdtemp())).terrain()
    made.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    words = {"NAME": "CORVASH C", "CLASS": "C", "upper": "5000 ft AMSL"}
    made.features(
        "airspace",
        [
            (box(*SHELF), {**words, "lower": f"{SHELF_FLOOR_FT} ft AMSL"}),
            (box(-9000, -9000, 9000, 9000), {
                "NAME": "WIDE E", "CLASS": "E", "lower": "700 ft AGL", "upper": "FL 180",
            }),
        ],
    )  # fmt: skip
    made.none("structures", "obstacles", "wires", "congested", "assemblies", "persons", "sparse")
    policy = '["us"]'
    path = made.project(planned=f'["{PLANNED_FT} ft AMSL"]', rules=policy)
    return evaluate(read_project(path))


def along(plan, beyond_m=0.0):
    return vertical_sections(plan, PLANNED_FT, beyond_m)[0]


def test_it_crosses_the_square_and_goes_on_as_far_as_asked():
    cut = along(plan_of_country(), HALF_MILE_M)
    assert cut.kind is SectionKind.ALONG
    assert cut.along_m[0] == 0.0
    assert cut.along_m[-1] == pytest.approx(2000.0 + 2 * HALF_MILE_M, abs=ONE_METRE_M)
    assert np.diff(cut.along_m).max() <= plan_of_country().grid.cell_m / 2
    inside = cut.along_m[cut.is_in_area]
    assert inside[0] == pytest.approx(HALF_MILE_M, abs=50.0)
    assert inside[-1] == pytest.approx(2000.0 + HALF_MILE_M, abs=50.0)


def test_the_two_are_square_to_each_other():
    first, second = vertical_sections(plan_of_country(), PLANNED_FT)
    assert (first.kind, second.kind) == (SectionKind.ALONG, SectionKind.ACROSS)
    apart = abs(first.bearing_deg_true - second.bearing_deg_true) % 180.0
    assert apart == pytest.approx(90.0, abs=0.01)


@pytest.mark.parametrize("which", [0, 1])
def test_its_bearing_is_the_geodesic_one(which):
    """GeographicLib, Karney (2013)."""
    cut = vertical_sections(plan_of_country(), PLANNED_FT)[which]
    (lon1, lat1), (lon2, lat2) = cut.ends_lonlat
    line = Geodesic.WGS84.Inverse(lat1, lon1, lat2, lon2)
    apart = (line["azi1"] - cut.bearing_deg_true + 180.0) % 360.0 - 180.0
    assert abs(apart) < HALF_A_DEGREE
    assert line["s12"] == pytest.approx(cut.along_m[-1], abs=ONE_METRE_M)


@pytest.mark.parametrize("which", [0, 1])
def test_it_says_what_a_point_says(which):
    plan = plan_of_country()
    cut = vertical_sections(plan, PLANNED_FT, HALF_MILE_M)[which]
    told = 0
    for index in range(3, cut.along_m.size - 3, 17):
        share = cut.along_m[index] / cut.along_m[-1]
        x_m, y_m = cut.ends_m[0] + share * (cut.ends_m[1] - cut.ends_m[0])
        lon, lat = plan.frame.to_lonlat(x_m, y_m)
        answer = answer_point(plan, float(lat), float(lon), PLANNED_FT)
        assert cut.terrain_amsl_ft[index] == answer.terrain_amsl_ft
        assert cut.glide_required_amsl_ft[index] == answer.glide_required_amsl_ft
        assert cut.bands_amsl_ft[0, 0, index] == answer.bands[0].floor_amsl_ft
        told += 1
    assert told > 8


def test_it_stops_at_the_edge_of_the_grid():
    plan = plan_of_country()
    grid = SimpleNamespace(west=plan.grid.x_min_m, east=plan.grid.x_max_m)
    for cut in vertical_sections(plan, PLANNED_FT, beyond_m=1e6):
        assert cut.ends_m[:, 0].min() >= grid.west - ONE_METRE_M
        assert cut.ends_m[:, 0].max() <= grid.east + ONE_METRE_M


def test_where_all_is_met_both_go_through_the_middle():
    plan = plan_of_country()
    assert worst_finding(plan, PLANNED_FT) is None
    first, second = vertical_sections(plan, PLANNED_FT)
    assert second.through is None
    middles = [cut.ends_m.mean(axis=0) for cut in (first, second)]
    assert np.hypot(*(middles[0] - middles[1])) < ONE_METRE_M


def test_a_closed_volume_is_cut_through_the_middle_of_what_it_covers():
    plan = plan_with_shelf()
    found = worst_finding(plan, PLANNED_FT)
    assert (found.verdict, found.feature) == (Verdict.NOT_MET, "CORVASH C")
    _, cut = vertical_sections(plan, PLANNED_FT, HALF_MILE_M)
    assert cut.through.is_middle_of_volume
    x_m, y_m = plan.frame.to_local(cut.through.lon, cut.through.lat)
    assert float(x_m) == pytest.approx((300.0 + 900.0) / 2, abs=ONE_METRE_M)
    assert float(y_m) == pytest.approx((400.0 + 1000.0) / 2, abs=ONE_METRE_M)
    line = shapely.LineString(cut.ends_m)
    assert line.distance(shapely.Point(float(x_m), float(y_m))) < ONE_METRE_M
    assert shapely.box(*SHELF).intersection(line).length > 500.0
    (shelf, wide) = cut.volumes
    assert (shelf.volume.name, wide.volume.name) == ("CORVASH C", "WIDE E")


def test_limits_of_volumes_close_what_bands_close():
    """Inside a closed volume, 100 ft margins and all, no band is open between its limits."""
    plan = plan_with_shelf()
    _, cut = vertical_sections(plan, PLANNED_FT, HALF_MILE_M)
    shelf, wide = cut.volumes
    x_m, y_m = (
        cut.ends_m[0, axis] + cut.along_m / cut.along_m[-1] * np.diff(cut.ends_m[:, axis])
        for axis in (0, 1)
    )
    west, south, east, north = SHELF
    inside = (west < x_m) & (x_m < east) & (south < y_m) & (y_m < north)
    assert (shelf.is_inside == inside).mean() > 0.99  # all but samples on its edge
    assert inside.any()
    assert not inside.all()
    assert set(shelf.lower_amsl_ft) == {SHELF_FLOOR_FT}
    assert set(shelf.upper_amsl_ft) == {5000.0}
    for altitude_ft in range(SHELF_FLOOR_FT - 100 + 1, 5100, 100):
        is_open = (
            (cut.bands_amsl_ft[:, 0] != NO_BAND_FT)
            & (cut.bands_amsl_ft[:, 0] <= altitude_ft)
            & (altitude_ft <= cut.bands_amsl_ft[:, 1])
        ).any(axis=0)
        assert not is_open[shelf.is_inside].any(), altitude_ft
    assert wide.is_inside.all()
    assert np.array_equal(wide.lower_amsl_ft, cut.terrain_amsl_ft + 700.0)
    # FL 180 at the highest setting, 1040 hPa: 26.75 hPa above standard is some 720 ft higher.
    assert set(np.round(wide.upper_amsl_ft)) <= set(range(18_650, 18_800))


def test_the_worst_place_of_a_glide_is_the_worst_cell(tmp_path):
    """Twin: every cell of the area asked one by one."""
    made = plain_country(tmp_path)
    plan = evaluate(read_project(made.project(planned='["1300 ft AMSL"]')))
    glide = [row for row in plan.findings if row.names is Names.NEAREST_FIELD]
    assert glide
    required = plan.cells.glide_required_amsl_ft[plan.cells.is_in_area].astype(int)
    least_ft = min(1300 - int(one) for one in required if one != UNREACHABLE_FT)
    assert {row.margin_ft for row in glide} == {least_ft}
    worst = worst_finding(plan, 1300)
    binding = [
        row
        for row in plan.findings
        if row.verdict is Verdict.NOT_MET
        and row.limit.severity is not Severity.ADVISORY
        and row.lat is not None
    ]
    if binding:
        margins = [-math.inf if row.margin_ft is None else row.margin_ft for row in binding]
        assert (worst.margin_ft if worst.margin_ft is not None else -math.inf) == min(margins)
        _, cut = vertical_sections(plan, 1300)
        x_m, y_m = (float(one) for one in plan.frame.to_local(worst.lon, worst.lat))
        assert not cut.through.is_middle_of_volume
        off_m = shapely.LineString(cut.ends_m).distance(shapely.Point(x_m, y_m))
        assert off_m < plan.grid.cell_m  # a cell on the edge has its centre outside the area
    else:
        assert worst is None


def test_no_altitude_at_all_is_worse_than_any_margin_and_unknown_comes_last():
    plan = plan_with_shelf()
    (broken,) = [row for row in plan.findings if row.feature == "CORVASH C"]
    never = evolve(broken, margin_ft=None, feature="never")
    unknown = evolve(broken, verdict=Verdict.UNKNOWN, margin_ft=None, feature="unknown")
    advice = evolve(broken, margin_ft=-9999, limit=evolve(broken.limit, severity=Severity.ADVISORY))
    placeless = evolve(broken, margin_ft=None, lat=None, lon=None)
    other = evolve(never, altitude_amsl_ft=PLANNED_FT + 100)
    found = evolve(plan, findings=(other, placeless, advice, unknown, broken, never))
    assert worst_finding(found, PLANNED_FT) is never
    assert worst_finding(evolve(plan, findings=(unknown, broken)), PLANNED_FT) is broken
    assert worst_finding(evolve(plan, findings=(advice, unknown)), PLANNED_FT) is unknown
    assert worst_finding(evolve(plan, findings=(advice, placeless)), PLANNED_FT) is None


def with_line(begin_m, end_m):
    plan = plan_of_country()
    ends = []
    for x_m, y_m in (begin_m, end_m):
        lon, lat = plan.frame.to_lonlat(float(x_m), float(y_m))
        ends.append((float(lat), float(lon)))
    return evolve(plan, project=evolve(plan.project, section=SectionLine(*ends)))


def test_the_schools_own_line_takes_the_place_of_the_long_one():
    plan = with_line((700.0, 900.0), (-800.0, -300.0))
    first, second = vertical_sections(plan, PLANNED_FT, beyond_m=HALF_MILE_M)
    assert (first.kind, second.kind) == (SectionKind.CHOSEN, SectionKind.ACROSS)
    assert np.allclose(first.ends_m, [(700.0, 900.0), (-800.0, -300.0)], atol=0.01)
    assert first.bearing_deg_true == pytest.approx(math.degrees(math.atan2(-1500, -1200)) % 360)


@pytest.mark.parametrize(
    ("begin_m", "end_m", "key"),
    [
        ((99_000.0, 0.0), (0.0, 0.0), "briefing.section[1]"),
        ((0.0, 0.0), (0.0, -99_000.0), "briefing.section[2]"),
        ((0.0, 0.0), (0.3, 0.0), "briefing.section"),
    ],
)
def test_a_line_off_the_grid_is_a_fault_that_says_so(begin_m, end_m, key):
    with pytest.raises(InputError) as caught:
        vertical_sections(with_line(begin_m, end_m), PLANNED_FT)
    (fault,) = caught.value.faults
    assert fault.key == key


@settings(deadline=None, max_examples=100)
@given(
    st.floats(0.0, 360.0),
    st.floats(2000.0, 9000.0),
    st.floats(300.0, 1500.0),
    st.floats(-0.5, 0.5),
    st.floats(-0.5, 0.5),
)
def test_the_lines_of_a_turned_rectangle(turn_deg, long_m, short_m, at_long, at_short):
    flat = shapely.box(-long_m / 2, -short_m / 2, long_m / 2, short_m / 2)
    area = shapely.affinity.rotate(flat, turn_deg, origin=(0, 0))
    unit = np.array([np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))])
    ends = _along(area, 0.0)
    assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(long_m, rel=1e-6)
    assert abs(abs(ends[1] @ unit) * long_m / 2 - (long_m / 2) ** 2) < 1e-6 * long_m**2
    assert tuple(ends[0].round(2)) <= tuple(ends[1].round(2))
    place = at_long * long_m * unit + at_short * short_m * np.array([-unit[1], unit[0]])
    across = _across(area, place, 0.0)
    assert np.hypot(*(across[1] - across[0])) == pytest.approx(short_m, rel=1e-6)
    assert abs((across[1] - across[0]) @ unit) < 1e-6 * long_m
    assert shapely.LineString(across).distance(shapely.Point(*place)) < 1e-5 * long_m
