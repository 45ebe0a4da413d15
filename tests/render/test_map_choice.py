"""The paintings of choice: their counts against the plan's arrays, their looks, their controls."""

import re
from itertools import combinations

import numpy as np
import pytest

from areaplan.planning.plan import NOBODY, UNKNOWN_FT, UNREACHABLE_FT
from areaplan.planning.point import answer_point
from areaplan.render.map import map_html, write_map
from areaplan.render.map_choice import PAINTINGS
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.map_wind import paintings_shown
from areaplan.render.text import percent_down, percent_up
from areaplan.rules.model import DIRECTIONS
from tests.oracles.colour_difference import VISIONS, difference, lab
from tests.render.plan_fixture import plan
from tests.render.scenery import FRAME
from tests.render.unpacking import Page, contrast
from tests.render.visiting import DESKTOP, STEPS_AT, Visit, places_at_random, special_places
from tests.render.wind_fixture import CALM_ONLY

KEYS = tuple(one.key for one in PAINTINGS)
ALL = paintings_shown(CALM_ONLY)
UNKNOWN = -1


def counts(cells, altitude_ft):
    """Sectors with a field, and different fields, of every cell; UNKNOWN where not known."""
    feet = cells.sector_amsl_ft
    is_reached = (feet != UNKNOWN_FT) & (feet != UNREACHABLE_FT) & (feet <= altitude_ft)
    labels = np.where(is_reached, cells.sector_field, NOBODY)
    fields = sum((labels == one).any(axis=0).astype(int) for one in range(labels.max() + 1))
    is_unknown = cells.glide_required_amsl_ft == UNKNOWN_FT
    both = {"sectors": is_reached.sum(axis=0), "fields": fields}
    return {key: np.where(is_unknown, UNKNOWN, value) for key, value in both.items()}


def steps_of(painting, count):
    """Index of the step that a count is painted in; unknown last."""
    steps = painting.steps
    if count == UNKNOWN:
        return len(steps)
    return next(index for index, step in enumerate(steps) if count >= step.least)


# --- looks ----------------------------------------------------------------------------------


def test_the_measure_of_colours_is_the_published_one():
    """Sharma, Wu, Dalal (2005), table 1, pairs 1, 17, 20, 25 and 31 (from memory)."""
    for one, other, expected in (
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
        ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
        ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
    ):
        assert difference(one, other) == pytest.approx(expected, abs=5e-5)
        assert difference(other, one) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize("painting", ALL, ids=lambda one: one.key)
def test_steps_go_from_light_to_dark_for_every_kind_of_vision(painting):
    fills = [step.fill for step in painting.steps]
    for vision in VISIONS:
        lightness = [lab(fill, vision)[0] for fill in fills]
        assert (np.diff(lightness) < -8).all(), (vision, lightness)
        others = [*fills, CLASS_STYLES[-1].fill]
        worst = min(
            difference(lab(one, vision), lab(other, vision))
            for one, other in combinations(others, 2)
        )
        assert worst > 9.0, vision


@pytest.mark.parametrize("painting", ALL, ids=lambda one: one.key)
def test_steps_are_told_apart_without_colour(painting):
    """WCAG 2.2, 1.4.1 and 1.4.11: a pattern each, 3 : 1 at least, and words."""
    steps = painting.steps
    assert len({step.pattern for step in steps}) == len({step.words for step in steps}) == 6
    assert CLASS_STYLES[-1].pattern not in {step.pattern for step in steps}
    for step in steps[1:]:
        assert contrast(step.fill, step.ink) >= 4.0, step
    assert steps[0].pattern == "plain"
    least = [step.least for step in steps]
    assert least == sorted(set(least), reverse=True)


@pytest.mark.parametrize("painting", PAINTINGS, ids=KEYS)
def test_steps_cover_every_count(painting):
    least = [step.least for step in painting.steps]
    assert least[-1] == 0
    assert least[0] <= DIRECTIONS


def test_legends_and_chooser_stand_in_the_page():
    page = Page(map_html(plan()))
    text = " ".join(" ".join(page.visible).split())
    for painting in PAINTINGS:
        assert painting.caption in text
        for step in painting.steps:
            assert step.words in text
    radios = [one for tag, one in page.elements if tag == "input" and one["type"] == "radio"]
    assert [one["value"] for one in radios] == ["classes", *KEYS]
    assert [("checked" in one) for one in radios] == [True, False, False]
    assert {one["id"] for one in radios} <= set(page.attribute("for"))
    assert "and this holds as well: Quiet places" in re.sub(r"\s+", " ", text)


# --- in the browser -------------------------------------------------------------------------


def choose(visit, key):
    visit.page.check(f"#paint-{key}")


@pytest.mark.browser
@pytest.mark.parametrize("painting", PAINTINGS, ids=KEYS)
def test_painted_steps_are_those_of_the_plan(fresh, painting):
    choose(fresh, painting.key)
    made, seen, alone = plan(), set(), 0
    generator = np.random.default_rng(11)
    for altitude in sorted(generator.integers(900, 3400, 5).tolist()):
        fresh.run("(feet) => areaplan.parts.control.set(feet)", altitude)
        expected = counts(made.cells, altitude)[painting.key]
        zoom = int(generator.integers(13, 16))
        fresh.run(
            "(z) => { areaplan.parts.map.setView([45.5, -35.25], z, {animate: false}); }", zoom
        )
        fresh.page.wait_for_timeout(150)
        for shown in fresh.run(STEPS_AT, places_at_random(120, seed=altitude, inside=1.3)):
            if shown is None:
                continue
            x_m, y_m = FRAME.to_local(shown["lon"], shown["lat"])
            step = steps_of(painting, int(expected[made.grid.cell_of(float(x_m), float(y_m))]))
            assert step in shown["steps"]
            alone += len(shown["steps"]) == 1
            seen.add(step)
    assert len(seen) >= 4
    assert alone > 100


@pytest.mark.browser
@pytest.mark.parametrize("painting", PAINTINGS, ids=KEYS)
def test_from_afar_a_step_is_never_better_than_a_cell_below_it(browser, tmp_path, painting):
    path = tmp_path / "fine.html"
    write_map(plan(25.0), path)
    visit = Visit(browser, path, viewport={"width": 500, "height": 500})
    visit.page.set_viewport_size({"width": 900, "height": 500})
    visit.run(
        "() => { areaplan.parts.map.setMinZoom(8); "
        "areaplan.parts.map.setView([45.5, -35.25], 10, {animate: false}); }"
    )
    choose(visit, painting.key)
    visit.page.wait_for_timeout(300)
    expected, grid = counts(plan(25.0).cells, 2000)[painting.key], plan(25.0).grid
    seen = 0
    for shown in visit.run(STEPS_AT, places_at_random(150, seed=6, inside=1.05)):
        if shown is None or len(shown["steps"]) != 1:
            continue
        x_m, y_m = FRAME.to_local(shown["lon"], shown["lat"])
        cell = steps_of(painting, int(expected[grid.cell_of(float(x_m), float(y_m))]))
        assert shown["steps"][0] >= cell
        seen += 1
    assert seen > 60
    visit.context.close()


@pytest.mark.browser
@pytest.mark.parametrize("altitude_ft", [640, 1700, 2500, 3333])
def test_painting_click_and_point_command_agree(desktop, altitude_ft):
    places = places_at_random(50, seed=altitude_ft) + special_places()
    got = desktop.run(
        """([places, feet]) => places.map(([lat, lon]) => {
          const { answers, chooser } = areaplan.parts, local = answers.place.toLocal(lon, lat);
          const i = local ? answers.cells.at(...local) : -1;
          const told = areaplanAnswer(lat, lon, feet);
          const painted = ['sectors', 'fields'].map((key) => (
            i < 0 ? -1 : chooser.paintings.get(key).countOf(i, feet)));
          return [told.sectors_with_field, told.separate_fields_at_least, ...painted];
        })""",
        [places, altitude_ft],
    )
    for (lat, lon), (sectors, fields, painted_sectors, painted_fields) in zip(
        places, got, strict=True
    ):
        answer = answer_point(plan(), lat, lon, altitude_ft)
        assert (sectors, fields) == (answer.sectors_with_field, answer.separate_fields)
        assert painted_sectors == (UNKNOWN if sectors is None else sectors)
        assert painted_fields == (UNKNOWN if fields is None else fields)


@pytest.mark.browser
@pytest.mark.parametrize("painting", PAINTINGS, ids=KEYS)
def test_shares_of_the_legend_are_those_of_the_area(fresh, painting):
    choose(fresh, painting.key)
    for altitude in (1200, 2000, 3100):
        fresh.run("(feet) => areaplan.parts.control.set(feet)", altitude)
        fresh.page.wait_for_timeout(250)
        inside = counts(plan().cells, altitude)[painting.key][plan().cells.is_in_area]
        steps = np.array([steps_of(painting, int(one)) for one in inside])
        shares = [(steps == index).mean() for index in range(len(painting.steps) + 1)]
        words = [percent_down(shares[0]), *(percent_up(share) for share in shares[1:])]
        shown = fresh.page.locator(f"td[data-painting={painting.key}]").all_inner_texts()
        assert [one.replace("\u00a0", " ") for one in shown] == words


@pytest.mark.browser
def test_the_chooser_works_by_keyboard_and_says_what_is_painted(fresh):
    page = fresh.page
    note = page.locator("#painted-now")
    assert note.is_hidden()
    page.focus("#paint-classes")
    for key, words in (("sectors", "directions with a field"), ("fields", "separate fields")):
        page.keyboard.press("ArrowDown")
        assert page.is_checked(f"#paint-{key}")
        assert note.inner_text() == f"Painted: {words}, not what is legal"
        shown = [
            one
            for one in ("classes", *KEYS)
            if page.is_visible(f"div.painting[data-painting={one}]")
        ]
        assert shown == [key]
        assert fresh.run("areaplan.parts.ground.painting.key") == key
    page.keyboard.press("ArrowDown")
    assert page.is_checked("#paint-classes")
    assert note.is_hidden()
    assert fresh.run("areaplan.parts.ground.painting.key") == "classes"


@pytest.mark.browser
def test_bare_ground_and_unknown_keep_their_look_in_every_painting(fresh):
    choose(fresh, "sectors")
    fresh.page.locator("#layers summary").click()
    fresh.page.select_option("#ground-choice", "bare")
    assert fresh.run(STEPS_AT, [[45.5, -35.25]])[0]["steps"] == [7]
    fresh.page.select_option("#ground-choice", "all")
    assert fresh.run(STEPS_AT, [[45.5, -35.25]])[0]["steps"] != [7]


@pytest.mark.browser
def test_paper_shows_the_chosen_legend_and_says_what_is_painted(fresh):
    choose(fresh, "fields")
    fresh.page.emulate_media(media="print")
    fresh.page.wait_for_timeout(200)
    assert fresh.page.is_visible("div.painting[data-painting=fields] caption")
    assert fresh.page.is_hidden("div.painting[data-painting=classes]")
    assert fresh.page.is_hidden("#painting")
    assert "separate fields" in fresh.page.inner_text("#painted-now")
    fresh.page.emulate_media(media="screen")


@pytest.mark.browser
def test_a_moving_altitude_stays_fluid_in_every_painting(browser, path):
    """The design's 60 ms a repaint; the best of several, as CPUs vary."""
    visit = Visit(browser, path, viewport=DESKTOP)
    for key in KEYS:
        choose(visit, key)
        best = visit.run(
            """() => {
              const { ground } = areaplan.parts, times = [];
              for (let i = 0; i < 12; i++) {
                ground.altitude = 1400 + 61 * i;
                const start = performance.now();
                ground.repaint();
                times.push(performance.now() - start);
              }
              return Math.min(...times);
            }"""
        )
        assert best < 60, key
    visit.context.close()
