"""Two plans compared: who is who, by how many feet and where, and what matters.

Every comparison here is made twice, as judged and from saved files, and must say the same.
"""

import re
import tempfile
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from attrs import evolve

from areaplan.planning.changes import compare_results
from areaplan.planning.changes_things import Change
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, CellClass, Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.result import result_of
from areaplan.planning.result_file import read_result
from areaplan.render.changes_json import changes_as_json
from areaplan.render.changes_paper import changes_document
from areaplan.render.result_writing import write_result
from areaplan.units import FOOT_M
from tests.planning.builder import FRAME, Country, box, point

MAST_AGL_FT = 300
FINE_GRID = {"cell": "100 m", "around": "1.5 NM"}
PLANNED = '["2600 ft AMSL", "3200 ft AMSL"]'


def mast(x_m, y_m, name="M-1", agl_ft=MAST_AGL_FT):
    properties = {
        "name": name,
        "type": "TOWER",
        "top_agl_ft": agl_ft,
        "horizontal_accuracy_ft": 20,
        "vertical_accuracy_ft": 3,
    }
    return point(x_m, y_m), properties


ONE_MAST = (mast(0, 0),)


def plan_of(folder, masts=ONE_MAST, fields=None, terrain=None, zones=None, **project):
    """A town over the whole area, so that every mast counts (14 CFR 91.119(b))."""
    folder.mkdir(exist_ok=True)
    country = Country(folder).terrain(terrain, half_m=6000.0)
    country.features("obstacles", list(masts))
    rows = fields or [(box(-5000, -5000, 5000, 5000), {"name": "The plain"})]
    country.features("fields", rows)
    town = [(box(-1500, -1500, 1500, 1500), {"name": "Town", "reason": "drawn"})]
    country.features("congested", town if zones is None else zones)
    country.none("structures", "airspace", "assemblies", "noise-sensitive")
    values = {"planned": PLANNED} | FINE_GRID | project
    return evaluate(read_project(country.project(**values)))


def saved(result):
    """The same result after a way through a file, told apart by nothing but that file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "result.zip"
        write_result(result, path)
        return evolve(read_result(path), saved=None)


def compare_plans(old, new):
    before, after = result_of(old), result_of(new)
    found = compare_results(before, after)
    for one in (
        compare_results(saved(before), saved(after)),
        compare_results(saved(before), after),
    ):
        assert changes_as_json(one) == changes_as_json(found)
        assert changes_document(one) == changes_document(found)
        assert np.array_equal(one.is_risen, found.is_risen)
        assert one.is_same is found.is_same
    return found


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    return plan_of(tmp_path_factory.mktemp("changes") / "base")


def test_a_plan_is_the_same_as_itself(base):
    same = compare_plans(base, base)
    assert same.verdict is Verdict.MET
    for found in (same.things, same.rules, same.settings, same.sources, same.findings):
        assert found == ()
    assert all(row.greatest_rise is None and row.greatest_fall is None for row in same.surfaces)
    assert not same.is_risen.any()
    assert same.overlay.is_same_grid
    assert (same.overlay.new_area_share, same.overlay.old_area_share) == (1.0, 1.0)
    assert same.is_same
    assert same.notes == ("Nothing changed.",)


def test_a_taller_mast_raises_the_floor_by_as_much(base, tmp_path):
    """14 CFR 91.119(b): 1,000 ft above the highest obstacle within 2,000 ft of the aircraft."""
    taller = plan_of(tmp_path / "new", [mast(0, 0, agl_ft=MAST_AGL_FT + 120)])
    found = compare_plans(base, taller)
    assert not found.is_same
    assert found.notes == ()
    (thing,) = found.things
    assert (thing.kind, thing.name, thing.change) == ("obstacles", "M-1", Change.CHANGED)
    assert (thing.taller_ft, thing.moved_m, thing.words) == (120, None, ())
    floor = found.surfaces[0]
    assert floor.greatest_rise.by_ft == 120
    assert "91.119-b" in floor.greatest_rise.binder.limit.rule
    assert floor.greatest_fall is None
    x_m, y_m = FRAME.to_local(floor.greatest_rise.lon, floor.greatest_rise.lat)
    # 2,000 ft, the obstacle's 20 ft and the half diagonal of a cell.
    assert np.hypot(x_m, y_m) <= 2_020 * FOOT_M + 71.0
    margins = {
        (row.told.limit.rule, row.told.altitude_amsl_ft): row.gained_ft for row in found.findings
    }
    assert margins["us-91.119-b", 2600] == -120
    assert found.verdict is Verdict.MET  # 2,600 ft is still 1,000 ft above the mast's 1,420


def test_one_that_closes_planned_ground_is_worse(base, tmp_path):
    taller = plan_of(tmp_path / "new", [mast(0, 0, agl_ft=MAST_AGL_FT + 500)])
    found = compare_plans(base, taller)
    assert found.verdict is Verdict.NOT_MET
    low, high = found.classes
    assert low.lost_share > 0.0
    assert high.lost_share == 0.0
    x_m, y_m = FRAME.to_local(low.lon, low.lat)
    assert np.hypot(x_m, y_m) < 500.0  # deepest in the lost disc: near the mast
    assert any("91.119-b" in words and "MET" in words for words in found.worse)
    back = compare_plans(taller, base)
    assert back.verdict is Verdict.MET
    assert back.classes[0].gained_share == low.lost_share
    assert back.surfaces[0].greatest_fall.by_ft == -500
    assert back.surfaces[0].greatest_fall.binder.limit.rule == "us-91.119-b"
    assert [row.taller_ft for row in back.things] == [-500]


def test_shares_are_those_of_a_plain_count(base, tmp_path):
    """An oracle: every cell of the area, one after the other."""
    fields = [(box(-5000, -5000, 0, 5000), {"name": "The west"})]
    new = plan_of(tmp_path / "new", [mast(0, 0, agl_ft=900), mast(600, 600, "M-2")], fields)
    found = compare_plans(base, new)
    good = CellClass.LEGAL_WITH_FIELD
    for row in found.classes:
        before = base.cells.classes(row.altitude_amsl_ft)
        after = new.cells.classes(row.altitude_amsl_ft)
        lost = total = 0
        for r, c in zip(*np.nonzero(new.cells.is_in_area), strict=True):
            total += 1
            lost += int(before[r, c] == good and after[r, c] not in (good, CellClass.UNKNOWN))
        assert row.lost_share == lost / total
    for surface, name in zip(
        found.surfaces, ("legal_floor_amsl_ft", "glide_required_amsl_ft"), strict=True
    ):
        rises = []
        for r, c in zip(*np.nonzero(new.cells.is_in_area), strict=True):
            pair = [int(getattr(plan.cells, name)[r, c]) for plan in (base, new)]
            if UNKNOWN_FT not in pair and UNREACHABLE_FT not in pair:
                rises.append(pair[1] - pair[0])
        assert surface.greatest_rise.by_ft == max(rises)
        assert surface.risen_share == sum(rise > 0 for rise in rises) / total


def hole(x_m, y_m):
    """Ground unknown in the north-east corner of the area."""
    return np.where((x_m > 700.0) & (y_m > 700.0), np.nan, 1000 * FOOT_M)


WEST = ((box(-5000, -5000, 300, 5000), {"name": "The west"}),)


@pytest.fixture(scope="module")
def west(tmp_path_factory):
    return plan_of(tmp_path_factory.mktemp("changes") / "west", fields=list(WEST))


def test_unknown_now_is_unknown_not_worse(west, tmp_path):
    found = compare_plans(west, plan_of(tmp_path / "new", fields=list(WEST), terrain=hole))
    assert found.worse == ()
    assert found.verdict is Verdict.UNKNOWN
    assert any("was known" in words for words in found.unknown)
    assert all(row.newly_unknown_share > 0.0 and row.lost_share == 0.0 for row in found.classes)
    assert found.surfaces[0].newly_unknown_share > 0.0


def test_worse_goes_before_unknown(west, tmp_path):
    masts = [mast(-500, -500, agl_ft=900)]
    new = plan_of(tmp_path / "new", masts, fields=list(WEST), terrain=hole)
    found = compare_plans(west, new)
    assert found.verdict is Verdict.NOT_MET
    assert found.unknown


def things(tmp_path, before, after):
    old = plan_of(tmp_path / "old", before)
    new = plan_of(tmp_path / "new", after)
    return {row.name: row for row in compare_plans(old, new).things}


def test_who_is_who_among_obstacles(tmp_path):
    before = [
        mast(0, 0, "stays"),
        mast(100, 0, "goes"),
        mast(0, 300, "walks"),
        mast(0, -500, "old name"),
        mast(700, 700, "old file number"),
    ]
    after = [
        mast(0, -500, "new name"),
        mast(0, 0, "stays"),
        mast(40, 330, "walks"),
        mast(712, 709, "new file number"),
        mast(-900, 0, "comes"),
    ]
    found = things(tmp_path, before, after)
    assert set(found) == {"goes", "comes", "walks", "new name", "new file number"}
    assert found["goes"].change is Change.REMOVED
    assert found["comes"].change is Change.ADDED
    assert found["walks"].moved_m == pytest.approx(50, abs=1)  # 3, 4, 5
    assert found["new name"].words == ("name: old name -> new name",)
    assert found["new name"].moved_m is None
    assert found["new file number"].moved_m == pytest.approx(15, abs=1)  # 9, 12, 15


def test_names_that_repeat_go_to_the_nearest(tmp_path):
    before = [mast(0, 0, "twin"), mast(800, 0, "twin")]
    after = [mast(803, 4, "twin"), mast(0, 0, "twin")]
    old, new = plan_of(tmp_path / "old", before), plan_of(tmp_path / "new", after)
    (changed,) = compare_plans(old, new).things
    assert changed.moved_m == 5


def test_a_field_that_counts_no_more(tmp_path):
    """Hemmed in: the same polygon, and something now stands in it."""
    small = [
        (box(-300, -55, 300, 55), {"name": "Small"}),
        (box(-5000, 500, 5000, 5000), {"name": "Big"}),
    ]
    before = plan_of(tmp_path / "old", [mast(4000, 0)], small, cell="50 m")
    masts = [mast(4000, 0), mast(0, 0, "M-2", 60)]
    after = plan_of(tmp_path / "new", masts, small, cell="50 m")
    found = {row.name: row for row in compare_plans(before, after).things}
    assert found["Small"].words == ("counts: yes -> no",)


def test_other_rules_and_settings(base, tmp_path):
    policy = """\
id = "test-policy"
title = "Test policy"
authority = "Test school"

[[rule]]
id = "test-wind"
title = "Greatest wind"
kind = "wind limit"
severity = "policy"
wind = "{} kt"
document = "Flying orders"
section = "1"
edition = "1"
last_checked = {}
quote = "No lesson in more wind than the table says."
"""
    plans = []
    for name, limit, day in (("old", 25, "2026-01-01"), ("new", 20, "2026-11-01")):
        folder = tmp_path / name
        folder.mkdir()
        (folder / "policy.toml").write_text(policy.format(limit, day), encoding="utf-8")
        plans.append(plan_of(folder, rules='["us", "policy.toml"]', wind=f"{limit - 4}0/22 kt"))
    found = compare_plans(*plans)
    (rule,) = found.rules
    assert (rule.rule, rule.change) == ("test-wind", Change.CHANGED)
    assert rule.words == ("wind: 25 kt -> 20 kt",)
    assert found.verdict is Verdict.NOT_MET
    assert any("test-wind" in words and "was MET" in words for words in found.worse)
    assert any(words.startswith("wind: 210/22 kt -> 160/22 kt") for words in found.settings)
    gone = compare_plans(plans[0], base)
    assert [(row.rule, row.change) for row in gone.rules] == [("test-wind", Change.REMOVED)]
    come = compare_plans(base, plans[1])
    assert [(row.rule, row.change) for row in come.rules] == [("test-wind", Change.ADDED)]
    assert any("for the first time" in words for words in come.worse)


def test_files_and_editions_are_told(base, tmp_path):
    found = compare_plans(base, plan_of(tmp_path / "new", [mast(0, 0), mast(9, 9, "M-2")]))
    (source,) = found.sources
    assert (source.kind, source.change) == ("obstacles", Change.CHANGED)
    assert "another file" in source.words
    assert any(re.search(r"1 of 1 .*-> 2 of 2", words) for words in source.words)


def test_areas_that_differ_are_compared_where_they_overlap(base, tmp_path):
    wider = plan_of(tmp_path / "new", half_m=1500.0)
    found = compare_plans(base, wider)
    assert not found.overlay.is_same_grid
    assert found.overlay.new_area_share == pytest.approx(1000**2 / 1500**2, abs=0.08)
    assert found.overlay.old_area_share == pytest.approx(1.0)
    narrower = compare_plans(wider, base)
    assert narrower.overlay.new_area_share == pytest.approx(1.0)
    assert narrower.overlay.old_area_share < 0.55


def test_areas_with_nothing_in_common(base):
    elsewhere = evolve(base, frame=evolve(base.frame, lat=base.frame.lat + 5.0))
    found = compare_plans(base, elsewhere)
    assert found.overlay.new_area_share == 0.0
    assert found.verdict is Verdict.UNKNOWN
    assert any("no ground in common" in words for words in found.unknown)


def test_an_altitude_planned_in_one_only(base, tmp_path):
    found = compare_plans(base, plan_of(tmp_path / "new", planned='["3200 ft AMSL"]'))
    assert [row.altitude_amsl_ft for row in found.classes] == [2600, 3200]
    assert {row.told.altitude_amsl_ft for row in found.findings} == {2600}
    assert all(row.after is None and not row.is_worse for row in found.findings)
    assert found.verdict is Verdict.MET


def test_a_day_is_no_setting(base):
    later = evolve(base, project=evolve(base.project, day=date(2027, 1, 1)))
    assert compare_plans(base, later).settings == ()


def test_a_setting_that_differs_by_less_than_its_words_is_said_to(base):
    other = evolve(base, project=evolve(base.project, cell_m=base.project.cell_m + 1e-7))
    (said,) = compare_plans(base, other).settings
    assert said.endswith("(the difference is smaller than what is written here)")
