"""The map's file holds what the plan holds, cut or coarsened only as it says."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
import shapely

from areaplan.errors import InputError
from areaplan.planning.plan import NO_BAND_FT, NOBODY, UNKNOWN_FT, UNREACHABLE_FT
from areaplan.render import map as map_module
from areaplan.render.map import map_html
from areaplan.render.map_cells import altitude_span_ft, page_cells
from tests.render.plan_fixture import plan
from tests.render.unpacking import Page, unpacked_fast

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def html():
    return map_html(plan())


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


# --- data -----------------------------------------------------------------------------------


def _cells_of(text):
    table = json.loads(text)
    shape = (table["rows"], table["cols"])
    return table, {
        name: np.stack([unpacked_fast(block, *shape) for block in blocks])
        for name, blocks in table["arrays"].items()
    }


def test_arrays_are_those_of_the_plan(page):
    made = plan()
    cells = made.cells
    table, arrays = _cells_of(json.dumps(page.data["areaplan-cells"]))
    assert (table["rows"], table["cols"]) == made.grid.shape
    assert (table["x_min_m"], table["y_max_m"]) == (made.grid.x_min_m, made.grid.y_max_m)
    bands = len(arrays["bands_amsl_ft"]) // 2
    for name in (
        "terrain_amsl_ft",
        "legal_floor_amsl_ft",
        "glide_required_amsl_ft",
        "sector_amsl_ft",
        "sector_field",
        "field",
    ):
        expected = getattr(cells, name).reshape(-1, *made.grid.shape)
        np.testing.assert_array_equal(arrays[name], expected)
    used = cells.bands_amsl_ft[:bands]
    np.testing.assert_array_equal(arrays["bands_amsl_ft"], used.reshape(-1, *made.grid.shape))
    assert (cells.bands_amsl_ft[bands:, 0] == NO_BAND_FT).all()
    flags = arrays["flags"][0]
    np.testing.assert_array_equal((flags & table["unknown_bit"]) != 0, cells.is_legal_unknown)
    np.testing.assert_array_equal((flags & table["in_area_bit"]) != 0, cells.is_in_area)
    _same_binders(made, table, arrays["legal_floor_binder"][0], cells.legal_floor_binder)
    _same_binders(made, table, arrays["glide_binder"][0], cells.glide_binder)
    for index, packed in enumerate(arrays["bands_binder"]):
        _same_binders(made, table, packed, cells.bands_binder[index // 2, index % 2])


def _same_binders(made, table, packed, expected):
    np.testing.assert_array_equal(packed == NOBODY, expected == NOBODY)
    for old in np.unique(expected[expected != NOBODY]):
        (new,) = np.unique(packed[expected == old])
        binder = made.binders[old]
        assert table["binders"][new] == [binder.limit.rule, binder.limit.title, binder.feature]


def test_only_used_binders_travel(page):
    cells = plan().cells
    tables = (cells.legal_floor_binder, cells.bands_binder, cells.glide_binder)
    used = {int(one) for table in tables for one in np.unique(table)}
    assert len(page.data["areaplan-cells"]["binders"]) == len(used - {NOBODY})


def test_no_sentinel_stands_in_the_sheet(html):
    body = re.sub(r"<script.*?</script>", "", html[html.index("<body>") :], flags=re.DOTALL)
    digits = re.sub(r"[\s\u00a0\u202f,]", "", body)
    for sentinel in ("32767", "32768", "32000"):
        assert sentinel not in digits


def test_shapes_are_drawn_where_they_are(page):
    drawn = page.data["areaplan-drawn"]
    made = plan()
    index, name, _ = drawn["layers"]["fields"][0]
    ring = np.array(drawn["shapes"][index]["r"][0]).reshape(-1, 2).cumsum(axis=0) / 1e6
    expected = shapely.get_coordinates(made.fields[0].geometry)
    assert name == made.fields[0].name
    np.testing.assert_allclose(ring, expected, atol=2e-6)


def test_a_shape_used_twice_travels_once(page):
    drawn = page.data["areaplan-drawn"]
    structures = {row[0] for row in drawn["layers"]["structures"]}
    assert {row[0] for row in drawn["standoffs"][0]["rows"]} == structures


def test_an_unknown_top_stays_unknown(page):
    assert page.data["areaplan-drawn"]["standoffs"][1]["rows"][0][1] is None


# --- too large ------------------------------------------------------------------------------


def test_a_small_budget_first_cuts_then_coarsens_and_says_so():
    made = plan()
    whole = page_cells(made, 10_000_000)
    assert whole.grid == made.grid
    assert whole.notes == ()
    cut = page_cells(made, int(len(whole.json_text) * 0.75))
    assert cut.grid.cell_m == made.grid.cell_m
    assert cut.grid.rows * cut.grid.cols < made.grid.rows * made.grid.cols
    assert "no data beyond 1 NM" in cut.notes[0]
    coarse = page_cells(made, int(len(cut.json_text) * 0.4))
    assert coarse.grid.cell_m > made.grid.cell_m
    assert "worst of the" in coarse.notes[1]
    assert len(coarse.json_text) <= len(cut.json_text) * 0.4
    _, arrays = _cells_of(coarse.json_text)
    assert (arrays["flags"] & 2).any()


def test_the_area_is_never_cut():
    made = plan()
    cut = page_cells(made, 500_000)
    table, arrays = _cells_of(cut.json_text)
    inside = (arrays["flags"][0] & table["in_area_bit"]) != 0
    assert inside.sum() * cut.grid.cell_m**2 >= made.cells.is_in_area.sum() * made.grid.cell_m**2
    for edge in (inside[0], inside[-1], inside[:, 0], inside[:, -1]):
        assert not edge.any()


def test_an_impossible_budget_is_an_error():
    with pytest.raises(InputError, match="however coarse"):
        page_cells(plan(), 5_000)


def test_the_sheet_says_what_was_coarsened(monkeypatch):
    monkeypatch.setattr(map_module, "LARGEST_FILE_BYTES", 1_000_000)
    text = "".join(Page(map_html(plan(25.0))).visible)
    assert "no data beyond 1 NM" in text
    assert "worst of the" in text


def test_a_file_that_stays_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(map_module, "LARGEST_FILE_BYTES", 740_000)
    monkeypatch.setattr(map_module, "_ROUND_CELLS_BYTES", -500_000)
    with pytest.raises(InputError, match="the map would take"):
        map_html(plan(25.0))


def test_altitudes_reach_from_the_ground_to_above_the_plan():
    lowest, highest = altitude_span_ft(plan())
    ground = plan().cells.terrain_amsl_ft[plan().cells.is_in_area]
    assert lowest <= ground[ground != UNKNOWN_FT].min()
    assert highest >= max(plan().project.planned_altitudes_amsl_ft) + 500
    assert lowest % 100 == highest % 100 == 0
    assert highest < UNREACHABLE_FT
