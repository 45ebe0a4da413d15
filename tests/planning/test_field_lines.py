"""Roads through fields, crosswind, thin air, and what stands nearest to a strip."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from areaplan.atmosphere import density_ratio
from areaplan.engine.strip_table import DIRECTIONS
from areaplan.grid import Grid
from areaplan.planning.field_lines import LineGroup, find_lines
from areaplan.planning.field_measure import counts_in_wind, to_spare_in_wind
from areaplan.planning.ground import Ground
from areaplan.planning.landing_factors import DENSITY, landing_distance_needed
from areaplan.planning.project_file import read_project
from areaplan.sources.layers import Layer, Road, SourceKind, SourceRecord
from areaplan.units import FOOT_M, KNOT_MPS, Wind
from tests.planning.builder import FRAME, GROUND_FT, box, lonlat
from tests.planning.test_field_measure import EAST, FIELD, LANDING, NORTH, WEST, line, measured

CROSSWIND = 'crosswind_limit = {{ value = "{}", source = "invented" }}\n'
HALF_M = 5.0  # of a road, as declared


def roads(*lines):
    return {"roads": ([(one, {"name": name}) for name, one in lines], None)}


def with_road(folder: Path, *lines, **keys):
    folder.mkdir(exist_ok=True)
    return measured(folder, FIELD, **roads(*lines), **keys)


def rectangle(one, index, width_m=30.0):
    ends = np.array([one.strips.touchdown_m[index], one.strips.rollout_m[index]])
    return LineString(ends).buffer(0.5 * width_m, cap_style="flat")


@pytest.mark.parametrize("east_m", [-100.0, 0.0, 150.0])
def test_no_strip_crosses_a_road(tmp_path: Path, east_m: float) -> None:
    one = with_road(tmp_path, ("Mill lane", line((east_m, -400), (east_m, 400))))
    longer_m = 250.0 + abs(east_m) - HALF_M
    assert one.strips.length_m[EAST] == pytest.approx(longer_m, abs=1.5)
    assert one.strips.length_m[WEST] == pytest.approx(longer_m, abs=1.5)
    road = LineString([(east_m, -400), (east_m, 400)]).buffer(HALF_M - 0.1)
    for index in np.flatnonzero(one.strips.length_m > 0.0):
        assert not rectangle(one, index).intersects(road)
    assert one.across == (("road", "Mill lane"),)
    assert one.five_s.shape.endswith("; crossed by Mill lane")
    assert one.area_m2 == pytest.approx(60_000.0, rel=0.005)


def test_a_road_across_is_named_where_it_is_at_fault(tmp_path: Path) -> None:
    lane = ("Mill lane", line((0, -400), (0, 400)))
    one = with_road(tmp_path, lane)
    assert not one.counts
    assert one.why_not[0] == "road across: Mill lane"
    assert one.why_not[1].startswith("too short: 24")
    # The same road beside the field, or along its edge, is not across it.
    beside = with_road(tmp_path / "b", ("Mill lane", line((-400, -64), (400, -64))))
    assert beside.counts
    assert beside.across == ()
    assert beside.strips.length_m[EAST] == pytest.approx(500.0, abs=1.5)
    short = tmp_path / "short"
    short.mkdir()
    small = measured(short, box(-120, -60, 120, 60), **roads(lane))
    assert small.why_not[0].startswith("too short"), "it is too short without the road as well"


def test_a_track_that_ends_in_the_field_shortens_what_it_meets(tmp_path: Path) -> None:
    track = ("Gate track", line((0, 0), (0, 400)))
    one = with_road(tmp_path, track)
    # South of its end the field is 60 m deep, the road's round end taken off: 55 m are enough.
    assert one.strips.length_m[EAST] == pytest.approx(500.0, abs=1.5)
    assert one.counts
    assert not rectangle(one, EAST).intersects(LineString([(0, 0), (0, 400)]))


def test_two_roads_leave_the_longest_part(tmp_path: Path) -> None:
    lanes = [(f"Lane {x}", line((x, -400), (x, 400))) for x in (-100, 230)]
    one = with_road(tmp_path, *lanes)
    assert one.strips.length_m[EAST] == pytest.approx(330.0 - 2 * HALF_M, abs=1.5)
    assert one.counts
    assert one.five_s.shape.endswith("; crossed by Lane -100, Lane 230")


def test_a_road_as_wide_as_the_field_leaves_nothing(tmp_path: Path) -> None:
    lane = ("Mill lane", line((-400, 0), (400, 0)))
    strip = measured(tmp_path, box(-250, -4, 250, 4), limits='width = "6 m"', **roads(lane))
    assert strip.strips.length_m.max() == 0.0
    assert not strip.counts
    assert strip.why_not[0] == "road across: Mill lane"
    assert strip.nearest_solid == ""


def test_any_layer_of_lines_can_be_passed() -> None:
    grid = Grid(-1000.0, 1000.0, 25.0, 80, 80)
    level = np.zeros(grid.shape)
    ground = Ground(FRAME, grid, level, level)

    def layer(*places):
        rows = tuple(
            Road(f"F{i}", "fence", LineString([lonlat(*a), lonlat(*b)]))
            for i, (a, b) in enumerate(places)
        )
        return Layer(SourceRecord(SourceKind.ROADS, ("fences",), ("0" * 64,), "test"), rows)

    far = ((5000, 5000), (6000, 6000))
    fences = LineGroup("fence", 1.0, (layer(((100, -900), (100, 900)), far),))
    lines = find_lines([fences], ground)
    assert lines.names == ("F0",)
    parts = lines.cut(shapely.box(0, 0, 300, 100))
    assert parts.across == (("fence", "F0"),)
    assert parts.polygon.area == pytest.approx(300 * 100 - 2 * 100, rel=1e-3)
    assert lines.cut(shapely.box(-300, 0, -200, 100)).across == ()
    nothing = find_lines([], ground).cut(shapely.box(0, 0, 10, 10))
    assert nothing.polygon.area == 100.0


def test_crosswind_beyond_the_limit_is_not_enough(tmp_path: Path) -> None:
    """12 kt from the east over a field that runs north to south."""
    upright = box(-60, -250, 60, 250)
    wind = "090/12 kt"
    assert measured(tmp_path, upright, wind=wind, aircraft=LANDING).counts
    one = measured(tmp_path, upright, wind=wind, aircraft=LANDING + CROSSWIND.format("9 kt"))
    assert not one.counts
    (reason,) = one.why_not
    assert reason.startswith("too much crosswind: 12 kt at best") or "11 kt" in reason
    assert reason.endswith("9 kt allowed")
    assert one.crosswind_mps[NORTH] == pytest.approx(12 * KNOT_MPS)
    assert one.crosswind_mps[EAST] == pytest.approx(0.0, abs=1e-9)
    level = measured(tmp_path, FIELD, wind=wind, aircraft=LANDING + CROSSWIND.format("9 kt"))
    assert level.counts
    assert level.best_direction_deg_true in (80, 90, 100)


def test_each_direction_by_its_own_crosswind(tmp_path: Path) -> None:
    """A square mile, 10 kt from 030, limit 8.7 kt: asin(0.87) is 60.5 degrees off the wind."""
    one = measured(
        tmp_path, box(-800, -800, 800, 800), wind="030/10 kt", aircraft=CROSSWIND.format("8.7 kt")
    )
    angles = np.abs((np.arange(DIRECTIONS) * 10.0 - 30.0 + 90.0) % 180.0 - 90.0)
    np.testing.assert_array_equal(one.is_enough, angles < 60.5)


def test_another_wind_is_judged_by_the_limit_too(tmp_path: Path) -> None:
    aircraft = CROSSWIND.format("9 kt")
    one = measured(tmp_path, FIELD, aircraft=aircraft)
    project = read_project(tmp_path / "project.toml")
    assert counts_in_wind(one, project, Wind(90.0, 20 * KNOT_MPS))
    assert not counts_in_wind(one, project, Wind(0.0, 20 * KNOT_MPS))
    spare_m = to_spare_in_wind(one, project, Wind(0.0, 20 * KNOT_MPS))
    assert spare_m[EAST] == -np.inf


def test_thin_air_by_hand() -> None:
    """5 % for each 1,000 ft (general-aviation safety leaflets, from memory)."""
    assert landing_distance_needed(400.0, 0.0, 0.0, 4000 * FOOT_M) == pytest.approx(
        400.0 * 1.15 * 1.20
    )
    assert landing_distance_needed(400.0, 0.0, 0.0, -900.0) == pytest.approx(400.0 * 1.15)
    assert math.isnan(landing_distance_needed(400.0, 0.0, 0.0, math.nan))


@pytest.mark.parametrize("height_ft", [0, 1000, 3000, 6000, 10_000])
def test_thin_air_takes_no_less_than_physics_asks(height_ft: int) -> None:
    """1/sigma of USSA-76: the square of the true airspeed."""
    factor = 1.0 + DENSITY.share * height_ft * FOOT_M / DENSITY.per
    assert factor >= 1.0 / density_ratio(height_ft * FOOT_M)


def test_the_height_and_heat_of_a_field_lengthen_its_landing(tmp_path: Path) -> None:
    plain = measured(tmp_path, FIELD, aircraft=LANDING)
    assert plain.density_altitude_m == pytest.approx(GROUND_FT * FOOT_M, abs=0.1)
    by_hand = 1000 * FOOT_M * 1.15 * 1.05
    assert plain.needed_m[EAST] == pytest.approx(by_hand, rel=1e-4)
    (tmp_path / "hot").mkdir()
    hot = 'count_candidates = false\n[atmosphere]\nisa_deviation = "+20 degC"\n'
    warm = measured(tmp_path / "hot", FIELD, aircraft=LANDING, limits=hot)
    # 120 ft for each degree is the rule of thumb; the exact solver is a little below it.
    assert warm.density_altitude_m / FOOT_M == pytest.approx(GROUND_FT + 120 * 20, rel=0.05)
    assert warm.needed_m[EAST] > plain.needed_m[EAST] * 1.10


def test_what_stands_nearest_to_the_strip(tmp_path: Path) -> None:
    wires = ([(line((-400, 140), (400, 140)), {"name": "Hill line"})], "40 ft")
    one = measured(tmp_path, FIELD, wires=wires)
    assert one.nearest_solid == "Hill line"
    index = one.best_direction_deg_true // 10
    by_hand = rectangle(one, index).distance(LineString([(-400, 140), (400, 140)]))
    assert one.nearest_solid_m == pytest.approx(by_hand, abs=0.5)
    assert one.nearest_solid_m >= 30.0, "the school's clearance"
