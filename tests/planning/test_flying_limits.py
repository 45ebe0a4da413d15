"""Wind limits, dual and solo, weather told, and rules that hold for aerobatic flight alone."""

import pytest

from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import Verdict
from areaplan.planning.project_file import read_project
from areaplan.render.text import plan_text
from areaplan.rules.asking import Flight
from tests.planning.builder import box, plain_country

POLICY = """\
id = "school"
title = "Orders"
authority = "Chief flight instructor"
"""
RULE = """
[[rule]]
id = "{id}"
title = "{id}"
kind = "{kind}"
severity = "{severity}"
applies_to = "{who}"
{keys}
document = "Orders"
section = "1"
edition = "1"
last_checked = 2026-11-25
quote = "Such are the orders of the school."
"""


def rule(name, kind, keys, severity="policy", who="both"):
    return RULE.format(id=name, kind=kind, keys=keys, severity=severity, who=who)


def plan_of(folder, *rules, wind="210/20 kt", flight="", planned='["2500 ft AMSL"]', **keys):
    folder.mkdir()
    (folder / "policy.toml").write_text(POLICY + "".join(rules), encoding="utf-8")
    path = plain_country(folder).project(
        rules='["us", "policy.toml"]', wind=wind, planned=planned, **keys
    )
    if flight:
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("[project]", f"[project]\nflight = {flight}", 1), "utf-8")
    return evaluate(read_project(path))


def found(plan, name):
    return [row for row in plan.findings if row.limit.rule == name]


@pytest.mark.parametrize(
    ("wind", "limit", "verdict"),
    [
        ("210/20 kt", "20 kt", Verdict.MET),  # "more than": exactly the limit is allowed
        ("210/20 kt", "19 kt", Verdict.NOT_MET),
        ("030/21 kt", "20 kt", Verdict.NOT_MET),
        ("calm", "1 kt", Verdict.MET),
        ("210/20 kt", "10.3 m/s", Verdict.MET),  # 20 kt are 10.289 m/s
        ("210/20 kt", "10.2 m/s", Verdict.NOT_MET),
    ],
)
def test_the_wind_is_judged_over_the_whole_area(tmp_path, wind, limit, verdict):
    plan = plan_of(tmp_path / "p", rule("w", "wind limit", f'wind = "{limit}"'), wind=wind)
    (finding,) = found(plan, "w")
    assert finding.verdict is verdict
    assert plan.verdict is verdict  # the ground itself is met at 2,500 ft
    assert finding.share_met == float(verdict is Verdict.MET)
    assert limit in finding.feature
    assert str(plan.project.wind) in finding.feature
    page = plan_text(plan)
    assert ("too much wind" in page) is (verdict is Verdict.NOT_MET)
    assert ("TOO MUCH WIND" in page) is (verdict is Verdict.NOT_MET)


def test_an_advisory_wind_cautions_only(tmp_path):
    keys = 'wind = "10 kt"'
    plan = plan_of(tmp_path / "p", rule("w", "wind limit", keys, severity="advisory"))
    assert found(plan, "w")[0].verdict is Verdict.NOT_MET
    assert plan.verdict is Verdict.MET
    assert "too much wind" not in plan_text(plan)
    assert plan.warnings[0].startswith("TOO MUCH WIND")


def test_a_wind_finding_stands_at_every_planned_altitude_and_first(tmp_path):
    plan = plan_of(
        tmp_path / "p",
        rule("w", "wind limit", 'wind = "10 kt"'),
        planned='["2500 ft AMSL", "3000 ft AMSL"]',
    )
    assert [row.altitude_amsl_ft for row in found(plan, "w")] == [2500, 3000]
    assert plan.findings[0].limit.rule == "w"


def test_dual_and_solo_have_their_own_heights_and_both_takes_the_higher(tmp_path):
    rules = [
        rule("low", "height above surface", 'where = ["anywhere"]\nheight = "700 ft"', who="dual"),
        rule("high", "height above surface", 'where = ["anywhere"]\nheight = "900 ft"', who="solo"),
    ]
    floors = {}
    for flight in ("", '"both"', '"dual"', '"solo"'):
        plan = plan_of(tmp_path / f"p{flight.strip(chr(34))}", *rules, flight=flight)
        inside = plan.cells.is_in_area
        floors[flight] = set(plan.cells.legal_floor_amsl_ft[inside].tolist())
        assert {limit.rule for limit in plan.limits} & {"low", "high"} == {
            *(["low"] if flight != '"solo"' else []),
            *(["high"] if flight != '"dual"' else []),
        }
    assert floors == {"": {1900}, '"both"': {1900}, '"dual"': {1700}, '"solo"': {1900}}


def test_another_word_for_who_flies_is_refused(tmp_path):
    path = plain_country(tmp_path).project()
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[project]", '[project]\nflight = "duel"', 1), encoding="utf-8")
    with pytest.raises(Exception, match='did you mean "dual"'):
        read_project(path)
    path.write_text(text, encoding="utf-8")
    assert read_project(path).flight is Flight.BOTH


def test_weather_and_briefing_are_told_never_judged(tmp_path):
    keys = 'visibility = "5 SM"\nceiling = "2,500 ft"'
    plan = plan_of(tmp_path / "p", rule("sky", "weather limit", keys, who="solo"))
    assert plan.verdict is Verdict.MET
    assert not found(plan, "sky")
    assert not found(plan, "us-91.307-c")
    told = " ".join(plan.warnings)
    assert "flight visibility 5 SM and ceiling 2,500 ft above the ground (rule sky" in told
    assert "us-91.307-c" in told
    assert "us-91.303-f" not in told  # aerobatic flight is not planned
    dual = plan_of(tmp_path / "q", rule("sky", "weather limit", keys, who="solo"), flight='"dual"')
    assert "sky" not in " ".join(dual.warnings)


@pytest.mark.parametrize("activities", ['["training"]', '["training", "aerobatic"]'])
def test_airspace_rules_for_aerobatic_flight_hold_for_it_alone(tmp_path, activities):
    """Rules of the Air Regulations 2015 (UK), rule 4(b), against class E, which training enters."""
    country = plain_country(tmp_path)
    country._sources = [text for text in country._sources if '"airspace"' not in text]
    volume = {"name": "E1", "class": "E", "lower": "SFC", "upper": "3500 ft AMSL"}
    country.features("airspace", [(box(-3000, -3000, 3000, 3000), volume)])
    country.none("airways")
    path = country.project(rules='["uk"]', planned='["2500 ft AMSL"]')
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('["training"]', activities), encoding="utf-8")
    plan = evaluate(read_project(path))
    assert plan.planned[0].legal_share == (0.0 if "aerobatic" in activities else 1.0)
    names = {row.limit.rule for row in plan.findings}
    assert ("uk-roa-4-b" in names) is ("aerobatic" in activities)
