"""The map of the difference: ground outlined as judged, things numbered, altitudes switched."""

import numpy as np
import pytest
import shapely
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from areaplan.grid import Grid
from areaplan.planning.changes import ClassPlaces
from areaplan.planning.changes_things import Change
from areaplan.render.changes_overlay import changes_map_html, ground_outlines, write_changes_map
from areaplan.render.changes_paper import changes_text
from areaplan.render.changes_sections import MOST_THINGS, numbered_things
from areaplan.render.map import LARGEST_FILE_BYTES
from areaplan.render.map_pooling import coarsened_flags
from tests.planning.builder import box
from tests.planning.test_changes import compare_plans, mast, plan_of
from tests.render.scenery import HOSTILE_NAMES
from tests.render.unpacking import Page
from tests.render.visiting import DESKTOP, PHONE, Visit

FIELD = [(box(-700, -600, 100, 600), {"name": "West field"})]
MORE = [*FIELD, (box(900, 300, 1400, 900), {"name": HOSTILE_NAMES[0]})]
LAYERS = """() => Object.fromEntries(areaplan.parts.drawing.layers.map((one) =>
  [one.at === null ? one.id : `${one.id}@${one.at}`, one.isOn]))"""


@pytest.fixture(scope="module")
def plans(tmp_path_factory):
    """A mast raised, one gone, one come; a field gone: lost at 2,600 ft, less of it at 3,200 ft."""
    folder = tmp_path_factory.mktemp("overlay")
    old = plan_of(folder / "old", [mast(0, 0), mast(-800, 700, "M-2")], fields=MORE)
    masts = [mast(0, 0, agl_ft=620), mast(700, -700, HOSTILE_NAMES[1])]
    return old, plan_of(folder / "new", masts, fields=FIELD)


@pytest.fixture(scope="module")
def changes(plans):
    return compare_plans(*plans)


@pytest.fixture(scope="module")
def path(changes, plans, tmp_path_factory):
    found = tmp_path_factory.mktemp("page") / "changes.html"
    shifted = shapely.affinity.translate(plans[0].layers.area.rows[0].geometry, 0.002)
    named = evolve(changes.old.project, path=f"old.toml {HOSTILE_NAMES[0]}")
    old = evolve(changes.old, area=shifted, project=named)
    write_changes_map(evolve(changes, old=old), plans[1], found)
    return found


def flags_of(changes):
    found = {"ground_risen": changes.is_risen}
    for row, places in zip(changes.classes, changes.places, strict=True):
        found[f"ground_lost@{row.altitude_amsl_ft}"] = places.is_lost
        found[f"ground_gained@{row.altitude_amsl_ft}"] = places.is_gained
        found[f"ground_unknown@{row.altitude_amsl_ft}"] = places.is_newly_unknown
    return found


def inside(rows, plan):
    """Cells whose centre lies in one of some outlines, by shapely."""
    x_m, y_m = np.meshgrid(plan.grid.centre_x_m(), plan.grid.centre_y_m())
    lon, lat = plan.frame.to_lonlat(x_m, y_m)
    held = np.zeros(plan.grid.shape, dtype=bool)
    for row in rows:
        held |= shapely.contains_xy(row[0], lon, lat)
    return held


# --- ground ------------------------------------------------------------------------------------


def test_outlines_hold_the_cells_that_changed_and_no_other(changes, plans):
    ground = ground_outlines(changes, plans[1])
    assert ground.factor == 1
    flags = flags_of(changes)
    assert set(ground.drawn) == set(flags)
    for layer, rows in ground.drawn.items():
        assert (inside(rows, plans[1]) == flags[layer]).all(), layer
    assert ground.drawn["ground_risen"]
    assert ground.drawn["ground_lost@2600"]


def test_ground_that_comes_back_is_gained(plans):
    back = compare_plans(*plans[::-1])
    ground = ground_outlines(back, plans[0])
    assert (
        inside(ground.drawn["ground_gained@2600"], plans[0]) == flags_of(back)["ground_gained@2600"]
    ).all()
    assert ground.drawn["ground_gained@2600"][0][1] == "gained at 2 600 ft"


def test_too_many_outlines_are_coarsened_to_the_cautious_side(changes, plans):
    full = ground_outlines(changes, plans[1])
    corners = sum(
        shapely.get_num_coordinates(row[0]) for rows in full.drawn.values() for row in rows
    )
    coarse = ground_outlines(changes, plans[1], most_corners=corners // 3)
    assert coarse.factor > 1
    assert coarse.cell_m == plans[1].grid.cell_m * coarse.factor
    flags = flags_of(changes)
    for layer, rows in coarse.drawn.items():
        held = inside(rows, plans[1])
        if layer.startswith("ground_gained"):
            assert not (held & ~flags[layer]).any(), layer
        else:
            assert not (flags[layer] & ~held).any(), layer


@given(
    flags=arrays(bool, st.tuples(st.integers(1, 9), st.integers(1, 9))), factor=st.integers(2, 5)
)
def test_blocks_are_flagged_by_one_or_by_all(flags, factor):
    """Against a loop over the blocks; beyond the grid no cell is flagged."""
    grid = Grid(0.0, 0.0, 10.0, *flags.shape)
    for is_of_all in (False, True):
        coarse, found = coarsened_flags(grid, flags, factor, is_of_all=is_of_all)
        assert found.shape == coarse.shape
        for row in range(coarse.rows):
            for col in range(coarse.cols):
                block = flags[row * factor : (row + 1) * factor, col * factor : (col + 1) * factor]
                expected = block.sum() == factor**2 if is_of_all else block.any()
                assert found[row, col] == expected


# --- things and words --------------------------------------------------------------------------


def test_numbers_are_those_of_the_printed_list(changes, path):
    drawn = Page(path.read_text(encoding="utf-8")).data["areaplan-drawn"]
    layers = {
        Change.ADDED: "things_added",
        Change.REMOVED: "things_removed",
        Change.CHANGED: "things_changed",
    }
    numbered = numbered_things(changes)
    assert len(numbered) == len(changes.things) >= 4
    for number, thing in numbered:
        row = {row[1]: row for row in drawn["layers"][layers[thing.change]]}[str(number)]
        assert row[2].startswith(thing.name)
        lon, lat = drawn["shapes"][row[0]]["p"][0]
        assert (lon / 1e6, lat / 1e6) == pytest.approx((thing.lon, thing.lat), abs=1e-6)
    lines = changes_text(changes).splitlines()
    for number, thing in numbered:
        assert any(line.split()[:2] == [str(number), thing.kind] for line in lines)


def test_no_more_things_than_are_listed_and_the_rest_is_counted(changes, plans):
    many = evolve(changes, things=changes.things * 40)
    html = changes_map_html(many, plans[1])
    layers = Page(html).data["areaplan-drawn"]["layers"]
    names = ("things_added", "things_changed", "things_removed")
    assert sum(len(layers[name]) for name in names) == MOST_THINGS
    assert f"{len(many.things) - MOST_THINGS} more are told by --json." in html


def test_the_sheet_says_first_what_is_worse(changes, path):
    html = path.read_text(encoding="utf-8")
    words = " ".join(" ".join(Page(html).visible).split())
    area = words.index("Practice area sheet")
    assert words.index("Compared: SOMETHING IS WORSE than it was.") < area
    assert words.index("What changed since old.toml") < area
    for told in changes.worse:
        assert " ".join(told.split()) in words
    assert "is compared at 2 600 ft, 3 200 ft AMSL alone" in words
    for raw in HOSTILE_NAMES[:2]:
        assert raw not in html


def test_without_a_change_nothing_is_drawn_and_that_is_said(plans):
    same = compare_plans(plans[1], plans[1])
    html = changes_map_html(same, plans[1])
    page = Page(html)
    layers = page.data["areaplan-drawn"]["layers"]
    assert not [
        key for key in layers if key.startswith(("ground", "things", "area_b")) and layers[key]
    ]
    words = " ".join(" ".join(page.visible).split())
    assert "Compared: nothing that matters is worse than it was." in words
    assert "No thing in any layer changed." in words


def test_the_old_edge_is_drawn_only_where_it_differs(changes, plans):
    area = plans[1].layers.area.rows[0].geometry
    _, south, east, north = area.bounds
    wider = shapely.union(area, shapely.box(east - 1e-4, south, east + 0.01, (south + north) / 2))
    html = changes_map_html(evolve(changes, old=evolve(changes.old, area=wider)), plans[1])
    drawn = Page(html).data["areaplan-drawn"]
    (row,) = drawn["layers"]["area_before"]
    points = np.concatenate(
        [
            np.cumsum(np.reshape(line, (-1, 2)), axis=0) / 1e6
            for line in drawn["shapes"][row[0]]["l"]
        ]
    )
    assert points[:, 0].min() > east - 2e-4
    assert points[:, 0].max() == pytest.approx(east + 0.01, abs=1e-5)


def test_the_same_bytes_twice_and_small(changes, plans, path):
    first, again = (changes_map_html(changes, plans[1]) for _ in range(2))
    assert first == again
    assert path.stat().st_size < LARGEST_FILE_BYTES


# --- in a browser ------------------------------------------------------------------------------


@pytest.mark.browser
def test_layers_follow_the_altitude_and_can_be_switched(browser, path):
    visit = Visit(browser, path, viewport=DESKTOP)
    at_first = visit.run(LAYERS)
    assert at_first["ground_lost@2600"]
    assert at_first["ground_risen"]
    assert {"things_added", "things_changed", "things_removed", "area_before"} <= set(at_first)
    visit.page.locator("#layers summary").click()
    words = "Lost at 2\u00a0600\u00a0ft AMSL: was legal with a field in reach, and is not"
    box_of = visit.page.locator("#layer-switches .switch", has_text=words).locator("input")
    assert box_of.is_checked()
    # 3,200 ft was compared too: what belongs to 2,600 ft goes, whether or not anything changed.
    visit.run("areaplan.parts.control.set(3200)")
    assert not visit.run(LAYERS)["ground_lost@2600"]
    assert not box_of.is_checked()
    visit.run("areaplan.parts.control.set(2600)")
    assert box_of.is_checked()
    # 2,750 ft was not: what is shown stays, each patch with its altitude.
    visit.run("areaplan.parts.control.set(2750)")
    assert visit.run(LAYERS)["ground_lost@2600"]
    box_of.uncheck()
    assert not visit.run(LAYERS)["ground_lost@2600"]
    assert visit.run("window.broken") is None
    assert visit.complaints == []
    assert visit.run("window.violations") == []
    assert visit.requests == [path.as_uri()]
    visit.context.close()


@pytest.mark.browser
def test_a_compared_altitude_without_changes_clears_the_others(browser, changes, plans, tmp_path):
    none = np.zeros_like(changes.is_risen)
    places = (changes.places[0], ClassPlaces(none, none, none))
    path = tmp_path / "one.html"
    write_changes_map(evolve(changes, places=places), plans[1], path)
    visit = Visit(browser, path, viewport=DESKTOP)
    assert not [name for name in visit.run(LAYERS) if name.endswith("@3200")]
    visit.run("areaplan.parts.control.set(3200)")
    shown = visit.run(LAYERS)
    assert not [name for name in shown if "@" in name and shown[name]]
    visit.context.close()


@pytest.mark.browser
def test_a_click_says_what_was_lost_and_what_changed(browser, changes, path):
    visit = Visit(browser, path, viewport=DESKTOP)
    lost = next(row for row in changes.classes if row.altitude_amsl_ft == 2600)
    ask = "([lat, lon]) => areaplan.parts.drawing.pick(lon, lat)"
    found = visit.run(ask, [lost.lat, lost.lon])
    told = {row["name"]: row["figures"] for row in found}
    assert told["lost at 2 600 ft"] == "was legal with a field in reach, and is not"
    number, thing = next(
        (number, thing)
        for number, thing in numbered_things(changes)
        if thing.change is Change.CHANGED and thing.kind == "obstacles"
    )
    found = visit.run(ask, [thing.lat, thing.lon])
    (row,) = (row for row in found if row["name"] == str(number))
    assert row["figures"] == f"{thing.name}, changed"
    assert ["How", f"taller by {thing.taller_ft} ft"] in row["told"]
    visit.page.locator("#changes-things button").nth(number - 1).click()
    said = visit.page.locator("#answer-body").inner_text()
    assert f"{thing.lat:.5f}° N" in said
    assert "at 2\u00a0600\u00a0ft AMSL" in said, "the altitude stays as chosen"
    visit.context.close()


@pytest.mark.browser
@pytest.mark.parametrize("size", [DESKTOP, PHONE])
def test_marks_tell_kinds_of_ground_apart_without_colour(browser, path, size):
    """Each kind's mark is a picture of its own in black and white alone; each sample has ink."""
    visit = Visit(browser, path, viewport=size)
    if size is PHONE:
        visit.page.locator("#sheet-toggle").click()
    pictures = visit.run(
        """() => Object.keys(areaplan.GLYPHS).map((glyph) => {
          const canvas = document.createElement("canvas");
          canvas.width = canvas.height = 24;
          const context = canvas.getContext("2d", { willReadFrequently: true });
          areaplan.drawGlyph(context, glyph, 12, 12);
          return [...context.getImageData(0, 0, 24, 24).data]
            .filter((_, i) => i % 4 === 0).map((v) => (v > 127 ? 1 : 0)).join("");
        })"""
    )
    assert len(pictures) == len(set(pictures)) == 4
    names = visit.run(
        "[...document.querySelectorAll('canvas[data-sample]')].map((one) => one.dataset.sample)"
    )
    assert names == ["ground_lost", "ground_gained", "ground_unknown", "ground_risen"]
    assert visit.page.locator("#changes-ground").is_visible()
    assert visit.run("document.documentElement.scrollWidth") <= size["width"]
    visit.context.close()
