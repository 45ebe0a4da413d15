"""Manoeuvres over small invented countries, worked out by hand, and against a cell-by-cell twin."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.manoeuvre_cells import AreaCells, Demand, fitting_counts, stops_at
from areaplan.planning.manoeuvres import answer_manoeuvres, overall
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Block,
    Verdict,
)
from areaplan.planning.project_file import read_project
from areaplan.rules.loading import builtin_manoeuvres
from tests.planning.builder import box, plain_country, point

MANOEUVRES = {row.id: row for row in builtin_manoeuvres().manoeuvres}
SCHOOL = """\
id = "school"
title = "Orders"
authority = "Chief flight instructor"

[[rule]]
id = "school-low"
title = "Least height"
kind = "height above surface"
severity = "policy"
where = ["anywhere"]
height = "500 ft"
document = "Orders"
section = "1"
edition = "1"
last_checked = 2026-11-25
quote = "Nobody below 500 ft."
"""
OWN = """
[[manoeuvre]]
id = "power-off-stall"
title = "Power-off stall"
severity = "policy"
{keys}
height_used = "450 ft"
height_gained = "0 ft"
heights_source = "flown 2026-09-12"
document = "Orders"
section = "4"
edition = "1"
last_checked = 2026-11-25
quote = "Stalls as the orders say."
"""


def without(country, *kinds):
    """Take declarations back, to give the layer instead."""
    country._sources = [
        text for text in country._sources if not any(f'"{kind}"' in text for kind in kinds)
    ]
    return country


def answers_of(country, only=(), **keys):
    plan = evaluate(read_project(country.project(**{"planned": '["2500 ft AMSL"]', **keys})))
    return {row.id: row for row in answer_manoeuvres(plan, only)}


def school_country(folder, text):
    (folder / "policy.toml").write_text(SCHOOL + text, encoding="utf-8")
    return plain_country(folder)


def test_on_flat_ground_the_entry_is_ground_completion_and_height_used(tmp_path):
    found = answers_of(plain_country(tmp_path))
    assert set(found) == set(MANOEUVRES) - {"aerobatic"}
    entries = {
        "slow-flight": 1000 + 1500 + 200,
        "power-off-stall": 1000 + 1500 + 300,
        "power-on-stall": 1000 + 1500 + 300,
        "steep-turns": 1000 + 1500 + 200,
        "chandelle": 1000 + 1500,
        "lazy-eight": 1000 + 1500 + 200,
        "steep-spiral": 1000 + 1500 + 2000,
    }
    for name, entry_ft in entries.items():
        assert found[name].entries == (Block(entry_ft, None),)
        assert found[name].entry_amsl_ft == entry_ft
        assert found[name].verdict is Verdict.MET
        assert found[name].share == 1.0
        assert (found[name].stops == ()) is (name != "steep-spiral")
    # From 600 to 1,000 ft above the ground, 100 ft of either kept for the tolerance.
    assert found["ground-reference"].entries == (Block(1700, 1900),)
    assert overall(list(found.values())) is Verdict.MET


def test_the_best_entry_near_the_planned_altitude_is_told_with_what_stops_it(tmp_path):
    found = answers_of(plain_country(tmp_path))["steep-spiral"]
    assert found.entries == (Block(4500, None),)
    assert found.share == 1.0  # nothing fits up to 3,500 ft, so the first that fits at all is told
    assert found.told_at_amsl_ft == 3500
    (stop,) = found.stops
    assert stop.title == "lowest point less than 1,500 ft above the ground"
    assert (stop.rule, stop.severity, stop.share) == ("steep-spiral", "advisory", 1.0)


def test_below_and_above_a_shelf_are_told_apart(tmp_path):
    country = without(plain_country(tmp_path), "airspace")
    volume = {"name": "Shelf", "class": "C", "lower": "3300 ft AMSL", "upper": "9000 ft AMSL"}
    country.features("airspace", [(box(-5000, -5000, 5000, 5000), volume)])
    stall = answers_of(country, ["power-on-stall"])["power-on-stall"]
    # The shelf and its margin of 100 ft leave 3,200 ft and what is above 9,100 ft.
    low, high = stall.entries
    assert low == Block(2800, 3200 - 300)
    assert high == Block(9100 + 300, None)
    assert stall.entry_amsl_ft == 2800


def test_a_shelf_closes_from_above_and_is_named(tmp_path):
    country = without(plain_country(tmp_path), "airspace")
    volume = {"name": "Shelf", "class": "C", "lower": "3000 ft AMSL", "upper": "UNL"}
    country.features("airspace", [(box(-5000, -5000, 5000, 5000), volume)])
    found = answers_of(country)
    # 100 ft below the shelf is the highest altitude: 2,900 ft, less the height gained.
    (steep,) = found["steep-turns"].entries
    assert steep == Block(2700, 2700)
    assert found["power-off-stall"].entries == (Block(2800, 2800),)
    stall = found["power-on-stall"]
    assert stall.entries == ()
    assert stall.verdict is Verdict.NOT_MET
    assert stall.entry_amsl_ft is None
    assert stall.told_at_amsl_ft == 2800
    assert [(stop.rule, stop.feature) for stop in stall.stops] == [("us-91.130-c", "Shelf")]
    assert overall(list(found.values())) is Verdict.NOT_MET


def test_a_shelf_over_half_the_area_leaves_a_share(tmp_path):
    country = without(plain_country(tmp_path), "airspace")
    volume = {"name": "Shelf", "class": "C", "lower": "3000 ft AMSL", "upper": "UNL"}
    country.features("airspace", [(box(0, -5000, 5000, 5000), volume)])
    stall = answers_of(country, ["power-on-stall"])["power-on-stall"]
    assert stall.entry_amsl_ft == 2800
    assert 0.4 < stall.share < 0.5  # the lateral margin takes 100 m from the open half
    (stop,) = stall.stops
    assert (stop.rule, stop.feature, stop.severity) == ("us-91.130-c", "Shelf", "law")
    assert stop.share == pytest.approx(1.0 - stall.share)


def test_an_obstruction_raises_the_floor_of_low_manoeuvres_alone(tmp_path):
    country = without(plain_country(tmp_path), "structures")
    chimney = (point(0, 0), {"name": "Chimney", "height": "600 ft"})
    country.features("structures", [chimney])
    found = answers_of(country, ["ground-reference", "steep-turns"])
    # 500 ft above its top at 1,600 ft, and 100 ft of tolerance: 2,200 ft, above the band's 1,900.
    low = found["ground-reference"]
    assert low.entries == ()
    assert 1700 <= low.entry_amsl_ft <= 1900
    assert low.share < 1.0
    assert {stop.rule for stop in low.stops} >= {"ground-reference"}
    assert "500 ft above the highest thing within 2,000 ft" in low.stops[0].title
    assert found["steep-turns"].entries == (Block(2700, None),)


def test_no_field_within_gliding_distance_stops_everything(tmp_path):
    country = without(plain_country(tmp_path), "fields")
    country.features("fields", [(box(9000, 9000, 9300, 9300), {"name": "Far"})])
    found = answers_of(country, around="6 NM")["slow-flight"]
    assert found.verdict is Verdict.MET
    assert found.entries[0].floor_amsl_ft > 2700
    assert found.told_at_amsl_ft == 3500  # 1,000 ft above the planned altitude
    (stop,) = found.stops
    assert "gliding distance" in stop.title
    assert stop.severity == "policy"


def test_unknown_ground_is_unknown(tmp_path):
    country = without(plain_country(tmp_path), "terrain")
    country.terrain(heights_m=lambda x, _: np.where(x > 500.0, np.nan, 304.8))
    found = answers_of(country)
    assert {row.verdict for row in found.values()} == {Verdict.UNKNOWN}
    assert all(row.entries == () for row in found.values())
    assert "unknown" in {stop.rule for stop in found["slow-flight"].stops}
    assert 0.2 < found["slow-flight"].unknown_share < 1.0


def test_where_nobody_looked_for_structures_low_manoeuvres_are_unknown(tmp_path):
    """Rule sets without a distance from structures leave the legal floor known."""
    country = without(plain_country(tmp_path), "structures", "obstacles")
    (tmp_path / "policy.toml").write_text(SCHOOL, encoding="utf-8")
    found = answers_of(
        country.none("obstacles"), ["ground-reference", "steep-turns"], rules='["policy.toml"]'
    )
    assert found["steep-turns"].verdict is Verdict.MET
    assert found["ground-reference"].verdict is Verdict.UNKNOWN


@pytest.mark.parametrize(
    ("keys", "expected"),
    [
        ('completion = "2,000 ft"', Block(1000 + 2000 + 450, None)),
        ('completion = "1,000 ft"', Block(1000 + 1500 + 450, None)),
        ("", Block(1000 + 1500 + 450, None)),
        ('block_lowest = "3,000 ft AMSL"', Block(3000 + 450, None)),
        ('block_highest = "3,200 ft AMSL"', Block(2950, 3100)),  # the standard's 100 ft gained hold
        ('block_lowest = "2,600 ft AMSL"\nblock_highest = "3,000 ft AMSL"', None),
    ],
)
def test_a_school_s_own_heights_and_block(tmp_path, keys, expected):
    country = school_country(tmp_path, OWN.format(keys=keys))
    stall = answers_of(country, ["power-off-stall"], rules='["us", "policy.toml"]')
    stall = stall["power-off-stall"]
    assert stall.entries == (() if expected is None else (expected,))
    assert stall.heights_source == "flown 2026-09-12"
    assert len(stall.sentences) == 2
    assert stall.height_used_ft == 450
    assert stall.severity == "policy"  # the standard's is an advisory, the school's own is not
    if expected is None:
        assert stall.verdict is Verdict.NOT_MET
        assert any("block" in stop.title and stop.severity == "policy" for stop in stall.stops)


@pytest.mark.parametrize(("flight", "entry_ft"), [("dual", 2800), ("solo", 3450), ("both", 3450)])
def test_a_solo_height_holds_solo_and_when_the_area_is_for_both(tmp_path, flight, entry_ft):
    country = school_country(
        tmp_path, OWN.format(keys='applies_to = "solo"\ncompletion = "2,000 ft"')
    )
    path = country.project(rules='["us", "policy.toml"]', planned='["2500 ft AMSL"]')
    text = path.read_text(encoding="utf-8").replace(
        "[project]", f'[project]\nflight = "{flight}"', 1
    )
    path.write_text(text, encoding="utf-8")
    plan = evaluate(read_project(path))
    (stall,) = answer_manoeuvres(plan, ["power-off-stall"])
    assert stall.entries == (Block(entry_ft, None),)


def test_aerobatic_flight_needs_the_activity_and_takes_the_law_s_height(tmp_path):
    country = plain_country(tmp_path).none("airways")
    with pytest.raises(InputError, match=r'activities = \["training", "aerobatic"\]'):
        answers_of(country, ["aerobatic"])
    with pytest.raises(InputError, match='did you mean "steep-turns"'):
        answers_of(country, ["steep-turn"])
    path = country.project(planned='["2500 ft AMSL"]')
    text = path.read_text(encoding="utf-8").replace('["training"]', '["training", "aerobatic"]')
    path.write_text(text, encoding="utf-8")
    (found,) = answer_manoeuvres(evaluate(read_project(path)), ["aerobatic"])
    # 14 CFR 91.303(e): 1,500 ft above the surface, and 1,500 ft used.
    assert found.entries == (Block(1000 + 1500 + 1500, None),)
    assert found.weather is not None
    assert "us-91.303-f" in found.weather.by


def test_weather_takes_the_strictest_row_and_the_school_s_own(tmp_path):
    """14 CFR 91.155(a): class G near the ground, class E above it, 3 SM and 500 ft below cloud."""
    country = without(plain_country(tmp_path), "airspace")
    above = {"name": "E5", "class": "E", "lower": "700 ft AGL", "upper": "17999 ft AMSL"}
    below = {"name": "G", "class": "G", "lower": "SFC", "upper": "1700 ft AMSL"}
    shape = box(-5000, -5000, 5000, 5000)
    country.features("airspace", [(shape, above), (shape, below)])
    weather = answers_of(country, ["slow-flight"])["slow-flight"].weather
    assert weather.classes == ("E",)
    assert not weather.is_class_unsure
    assert weather.visibility == "3 SM"
    assert weather.cloud_base_amsl_ft == 2700 + 100 + 500
    assert weather.cloud_base_agl_ft == 2300
    assert weather.beside_cloud == "2,000 ft"
    assert weather.by == ("us-91.155-e-low",)


def test_where_no_class_is_published_the_strictest_row_is_taken(tmp_path):
    weather = answers_of(plain_country(tmp_path), ["slow-flight"])["slow-flight"].weather
    assert weather.classes == ()
    assert weather.is_class_unsure
    assert (weather.visibility, weather.cloud_base_amsl_ft) == ("3 SM", 3300)


def test_class_g_low_down_is_clear_of_cloud_until_the_school_asks_more(tmp_path):
    country = without(school_country(tmp_path, ""), "airspace")
    volume = {"name": "G", "class": "G", "lower": "SFC", "upper": "17999 ft AMSL"}
    country.features("airspace", [(box(-5000, -5000, 5000, 5000), volume)])
    weather = answers_of(country, ["ground-reference"])["ground-reference"].weather
    assert (weather.visibility, weather.cloud_base_amsl_ft) == ("1 SM", 1700 + 100)
    sky = SCHOOL[SCHOOL.index("[[rule]]") :].replace("school-low", "school-sky")
    sky = sky.replace('"height above surface"', '"weather limit"').replace(
        'where = ["anywhere"]\nheight = "500 ft"', 'visibility = "5 SM"\nceiling = "2,500 ft"'
    )
    (tmp_path / "policy.toml").write_text(SCHOOL + sky, encoding="utf-8")
    weather = answers_of(country, ["ground-reference"], rules='["us", "policy.toml"]')
    weather = weather["ground-reference"].weather
    assert (weather.visibility, weather.cloud_base_amsl_ft) == ("5 SM", 1000 + 2500)
    assert "school-sky" in weather.by


def test_sets_without_a_table_say_so(tmp_path):
    found = answers_of(school_country(tmp_path, ""), ["slow-flight"], rules='["policy.toml"]')
    weather = found["slow-flight"].weather
    assert (weather.visibility, weather.cloud_base_amsl_ft, weather.by) == (None, None, ())
    assert weather.without_minima == ("B", "C", "D", "E", "F", "G")


feet = st.integers(0, 60)


@settings(deadline=None, max_examples=200)
@given(st.data())
def test_counts_equal_a_walk_through_every_altitude(data):
    count = data.draw(st.integers(1, 6))

    def some(*special):
        one = feet if not special else st.one_of(feet, st.sampled_from(special))
        return np.array(data.draw(st.lists(one, min_size=count, max_size=count)), dtype=np.int64)

    terrain, required = some(), some(UNKNOWN_FT, UNREACHABLE_FT)
    low_band = np.sort(np.stack([some() for _ in range(2)]), axis=0)
    high_band = low_band[1] + 1 + np.sort(np.stack([some(), some()]), axis=0)
    high_band[1, some() > 40] = NO_LIMIT_FT
    bands = np.stack([low_band, high_band])
    bands[:, :, some() > 50] = NO_BAND_FT
    cells = AreaCells(
        terrain, required, bands[0, 0], bands, np.full(bands.shape, NOBODY, dtype=np.int64),
        np.full(count, NOBODY, dtype=np.int64), (required == UNKNOWN_FT) | (some() > 55),
    )  # fmt: skip
    row = MANOEUVRES["slow-flight"]
    demand = Demand(
        completion=((row, data.draw(feet)),),
        top=((row, data.draw(feet) + 20),) if data.draw(st.booleans()) else (),
        lowest_ft=data.draw(st.one_of(st.none(), feet)),
        highest_ft=data.draw(st.one_of(st.none(), st.integers(20, 200))),
        block_by=row,
        used_ft=data.draw(st.integers(0, 15)),
        gained_ft=data.draw(st.integers(0, 15)),
        obstructions=((row, some(UNKNOWN_FT)),) if data.draw(st.booleans()) else (),
    )
    counts = fitting_counts(cells, demand)
    for entry in range(-20, 260):
        walked = sum(fits(cells, demand, cell, entry) for cell in range(count))
        assert counts[entry + 32768] == walked, entry
        stopped = stops_at(cells, demand, entry, ())
        assert bool(stopped) is (walked < count)


def fits(cells, demand, cell, entry):
    """One cell and one altitude, every demand by itself."""
    low, high = entry - demand.used_ft, entry + demand.gained_ft
    ground, required = cells.terrain_ft[cell], cells.required_ft[cell]
    if cells.is_silent[cell] or required == UNREACHABLE_FT or low < required or low < ground:
        return False
    if any(low < ground + height for _, height in demand.completion):
        return False
    if any(high > ground + height for _, height in demand.top):
        return False
    if any(floor[cell] == UNKNOWN_FT or low < floor[cell] for _, floor in demand.obstructions):
        return False
    if demand.lowest_ft is not None and low < demand.lowest_ft:
        return False
    if demand.highest_ft is not None and high > demand.highest_ft:
        return False
    return any(
        slot[0][cell] != NO_BAND_FT and slot[0][cell] <= low and high <= slot[1][cell]
        for slot in cells.bands_ft
    )
