"""The map in a real browser, from a file, with the network cut: opening, answers, altitude."""

import json
import re

import numpy as np
import pytest

from areaplan.planning.judging import tally
from areaplan.planning.plan import UNKNOWN_FT
from areaplan.planning.point import answer_point
from areaplan.render.as_json import point_as_json
from areaplan.render.text import CLASS_WORDS, percent_down, percent_up
from tests.render.plan_fixture import PLANNED_FT, plan
from tests.render.scenery import FRAME, HOSTILE_NAMES
from tests.render.visiting import DESKTOP, READY, Visit, places_at_random, special_places

pytestmark = pytest.mark.browser

SENTINELS = re.compile(r"3276[78]|3200[01]")


# --- opening --------------------------------------------------------------------------------


def test_opens_without_a_request_a_complaint_or_a_violation(fresh):
    assert fresh.run(READY) == "yes"
    assert fresh.run("typeof window.broken") == "undefined"
    assert fresh.page.locator("#trouble").is_hidden()
    assert fresh.run("performance.getEntriesByType('resource').length") == 0


def test_nothing_can_be_loaded_even_on_purpose(browser, path):
    """The policy itself, not only the absence of links: the browser refuses."""
    visit = Visit(browser, path, viewport=DESKTOP)
    refused = visit.run(
        "() => fetch('https://example.invalid/').then(() => 'loaded', () => 'refused')"
    )
    visit.run(
        "() => { const s = document.createElement('script'); "
        "s.textContent = 'window.broken = 2'; document.body.append(s); }"
    )
    assert refused == "refused"
    assert visit.run("typeof window.broken") == "undefined"
    assert {one.split()[0] for one in visit.run("window.violations")} >= {"script-src-elem"}
    visit.context.close()


def test_a_browser_without_unpacking_is_told_so(browser, path):
    visit = Visit(browser, path, "delete window.DecompressionStream;", viewport=DESKTOP)
    assert visit.run(READY) == "failed"
    text = visit.page.locator("#trouble").inner_text()
    assert "do not use it" in text
    assert "too old" in text
    visit.context.close()


def test_damaged_data_are_told_and_never_drawn(browser, path, tmp_path):
    html = path.read_text(encoding="utf-8")
    at = html.index('"terrain_amsl_ft":[{') + 400
    bad = tmp_path / "bad.html"
    bad.write_text(html[:at] + "AAAAAAAA" + html[at + 8 :], encoding="utf-8")
    visit = Visit(browser, bad, viewport=DESKTOP)
    assert visit.run(READY) == "failed"
    assert visit.page.locator("#trouble").is_visible()
    assert visit.run("document.querySelectorAll('.ground canvas').length") == 0
    visit.context.close()


# --- answers --------------------------------------------------------------------------------


@pytest.mark.parametrize("altitude_ft", [700, 1550, 1800, 2000, 2400, 2899, 2900, 3400])
def test_answers_are_those_of_the_point_command(desktop, altitude_ft):
    places = places_at_random(40, seed=altitude_ft) + special_places()
    got = desktop.run(
        "([places, feet]) => places.map(([lat, lon]) => window.areaplanAnswer(lat, lon, feet))",
        [places, altitude_ft],
    )
    for (lat, lon), answer in zip(places, got, strict=True):
        expected = point_as_json(answer_point(plan(), lat, lon, altitude_ft))
        assert set(answer) == set(expected)
        far = ("field_distance_nm", "field_bearing_true_deg")
        same = {key: value for key, value in answer.items() if key not in far}
        assert same == {key: value for key, value in expected.items() if key not in far}
        _close(answer[far[0]], expected[far[0]], 0.0101)
        _close(answer[far[1]], expected[far[1]], 1.0)


def _close(got, expected, tolerance):
    """Equal but for the last printed digit, which a hundredth of a metre can tip."""
    if expected is None or got is None:
        assert got == expected
    else:
        off = abs(got - expected)
        assert min(off, abs(360 - off)) <= tolerance


def test_cell_edges_fall_where_the_grid_has_them(desktop):
    """A hand's breadth either side of an edge is already the other cell."""
    grid, terrain = plan().grid, plan().cells.terrain_amsl_ft
    for col, row in ((40, 50), (200, 100), (359, 290), (1, 299)):
        for dx_m in (-0.1, 0.1):
            x_m = grid.x_min_m + col * grid.cell_m + dx_m
            y_m = grid.y_max_m - row * grid.cell_m + 0.1
            lon, lat = FRAME.to_lonlat(x_m, y_m)
            expected = terrain[grid.cell_of(x_m, y_m)]
            got = desktop.run("([a, b]) => areaplanAnswer(a, b, 2000).terrain_amsl_ft", [lat, lon])
            assert got == (None if expected == UNKNOWN_FT else expected)


def test_a_click_is_answered_in_words(fresh):
    page = fresh.page
    generator = np.random.default_rng(3)
    for _ in range(25):
        x, y = float(generator.uniform(420, 1000)), float(generator.uniform(100, 520))
        page.mouse.click(x, y)
        page.wait_for_timeout(15)
        text = page.locator("#answer-body").inner_text()
        place = re.search(r"Place\s+([\d.]+)° N, ([\d.]+)° W", text)
        lat, lon = float(place[1]), -float(place[2])
        asked = fresh.run("([a, b]) => areaplanAnswer(a, b, 2000)", [lat, lon])
        expected = answer_point(plan(), lat, lon, 2000)
        if asked["terrain_amsl_ft"] is not None:
            assert (
                f"{asked['terrain_amsl_ft']:,} ft AMSL".replace(",", "\u00a0").replace(
                    " ft", "\u00a0ft"
                )
                in text
            )
        words = CLASS_WORDS[expected.cell_class]
        assert words[1:] in text
        assert expected.verdict.value.replace("_", " ") in text
        assert not SENTINELS.search(re.sub(r"[^\d]", "", text.replace(place[0], "")))
        if expected.field:
            assert expected.field in page.locator("#answer-body").text_content()
        if expected.floor_by:
            assert expected.floor_by.limit.title in text


def test_peculiar_places_are_told_in_words(fresh):
    body = fresh.page.locator("#answer-body")
    unknown, closed, unreachable, dark, no_ground, _, shelf, above, far, _ = special_places()
    for place, wanted in (
        (unknown, ["Legal floor\nunknown", "Open bands\nunknown"]),
        (closed, ["closed at every altitude", "none at any altitude", "Sanctuary </script>"]),
        (unreachable, ["no altitude is enough for every heading", "Field\nnone"]),
        (dark, ["Glide needs\nunknown", "Sectors\nunknown", "Field\nunknown"]),
        (no_ground, ["Ground\nunknown"]),
        (shelf, ["from: Height over open country", "to: Clearance needed: West shelf"]),
        (above, ["Long Meadow, below you"]),
        (far, ["outside the data of this map: unknown"]),
    ):
        fresh.page.locator("#ask-more").evaluate("one => { one.open = true; }")
        fresh.page.fill("#ask-place", f"{place[0]}, {place[1]}")
        fresh.page.click("#ask button[type=submit]")
        text = re.sub(r"\n+", "\n", body.inner_text())
        for words in wanted:
            assert words in text, (words, text)
        assert not SENTINELS.search(re.sub(r"[^\d\n]", "", text))


def test_hostile_names_are_read_as_they_are(fresh):
    fresh.page.locator("#ask-more summary").click()
    for one in plan().fields:
        place = one.geometry.representative_point()
        fresh.page.fill("#ask-place", f"{place.y} {place.x}")
        fresh.page.click("#ask button[type=submit]")
        assert one.name in fresh.page.locator("#answer-body").text_content()
    assert fresh.run("typeof window.broken") == "undefined"
    assert (
        fresh.run("document.querySelectorAll('#answer-body img, #answer-body script').length") == 0
    )
    painted = fresh.run("(name) => areaplan.paintable(name)", HOSTILE_NAMES[3])
    assert not re.search("[\u200e\u200f\u202a-\u202e\u2066-\u2069]", painted)
    assert "\u05e9" in painted


def test_a_place_that_is_no_place_is_refused(fresh):
    fresh.page.locator("#ask-more summary").click()
    for text in ("", "north", "45.5", "91, 0", "45.5, 200", "1e400, 3"):
        fresh.page.fill("#ask-place", text)
        fresh.page.click("#ask button[type=submit]")
        assert "Type degrees" in fresh.page.locator("#ask-trouble").inner_text()
        assert fresh.page.get_attribute("#ask-place", "aria-invalid") == "true"
    fresh.page.fill("#ask-place", "45.5, −35.25")
    fresh.page.click("#ask button[type=submit]")
    assert fresh.page.locator("#ask-trouble").inner_text() == ""
    assert "35.25000° W" in fresh.page.locator("#answer-body").inner_text()


# --- altitude -------------------------------------------------------------------------------


def test_shares_follow_the_altitude(fresh):
    tallies = tally(plan().cells)
    for altitude in (600, 1300, 1801, 2000, 2399, 2500, 2900, 3300):
        fresh.run("(feet) => areaplan.parts.control.set(feet)", altitude)
        shares = tallies.at(altitude)
        shown = fresh.run(
            "() => Object.fromEntries([...document.querySelectorAll('[data-sum]')]"
            ".map((one) => [one.dataset.sum, one.textContent.replace(/\\u00a0/g, ' ')]))"
        )
        assert shown == {
            "legal": percent_down(shares.legal_share),
            "safe": percent_down(shares.safe_share),
            "both": percent_down(shares.legal_and_safe_share),
            "unknown": percent_up(shares.unknown_share),
        }
        classes = plan().cells.classes(altitude)[plan().cells.is_in_area]
        exact = np.bincount(classes, minlength=5) / classes.size
        got = fresh.run("(feet) => areaplan.parts.control.tally.at(feet).classes", altitude)
        np.testing.assert_allclose(got, exact, atol=1e-12)


def test_keyboard_moves_the_altitude(fresh):
    page = fresh.page
    page.focus("#altitude")
    for key, expected in (
        ("ArrowRight", 2001),
        ("ArrowUp", 2002),
        ("ArrowLeft", 2001),
        ("PageUp", 2101),
        ("PageDown", 2001),
        ("Home", 500),
        ("End", 3500),
    ):
        page.keyboard.press(key)
        assert page.input_value("#altitude-number") == str(expected)
        assert page.get_attribute("#altitude", "aria-valuetext").startswith(f"{expected} feet")
    page.fill("#altitude-number", "1777")
    page.press("#altitude-number", "Enter")
    assert page.input_value("#altitude") == "1777"
    assert "1\u00a0777\u00a0ft AMSL" in page.text_content("#now-altitude")
    page.fill("#altitude-number", "99999")
    page.press("#altitude-number", "Tab")
    assert page.input_value("#altitude") == "3500"
    for altitude in PLANNED_FT:
        button = page.locator(f"button[data-altitude='{altitude}']")
        button.focus()
        page.keyboard.press("Enter")
        assert page.input_value("#altitude") == str(altitude)
        assert button.get_attribute("aria-pressed") == "true"
    page.wait_for_timeout(750)
    assert page.text_content("#altitude-said").startswith("2500 feet: legal with a field: 94")


def test_answer_follows_the_altitude(fresh):
    fresh.page.mouse.click(700, 300)
    for altitude in (1200, 2450):
        fresh.run("(feet) => areaplan.parts.control.set(feet)", altitude)
        fresh.page.wait_for_timeout(60)
        text = fresh.page.locator("#answer-body").inner_text()
        assert f"at {altitude:,}".replace(",", "\u00a0") in text


def test_json_of_the_answer_is_plain(desktop):
    got = desktop.run("() => JSON.stringify(areaplanAnswer(45.5, -35.25, 2000))")
    expected = json.loads(json.dumps(point_as_json(answer_point(plan(), 45.5, -35.25, 2000))))
    assert set(json.loads(got)) == set(expected)
