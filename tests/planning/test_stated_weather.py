"""Weather that a project states: judged by every row and rule, cautiously, or told as needed."""

import json

import pytest

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.manoeuvres import answer_manoeuvres, overall
from areaplan.planning.plan import Verdict
from areaplan.planning.project_file import read_project
from areaplan.render.as_json import plan_as_json
from areaplan.render.manoeuvres import manoeuvres_as_json, manoeuvres_text
from areaplan.render.map_sheet import sheet_html
from areaplan.render.text import plan_text
from areaplan.rules.loading import load_rule_sets
from tests.cli.running import run
from tests.planning.builder import box, plain_country
from tests.planning.test_flying_limits import POLICY, rule

GROUND_FT = 1000  # of the plain country
NOTE = rule("note", "for the briefing", "")  # a policy file holds one rule at least
EVERYWHERE = box(-9000, -9000, 9000, 9000)


def country(folder, weather, *, letter="E", rules=NOTE, sets='["us", "policy.toml"]', hill=0.0):
    """A flat country (or one that slopes by `hill`) in one class from the ground up."""
    folder.mkdir(exist_ok=True)
    (folder / "policy.toml").write_text(POLICY + rules, encoding="utf-8")
    land = plain_country(folder)
    land._sources = [text for text in land._sources if '"airspace"' not in text]
    if hill:
        land._sources = [text for text in land._sources if '"terrain"' not in text]
        land.terrain(lambda x_m, _: GROUND_FT * 0.3048 + hill * x_m)
    if letter:
        volume = {"name": "V", "class": letter, "lower": "SFC", "upper": "9000 ft AMSL"}
        land.features("airspace", [(EVERYWHERE, volume)])
    else:
        land.none("airspace")
    land.more(weather)
    return land.project(rules=sets, planned='["2500 ft AMSL"]')


def stated(visibility, ceiling):
    return f'[weather]\nvisibility = "{visibility}"\nceiling = "{ceiling}"\nsource = "forecast"\n'


def plan_of(folder, weather, **more):
    return evaluate(read_project(country(folder, weather, **more)))


def found(plan, name):
    return [row for row in plan.findings if row.limit.rule == name]


@pytest.mark.parametrize(
    ("visibility", "ceiling", "verdict"),
    [
        # 14 CFR 91.155(a), class E below 10,000 ft: 3 SM and 500 ft below cloud; flown at 2,500 ft.
        ("3 SM", "3000 ft AMSL", Verdict.MET),
        ("3 SM", "2999 ft AMSL", Verdict.NOT_MET),
        ("3 SM", "2000 ft AGL", Verdict.MET),  # on ground at 1,000 ft
        ("3 SM", "1999 ft AGL", Verdict.NOT_MET),
        ("4828 m", "none", Verdict.NOT_MET),  # 3 SM are 4,828.032 m
        ("4829 m", "none", Verdict.MET),
    ],
)
def test_the_minima_of_the_law(tmp_path, visibility, ceiling, verdict):
    plan = plan_of(tmp_path / "p", stated(visibility, ceiling))
    (finding,) = found(plan, "us-91.155-e-low")
    assert finding.verdict is verdict
    assert finding.share_met == float(verdict is Verdict.MET)
    assert plan.verdict is verdict  # the ground itself is met at 2,500 ft
    page = plan_text(plan)
    assert ("weather below limits" in page) is (verdict is Verdict.NOT_MET)
    assert ("WEATHER BELOW LIMITS" in page) is (verdict is Verdict.NOT_MET)
    assert f"visibility {visibility}, ceiling {ceiling} (forecast)" in page
    assert "no altitude is enough" not in page
    assert "weather is not judged" not in page


def test_clear_of_cloud_is_below_the_base_not_at_it(tmp_path):
    """14 CFR 91.155(a), class B: 3 SM, clear of clouds."""
    for ceiling, verdict in (("2500 ft AMSL", Verdict.NOT_MET), ("2501 ft AMSL", Verdict.MET)):
        plan = plan_of(tmp_path / ceiling[:4], stated("3 SM", ceiling), letter="B")
        assert found(plan, "us-91.155-b")[0].verdict is verdict


def test_a_school_asks_for_a_ceiling_above_the_highest_ground_and_none_is_too_high(tmp_path):
    """Ground that slopes by 100 m over the area: the base is taken over its lowest ground."""
    sky = rule("sky", "weather limit", 'visibility = "5 SM"\nceiling = "2,000 ft"')
    flat = plan_of(tmp_path / "flat", stated("10 km", "2000 ft AGL"), rules=sky)
    assert found(flat, "sky")[0].verdict is Verdict.MET
    hill = plan_of(tmp_path / "hill", stated("10 km", "2000 ft AGL"), rules=sky, hill=0.05)
    (finding,) = found(hill, "sky")
    assert finding.verdict is Verdict.NOT_MET
    assert "over the lowest ground" in finding.feature
    assert "over the highest ground" in finding.feature
    high = plan_of(tmp_path / "high", stated("10 km", "3400 ft AMSL"), rules=sky, hill=0.05)
    assert found(high, "sky")[0].verdict is Verdict.MET


def test_an_advisory_cautions_only(tmp_path):
    sky = rule("sky", "weather limit", 'visibility = "20 SM"', severity="advisory")
    plan = plan_of(tmp_path / "p", stated("10 km", "none"), rules=sky)
    assert found(plan, "sky")[0].verdict is Verdict.NOT_MET
    assert plan.verdict is Verdict.MET
    assert any(text.startswith("WEATHER BELOW LIMITS") for text in plan.warnings)


def test_where_no_class_is_published_a_failure_of_some_classes_is_unknown(tmp_path):
    """2 SM: enough in class G low down (1 SM), too little in every other."""
    plan = plan_of(tmp_path / "p", stated("2 SM", "none"), letter="")
    verdicts = {row.limit.rule: row.verdict for row in plan.findings if row.lat is None}
    assert verdicts["us-91.155-e-low"] is Verdict.UNKNOWN
    assert plan.verdict is Verdict.UNKNOWN
    assert "weather UNKNOWN" in plan_text(plan)
    fog = plan_of(tmp_path / "q", stated("0.5 SM", "none"), letter="")
    assert fog.verdict is Verdict.NOT_MET  # too little in every class
    fine = plan_of(tmp_path / "r", stated("5 SM", "none"), letter="")
    assert fine.verdict is Verdict.MET


def test_without_a_table_of_the_law_the_weather_is_unknown_never_met(tmp_path):
    plan = plan_of(tmp_path / "p", stated("50 km", "none"), sets='["policy.toml"]')
    (finding,) = found(plan, "visual-minima-unknown")
    assert finding.verdict is Verdict.UNKNOWN
    assert plan.verdict is Verdict.UNKNOWN


@pytest.mark.parametrize("sets", ["canada", "us", "australia"])
def test_a_class_that_no_table_lists_is_unknown_never_met(tmp_path, sets):
    """These tables have no row for class F: other classes' rows say nothing about it."""
    names = f'["{sets}", "policy.toml"]'
    plan = plan_of(tmp_path / "p", stated("50 km", "none"), letter="F", sets=names)
    (finding,) = found(plan, "visual-minima-unknown")
    assert finding.verdict is Verdict.UNKNOWN
    assert finding.limit.title.endswith("of class F")
    assert plan.verdict is Verdict.UNKNOWN


def test_manoeuvres_name_the_class_that_no_table_lists(tmp_path):
    sky = rule("sky", "weather limit", 'visibility = "5 SM"')
    names = '["australia", "policy.toml"]'
    told = plan_of(tmp_path / "q", "", letter="F", sets=names, rules=sky)
    (stall,) = answer_manoeuvres(told, ["power-on-stall"])
    page = " ".join(manoeuvres_text(told, [stall], stall.verdict).split())
    assert "the law's own minima of class F are in no set: read them" in page


@pytest.mark.parametrize(
    ("sets", "letter", "weather", "verdict"),
    [
        # Flown at 2,500 ft over ground at 1,000 ft. The figures are from memory, as the sets say.
        # Canada, 602.115: 1 mile and 500 ft in class G from 1,000 ft up; 602.114: 3 miles.
        ("canada", "G", ("1 SM", "3000 ft AMSL"), Verdict.MET),
        ("canada", "G", ("1 SM", "2999 ft AMSL"), Verdict.NOT_MET),
        ("canada", "E", ("2 SM", "none"), Verdict.NOT_MET),
        ("canada", "E", ("3 SM", "3000 ft AMSL"), Verdict.MET),
        # Australia: clear of cloud in class G at or below 3,000 ft; 1,000 ft below it in class C.
        ("australia", "G", ("5 km", "2501 ft AMSL"), Verdict.MET),
        ("australia", "G", ("4900 m", "none"), Verdict.NOT_MET),
        ("australia", "C", ("5 km", "3499 ft AMSL"), Verdict.NOT_MET),
        ("australia", "D", ("5 km", "3000 ft AMSL"), Verdict.MET),
        # New Zealand, 91.301: the same low down, 1,000 ft from cloud in controlled airspace.
        ("new-zealand", "G", ("5 km", "2501 ft AMSL"), Verdict.MET),
        ("new-zealand", "E", ("5 km", "3499 ft AMSL"), Verdict.NOT_MET),
        ("new-zealand", "D", ("5 km", "3500 ft AMSL"), Verdict.MET),
    ],
)
def test_minima_of_other_countries(tmp_path, sets, letter, weather, verdict):
    names = f'["{sets}", "policy.toml"]'
    plan = plan_of(tmp_path / "p", stated(*weather), letter=letter, sets=names)
    rows = {row.id: row for one in load_rule_sets((sets,), (None,)) for row in one.weather}
    judged = [row for row in plan.findings if row.limit.rule in rows]
    assert judged
    assert all(row.limit.confirm for row in judged)
    verdicts = {row.verdict for row in judged}
    assert (Verdict.NOT_MET in verdicts) is (verdict is Verdict.NOT_MET)
    assert not found(plan, "visual-minima-unknown")


def test_unstated_weather_is_told_and_changes_nothing(tmp_path):
    sky = rule("sky", "weather limit", 'visibility = "5 SM"')
    plan = plan_of(tmp_path / "p", "", rules=sky)
    assert plan.verdict is Verdict.MET
    assert not [row for row in plan.findings if row.lat is None]
    assert any("weather is not judged" in text for text in plan.warnings)
    assert plan_as_json(plan)["weather"] is None
    assert all(not one.weather_judged for one in answer_manoeuvres(plan))


def test_manoeuvres_are_judged_by_the_same_weather_at_their_own_height(tmp_path):
    """The base that a manoeuvre needs is its highest point and 500 ft (14 CFR 91.155(a))."""
    plan = plan_of(tmp_path / "p", stated("10 km", "3000 ft AGL"))
    stall, spiral = answer_manoeuvres(plan, ["power-on-stall", "steep-spiral"])
    assert stall.verdict is spiral.verdict is Verdict.MET  # both fit over the ground
    assert stall.weather_verdict is Verdict.MET
    assert stall.weather.cloud_base_amsl_ft == stall.entry_amsl_ft + 300 + 500
    assert spiral.entry_amsl_ft + 500 > 4000
    assert spiral.weather_verdict is Verdict.NOT_MET
    assert overall([stall]) is Verdict.MET
    assert overall([stall, spiral]) is Verdict.NOT_MET
    page = manoeuvres_text(plan, [stall, spiral], overall([stall, spiral]))
    assert "with weather: visibility 10 km, ceiling 3000 ft AGL (forecast)" in page
    assert page.count("The stated weather there: MET") == 1
    assert page.count("The stated weather there: NOT MET") == 1
    told = manoeuvres_as_json(plan, [stall, spiral], overall([stall, spiral]))
    assert [row["weather_verdict"] for row in told["manoeuvres"]] == ["MET", "NOT_MET"]
    assert json.loads(json.dumps(told, allow_nan=False)) == told


def test_the_map_and_the_json_carry_it(tmp_path):
    plan = plan_of(tmp_path / "p", stated("2 SM", "none"))
    told = plan_as_json(plan)
    assert told["weather"] == {"visibility": "2 SM", "ceiling": "none", "source": "forecast"}
    (row,) = [row for row in told["findings"] if row["rule"] == "us-91.155-e-low"]
    assert (row["verdict"], row["severity"]) == ("NOT_MET", "law")
    html = sheet_html(plan, [])
    assert "visibility 2 SM, ceiling none" in html
    assert "weather below limits" in html


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ('visibility = "10 km"\nsource = "x"', "weather.ceiling", "not given"),
        ('ceiling = "none"\nsource = "x"', "weather.visibility", "not given"),
        ('visibility = "10 km"\nceiling = "none"', "weather.source", "not given"),
        ('visibility = 10\nceiling = "none"\nsource = "x"', "weather.visibility", "10"),
        ('visibility = "10 m"\nceiling = "none"\nsource = "x"', "weather.visibility", "10 m"),
        ('visibility = "9 km"\nceiling = "3000 ft"\nsource = "x"', "weather.ceiling", "3000 ft"),
        ('visibility = "9 km"\nceiling = "FL 30"\nsource = "x"', "weather.ceiling", "FL 30"),
        ('visibility = "9 km"\nceiling = "SFC"\nsource = "x"', "weather.ceiling", "SFC"),
        ('visibility = "9 km"\nceiling = "0 ft AGL"\nsource = "x"', "weather.ceiling", "0 ft"),
        ('visibility = "9 km"\nceiling = "none"\nsource = "x"\ncloud = 1', "weather.cloud", "unk"),
    ],
)
def test_half_or_faulty_weather_is_refused_by_name(tmp_path, text, key, words):
    path = country(tmp_path / "p", f"[weather]\n{text}\n")
    with pytest.raises(InputError) as caught:
        read_project(path)
    (fault,) = caught.value.faults
    assert fault.key == key
    assert words in fault.found


def test_the_exit_status_follows(tmp_path):
    for name, weather, code in (
        ("p", stated("10 km", "none"), 0),
        ("q", stated("1 km", "none"), 1),
        ("r", '[weather]\nvisibility = "10 km"\n', 2),
    ):
        path = country(tmp_path / name, weather)
        assert run("check", path).returncode == code
