"""A field in every direction as a rule: what binds, what is safe, what the findings say."""

import numpy as np
import pytest

from areaplan.planning.choice import GLIDE_LIMIT
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import (
    UNKNOWN_FT,
    UNREACHABLE_FT,
    WHATEVER_THE_HEADING,
    CellClass,
    Names,
    Verdict,
)
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.render.as_json import point_as_json
from areaplan.render.text import plan_text, point_text
from tests.planning.builder import FRAME, Country, box, lonlat

POLICY = """\
id = "school"
title = "School policy"
authority = "Chief flight instructor"

[[rule]]
id = "all-round"
title = "A field all round"
kind = "field in every direction"
severity = "{severity}"
sectors = {sectors}
{fields}
document = "Manual"
section = "3"
edition = "1"
last_checked = 2026-11-25
quote = "Twelve directions have a field each."
"""
PLANNED = '["2800 ft AMSL", "3500 ft AMSL"]'
SECTORS = 7  # of twelve, in the rule that most tests look at
# West, east and north of the area, and nothing to the south.
FIELDS = {
    "West": (-3600, -800, -2800, 800),
    "East": (2800, -800, 3600, 800),
    "North": (-800, 2600, 800, 3400),
}


def country(folder):
    made = Country(folder).terrain()
    rows = [(box(*edges), {"name": name}) for name, edges in FIELDS.items()]
    made.features("fields", rows)
    return made.none(
        "obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive"
    )


def plan_with(folder, sectors=None, fields=None, severity="policy", wind="240/12 kt"):
    folder.mkdir(exist_ok=True)
    rules = '["us"]'
    if sectors is not None:
        asked = "" if fields is None else f"separate_fields = {fields}"
        text = POLICY.format(severity=severity, sectors=sectors, fields=asked)
        (folder / "policy.toml").write_text(text, encoding="utf-8")
        rules = '["us", "policy.toml"]'
    path = country(folder).project(
        planned=PLANNED,
        rules=rules,
        wind=wind,
        cell="100 m",
        around="2.5 NM",
    )
    return evaluate(read_project(path))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("choice")


@pytest.fixture(scope="module")
def without(folder):
    return plan_with(folder / "without")


@pytest.fixture(scope="module")
def strict(folder):
    return plan_with(folder / "strict", SECTORS, fields=2)


def needed_ft(cells, sectors, fields):
    """From the sectors in feet, one cell at a time."""
    shape = cells.field.shape
    answer = np.full(shape, UNREACHABLE_FT)
    for row, col in np.ndindex(shape):
        here = cells.sector_amsl_ft[:, row, col].tolist()
        names = cells.sector_field[:, row, col].tolist()
        for altitude in sorted(set(here) - {UNKNOWN_FT, UNREACHABLE_FT}):
            reached = [n for h, n in zip(here, names, strict=True) if UNKNOWN_FT < h <= altitude]
            if len(reached) >= sectors and len(set(reached)) >= fields:
                answer[row, col] = altitude
                break
    return answer


@pytest.mark.parametrize(("sectors", "fields"), [(9, 2), (12, 1), (4, 3)])
def test_required_is_the_higher_of_the_glide_and_the_rule(folder, without, sectors, fields):
    plan = plan_with(folder / f"{sectors}-{fields}", sectors, fields if fields > 1 else None)
    asked = needed_ft(plan.cells, sectors, fields)
    base = without.cells.glide_required_amsl_ft.astype(int)
    is_known = plan.cells.glide_required_amsl_ft != UNKNOWN_FT
    assert is_known[plan.cells.is_in_area].all()
    np.testing.assert_array_equal(
        plan.cells.glide_required_amsl_ft[is_known], np.maximum(base, asked)[is_known]
    )
    assert (asked > base)[is_known].any(), "the rule binds somewhere"
    np.testing.assert_array_equal(plan.cells.sector_amsl_ft, without.cells.sector_amsl_ft)


def test_what_binds_is_named(strict, without):
    cells, base = strict.cells, without.cells.glide_required_amsl_ft.astype(int)
    seen = set()
    for row, col in np.ndindex(base.shape):
        required, index = int(cells.glide_required_amsl_ft[row, col]), cells.glide_binder[row, col]
        if required == UNKNOWN_FT:
            assert index == -1
            continue
        binder = strict.binders[index]
        if required > base[row, col]:
            assert binder.limit.rule == "all-round"
            seen.add(binder.feature)
            if required == UNREACHABLE_FT:
                continue
            kind, *rest = binder.feature.split()
            if kind == "direction":
                sector = int(rest[0]) // 30
                assert cells.sector_amsl_ft[sector, row, col] == required
            else:
                names = [strict.fields[i].name for i in cells.sector_field[:, row, col] if i >= 0]
                assert binder.feature in names
        elif binder.feature == WHATEVER_THE_HEADING:
            assert binder.limit.rule.startswith("us-91.119-a")
    assert any(name.startswith("direction") for name in seen)


def places(count, seed):
    generator = np.random.default_rng(seed)
    x_m, y_m = generator.uniform(-3000, 3000, (2, count))
    lon, lat = FRAME.to_lonlat(x_m, y_m)
    return [(float(a), float(b)) for a, b in zip(lat, lon, strict=True)]


def test_a_point_is_safe_exactly_from_where_the_rule_holds(strict):
    told = 0
    for lat, lon in places(60, 1):
        answer = answer_point(strict, lat, lon, 3500)
        required = answer.glide_required_amsl_ft
        if required is None:
            continue
        at, below = (answer_point(strict, lat, lon, required - less) for less in (0, 1))
        assert at.sectors_with_field >= SECTORS
        assert at.separate_fields >= 2
        assert at.cell_class in (CellClass.LEGAL_WITH_FIELD, CellClass.FIELD_NOT_LEGAL)
        assert below.cell_class in (CellClass.LEGAL_NO_FIELD, CellClass.NEITHER)
        if answer.glide_bound_by.limit.rule == "all-round":
            assert below.sectors_with_field < SECTORS or below.separate_fields < 2
            told += 1
            assert "for the choice of fields (all-round, A field all round:" in " ".join(
                point_text(answer, strict).split()
            )
            assert point_as_json(answer)["glide_bound_by"] == {
                "rule": "all-round",
                "feature": answer.glide_bound_by.feature,
            }
    assert told > 5


def test_both_numbers_only_grow_with_altitude_and_are_told_as_at_least(without):
    for lat, lon in places(20, 2):
        rows = [answer_point(without, lat, lon, feet) for feet in range(1000, 9000, 250)]
        for name in ("sectors_with_field", "separate_fields"):
            values = [getattr(row, name) for row in rows]
            assert values == sorted(values)
        assert all(row.separate_fields <= min(3, row.sectors_with_field) for row in rows)
        assert "to at least" in point_text(rows[-1], without)


def test_the_glide_names_itself_without_such_a_rule(without):
    lon, lat = lonlat(0, 0)
    bound = answer_point(without, lat, lon, 3000).glide_bound_by
    assert (bound.limit.rule, bound.feature) == ("us-91.119-a", WHATEVER_THE_HEADING)
    assert "for the choice of fields" not in point_text(
        answer_point(without, lat, lon, 3000), without
    )
    assert answer_point(without, 60.0, 20.0, 3000).glide_bound_by is None


def test_findings_list_the_rule_with_margin_place_and_share(strict):
    found = {row.altitude_amsl_ft: row for row in strict.findings if row.limit.rule == "all-round"}
    assert {row.names for row in found.values()} == {Names.NEXT_CHOICE}
    assert set(found) == {2800, 3500}
    for altitude, finding in found.items():
        asked = needed_ft(strict.cells, SECTORS, 2)[strict.cells.is_in_area]
        assert finding.share_met == (asked <= altitude).mean()
        assert finding.margin_ft == pytest.approx(altitude - asked.max(), abs=1)
        here = answer_point(strict, finding.lat, finding.lon, altitude)
        row, col = strict.grid.cell_of(*map(float, FRAME.to_local(finding.lon, finding.lat)))
        assert needed_ft(strict.cells, SECTORS, 2)[row, col] == asked.max()
        is_met = here.sectors_with_field >= SECTORS and here.separate_fields >= 2
        assert (finding.verdict is Verdict.MET) is is_met
        assert finding.feature.startswith("direction") or finding.feature in FIELDS
        assert finding.sources
    assert {row.verdict for row in found.values()} == {Verdict.MET, Verdict.NOT_MET}
    assert "Twelve directions have a field each." in plan_text(strict)


def test_block_and_verdict_follow_the_rule(strict, without):
    assert without.verdict is Verdict.MET
    assert strict.verdict is Verdict.NOT_MET
    highest = int(strict.cells.glide_required_amsl_ft[strict.cells.is_in_area].max())
    assert strict.block.floor_amsl_ft == highest > without.block.floor_amsl_ft


def test_what_no_altitude_gives_is_never_safe(folder):
    """Three fields are drawn: nobody reaches five."""
    plan = plan_with(folder / "five", 1, 5)
    assert (plan.cells.glide_required_amsl_ft[plan.cells.is_in_area] == UNREACHABLE_FT).all()
    assert plan.block is None
    lon, lat = lonlat(0, 0)
    answer = answer_point(plan, lat, lon, 6000)
    assert answer.glide_bound_by.feature == "the directions lead to too few fields"
    assert "no altitude is enough (all-round" in point_text(answer, plan)
    finding = next(row for row in plan.findings if row.limit.rule == "all-round")
    assert (finding.verdict, finding.margin_ft, finding.share_met) == (Verdict.NOT_MET, None, 0.0)


def test_an_advisory_cautions_and_does_not_bind(folder, without):
    plan = plan_with(folder / "advice", 12, 3, severity="advisory")
    np.testing.assert_array_equal(
        plan.cells.glide_required_amsl_ft, without.cells.glide_required_amsl_ft
    )
    assert any(row.limit.rule == "all-round" for row in plan.findings)


def test_our_own_criterion_is_named_where_no_rule_asks(folder):
    text = POLICY.format(severity="policy", sectors=12, fields="")
    place = folder / "own"
    place.mkdir()
    (place / "policy.toml").write_text(text, encoding="utf-8")
    path = country(place).project(rules='["policy.toml"]', cell="100 m")
    plan = evaluate(read_project(path))
    rules = {binder.limit.rule for binder in plan.binders}
    assert {GLIDE_LIMIT.rule, "all-round"} <= rules
    assert {row.limit.rule for row in plan.findings} == {GLIDE_LIMIT.rule, "all-round"}
