"""Measured fields on the map: strips, candidates, reasons; and what stands round the map."""

import math
import re

import attrs
import numpy as np
import pytest

from areaplan.planning.point import answer_point
from areaplan.render.map import map_html, write_map
from areaplan.render.map_fields import best_strip
from tests.render.measured_fixture import (
    LOST_AFTER_M,
    LOST_BEFORE_M,
    TOO_SHORT,
    axis,
    measured_plan,
)
from tests.render.plan_fixture import plan
from tests.render.scenery import FIELDS_M, FRAME, HOSTILE_NAMES
from tests.render.unpacking import Page
from tests.render.visiting import DESKTOP, Visit


@pytest.fixture(scope="module")
def drawn():
    return Page(map_html(measured_plan())).data["areaplan-drawn"]


@pytest.fixture(scope="module")
def measured_path(tmp_path_factory):
    found = tmp_path_factory.mktemp("measured") / "map.html"
    write_map(measured_plan(), found)
    return found


@pytest.fixture
def visit(browser, measured_path):
    visit = Visit(browser, measured_path, viewport=DESKTOP)
    yield visit
    # The tests read pixels back, which the page itself never does.
    assert [one for one in visit.complaints if "getImageData" not in one] == []
    assert visit.run("window.violations") == []
    visit.context.close()


def local_ends(drawn, row):
    """Ends of a drawn strip in local metres."""
    (line,) = drawn["shapes"][row[0]]["l"]
    degrees = np.array(line, dtype=float).reshape(-1, 2).cumsum(axis=0) / 1e6
    x_m, y_m = FRAME.to_local(degrees[:, 0], degrees[:, 1])
    return (x_m[0], y_m[0]), (x_m[-1], y_m[-1])


def test_fields_stand_in_the_layer_of_what_they_are(drawn):
    names = {key: [row[1] for row in drawn["layers"][key]] for key in drawn["layers"]}
    assert names["fields"] == [name for name, _ in FIELDS_M]
    assert names["fields_not_counted"] == ["Too short"]
    assert names["candidates"] == ["Pasture 2", "Pasture 1"]
    assert names["strips"] == [*names["fields"], "Pasture 2"], "those that count"


def test_a_strip_is_drawn_the_way_it_is_landed_without_what_is_lost(drawn):
    for number, (row, (name, shape)) in enumerate(
        zip(drawn["layers"]["strips"], FIELDS_M, strict=False)
    ):
        start, end, _ = axis(shape)
        if number % 2 == 1:
            start, end = end, start
        along = (end - start) / math.hypot(*(end - start))
        first, last = local_ends(drawn, row)
        assert row[1] == name
        assert first == pytest.approx(tuple(start + along * LOST_BEFORE_M), abs=0.2)
        assert last == pytest.approx(tuple(end - along * LOST_AFTER_M), abs=0.2)


def test_lengths_are_rounded_to_the_cautious_side(drawn):
    row = drawn["layers"]["strips"][0]
    _, shape = FIELDS_M[0]
    start, end, bearing = axis(shape)
    usable = math.hypot(*(end - start)) - LOST_BEFORE_M - LOST_AFTER_M
    told = re.fullmatch(r"land (\d{3})° true, (\d+) m of (\d+) m needed", row[2])
    assert int(told[2]) == math.floor(usable)
    assert int(told[3]) == 342
    assert int(told[1]) == round(bearing / 10) * 10
    assert drawn["layers"]["fields"][0][2] == row[2]


def test_north_is_said_as_360():
    north = measured_plan().measured[4]
    assert north.best_direction_deg_true == 0
    page = Page(map_html(attrs.evolve(measured_plan(), measured=(north,), fields=(north.field,))))
    (row,) = page.data["areaplan-drawn"]["layers"]["strips"]
    assert row[2].startswith("land 360° true")


def test_what_speaks_against_a_field_is_told(drawn):
    (short,) = drawn["layers"]["fields_not_counted"]
    assert short[2] == f"does not count, {TOO_SHORT}"
    assert ["why not", TOO_SHORT] in short[3]
    counting, candidate = drawn["layers"]["candidates"]
    assert counting[2].startswith("land ")
    assert candidate[2] == "does not count"
    assert candidate[3][0] == [
        "why not",
        "not confirmed: proposed by land cover, looked at by nobody",
    ]


def test_five_looks_consent_and_remarks_are_carried(drawn):
    told = dict(drawn["layers"]["fields"][0][3])
    five = measured_plan().measured[0].five_s
    for name in ("size", "shape", "surface", "surrounds", "slope"):
        assert told[name] == getattr(five, name)
    assert told["consent"] == "owner asked 2026"
    assert told["remarks"] == HOSTILE_NAMES[1]
    assert "consent" not in dict(drawn["layers"]["fields"][1][3])


def test_a_field_without_a_direction_has_no_strip():
    for one in measured_plan().measured:
        has_strip = best_strip(one, measured_plan()) is not None
        assert has_strip == (one.best_direction_deg_true is not None)


def test_a_plan_without_measured_fields_draws_outlines():
    layers = Page(map_html(plan())).data["areaplan-drawn"]["layers"]
    assert [row[1] for row in layers["fields"]] == [name for name, _ in FIELDS_M]
    assert [row[1:3] for row in layers["fields_not_counted"]] == [["Too short", "does not count"]]
    assert layers["strips"] == layers["candidates"] == []


def test_what_is_declared_absent_stands_on_the_face_of_the_sheet():
    html = map_html(measured_plan())
    text = " ".join(" ".join(Page(html).visible).split())
    assert text.index("Declared absent") < text.index("At the altitude chosen")
    assert 'nothing on the chart, "looked" <twice>' in text
    assert re.search(r"not given at all: *woods", text)
    complete = " ".join(Page(map_html(plan())).visible)
    assert "Declared absent" not in complete


# --- in the browser -------------------------------------------------------------------------


def screen(visit, lon, lat):
    """Where a place lies in the window."""
    return visit.run(
        """([lon, lat]) => {
          const p = areaplan.parts.map.latLngToContainerPoint([lat, lon]);
          const box = areaplan.parts.map.getContainer().getBoundingClientRect();
          return [p.x + box.x, p.y + box.y];
        }""",
        [lon, lat],
    )


FIELDS = (*measured_plan().measured, *measured_plan().candidates)


def click_field(visit, index):
    place = FIELDS[index].field.geometry.representative_point()
    visit.page.mouse.click(*screen(visit, place.x, place.y))
    visit.page.wait_for_timeout(60)
    return visit.page.locator("#answer-body").inner_text()


@pytest.mark.browser
def test_a_click_on_a_field_tells_the_five_looks(visit):
    text = click_field(visit, 0)
    for words in (
        "Fields to land in: Long Meadow",
        "land 340° true",
        "surrounds: wood to the <west>",
        "slope: 1 % up",
        "consent: owner asked 2026",
        "landing: land 340",
    ):
        assert words in text, (words, text)
    assert visit.run("document.querySelectorAll('#answer-body img').length") == 0


@pytest.mark.browser
def test_a_click_on_a_failing_field_and_on_a_candidate_says_why(visit):
    assert f"why not: {TOO_SHORT}" in click_field(visit, 7)
    text = click_field(visit, -1)
    assert "Candidates, not confirmed: Pasture 1" in text
    assert "looked at by nobody" in text


@pytest.mark.browser
def test_the_pointer_over_a_field_tells_why_it_does_not_count(visit):
    tip = visit.page.locator("#hover")
    place = FIELDS[7].field.geometry.representative_point()
    visit.page.mouse.move(*screen(visit, place.x, place.y))
    tip.wait_for(state="visible")
    assert tip.inner_text() == f"Too short\ndoes not count, {TOO_SHORT}"
    place = FIELDS[-1].field.geometry.representative_point()
    visit.page.mouse.move(*screen(visit, place.x, place.y))
    visit.page.wait_for_timeout(100)
    assert tip.inner_text().startswith("not confirmed: Pasture 1")
    visit.page.mouse.move(*screen(visit, -35.25, 45.505))
    visit.page.wait_for_timeout(100)
    assert tip.is_hidden()


@pytest.mark.browser
def test_a_strip_is_marked_at_its_threshold_and_its_end(visit):
    """Ink on the drawing canvas at both ends; none of it with the layer switched off."""
    visit.run("areaplan.parts.map.setView([45.492, -35.283], 15, {animate: false})")
    line = best_strip(measured_plan().measured[0], measured_plan())
    dark = """([[x0, y0], [x1, y1]]) => {
      const { drawing } = areaplan.parts, box = drawing.canvas.getBoundingClientRect();
      drawing.draw();
      const { width, height } = drawing.canvas;
      const { data } = drawing.context.getImageData(0, 0, width, height);
      const length = Math.hypot(x1 - x0, y1 - y0), ux = (x1 - x0) / length, uy = (y1 - y0) / length;
      const isDark = (x, y) => [-1, 0, 1].some((dy) => [-1, 0, 1].some((dx) => {
        const i = 4 * ((Math.round(y - box.y) + dy) * width + Math.round(x - box.x) + dx);
        return data[i + 3] > 200 && data[i] + data[i + 1] + data[i + 2] < 250;
      }));
      // Beside the line at a place along it, on both sides.
      const beside = (x, y, along, out) => [-1, 1].every((side) => isDark(
        x + along * ux - side * out * uy, y + along * uy + side * out * ux));
      return { across: beside(x0, y0, 0, 5), barbs: beside(x1, y1, -6, 3.6),
        barbsAtStart: beside(x0, y0, 12, 6) };
    }"""
    ends = [screen(visit, *xy) for xy in line.coords]
    assert visit.run(dark, ends) == {"across": True, "barbs": True, "barbsAtStart": False}
    visit.run(
        "() => { areaplan.parts.drawing.layers.find((one) => one.id === 'strips').isOn = false; }"
    )
    assert visit.run(dark, ends) == {"across": False, "barbs": False, "barbsAtStart": False}


@pytest.mark.browser
def test_the_answer_never_lies_over_the_map_on_a_desktop(visit):
    """At 1366 x 768 the whole area is in sight, before and after a click."""
    corners = [
        (lon, lat) for lon, lat in measured_plan().layers.area.rows[0].geometry.exterior.coords
    ]
    for is_asked in (False, True):
        if is_asked:
            click_field(visit, 0)
        card = visit.page.locator("#answer").bounding_box()
        frame = visit.page.locator("main").bounding_box()
        assert card["x"] + card["width"] <= frame["x"]
        for lon, lat in corners:
            x, y = screen(visit, lon, lat)
            assert frame["x"] <= x <= frame["x"] + frame["width"]
            assert frame["y"] <= y <= frame["y"] + frame["height"]


@pytest.mark.browser
def test_names_stay_on_the_map_after_a_click(visit):
    """As many words are painted after a click as before, but for those under the mark."""
    count = """() => {
      const { drawing } = areaplan.parts, place = areaplan.Labels.prototype.place;
      const said = [];
      areaplan.Labels.prototype.place = function (lines, spots) {
        const isPlaced = place.call(this, lines, spots);
        if (isPlaced) said.push(lines[0]);
        return isPlaced;
      };
      drawing.draw();
      areaplan.Labels.prototype.place = place;
      return said;
    }"""
    before = visit.run(count)
    x, y = screen(visit, -35.25, 45.51)
    visit.page.mouse.click(x, y)
    visit.page.wait_for_timeout(80)
    after = visit.run(count)
    assert {name for name in before if name.startswith("top ") or "AGL" in name} <= set(after)
    assert len(after) >= len(before) - 1


@pytest.mark.browser
def test_glide_and_its_binder_are_told_in_words(desktop):
    generator = np.random.default_rng(8)
    seen = set()
    for _ in range(12):
        x_m, y_m = generator.uniform(-3500, 5000), generator.uniform(-2000, 3000)
        lon, lat = map(float, FRAME.to_lonlat(x_m, y_m))
        answer = answer_point(plan(), lat, lon, 2000)
        desktop.run("([a, b]) => { areaplan.parts.control.set(2000); }", [lat, lon])
        desktop.page.locator("#ask-more").evaluate("one => { one.open = true; }")
        desktop.page.fill("#ask-place", f"{lat}, {lon}")
        desktop.page.click("#ask button[type=submit]")
        text = desktop.page.locator("#answer-body").inner_text()
        is_choice = answer.glide_bound_by.feature == "direction 090 true"
        assert ("for the choice of fields" in text) == is_choice
        assert ("Quiet places: direction 090 true" in text) == is_choice
        seen.add(is_choice)
    assert seen == {True, False}
