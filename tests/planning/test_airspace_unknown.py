"""Airspace that no rule knows is UNKNOWN by name; a region of services closes nothing."""

import pytest

from areaplan.planning.evaluation import evaluate
from areaplan.planning.manoeuvres import answer_manoeuvres
from areaplan.planning.plan import Verdict
from areaplan.planning.point import answer_point, unknown_airspace_at
from areaplan.planning.project_file import read_project
from areaplan.render.manoeuvres import manoeuvres_text
from areaplan.render.map_records import findings_html
from areaplan.render.text import plan_text, point_text
from tests.planning.builder import box, plain_country

EVERYWHERE = box(-9000, -9000, 9000, 9000)
CORNER = box(-1000, -1000, 0, 0)  # a quarter of the area, with its margin a little more


def plan_of(folder, *volumes, rules='["eu"]'):
    country = plain_country(folder)
    country._sources = [text for text in country._sources if '"airspace"' not in text]
    country.features("airspace", volumes)
    return evaluate(read_project(country.project(rules=rules, planned='["2500 ft AMSL"]')))


def volume(name, geometry=EVERYWHERE, lower="SFC", upper="9000 ft AMSL", **more):
    return geometry, {"name": name, "lower": lower, "upper": upper, **more}


@pytest.mark.parametrize("rules", ['["eu"]', '["us"]', '["uk"]', '["canada"]', '["new-zealand"]'])
def test_a_flight_information_region_without_a_class_closes_nothing(tmp_path, rules):
    plan = plan_of(tmp_path, volume("FIR MOORLAND", type="FIR", upper="UNL"), rules=rules)
    assert plan.verdict is Verdict.MET
    assert not [row for row in plan.findings if row.feature == "FIR MOORLAND"]
    told = " ".join(plan.warnings)
    assert "flight-information-region: confirm: From memory" in told


def test_a_region_published_with_a_class_goes_by_it(tmp_path):
    plan = plan_of(tmp_path, volume("FIR MOORLAND", type="FIR", **{"class": "C"}))
    assert plan.verdict is Verdict.NOT_MET
    (finding,) = [row for row in plan.findings if row.feature == "FIR MOORLAND"]
    assert finding.limit.rule == "sera-6001-b-c-d"


@pytest.mark.parametrize(
    ("code", "letter", "words"),
    [
        ("OTHER:PARACHUTE_JUMPING_AERA", "", "type OTHER:PARACHUTE_JUMPING_AERA is entered"),
        ("ATZ", "D", "No rule in force says how airspace of type ATZ is entered"),
        ("TMA", "", "type TMA is entered by the rules of its class, and it has none"),
    ],
)
def test_what_no_rule_knows_is_unknown_by_name(tmp_path, code, letter, words):
    more = {"class": letter} if letter else {}
    plan = plan_of(tmp_path, volume("Hesker field", CORNER, type=code, **more))
    assert plan.verdict is Verdict.UNKNOWN
    assert 0.25 <= plan.planned[0].unknown_share < 0.4
    (finding,) = [row for row in plan.findings if row.limit.rule == "airspace-unknown"]
    assert finding.verdict is Verdict.UNKNOWN
    assert finding.feature == "Hesker field"
    assert words in finding.limit.title
    (warning,) = [text for text in plan.warnings if text.startswith("Hesker field: ")]
    assert words in warning
    assert warning.endswith("UNKNOWN there")
    page = "".join(plan_text(plan).split())  # lines break at hyphens too
    for told in (f"{finding.limit.title} [airspace-unknown, law]", "declare a permission in the"):
        assert "".join(told.split()) in page


def test_two_unknown_types_are_told_apart(tmp_path):
    plan = plan_of(
        tmp_path, volume("One", CORNER, type="XA"), volume("Two", box(0, 0, 1000, 1000), type="XB")
    )
    told = {row.feature: row.limit.title for row in plan.findings if "unknown" in row.limit.rule}
    assert set(told) == {"One", "Two"}
    assert "type XA" in told["One"]
    assert "type XB" in told["Two"]


def test_row_69_an_upper_limit_that_is_not_published_is_unknown_by_name(tmp_path):
    """facts.md row 69: UPPER_VAL -9998 is no height; UNKNOWN, not closed nor open."""
    row = {
        "NAME": "HESKER CLASS D", "CLASS": "D", "TYPE_CODE": "CLASS", "LOCAL_TYPE": "CLASS_D",
        "LOWER_VAL": 0, "LOWER_UOM": "FT", "LOWER_CODE": "SFC",
        "UPPER_VAL": -9998, "UPPER_UOM": "FT", "UPPER_CODE": "MSL", "UPPER_DESC": "TI",
    }  # fmt: skip
    plan = plan_of(tmp_path, (CORNER, row), rules='["us"]')
    assert plan.verdict is Verdict.UNKNOWN
    assert "HESKER CLASS D: its upper limit is not known: UNKNOWN there" in plan.warnings
    (finding,) = [row for row in plan.findings if row.feature == "HESKER CLASS D"]
    assert finding.verdict is Verdict.UNKNOWN
    assert finding.limit.rule == "us-91.129-c"


def test_an_unknown_type_far_above_the_plan_closes_from_its_floor_up(tmp_path):
    plan = plan_of(tmp_path, volume("High", lower="9500 ft AMSL", upper="UNL", type="XC"))
    assert plan.verdict is Verdict.MET
    (warning,) = [text for text in plan.warnings if text.startswith("High: ")]
    assert warning.endswith("closed from its floor up")


def test_what_stops_a_manoeuvre_says_confirm_where_its_rule_is_from_memory(tmp_path):
    """On ground at 1,000 ft a stall, 300 ft either way, needs 2,500 to 3,100 ft: shelf at 3,000."""
    plan = plan_of(tmp_path, volume("Shelf", lower="3000 ft AMSL", type="CTA", **{"class": "C"}))
    (stall,) = answer_manoeuvres(plan, ["power-on-stall"])
    stops = {stop.rule: stop for stop in stall.stops}
    assert stops["sera-6001-b-c-d"].confirm.startswith("From memory")
    page = "".join(manoeuvres_text(plan, [stall], stall.verdict).split())
    assert "[sera-6001-b-c-d,law];CONFIRM:Frommemory" in page


def test_a_finding_on_the_map_says_confirm_too(tmp_path):
    plan = plan_of(tmp_path, volume("Zone", type="CTR", **{"class": "D"}))
    html = findings_html(plan)
    assert "Zone" in html
    assert "<strong>Confirm before use:</strong> <bdi>From memory" in html


def test_a_place_names_the_airspace_that_makes_it_unknown(tmp_path):
    plan = plan_of(tmp_path, volume("Hesker field", CORNER, type="XA"))
    inside, outside = ((10.0 - 0.004, 20.0 - 0.004), (10.0 + 0.006, 20.0 + 0.006))
    (words,) = unknown_airspace_at(plan, *inside)
    assert words == "Hesker field: No rule in force says how airspace of type XA is entered"
    assert unknown_airspace_at(plan, *outside) == ()
    page = plan_text_at(plan, *inside)
    assert f"UNKNOWN: {words}" in page
    assert "UNKNOWN:" not in plan_text_at(plan, *outside)


def plan_text_at(plan, lat, lon):
    page = point_text(answer_point(plan, lat, lon, 2500), plan)
    return " ".join(page.split())
