"""Tops of things, what layers speak for, and airspace limits in every reference."""

import pytest

from areaplan.atmosphere import altimeter_offset_m
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import CellClass, Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.units import FOOT_M, HPA_PA
from tests.planning.builder import GROUND_FT, Country, box, lonlat, point

OPEN_KINDS = {"obstacles", "structures", "airspace", "congested", "assemblies"}


def country_with(folder, *given, heights=None):
    """Flat open country with one great field; all layers declared empty but the given ones."""
    country = Country(folder).terrain(heights)
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    return country.none(*sorted(OPEN_KINDS - set(given)))


def plan_of(country, **keys):
    return evaluate(read_project(country.project(**keys)))


def ask(plan, x_m, y_m, altitude_ft=2000):
    lon, lat = lonlat(x_m, y_m)
    return answer_point(plan, lat, lon, altitude_ft)


def policy(folder, body):
    (folder / "policy.toml").write_text(
        'id = "test-school"\ntitle = "Orders"\nauthority = "Test school"\n\n[[rule]]\n'
        'id = "test-slant"\ntitle = "Distance"\nseverity = "policy"\nwhere = ["anywhere"]\n'
        'document = "Orders"\nsection = "1"\nedition = "1"\nlast_checked = 2026-11-01\n'
        f'quote = "Keep away."\nis_radius_inclusive = true\n{body}\n',
        encoding="utf-8",
    )
    return '["us", "policy.toml"]'


def test_the_higher_of_published_top_and_ground_plus_height_is_used(tmp_path):
    """An obstacle said to stand on 800 ft stands on 1,000 ft here: 300 ft of it reach 1,300."""
    mast = {"name": "m", "top_agl_ft": 300, "top_amsl_ft": 1100, "horizontal_accuracy_ft": 20,
            "vertical_accuracy_ft": 3}  # fmt: skip
    country = country_with(tmp_path, "obstacles").features("obstacles", [(point(0, 0), mast)])
    rules = policy(
        tmp_path,
        'kind = "lateral distance"\nheight = "500 ft"\nradius = "600 ft"\ncounts = ["obstacle"]',
    )
    plan = plan_of(country, rules=rules)
    assert ask(plan, 0, 0).legal_floor_amsl_ft == GROUND_FT + 300 + 3 + 500
    assert any("apart; the higher top is used" in warning for warning in plan.warnings)


def test_an_unstated_accuracy_widens_and_raises_by_the_default(tmp_path):
    """FAA Order 8260.19J app. C: unverified obstacles take 4D, 250 ft and 50 ft."""
    mast = {"name": "m", "top_agl_ft": 300}
    country = country_with(tmp_path, "obstacles").features("obstacles", [(point(0, 0), mast)])
    rules = policy(
        tmp_path,
        'kind = "lateral distance"\nheight = "500 ft"\nradius = "100 ft"\ncounts = ["obstacle"]',
    )
    plan = plan_of(country, rules=rules, cell="10 m")
    assert ask(plan, 0, 0).legal_floor_amsl_ft == GROUND_FT + 300 + 50 + 500
    reach_m = (100 + 250) * FOOT_M
    assert ask(plan, reach_m - 1, 0).legal_floor_amsl_ft == GROUND_FT + 850
    assert ask(plan, reach_m + 12, 0).legal_floor_amsl_ft == GROUND_FT + 500


def test_roads_count_as_vehicles_only_when_the_project_says_so(tmp_path):
    road = {"type": "LineString", "coordinates": [lonlat(-2000, 0), lonlat(2000, 0)]}
    sparse = (box(-9000, -9000, 9000, 9000), {"name": "range", "reason": "empty"})
    floors = {}
    for name, keys in (("plain", {}), ("vehicles", {"count_as": "vehicle"})):
        folder = tmp_path / name
        folder.mkdir()
        country = country_with(folder).features("sparse", [sparse])
        country.features("roads", [(road, {"name": "East Road"})], **keys)
        floors[name] = ask(plan_of(country), 0, 30)
    assert floors["plain"].legal_floor_amsl_ft == GROUND_FT
    assert floors["vehicles"].legal_floor_amsl_ft > GROUND_FT + 480
    assert floors["vehicles"].floor_by.feature == "vehicle on East Road"


def test_wires_and_woods_raise_the_glide_over_them(tmp_path):
    line = {"type": "LineString", "coordinates": [lonlat(-800, 0), lonlat(800, 0)]}
    wood = (box(-900, 400, 900, 900), {"name": "Wood", "height_ft": 80})
    country = country_with(tmp_path).features("wires", [(line, {"name": "Line"})],
                                              default_height="900 ft")  # fmt: skip
    plan = plan_of(country.features("woods", [wood]))
    row, col = plan.grid.cell_of(*plan.frame.to_local(*lonlat(0, 0)))
    assert plan.cells.sector_amsl_ft[:, row, col].min() >= GROUND_FT + 900 + 100
    row, col = plan.grid.cell_of(*plan.frame.to_local(*lonlat(0, 650)))
    assert plan.cells.sector_amsl_ft[:, row, col].min() >= GROUND_FT + 180
    assert not any("no wires are in the data" in warning for warning in plan.warnings)


def test_long_lines_take_the_ground_below_each_piece(tmp_path):
    """A wire over a slope: low at the low end, not as high as its highest end everywhere."""
    line = {"type": "LineString", "coordinates": [lonlat(-900, 0), lonlat(900, 0)]}
    country = country_with(tmp_path, heights=lambda x, y: 300.0 + 0.1 * x + 0 * y)
    country.features("wires", [(line, {"name": "Line"})], default_height="100 ft")
    rules = policy(tmp_path, 'kind = "slant distance"\nradius = "500 ft"\ncounts = ["wire"]')
    plan = plan_of(country, rules=rules, wind="calm")
    west, east = (ask(plan, x, 0).legal_floor_amsl_ft for x in (-850, 850))
    assert east - west == pytest.approx(170 / FOOT_M, abs=120)


@pytest.mark.parametrize("kind", ["obstacles", "structures"])
def test_a_layer_speaks_only_inside_its_cover(tmp_path, kind):
    """Sparse country needs structures to 500 ft around; the glide needs obstacles below it."""
    country = country_with(tmp_path, kind)
    sparse = (box(-9000, -9000, 9000, 9000), {"name": "range", "reason": "empty"})
    country.features("sparse", [sparse])
    country.write("cover.geojson", [(box(-9000, -9000, 400, 9000), {"name": "survey"})])
    far = (point(-5000, 5000), {"name": "far one", "height_ft": 30, "top_agl_ft": 30})
    country.features(kind, [far], covers="cover.geojson")
    plan = plan_of(country)
    assert plan.verdict is Verdict.UNKNOWN
    assert ask(plan, 800, 0).cell_class is CellClass.UNKNOWN
    assert ask(plan, -800, 0).cell_class is CellClass.LEGAL_WITH_FIELD


def shelf_bands(folder, lower, upper, heights=None, **properties):
    country = country_with(folder, "airspace", heights=heights)
    properties = {"name": "Shelf", "class": "C", "lower": lower, "upper": upper, **properties}
    country.features("airspace", [(box(-9000, -9000, 9000, 9000), properties)])
    bands = ask(plan_of(country), 0, 0).bands
    return [(band.floor_amsl_ft, band.ceiling_amsl_ft) for band in bands]


def test_flight_levels_are_widened_by_the_altimeter_settings(tmp_path):
    """FL 45 at 980 hPa is nearly 920 ft below 4,500 ft; FL 65 at 1,040 hPa 720 ft above."""
    low_ft = 4500 + altimeter_offset_m(980 * HPA_PA) / FOOT_M - 100
    high_ft = 6500 + altimeter_offset_m(1040 * HPA_PA) / FOOT_M + 100
    assert 3470 < low_ft < 3500
    assert 7300 < high_ft < 7340
    bands = shelf_bands(tmp_path, "FL 45", "FL 65")
    assert bands == [(1500, int(low_ft)), (int(high_ft) + 1, None)]


def test_limits_above_ground_follow_it(tmp_path):
    bands = shelf_bands(tmp_path, "1500 ft AGL", "UNL")
    assert bands == [(1500, GROUND_FT + 1500 - 100)]
    (tmp_path / "hills").mkdir()
    hills = shelf_bands(
        tmp_path / "hills", "700 ft AGL", "3000 ft AMSL", heights=lambda x, y: 300 + 0.2 * x + 0 * y
    )
    # The cell's lowest ground carries the shelf, its highest the 500 ft: the band shrinks by both.
    assert hills[0][1] - hills[0][0] < 100
    assert hills[-1] == (3100, None)


def test_airspace_within_the_lateral_margin_counts(tmp_path):
    country = country_with(tmp_path, "airspace")
    volume = {"name": "Edge", "class": "C", "lower": "SFC", "upper": "4000 ft AMSL"}
    country.features("airspace", [(box(500, -9000, 9000, 9000), volume)])
    plan = plan_of(country, cell="20 m")
    assert ask(plan, 405, 0).bands[0].floor_amsl_ft == 4100  # margin 100 m
    assert ask(plan, 370, 0).bands[0].floor_amsl_ft == 1500


def test_a_class_that_no_rule_names_is_unknown(tmp_path):
    country = country_with(tmp_path, "airspace")
    volume = {"name": "Odd", "type": "ZZZ", "lower": "SFC", "upper": "4000 ft AMSL"}
    country.features("airspace", [(box(-9000, -9000, 9000, 9000), volume)])
    plan = plan_of(country)
    assert plan.verdict is Verdict.UNKNOWN
    assert plan.volumes[0].entry == "unknown"
