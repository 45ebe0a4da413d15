"""Winds aloft, warm days, key positions: from the project file to what they ask for."""

import numpy as np
import pytest

from areaplan.atmosphere import true_airspeed
from areaplan.engine.key_positions import key_positions
from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.glide import ABOVE_PLANNED_M, glide_scene, sectors_in_wind, turn_model
from areaplan.planning.landings import FINALS_M, THRESHOLD_M
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT
from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from areaplan.planning.winds import winds_met
from areaplan.render.text import plan_text
from areaplan.units import FOOT_M, KNOT_MPS, Wind
from tests.planning.builder import GROUND_FT, Country, box, plain_country

ALOFT = """
[[wind_aloft]]
height = "3000 ft AMSL"
value = "240/22 kt"
source = "forecast"

[[wind_aloft]]
height = "6000 ft AMSL"
value = "270/30 kt"
source = "forecast"
"""


def _scene(path):
    project = read_project(path)
    layers, ground = read_layers(project, lambda _: None)
    return project, glide_scene(project, layers, ground)


def _country(folder, extra="", fields=None):
    """Flat, two fields in it, told what else to write."""
    country = Country(folder).terrain()
    rows = fields or [
        (box(-1800, -400, -1200, 400), {"name": "West field"}),
        (box(900, -1500, 1700, -900), {"name": "South field"}),
    ]
    country.features("fields", rows)
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    return country.more(extra)


# ------------------------------------------------------------------ reading


def test_rows_are_read_and_sorted(tmp_path):
    rows = ALOFT.replace("3000 ft", "7000 ft")
    project = read_project(plain_country(tmp_path).more(rows).project(wind="210/14 kt"))
    assert [row.height_amsl_m for row in project.winds_aloft] == pytest.approx(
        [6000 * FOOT_M, 7000 * FOOT_M]
    )
    assert project.winds_aloft[0].wind == Wind(270.0, 30 * KNOT_MPS)
    assert project.isa_deviation_k == 0.0


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("3000 ft AMSL", "3000 ft AGL", "height"),
        ("3000 ft AMSL", "5950 ft AMSL", "100 ft apart"),
        ("240/22 kt", "240/80 kt", "best glide speed"),
        ('value = "240/22 kt"', 'valu = "240/22 kt"', "value"),
        ('source = "forecast"', 'source = ""', "source"),
    ],
)
def test_rows_refused(tmp_path, old, new, words):
    path = plain_country(tmp_path).more(ALOFT.replace(old, new, 1)).project()
    with pytest.raises(InputError, match=words):
        read_project(path)


def test_the_table_has_to_reach_the_planned_altitude(tmp_path):
    path = plain_country(tmp_path).more(ALOFT).project(planned='["6100 ft AMSL"]')
    with pytest.raises(InputError, match="above the highest row is not known"):
        read_project(path)


def test_isa_deviation(tmp_path):
    warm = plain_country(tmp_path).more('[atmosphere]\nisa_deviation = "+15 degC"\n').project()
    assert read_project(warm).isa_deviation_k == 15.0
    for text in ("15", "+99 degC", "hot"):
        path = plain_country(tmp_path).more(f'[atmosphere]\nisa_deviation = "{text}"\n').project()
        with pytest.raises(InputError, match="isa_deviation"):
            read_project(path)


# ------------------------------------------------------------------ the set of winds


def test_winds_met_up_to_the_first_row_above(tmp_path):
    project = read_project(plain_country(tmp_path).more(ALOFT).project(wind="210/14 kt"))
    low = winds_met(project, 300.0, 2900 * FOOT_M)
    assert [wind.from_deg_true for wind in low.winds] == [210.0, 240.0]
    both = winds_met(project, 300.0, 5000 * FOOT_M)
    assert [wind.from_deg_true for wind in both.winds] == [210.0, 240.0, 270.0]
    # 14 kt from 210 to 22 kt from 240 by the law of cosines, over 3,000 ft less 300 m.
    change = np.sqrt(14**2 + 22**2 - 2 * 14 * 22 * np.cos(np.radians(30.0))) * KNOT_MPS
    assert low.shear_per_s == pytest.approx(change / (3000 * FOOT_M - 300.0))
    assert low.aloft == ((22 * KNOT_MPS, 240.0),)


def test_a_shear_that_no_glide_can_follow_is_refused(tmp_path):
    rows = ALOFT.replace("3000 ft", "1001 ft").replace("240/22", "030/60")
    path = _country(tmp_path, rows).project(wind="210/60 kt")
    with pytest.raises(InputError, match="kt in 100 ft"):
        evaluate(read_project(path))


# ------------------------------------------------------------------ what they ask for


def test_without_a_table_nothing_moves(tmp_path):
    """The same wind at all heights, given once or at every height: the same sectors to the bit."""
    _, alone = _scene(_country(tmp_path).project(wind="210/14 kt"))
    same = ALOFT.replace("240/22", "210/14").replace("270/30", "210/14")
    project, tabled = _scene(_country(tmp_path, same).project(wind="210/14 kt"))
    winds = winds_met(project, 300.0, 2500.0)
    assert len(winds.winds) == 3
    one, several = sectors_in_wind(alone, project.wind), sectors_in_wind(tabled, winds)
    np.testing.assert_array_equal(one.required_amsl_m, several.required_amsl_m)
    assert turn_model(alone, project.wind) == turn_model(tabled, winds)
    tas = turn_model(alone, project.wind).tas_mps
    ground_m = float(np.nanmin(alone.ground.lowest_amsl_m))
    speed = 65 * KNOT_MPS
    assert tas == (
        true_airspeed(speed, ground_m),
        true_airspeed(speed, 2000 * FOOT_M + ABOVE_PLANNED_M),
    )


@pytest.mark.parametrize(
    "extra", [ALOFT, '[atmosphere]\nisa_deviation = "+20 degC"\n'], ids=["winds", "warm"]
)
def test_more_to_reckon_with_never_asks_for_less(tmp_path, extra):
    before = evaluate(read_project(_country(tmp_path).project(wind="210/14 kt"))).cells
    after = evaluate(read_project(_country(tmp_path, extra).project(wind="210/14 kt"))).cells
    for name in ("glide_required_amsl_ft", "sector_amsl_ft"):
        old, new = getattr(before, name), getattr(after, name)
        # Wider turns may reach ground that nobody knows.
        assert np.all((new >= old) | np.isin(new, (UNREACHABLE_FT, UNKNOWN_FT)))
        assert np.any(new > old)


# ------------------------------------------------------------------ arrival at key positions

KEY = '[fields]\narrival = "key"\n'


def _ask(path, x_m, y_m):
    plan = evaluate(read_project(path))
    row, col = plan.grid.cell_of(x_m, y_m)
    return plan, int(plan.cells.glide_required_amsl_ft[row, col])


def test_fields_are_reached_at_a_key_position(tmp_path):
    """Over flat ground in calm: nowhere lower than the cheapest key, as the engine has it."""
    path = _country(tmp_path, KEY).project()
    plan, _ = _ask(path, 0, 0)
    project, scene = _scene(path)
    model = turn_model(scene, project.wind)
    around_m = scene.ground.grid.cell_m * np.sqrt(2.0)
    for sector in (0, 3, 8):
        least = min(
            keys.height_m[keys.sector == sector].min()
            for direction in range(36)
            for keys in [
                key_positions(
                    model, 10.0 * direction, final_m=FINALS_M[0],
                    threshold_m=THRESHOLD_M, around_m=around_m,
                )
            ]
        )  # fmt: skip
        lowest = plan.cells.sector_amsl_ft[sector].min()
        asked = max(project.margins.arrival_height_m, least) / FOOT_M
        assert GROUND_FT + asked - 1 <= lowest <= GROUND_FT + asked + 60
    assert not any("no glide is led to" in words for words in plan.warnings)


def test_key_positions_ask_for_more_near_the_fields(tmp_path):
    """Over them, whatever the heading: turns on to the strip come on top of the arrival height.

    Far off a key may ask for less: straight in passes the field's edge at 50 ft, not at 300.
    """
    before = evaluate(read_project(_country(tmp_path).project(wind="240/12 kt")))
    after = evaluate(read_project(_country(tmp_path, KEY).project(wind="240/12 kt")))
    for x_m, y_m in ((-1500, 0), (1300, -1200)):
        cell = before.grid.cell_of(x_m, y_m)
        old = int(before.cells.glide_required_amsl_ft[cell])
        new = int(after.cells.glide_required_amsl_ft[cell])
        assert old + 100 < new < old + 1000


def test_a_field_whose_approaches_are_blocked_is_no_goal(tmp_path):
    """A narrow field between masts on all sides: no key is clear; the other field still counts."""
    fields = [
        (box(-1800, -400, -1200, 400), {"name": "West field"}),
        (box(900, -200, 1000, 600), {"name": "Among masts"}),
    ]
    country = Country(tmp_path).terrain().features("fields", fields)
    masts = [
        (box(950 + x - 5, 200 + y - 5, 950 + x + 5, 200 + y + 5),
         {"name": f"mast {x} {y}", "height_ft": 900})
        for x in (-250, 250)
        for y in range(-2400, 2401, 150)
    ]  # fmt: skip
    country.features("structures", masts, default_height="900 ft")
    country.none("obstacles", "airspace", "congested", "assemblies").more(KEY)
    plan, _ = _ask(country.project(), 0, 0)
    assert any("no glide is led to" in words and "Among masts" in words for words in plan.warnings)
    reached = {plan.fields[i].name for i in np.unique(plan.cells.sector_field) if i >= 0}
    assert reached == {"West field"}


def test_the_page_says_what_air_was_reckoned_with(tmp_path):
    warm = ALOFT + '[atmosphere]\nisa_deviation = "+15 degC"\n'
    text = plan_text(evaluate(read_project(_country(tmp_path, warm).project(wind="210/14 kt"))))
    assert "and 240/22 kt at 3 000 ft AMSL (forecast)" in text
    assert "+15 degC from the standard atmosphere" in text
