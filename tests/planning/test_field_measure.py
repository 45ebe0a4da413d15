"""Fields of a small invented country, measured and judged by the school's limits."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from areaplan.planning.arrivals import find_arrivals
from areaplan.planning.evaluation import evaluate
from areaplan.planning.field_measure import measure_fields
from areaplan.planning.landing_factors import is_wind_covered, landing_distance_needed
from areaplan.planning.plan import NOBODY
from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from areaplan.units import FOOT_M, KNOT_MPS
from tests.planning.builder import GROUND_FT, Country, box, lonlat

EAST, WEST, NORTH, SOUTH = 9, 27, 0, 18
THIN_AIR = 1.0 + 0.05 * GROUND_FT / 1000.0  # 5 % for each 1,000 ft (from memory)
LANDING = 'landing_distance = { value = "1000 ft", source = "invented" }\n'


def line(*places):
    return {"type": "LineString", "coordinates": [lonlat(*place) for place in places]}


def measured(
    folder: Path, field, *, wind="calm", aircraft="", limits="", heights_m=None,
    is_candidate=False, cell="25 m", **sources,
):  # fmt: skip
    """One field, with the sources given as kind = (rows, default height)."""
    country = Country(folder).terrain(heights_m)
    rows = [(field, {"name": "Only", "surface": "hay", "consent": "asked", "remarks": "ditch"})]
    country.features("fields", rows)
    for kind, (things, height) in sources.items():
        country.features(kind, things, **({} if height is None else {"default_height": height}))
    path = country.more(f"\n[fields]\n{limits}\n").project(wind=wind, cell=cell)
    text = path.read_text(encoding="utf-8").replace("[wind]", f"{aircraft}[wind]", 1)
    path.write_text(text, encoding="utf-8")
    project = read_project(path, today=date(2026, 11, 25))
    layers, ground = read_layers(project, lambda _: None)
    fields = [row for layer in layers.fields for row in layer.rows]
    (one,) = measure_fields(project, layers, ground, fields, is_candidate=is_candidate)
    return one


FIELD = box(-250, -60, 250, 60)  # 500 m by 120 m


def test_by_the_school_alone(tmp_path: Path) -> None:
    one = measured(tmp_path, FIELD)
    assert one.counts
    assert one.why_not == ()
    assert one.needed_m == (300.0,) * 36
    assert one.strips.usable_m[EAST] == pytest.approx(500.0, abs=1.0)
    assert one.is_enough[EAST]
    assert one.is_enough[WEST]
    assert not one.is_enough[NORTH]
    assert one.area_m2 == pytest.approx(60_000.0, rel=0.005)
    assert one.five_s.surface == "hay"
    assert (one.field.consent, one.field.remarks) == ("asked", "ditch")
    assert one.five_s.surrounds == "nothing known stands near"
    assert "level" in one.five_s.slope
    assert one.five_s.size.startswith("6.0 ha")


def test_a_thousand_feet_on_grass_in_calm_air(tmp_path: Path) -> None:
    one = measured(tmp_path, FIELD, aircraft=LANDING)
    assert one.needed_m[EAST] == pytest.approx(1000 * FOOT_M * 1.15 * THIN_AIR, rel=1e-5)
    assert one.counts


@pytest.mark.parametrize(
    ("wind", "direction"), [("090/10 kt", 90), ("270/10 kt", 270), ("250/12 kt", 270)]
)
def test_the_best_direction_is_into_the_wind(tmp_path: Path, wind: str, direction: int) -> None:
    one = measured(tmp_path, FIELD, wind=wind, aircraft=LANDING)
    assert one.best_direction_deg_true is not None
    assert abs(one.best_direction_deg_true - direction) <= 10


def test_downwind_beyond_the_handbooks_note_nothing_is_enough(tmp_path: Path) -> None:
    one = measured(tmp_path, FIELD, wind="090/7 kt", aircraft=LANDING)
    assert one.is_enough[EAST]
    assert not one.is_enough[WEST]  # 150 % of 7 kt is more than 10 kt
    assert np.isfinite(one.needed_m).all()


def test_too_short_says_by_how_much(tmp_path: Path) -> None:
    one = measured(tmp_path, box(-140, -60, 140, 60))
    assert not one.counts
    assert one.best_direction_deg_true is None
    (reason,) = one.why_not
    assert reason.startswith("too short: 2")
    assert "of 300 m needed" in reason


def test_too_narrow_has_no_strip(tmp_path: Path) -> None:
    one = measured(tmp_path, box(-200, -10, 200, 10))
    assert one.why_not == ("too narrow: nowhere a clear strip 30 m wide",)
    assert measured(tmp_path, box(-200, -10, 200, 10), limits='width = "19 m"').counts


def test_a_wire_across_is_named(tmp_path: Path) -> None:
    wires = ([(line((0, -400), (0, 400)), {"name": "Hill line"})], "40 ft")
    one = measured(tmp_path, FIELD, wires=wires)
    assert one.why_not[0] == "wire across: Hill line"
    assert one.why_not[1].startswith("too short: 2")
    assert one.strips.usable_m[EAST] == pytest.approx(220.0, abs=1.5)


def test_a_structure_in_it_is_named(tmp_path: Path) -> None:
    barn = ([(box(-20, -20, 20, 20), {"name": "Barn"})], "30 ft")
    one = measured(tmp_path, FIELD, structures=barn)
    assert one.why_not[0] == "structure in it: Barn"


def test_a_short_field_is_not_blamed_on_its_wire(tmp_path: Path) -> None:
    wires = ([(line((0, -400), (0, 400)), {"name": "Hill line"})], "40 ft")
    one = measured(tmp_path, box(-120, -60, 120, 60), wires=wires)
    assert len(one.why_not) == 1
    assert one.why_not[0].startswith("too short")


def test_hemmed_in_by_trees(tmp_path: Path) -> None:
    """Trees of 100 ft at both ends of 500 m: 1:10 takes 305 m, and 195 m are left."""
    woods = (
        [(box(x, -300, x + 100, 300), {"name": f"Wood {x}"}) for x in (-350, 250)],
        "100 ft",
    )
    one = measured(tmp_path, FIELD, woods=woods)
    assert one.why_not[0].startswith("hemmed in: 19")
    assert "lost behind Wood" in one.why_not[0]
    assert one.strips.lost_before_m[EAST] == pytest.approx(1000 * FOOT_M, abs=1.5)
    steeper = measured(tmp_path, FIELD, woods=woods, limits='approach_slope = "1:6"')
    assert steeper.counts
    assert "lost, most of it behind Wood" in steeper.five_s.surrounds


def test_tall_things_far_before_the_field_cost_too(tmp_path: Path) -> None:
    """Trees of 100 ft, 200 m before the west end: 1:10 takes 305 m, so 105 m of the field."""
    woods = ([(box(-550, -300, -450, 300), {"name": "Far wood"})], "100 ft")
    one = measured(tmp_path, FIELD, woods=woods)
    assert one.strips.lost_before_m[EAST] == pytest.approx(1000 * FOOT_M - 200.0, abs=1.5)
    assert one.strips.lost_before_m[WEST] == 0.0
    assert one.counts


def slope_east(share):
    return lambda x_m, _: GROUND_FT * FOOT_M + share * x_m


def test_too_steep_and_how_steep(tmp_path: Path) -> None:
    one = measured(tmp_path, FIELD, heights_m=slope_east(0.06))
    (reason,) = one.why_not
    assert reason.startswith("too steep: ")
    assert "4.0% allowed" in reason
    gentler = measured(tmp_path, FIELD, heights_m=slope_east(0.03))
    assert gentler.counts
    assert gentler.strips.slope[EAST] == pytest.approx(0.03, abs=0.002)
    assert gentler.best_direction_deg_true in (70, 80, 90, 100, 110)  # uphill


def test_downhill_needs_more(tmp_path: Path) -> None:
    one = measured(tmp_path, FIELD, heights_m=slope_east(0.02), aircraft=LANDING)
    level_m = 1000 * FOOT_M * 1.15 * THIN_AIR
    assert one.needed_m[EAST] == pytest.approx(level_m, rel=2e-3)  # nothing off for uphill
    assert one.needed_m[WEST] == pytest.approx(level_m * 1.2, rel=0.01)


def test_too_rough(tmp_path: Path) -> None:
    def waves(x_m, y_m):
        return GROUND_FT * FOOT_M + 1.0 * np.sin(x_m / 60.0) * np.cos(y_m / 60.0)

    limits = 'steepest = "20 %"\nroughest = "0.3 m"'
    one = measured(tmp_path, FIELD, heights_m=waves, limits=limits)
    assert one.why_not[0].startswith("too rough: ")
    assert "0.3 m allowed" in one.why_not[0]


def test_unknown_ground_never_counts(tmp_path: Path) -> None:
    def holed(x_m, y_m):
        flat = np.full(x_m.shape, GROUND_FT * FOOT_M)
        return np.where(np.hypot(x_m, y_m) < 1000.0, np.nan, flat)

    one = measured(tmp_path, FIELD, heights_m=holed)
    assert not one.counts
    assert one.why_not[0].startswith("unknown ground")
    assert one.five_s.slope == "unknown"
    assert not any(one.is_enough)


def test_beyond_the_grid(tmp_path: Path) -> None:
    one = measured(tmp_path, box(8000, 0, 8600, 200))
    assert one.why_not[0].startswith("beyond the grid")


def test_a_field_that_leaves_the_grid_is_measured_on_it(tmp_path: Path) -> None:
    one = measured(tmp_path, box(-9000, -100, 9000, 100))
    assert one.counts
    ends_m = [one.strips.touchdown_m[EAST, 0], one.strips.rollout_m[EAST, 0]]
    # The grid reaches 2.5 NM beyond the area, which reaches 1 km from the middle.
    assert np.abs(ends_m) == pytest.approx([5630.0] * 2, abs=50.0)
    assert one.area_m2 == pytest.approx(18_000 * 200, rel=0.005)


def test_candidates_count_only_where_the_project_says_so(tmp_path: Path) -> None:
    one = measured(tmp_path, FIELD, is_candidate=True)
    assert any(one.is_enough)
    assert not one.counts
    assert one.is_candidate
    assert one.why_not[0].startswith("not confirmed")
    assert measured(tmp_path, FIELD, is_candidate=True, limits="count_candidates = true").counts


def test_glides_lead_only_to_fields_that_count(tmp_path: Path) -> None:
    country = Country(tmp_path).terrain()
    rows = [
        (box(-400, 600, -150, 700), {"name": "Short one"}),
        (box(200, -300, 700, 300), {"name": "Long one"}),
    ]
    country.features("fields", rows).none(
        "obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive"
    )
    plan = evaluate(read_project(country.project()))
    assert [row.field for row in plan.measured] == list(plan.fields)
    assert [row.counts for row in plan.measured] == [False, True]
    assert set(np.unique(plan.cells.sector_field)) <= {NOBODY, 1}
    assert 1 in plan.cells.field
    (warning,) = [text for text in plan.warnings if text.startswith("fields that do not count")]
    assert "too short" in warning
    assert "Short one (" in warning


def test_a_cell_belongs_to_a_field_that_counts(tmp_path: Path) -> None:
    """The short field comes first in the file and lies in the long one."""
    country = Country(tmp_path).terrain()
    rows = [
        (box(-100, -100, 100, 100), {"name": "Short one"}),
        (box(-500, -200, 500, 200), {"name": "Long one"}),
        (box(-100, 900, 100, 1100), {"name": "Short and apart"}),
    ]
    project = read_project(country.features("fields", rows).project(cell="50 m"))
    layers, ground = read_layers(project, lambda _: None)
    laid = find_arrivals(project, layers, ground)
    assert [row.counts for row in laid.measured] == [False, True, False]
    assert laid.field_of[ground.grid.cell_of(0.0, 0.0)] == 1
    assert laid.field_of[ground.grid.cell_of(0.0, 1000.0)] == NOBODY
    np.testing.assert_array_equal(np.isfinite(laid.amsl_m), laid.field_of != NOBODY)


def test_a_field_that_no_cell_lies_in_does_not_count(tmp_path: Path) -> None:
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-200, -45, 200, 45), {"name": "Thin"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    plan = evaluate(read_project(country.none("noise-sensitive").project(cell="100 m")))
    (row,) = plan.measured
    assert not row.counts
    assert row.why_not[0].startswith("no cell")
    assert (plan.cells.field == NOBODY).all()


@pytest.mark.parametrize(
    ("along_kt", "slope", "factor"),
    [
        # 10 % per 9 kt of half the headwind; 10 % per 2 kt of one and a half times the tailwind;
        # 10 % per 1 % downhill; 15 % for grass. Common handbook and leaflet text (from memory).
        (0.0, 0.0, 1.15),
        (18.0, 0.0, 1.15 * 0.90),
        (-4.0, 0.0, 1.15 * 1.30),
        (0.0, -0.02, 1.15 * 1.20),
        (0.0, 0.02, 1.15),
        (18.0, -0.01, 1.15 * 0.90 * 1.10),
        (200.0, 0.0, 1.15 * 0.5),
    ],
)
def test_landing_factors_by_hand(along_kt: float, slope: float, factor: float) -> None:
    needed_m = landing_distance_needed(400.0, along_kt * KNOT_MPS, slope)
    assert needed_m == pytest.approx(400.0 * factor)


def test_the_handbooks_note_ends_at_ten_knots_of_tailwind() -> None:
    assert is_wind_covered(-6.6 * KNOT_MPS)
    assert not is_wind_covered(-6.7 * KNOT_MPS)
    assert is_wind_covered(60.0)
    assert np.isnan(landing_distance_needed(400.0, 0.0, np.nan))
