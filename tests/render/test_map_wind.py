"""The painting of wind limits against the limits themselves: data, legend, pixels, clicks."""

import json

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.tiles import Window
from areaplan.grid import Grid
from areaplan.planning.limits_by_wind import NOT_IN_CALM, OUTSIDE, UNKNOWN_IN_CALM
from areaplan.render.map import map_html, write_map
from areaplan.render.map_cells import page_cells
from areaplan.render.map_pooling import coarsened_limits
from areaplan.render.map_wind import KEY, limits_on_grid, wind_painting
from areaplan.render.text import percent_down, percent_up
from tests.render.plan_fixture import plan
from tests.render.scenery import FRAME
from tests.render.unpacking import Page, unpacked_fast
from tests.render.visiting import DESKTOP, STEPS_AT, Visit, places_at_random
from tests.render.wind_fixture import CALM_ONLY, limits_of

STEPS = wind_painting(CALM_ONLY).steps
UNKNOWN_STEP, BARE = len(STEPS), len(STEPS) + 1


def least_kt(cell_m=50.0):
    """The least of `cell_limit_kt` over the 16 directions, over the whole grid; cell by cell."""
    limits, grid = limits_of(cell_m), plan(cell_m).grid
    found = np.full(grid.shape, OUTSIDE)
    for row, col in np.ndindex(limits.window.shape):
        by_direction = [int(limits.cell_limit_kt[k, row, col]) for k in range(16)]
        found[row + limits.window.row0, col + limits.window.col0] = min(by_direction)
    return found


def step_of(knots):
    """Index of the step that a limit is painted in."""
    if knots == OUTSIDE:
        return BARE
    if knots == UNKNOWN_IN_CALM:
        return UNKNOWN_STEP
    words = (
        (25, "25 kt or more"), (20, "20 to 24 kt"), (15, "15 to 19 kt"), (10, "10 to 14 kt"),
        (0, "0 to 9 kt"), (NOT_IN_CALM, "not even in calm"),
    )  # fmt: skip
    told = next(told for least, told in words if knots >= least)
    return [step.words for step in STEPS].index(told)


# --- what the file carries ------------------------------------------------------------------


def carried(text):
    table = json.loads(text)
    (block,) = table["arrays"]["wind_limit_kt"]
    return table, unpacked_fast(block, table["rows"], table["cols"])


def test_the_page_carries_the_least_limit_of_every_cell():
    page = Page(map_html(plan(), limits_of()))
    table, found = carried(json.dumps(page.data["areaplan-cells"]))
    np.testing.assert_array_equal(found, least_kt())
    assert {NOT_IN_CALM, UNKNOWN_IN_CALM, OUTSIDE, 0, 12, 40} <= set(found.ravel().tolist())
    assert table["wind"]["altitude_amsl_ft"] == 2100
    text = " ".join(" ".join(page.visible).split())
    assert "Strongest wind, from whichever direction tested, with which a field stays" in text
    assert "at 2 100 ft AMSL only, whatever altitude is chosen" in text.replace("\u00a0", " ")
    for step in STEPS:
        assert step.words in text
    swatches = [one for tag, one in page.elements if tag == "canvas" and "data-step" in one]
    mine = [one for one in swatches if one["data-painting"] == KEY]
    assert [one["aria-label"] for one in mine] == [*(s.pattern_words for s in STEPS), "dotted"]
    radios = [one["value"] for tag, one in page.elements if one.get("name") == "painting"]
    assert radios == ["classes", "sectors", "fields", KEY]


def test_without_limits_there_is_nothing_of_them():
    page = Page(map_html(plan()))
    assert "wind" not in page.data["areaplan-cells"]
    assert "wind_limit_kt" not in page.data["areaplan-cells"]["arrays"]
    assert KEY not in page.attribute("data-painting")
    assert [one["key"] for one in page.data["areaplan-table"]["paintings"]] == ["sectors", "fields"]


def test_cells_of_the_area_that_nobody_tested_are_unknown():
    found = limits_on_grid(CALM_ONLY, plan()).least_kt
    is_in_area = plan().cells.is_in_area
    assert found[0, 0] == 0
    assert (found[is_in_area] == UNKNOWN_IN_CALM).all()
    assert (found[~is_in_area].ravel()[1:] == OUTSIDE).all()
    rows, cols = plan().grid.shape
    beyond = evolve(CALM_ONLY, window=Window(rows, rows + 1, cols, cols + 1))
    with pytest.raises(ValueError, match="the plan has"):
        limits_on_grid(beyond, plan())


@given(st.integers(0, 2**32 - 1), st.integers(1, 9), st.integers(1, 9), st.integers(2, 4))
@settings(deadline=None, max_examples=80)
def test_a_block_is_held_in_no_more_than_its_worst_cell(seed, rows, cols, factor):
    values = np.random.default_rng(seed).integers(OUTSIDE, 6, (rows, cols)).astype(np.int16)
    coarse = Grid(0.0, 0.0, 10.0 * factor, -(-rows // factor), -(-cols // factor))
    found = coarsened_limits(values, coarse, factor, OUTSIDE)
    for row, col in np.ndindex(coarse.shape):
        block = values[row * factor : (row + 1) * factor, col * factor : (col + 1) * factor]
        asked = [int(one) for one in block.ravel() if one != OUTSIDE]
        assert found[row, col] == min(asked, default=OUTSIDE)


def test_a_small_budget_cuts_and_coarsens_the_limits_as_well():
    whole = page_cells(plan(), 10_000_000, limits_of())
    assert len(whole.json_text) > len(page_cells(plan(), 10_000_000).json_text)
    cut = page_cells(plan(), int(len(whole.json_text) * 0.75), limits_of())
    coarse = page_cells(plan(), int(len(cut.json_text) * 0.4), limits_of())
    assert coarse.grid.cell_m > cut.grid.cell_m == plan().grid.cell_m
    expected = least_kt()
    for one in (cut, coarse):
        _, found = carried(one.json_text)
        seen = 0
        for row, col in np.argwhere(expected != OUTSIDE):
            x_m, y_m = plan().grid.centre_x_m()[col], plan().grid.centre_y_m()[row]
            here = found[one.grid.cell_of(float(x_m), float(y_m))]
            assert OUTSIDE < here <= expected[row, col]
            seen += here == expected[row, col]
        assert seen > 0.3 * (expected != OUTSIDE).sum()
        assert one is coarse or seen == (expected != OUTSIDE).sum()


# --- in the browser -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    found = tmp_path_factory.mktemp("wind") / "wind.html"
    write_map(plan(), found, limits_of())
    return found


@pytest.mark.browser
def test_painted_steps_are_those_of_the_limits_at_any_altitude(fresh):
    fresh.page.check(f"#paint-{KEY}")
    note = fresh.page.inner_text("#painted-now").replace("\u00a0", " ")
    assert note == (
        "Painted: strongest wind that keeps a field, at 2 100 ft AMSL, not what is legal"
    )
    expected, grid, seen, alone = least_kt(), plan().grid, set(), 0
    for seed, (altitude, zoom) in enumerate([(900, 12), (2000, 13), (3300, 14)]):
        fresh.run("(feet) => areaplan.parts.control.set(feet)", altitude)
        fresh.run(
            "(z) => { areaplan.parts.map.setView([45.5, -35.25], z, {animate: false}); }", zoom
        )
        fresh.page.wait_for_timeout(200)
        for shown in fresh.run(STEPS_AT, places_at_random(250, seed=seed, inside=1.3)):
            if shown is None:
                continue
            x_m, y_m = FRAME.to_local(shown["lon"], shown["lat"])
            step = step_of(int(expected[grid.cell_of(float(x_m), float(y_m))]))
            assert step in shown["steps"]
            alone += len(shown["steps"]) == 1
            seen.add(step)
    assert {0, UNKNOWN_STEP - 1, UNKNOWN_STEP, BARE} <= seen
    assert len(seen) >= 7
    assert alone > 200


@pytest.mark.browser
def test_from_afar_a_step_is_never_better_than_a_cell_below_it(browser, tmp_path):
    path = tmp_path / "fine.html"
    write_map(plan(25.0), path, limits_of(25.0))
    visit = Visit(browser, path, viewport={"width": 900, "height": 500})
    visit.run(
        "() => { areaplan.parts.map.setMinZoom(8); "
        "areaplan.parts.map.setView([45.5, -35.25], 10, {animate: false}); }"
    )
    visit.page.check(f"#paint-{KEY}")
    visit.page.wait_for_timeout(300)
    expected, grid, seen = least_kt(25.0), plan(25.0).grid, 0
    for shown in visit.run(STEPS_AT, places_at_random(300, seed=6, inside=1.4)):
        if shown is None or len(shown["steps"]) != 1:
            continue
        x_m, y_m = FRAME.to_local(shown["lon"], shown["lat"])
        cell = step_of(int(expected[grid.cell_of(float(x_m), float(y_m))]))
        if cell != BARE:  # its block may reach into the area
            assert cell <= shown["steps"][0] <= UNKNOWN_STEP
            seen += 1
    assert seen > 60
    visit.context.close()


@pytest.mark.browser
def test_a_click_tells_the_limit_of_the_place(fresh):
    expected, grid, told = least_kt(), plan().grid, set()
    for knots in (0, 12, 40, NOT_IN_CALM, UNKNOWN_IN_CALM, OUTSIDE):
        rows, cols = np.nonzero(expected == knots)
        middle = rows.size // 2
        lon, lat = FRAME.to_lonlat(grid.centre_x_m()[cols[middle]], grid.centre_y_m()[rows[middle]])
        place = [float(lat), float(lon)]
        assert (
            fresh.run("([a, b]) => areaplan.parts.answers.at(a, b, 2500).wind_kt", place) == knots
        )
        fresh.page.locator("#ask-more").evaluate("(one) => { one.open = true; }")
        fresh.page.fill("#ask-place", f"{place[0]:.6f}, {place[1]:.6f}")
        fresh.page.press("#ask-place", "Enter")
        row = fresh.page.locator("#answer-body dl > div", has_text="Wind limit")
        words = row.locator("dd").inner_text().replace("\u00a0", " ")
        said = {
            0: "in calm only",
            40: "40 kt from whichever direction tested",
            NOT_IN_CALM: "no field within gliding distance even in calm",
            UNKNOWN_IN_CALM: "unknown",
            OUTSIDE: "only found inside the area",
        }.get(knots, f"{knots} kt from whichever direction tested")
        assert said in words
        assert ("the strongest tested" in words) == (knots == 40)
        assert ("at 2 100 ft AMSL" in words) == (knots != OUTSIDE)
        told.add(words)
    assert len(told) == 6


@pytest.mark.browser
def test_shares_of_the_legend_are_those_of_the_area(fresh):
    fresh.page.check(f"#paint-{KEY}")
    fresh.page.wait_for_timeout(250)
    inside = least_kt()[plan().cells.is_in_area]
    steps = np.array([step_of(int(one)) for one in inside])
    shares = [(steps == index).mean() for index in range(UNKNOWN_STEP + 1)]
    words = [percent_down(shares[0]), *(percent_up(share) for share in shares[1:])]
    shown = fresh.page.locator(f"td[data-painting={KEY}]").all_inner_texts()
    assert [one.replace("\u00a0", " ") for one in shown] == [
        one.replace("\u00a0", " ") for one in words
    ]


@pytest.mark.browser
def test_a_map_without_limits_answers_without_them(browser, tmp_path):
    path = tmp_path / "plain.html"
    write_map(plan(), path)
    visit = Visit(browser, path, viewport=DESKTOP)
    visit.run("() => document.getElementById('ask-centre').click()")
    assert "Glide needs" in visit.page.inner_text("#answer-body")
    assert "Wind limit" not in visit.page.inner_text("#answer-body")
    assert visit.complaints == []
    visit.context.close()
