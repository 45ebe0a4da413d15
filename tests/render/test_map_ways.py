"""Gates and routes on the map, judged or not: where, which way, in words; hostile names dead."""

import math

import numpy as np
import pytest
import shapely
from attrs import evolve
from pyproj import Geod

from areaplan.planning.flown import Course, flown_scene, judge_course
from areaplan.planning.gates import Use
from areaplan.planning.plan import CellClass, Verdict
from areaplan.planning.route_answers import Stretch
from areaplan.planning.routes import judge_all
from areaplan.render.map import LARGEST_FILE_BYTES, map_html, write_map
from areaplan.render.route_map import class_of, judged_ways, route_map_html, write_route_map
from areaplan.render.route_text import gate_parts, route_parts
from areaplan.units import FOOT_M, NAUTICAL_MILE_M, parse_wind
from tests.planning.test_routes import gate, route, scene_of
from tests.render.scenery import HOSTILE_NAMES
from tests.render.unpacking import Page
from tests.render.visiting import DESKTOP, PHONE, Visit

BANDS = ("routes_met", "routes_no_field", "routes_not_legal", "routes_neither", "routes_unknown")
GEOD = Geod(ellps="WGS84")
LAYERS = "Object.fromEntries(areaplan.parts.drawing.layers.map((one) => [one.id, one.rows.length]))"


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    """One route both ways with a bend and a gap in the fields, one in only that leaves the grid."""
    extra = (
        gate("West gate", -1310, 12, "2600 ft AMSL")
        + gate("Far gate", 5960, -700)
        + route("Across", (-2900, -190), "West gate", (1210, 1480), altitude="2600 ft AMSL")
        + route("Past the town", (-1990, -1990), (2500, -1900), altitude="1500 ft AMSL", use="out")
        + route("Between", (-600, -110), (590, -100), altitude="1900 ft AMSL", use="in")
        + route("In", "Far gate", (1010, -610), use="in")
    )
    scene = scene_of(tmp_path_factory.mktemp("ways"), extra)
    project = scene.plan.project
    gates = [evolve(one, landmark="mill" if i else "") for i, one in enumerate(project.gates)]
    routes = [evolve(one, remarks="Call first.") for one in project.routes]
    gates[0] = evolve(gates[0], name=HOSTILE_NAMES[0])
    routes[0] = evolve(routes[0], name=HOSTILE_NAMES[1])
    project = evolve(project, gates=tuple(gates), routes=tuple(routes))
    return evolve(scene, plan=evolve(scene.plan, project=project))


@pytest.fixture(scope="module")
def answers(scene):
    return judge_all(scene)


@pytest.fixture(scope="module")
def plain(scene, tmp_path_factory):
    path = tmp_path_factory.mktemp("plain") / "map.html"
    write_map(scene.plan, path)
    return path


@pytest.fixture(scope="module")
def judged(answers, tmp_path_factory):
    path = tmp_path_factory.mktemp("judged") / "map.html"
    write_route_map(answers, path)
    return path


def length_m(line):
    lon, lat = shapely.get_coordinates(line).T
    return GEOD.line_length(lon, lat)


# --- where -------------------------------------------------------------------------------------


def test_bands_of_a_route_cover_its_length_once_each_way(answers):
    """Lengths on the ellipsoid by PROJ; legs are straight in the local frame."""
    drawn = judged_ways(answers)
    total_m = sum(length_m(row[0]) for layer in BANDS for row in drawn[layer])
    flown_m = sum(answer.length_nm * NAUTICAL_MILE_M for answer in answers.routes)
    assert total_m == pytest.approx(flown_m, rel=1e-4, abs=2.0)
    met_m = sum(length_m(row[0]) for row in drawn["routes_met"])
    assert 0.1 * total_m < met_m < 0.9 * total_m
    for layer in ("routes_no_field", "routes_not_legal", "routes_unknown"):
        assert drawn[layer], layer


def test_every_place_on_a_met_band_is_met_on_its_track(scene, answers):
    """Judged again, point by point, along what is drawn."""
    seen = 0
    for row in judged_ways(answers)["routes_met"]:
        local = scene.plan.frame.geometry_to_local(row[0])
        for (x0, y0), (x1, y1) in zip(local.coords[:-1], local.coords[1:], strict=True):
            share = np.linspace(0.02, 0.98, 25)
            x_m, y_m = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
            track = np.full(25, math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360.0)
            feet = int(dict(row[3])["Altitude"].removesuffix(" ft AMSL").replace(" ", ""))
            altitude = np.full(25, feet * FOOT_M)
            margins = judge_course(scene, Course(x_m, y_m, altitude, track))
            assert margins.is_met.all()
            seen += 25
    assert seen > 100


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ((True, True, True), CellClass.UNKNOWN),
        ((False, True, True), CellClass.NEITHER),
        ((False, True, False), CellClass.FIELD_NOT_LEGAL),
        ((False, False, True), CellClass.LEGAL_NO_FIELD),
    ],
)
def test_a_stretch_has_the_class_of_a_cell_with_its_answers(found, expected):
    assert class_of(Stretch(0.0, 1.0, *found, None, None)) is expected


def test_a_route_both_ways_is_drawn_once_each_way(plain, scene):
    page = Page(plain.read_text(encoding="utf-8"))
    drawn = page.data["areaplan-drawn"]
    by_name = {row[1]: row for row in drawn["layers"]["routes"]}
    for one in scene.plan.project.routes:
        lines = drawn["shapes"][by_name[one.name][0]]["l"]
        assert len(lines) == (2 if one.use is Use.BOTH else 1)
        starts = [np.array(line[:2]) / 1e6 for line in lines]
        assert starts[0] == pytest.approx(one.points[0], abs=1e-6)
        if one.use is Use.BOTH:
            assert starts[1] == pytest.approx(one.points[-1], abs=1e-6)


def test_what_lies_far_from_the_grid_is_drawn_all_the_same(scene):
    far = [evolve(one, lon=one.lon + 1.0) for one in scene.plan.project.gates]
    project = evolve(scene.plan.project, gates=tuple(far))
    drawn = Page(map_html(evolve(scene.plan, project=project))).data["areaplan-drawn"]
    assert len(drawn["layers"]["gates"]) == len(far)


# --- what is said ------------------------------------------------------------------------------


def test_the_plain_map_says_that_it_does_not_judge(plain, scene):
    page = Page(plain.read_text(encoding="utf-8"))
    layers = page.data["areaplan-drawn"]["layers"]
    for row in (*layers["gates"], *layers["routes"]):
        assert ["Verdict", "not judged on this map: areaplan routes"] in row[3]
    gates = {row[1]: row for row in layers["gates"]}
    assert ["Landmark", "mill"] in gates["Far gate"][3]
    assert gates["Far gate"][2] == "2 300 ft AMSL, in and out"
    assert all(["Remarks", "Call first."] in row[3] for row in layers["routes"])
    text = " ".join(" ".join(page.visible).split())
    assert "Not judged on this map: areaplan routes." in text
    for one in (*scene.plan.project.gates, *scene.plan.project.routes):
        assert " ".join(one.name.split()) in text


def test_a_project_without_either_has_no_such_part(scene):
    bare = evolve(scene.plan.project, gates=(), routes=())
    html = map_html(evolve(scene.plan, project=bare))
    assert 'id="ways"' not in html
    assert "areaplan routes" not in "".join(Page(html).visible)


def test_the_judged_map_says_first_what_was_found(judged, answers):
    page = Page(judged.read_text(encoding="utf-8"))
    text = " ".join(" ".join(page.visible).split())
    assert answers.verdict is Verdict.UNKNOWN
    first = text.index("Gates and routes, judged UNKNOWN")
    assert first < text.index("Practice area sheet")
    project = answers.scene.plan.project
    parts = [part for one in answers.gates for part in gate_parts(one, project)]
    parts += [part for one in answers.routes for part in route_parts(one, project)]
    for part in parts:
        assert " ".join(part.split()) in text
    assert "not judged on this map" not in judged.read_text(encoding="utf-8")


def test_another_wind_is_told_before_all_else(scene):
    asked = flown_scene(scene.plan, parse_wind("090/20 kt"))
    assert asked.notes
    text = " ".join(" ".join(Page(route_map_html(judge_all(asked))).visible).split())
    told = "Wind 090/20 kt as asked, in place of the project's 270/10 kt"
    assert text.index(told) < text.index("Practice area sheet")
    assert "The ground, and what a click says of the glide, is for 270/10 kt still." in text


def test_the_same_bytes_twice_and_small(judged, answers, tmp_path):
    write_route_map(answers, tmp_path / "again.html")
    first = judged.read_bytes()
    assert first == (tmp_path / "again.html").read_bytes()
    assert len(first) < LARGEST_FILE_BYTES


# --- in a browser ------------------------------------------------------------------------------


def quiet(visit, path):
    """Nothing was complained about or asked for, and no name ran."""
    assert visit.run("window.broken") is None
    # Chromium advises on how this test itself reads pixels.
    assert [one for one in visit.complaints if "willReadFrequently" not in one] == []
    assert visit.run("window.violations") == []
    assert visit.requests == [path.as_uri()]
    visit.context.close()


@pytest.mark.browser
def test_gates_and_routes_are_drawn_switched_and_told(browser, plain, scene):
    assert HOSTILE_NAMES[0] not in plain.read_text(encoding="utf-8")
    visit = Visit(browser, plain, viewport=DESKTOP)
    counts = visit.run(LAYERS)
    assert (counts["gates"], counts["routes"]) == (2, 4)
    assert not set(BANDS) & set(counts)
    far = scene.plan.project.gates[1]
    found = visit.run("([lon, lat]) => areaplan.parts.drawing.pick(lon, lat)", [far.lon, far.lat])
    assert {"Gates", "Routes in and out"} <= {row["layer"] for row in found}
    visit.page.locator("#ask-more summary").click()
    visit.page.fill("#ask-place", f"{far.lat}, {far.lon}")
    visit.page.keyboard.press("Enter")
    said = visit.page.locator("#answer-body").inner_text()
    for words in ("Far gate", "Landmark: mill", "2 300 ft AMSL, in and out", "Call first."):
        assert words in said
    assert "Verdict: not judged on this map: areaplan routes" in said
    visit.page.locator("#layers summary").click()
    switch = visit.page.locator("#layer-switches .switch", has_text="Gates (2)").locator("input")
    assert switch.is_checked()
    switch.uncheck()
    found = visit.run("([lon, lat]) => areaplan.parts.drawing.pick(lon, lat)", [far.lon, far.lat])
    assert "Gates" not in {row["layer"] for row in found}
    quiet(visit, plain)


@pytest.mark.browser
@pytest.mark.parametrize("size", [DESKTOP, PHONE])
def test_bands_say_what_was_found_and_look_it(browser, judged, answers, size):
    """Each band is stroked with pixels of its class's own fill and ink, beside its route."""
    visit = Visit(browser, judged, viewport=size)
    drawn = judged_ways(answers)
    counts = visit.run(LAYERS)
    for layer in BANDS:
        assert counts.get(layer, 0) == len(drawn[layer])
    for k, layer in enumerate(BANDS):
        if not drawn[layer]:
            continue
        line = max((row[0] for row in drawn[layer]), key=lambda one: one.length)
        middle = line.interpolate(0.5, normalized=True)
        found = visit.run(
            "([lon, lat]) => areaplan.parts.drawing.pick(lon, lat)", [middle.x, middle.y]
        )
        assert layer in {_id_of(visit, row["layer"]) for row in found}
        before, after = (line.interpolate(0.5 + d, normalized=True) for d in (-0.01, 0.01))
        fill, ink = visit.run(_BESIDE, [k, *before.coords[0], *after.coords[0]])
        if k == 0:
            assert fill > 0.8, "plain"
        else:
            assert fill + ink > 0.8, layer
            assert min(fill, ink) > 0.05, layer
    quiet(visit, judged)


# Of the pixels in a strip along a line's middle, to its right where its band is: the shares that
# have the fill and the ink of class k, in a drawing of that layer alone.
_BESIDE = """([k, lon0, lat0, lon1, lat1]) => {
  const { map, drawing, ground } = areaplan.parts, { BAND } = areaplan;
  map.setView([(lat0 + lat1) / 2, (lon0 + lon1) / 2], 15, { animate: false });
  const was = drawing.layers.map((one) => one.isOn);
  drawing.layers.forEach((one) => { one.isOn = one.band === k; });
  drawing.drawNames = () => {};
  drawing.standoffs.standoffs.forEach((one) => { one.isOn = false; });
  drawing.draw();
  const [a, b] = [[lat0, lon0], [lat1, lon1]].map((one) => map.latLngToContainerPoint(one));
  const length = Math.hypot(b.x - a.x, b.y - a.y);
  const ux = (b.x - a.x) / length, uy = (b.y - a.y) / length;
  const width = k === 0 ? BAND.met : BAND.width, far = BAND.beside + width / 2;
  const { data } = drawing.context.getImageData(0, 0, drawing.canvas.width, drawing.canvas.height);
  const pixels = new Uint32Array(data.buffer), flat = areaplan.SHADES >> 1, found = [];
  for (let s = -30; s <= 30; s++) {
    for (let d = 1.5 - width / 2; d <= width / 2 - 1.5; d++) {
      const x = Math.round((a.x + b.x) / 2 + ux * s - uy * (far + d));
      const y = Math.round((a.y + b.y) / 2 + uy * s + ux * (far + d));
      found.push(pixels[y * drawing.canvas.width + x]);
    }
  }
  delete drawing.drawNames;
  drawing.layers.forEach((one, i) => { one.isOn = was[i]; });
  return [flat, 256 | flat].map((code) => (
    found.filter((one) => one === ground.palette.colours[k << 9 | code]).length / found.length));
}"""


def _id_of(visit, words):
    return visit.run(
        "(words) => areaplan.parts.drawing.layers.find((one) => one.words === words).id", words
    )


@pytest.mark.browser
def test_a_band_lies_to_the_right_as_far_all_along(browser, judged):
    visit = Visit(browser, judged, viewport=DESKTOP)
    east = visit.run("areaplan.besideLine([[0, 0], [50, 0], [50, 80]], 7)")
    # On a screen y grows downward: right of eastward is down, of southward is westward.
    assert east == pytest.approx(np.array([[0, 7], [43, 7], [43, 80]]))
    generator = np.random.default_rng(3)
    for _ in range(20):
        turns = np.cumsum(generator.uniform(-1.2, 1.2, 6))
        steps = 60 * np.column_stack([np.cos(turns), np.sin(turns)])
        points = np.cumsum([[0.0, 0.0], *steps], axis=0)
        moved = visit.run("(points) => areaplan.besideLine(points, 7)", points.tolist())
        line = shapely.LineString(points)
        middles = (np.array(moved)[1:] + np.array(moved)[:-1]) / 2
        for place, (ax, ay), (bx, by) in zip(middles, points[:-1], points[1:], strict=True):
            cross = (bx - ax) * (place[1] - ay) - (by - ay) * (place[0] - ax)
            assert cross / 60 == pytest.approx(7.0, abs=1e-6)
            assert shapely.distance(line, shapely.Point(place)) <= 7.0 + 1e-6
    visit.context.close()


@pytest.mark.browser
def test_a_phone_says_the_routes_verdict_above_the_areas(browser, judged):
    visit = Visit(browser, judged, viewport=PHONE, is_mobile=True, has_touch=True)
    words = visit.page.locator("#sheet-toggle").inner_text()
    assert words.startswith("Gates and routes: UNKNOWN")
    assert visit.run("document.documentElement.scrollWidth") <= PHONE["width"]
    quiet(visit, judged)


@pytest.mark.browser
def test_the_view_and_the_paper_hold_the_routes(browser, judged, scene):
    visit = Visit(browser, judged, viewport=DESKTOP)
    grid, frame = scene.plan.grid, scene.plan.frame
    places = []
    for one in scene.plan.project.routes:
        x_m, y_m = frame.to_local(*np.array(one.points).T)
        inside = (abs(x_m) < grid.x_max_m) & (abs(y_m) < grid.y_max_m)
        places += [one.points[i] for i in np.flatnonzero(inside)]
    assert len(places) >= 5
    is_seen = """(places) => places.every(([lon, lat]) =>
      areaplan.parts.map.getBounds().contains([lat, lon]))"""
    assert visit.run(is_seen, places)
    visit.page.emulate_media(media="print")
    visit.page.wait_for_timeout(200)
    assert visit.run(is_seen, places)
    assert visit.page.locator("#ways").is_visible()
    visit.context.close()
