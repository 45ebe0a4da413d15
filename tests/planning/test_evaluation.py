"""The whole evaluation over small countries with known answers."""

import math

import numpy as np
import pytest

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import UNKNOWN_FT, CellClass, Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.units import FOOT_M
from tests.planning.builder import GROUND_FT, Country, box, lonlat, plain_country, point


def plan_of(country, **keys):
    return evaluate(read_project(country.project(**keys)))


def ask(plan, x_m, y_m, altitude_ft=2000):
    lon, lat = lonlat(x_m, y_m)
    return answer_point(plan, lat, lon, altitude_ft)


def test_plain_country_is_met_and_floor_is_500_ft_above_the_ground(tmp_path):
    plan = plan_of(plain_country(tmp_path))
    assert plan.verdict is Verdict.MET
    answer = ask(plan, 0, 0)
    # 14 CFR 91.119(c): "An altitude of 500 feet above the surface"; facts: 499 ft is a violation.
    assert answer.legal_floor_amsl_ft == GROUND_FT + 500
    assert answer.floor_by.limit.rule.startswith("us-91.119-c")
    assert [band.ceiling_amsl_ft for band in answer.bands] == [None]
    assert plan.planned[0].legal_and_safe_share == 1.0
    assert plan.cells.classes(GROUND_FT + 500 - 1)[plan.cells.is_in_area].max() > 0


def test_glide_over_one_great_field_needs_arrival_turn_and_reaction_only(tmp_path):
    """In the field itself: arrival height, the worst turn and the reaction, all small."""
    required = ask(plan_of(plain_country(tmp_path)), 0, 0).glide_required_amsl_ft
    assert GROUND_FT + 300 < required < GROUND_FT + 300 + 700


def test_block_begins_at_the_higher_of_floor_and_glide(tmp_path):
    plan = plan_of(plain_country(tmp_path))
    highest = int(plan.cells.glide_required_amsl_ft[plan.cells.is_in_area].max())
    assert plan.block.floor_amsl_ft == max(GROUND_FT + 500, highest)
    assert plan.block.ceiling_amsl_ft is None


def test_slant_distance_in_sparse_country(tmp_path):
    """14 CFR 91.119(c), second sentence: not closer than 500 ft, measured in any direction."""
    country = plain_country(tmp_path)
    country.features(
        "sparse", [(box(-8000, -8000, 8000, 8000), {"name": "range", "reason": "no dwellings"})]
    )
    country.features(
        "structures",
        [(box(-10, -10, 10, 10), {"name": "barn", "height_ft": 30})],
        default_height="20 ft",
    )
    plan = plan_of(country, cell="20 m")
    top_m = (GROUND_FT + 30) * FOOT_M
    for x_m in (0.0, 60.0, 110.0, 150.0, 161.0):
        answer = ask(plan, x_m, 5.0)
        _row, col = plan.grid.cell_of(*plan.frame.to_local(*lonlat(x_m, 5.0)))
        west = plan.grid.x_min_m + col * plan.grid.cell_m
        away_m = max(0.0, west - 10.0)
        expected_m = top_m + math.sqrt((500 * FOOT_M) ** 2 - away_m**2)
        assert answer.legal_floor_amsl_ft == pytest.approx(expected_m / FOOT_M, abs=1.01)
        assert answer.floor_by.feature == "barn"
    far = ask(plan, 400.0, 5.0)
    assert far.floor_by is None or far.floor_by.feature != "barn"


def test_congested_area_counts_the_highest_obstacle_in_the_radius(tmp_path):
    """91.119(b), published example: a 100-ft building on 0 ft ground gives 1,100 ft."""
    country = Country(tmp_path).terrain(lambda x, y: np.zeros_like(x + y))
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.features("congested", [(box(-900, -900, 900, 900), {"name": "Town", "reason": "x"})])
    country.features("structures", [(point(0, 0), {"name": "hall", "height_ft": 100})])
    country.none("obstacles", "airspace", "assemblies", "noise-sensitive")
    plan = plan_of(country, cell="20 m")
    assert ask(plan, 590, 1).legal_floor_amsl_ft == 1100
    assert ask(plan, 590, 1).floor_by.feature == "hall"
    assert ask(plan, 640, 1).legal_floor_amsl_ft == 1000  # the ground itself counts


def shelf(lower, upper, name="Shelf", airspace_class="C"):
    properties = {"name": name, "class": airspace_class, "lower": lower, "upper": upper}
    return box(-3000, -3000, 3000, 3000), properties


def test_shelves_leave_several_bands(tmp_path):
    country = plain_country_without_airspace(tmp_path)
    country.features(
        "airspace",
        [shelf("2500 ft AMSL", "3000 ft AMSL"), shelf("4000 ft AMSL", "5000 ft AMSL", "Upper")],
    )
    bands = ask(plan_of(country), 0, 0).bands
    edges = [(band.floor_amsl_ft, band.ceiling_amsl_ft) for band in bands]
    assert edges == [(1500, 2400), (3100, 3900), (5100, None)]
    assert bands[0].ceiling_by.feature == "Shelf"
    assert bands[1].floor_by.feature == "Shelf"
    assert bands[1].ceiling_by.feature == "Upper"


def plain_country_without_airspace(folder):
    country = Country(folder).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    return country.none("obstacles", "structures", "congested", "assemblies", "noise-sensitive")


def test_surface_area_closes_what_it_holds_and_the_finding_says_so(tmp_path):
    country = plain_country_without_airspace(tmp_path)
    country.features("airspace", [shelf("SFC", "3500 ft AMSL", "Tower zone", "D")])
    plan = plan_of(country)
    assert plan.verdict is Verdict.NOT_MET
    finding = next(row for row in plan.findings if row.feature == "Tower zone")
    assert finding.verdict is Verdict.NOT_MET
    assert finding.margin_ft == -1600  # 3,500 + 100 ft margin - 2,000
    assert ask(plan, 0, 0).bands[0].floor_amsl_ft == 3600


@pytest.mark.parametrize(
    ("expires", "verdict"), [("2027-01-01", Verdict.MET), ("2026-11-24", Verdict.NOT_MET)]
)
def test_a_permission_opens_a_volume_until_it_expires(tmp_path, expires, verdict):
    country = plain_country_without_airspace(tmp_path)
    country.features("airspace", [shelf("SFC", "3500 ft AMSL", "Tower zone", "D")])
    country.more(
        f'\n[[permission]]\nairspace = "Tower zone"\nreason = "letter 7"\nexpires = {expires}\n'
    )
    plan = plan_of(country)
    assert plan.verdict is verdict
    assert any("expired" in warning for warning in plan.warnings) == (verdict is Verdict.NOT_MET)


def test_unknown_airspace_limit_makes_the_cells_unknown(tmp_path):
    country = plain_country_without_airspace(tmp_path)
    properties = {
        "NAME": "LOST",
        "CLASS": "D",
        "LOCAL_TYPE": "CLASS_D",
        "UPPER_VAL": -9998,
        "UPPER_UOM": "FT",
        "UPPER_CODE": "MSL",
        "LOWER_VAL": "0",
        "LOWER_UOM": "FT",
        "LOWER_CODE": "SFC",
    }
    country.features("airspace", [(box(-300, -300, 300, 300), properties)])
    plan = plan_of(country)
    assert ask(plan, 0, 0).bands is None
    assert ask(plan, 0, 0).verdict is Verdict.UNKNOWN
    assert plan.verdict is Verdict.UNKNOWN
    assert ask(plan, 900, 900).verdict is Verdict.MET


@pytest.mark.parametrize("kind", ["obstacles", "airspace", "congested", "assemblies"])
def test_a_layer_that_nobody_gives_is_unknown_not_clear(tmp_path, kind):
    kinds = {"obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive"}
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.none(*sorted(kinds - {kind}))
    plan = plan_of(country)
    assert plan.verdict is Verdict.UNKNOWN
    assert ask(plan, 0, 0).cell_class is CellClass.UNKNOWN


def test_outside_the_terrain_is_unknown(tmp_path):
    country = Country(tmp_path).terrain(lambda x, y: np.where(x < 500, 300.0, np.nan) + 0 * y)
    across = (box(300, 300, 700, 700), {"name": "Half known"})
    country.features("fields", [(box(-9000, -9000, 300, 9000), {"name": "The plain"}), across])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    plan = plan_of(country)
    assert plan.verdict is Verdict.UNKNOWN
    assert 0.2 < plan.planned[0].unknown_share < 0.6
    assert any("Half known" in warning and "not known" in warning for warning in plan.warnings)
    east = ask(plan, 800, 0)
    assert (east.terrain_amsl_ft, east.legal_floor_amsl_ft, east.bands) == (None, None, None)
    assert east.is_glide_unknown
    assert ask(plan, 90_000, 0).verdict is Verdict.UNKNOWN


def test_no_field_at_all_is_not_met_everywhere(tmp_path):
    country = (
        Country(tmp_path)
        .terrain()
        .none("obstacles", "structures", "airspace", "congested", "assemblies", "fields")
    )
    plan = plan_of(country)
    assert plan.verdict is Verdict.NOT_MET
    assert plan.block is None
    answer = ask(plan, 0, 0)
    assert answer.glide_required_amsl_ft is None
    assert not answer.is_glide_unknown
    assert answer.sectors_with_field == 0
    assert answer.field is None


def test_one_field_costs_height_with_distance_at_the_derated_ratio(tmp_path):
    """Best sector: distance / ratio, never less; the closed form d / (glide ratio)."""
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-300, -300, 300, 300), {"name": "Only"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    plan = plan_of(country, half_m=2500.0, planned='["3500 ft AMSL"]')
    for x_m, y_m in [(2000, 0), (0, -2200), (1500, 1500), (-900, 2100)]:
        answer = ask(plan, x_m, y_m, 3500)
        assert answer.field == "Only"
        row, col = plan.grid.cell_of(*plan.frame.to_local(*lonlat(x_m, y_m)))
        lowest_ft = int(plan.cells.sector_amsl_ft[:, row, col].min())
        away_m = math.hypot(max(0, abs(x_m) - 300), max(0, abs(y_m) - 300))
        closed_ft = GROUND_FT + 300 + away_m / 9.0 / FOOT_M
        # Over by the way to the field's inner cells, half a cell's diagonal, and 1.6 %.
        assert closed_ft <= lowest_ft <= closed_ft * 1.02 + 45
        assert lowest_ft < answer.glide_required_amsl_ft
        assert answer.field_distance_nm == pytest.approx(away_m / 1852, abs=0.02)


def test_wind_makes_the_way_into_it_dearer(tmp_path):
    def lowest(folder, wind, y_m):
        country = Country(folder).terrain()
        country.features("fields", [(box(-300, -300, 300, 300), {"name": "Only"})])
        country.none("obstacles", "structures", "airspace", "congested", "assemblies")
        plan = plan_of(country, wind=wind, half_m=2500.0)
        row, col = plan.grid.cell_of(*plan.frame.to_local(*lonlat(0, y_m)))
        return int(plan.cells.sector_amsl_ft[:, row, col].min())

    for name in ("calm", "north", "south"):
        (tmp_path / name).mkdir()
    calm = lowest(tmp_path / "calm", "calm", -2000)
    against = lowest(tmp_path / "north", "360/20 kt", -2000)  # glides north, into the wind
    behind = lowest(tmp_path / "south", "180/20 kt", -2000)
    assert behind < calm < against
    # Wind triangle: 1,700 m into 20 kt at 65 kt and ratio 9 costs 1,700 / 9 * 65 / 45 m.
    assert against - GROUND_FT - 300 >= 1700 / 9 * 65 / 45 / FOOT_M - 60


def test_expired_terrain_is_a_loud_warning(tmp_path):
    country = Country(tmp_path).terrain(expires="2026-01-31")
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    plan = plan_of(country)
    assert any(text.startswith("EXPIRED: terrain") for text in plan.warnings)
    assert next(row for row in plan.sources if row.kind == "terrain").is_expired(plan.project.day)


def test_all_faults_of_all_sources_at_once(tmp_path):
    country = plain_country(tmp_path)
    country.features("wires", [(point(0, 0), {"name": "not a line"})], default_height="60 ft")
    country.features("woods", [(point(0, 0), {"name": "not a polygon"})], default_height="60 ft")
    with pytest.raises(InputError) as caught:
        plan_of(country)
    text = str(caught.value)
    assert "wires" in text
    assert "woods" in text


def test_a_mast_raises_the_glide_around_it_and_not_elsewhere(tmp_path):
    mast = (point(0, 0), {"name": "mast", "top_agl_ft": 900, "horizontal_accuracy_ft": 50,
                          "vertical_accuracy_ft": 20})  # fmt: skip
    country = Country(tmp_path).terrain().features("obstacles", [mast])
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.none("structures", "airspace", "congested", "assemblies", "noise-sensitive")
    plan = plan_of(country)
    assert ask(plan, 0, 0).glide_required_amsl_ft >= GROUND_FT + 900 + 20 + 100
    assert ask(plan, 900, 900).glide_required_amsl_ft < GROUND_FT + 900


def test_same_files_same_plan(tmp_path):
    path = plain_country(tmp_path).project(wind="240/12 kt")
    one, two = (evaluate(read_project(path)) for _ in range(2))
    for name in ("bands_amsl_ft", "glide_required_amsl_ft", "sector_amsl_ft", "bands_binder"):
        assert np.array_equal(getattr(one.cells, name), getattr(two.cells, name))
    assert one.findings == two.findings
    assert (one.cells.glide_required_amsl_ft != UNKNOWN_FT).any()


def test_sparse_country_far_from_everything_still_has_the_ground_as_floor(tmp_path):
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    sparse = {"name": "range", "reason": "no dwellings"}
    country.features("sparse", [(box(-9000, -9000, 9000, 9000), sparse)])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    answer = ask(plan_of(country), 0, 0)
    assert answer.legal_floor_amsl_ft == GROUND_FT
    assert answer.floor_by.limit.rule == "areaplan-ground"
    assert answer.bands[0].floor_amsl_ft == GROUND_FT
