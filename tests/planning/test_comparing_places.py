"""One place under several rule sets: the floor that `point` would give under each alone."""

import pytest

from areaplan.planning.comparing import compare_at
from areaplan.planning.evaluation import evaluate
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.render.comparing import places_as_json, places_text
from areaplan.render.text import point_text
from areaplan.rules.loading import load_rule_set
from tests.planning.builder import lonlat, plain_country, point

# A barn of 30 ft on ground at 1,000 ft AMSL, 60 m from the place asked, over plain country.
FLOORS_FT = {
    "us": 1500,  # 500 ft above the surface
    "australia": 1530,  # 500 ft above the highest feature within 300 m
    "new-zealand": 1530,  # 500 ft above the barn within 150 m
    "icao": 1493,  # 150 m above the ground: 1,492.1 ft, rounded up
    "eu": 1523,  # 150 m above the barn: 1,522.1 ft, rounded up
}


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    folder = tmp_path_factory.mktemp("compare")
    country = plain_country(folder)
    country._sources = [text for text in country._sources if '"structures"' not in text]
    country.features("structures", [(point(0, 0), {"name": "Barn", "height": "30 ft"})])
    return read_project(country.project(rules='["us"]', cell="20 m"))


def test_the_floor_under_each_set_is_what_its_words_say(project):
    names = (*FLOORS_FT, "canada")
    lon, lat = lonlat(60, 0)
    rows = compare_at(project, [load_rule_set(name) for name in names], lat, lon)
    told = {row.rule_set: row.answer.legal_floor_amsl_ft for row in rows}
    # Canada's is a distance alone, 1,030 + sqrt(500² - d²) ft, and the cell of 20 m that holds the
    # place is at its nearest between 40 m (131.2 ft) and 60 m (196.9 ft) from the barn.
    assert 1490 <= told.pop("canada") <= 1513
    assert told == FLOORS_FT
    for name, row in zip(names, rows, strict=True):
        assert row.answer.floor_by.limit.rule in {rule.id for rule in load_rule_set(name).rules}
    alone = answer_point(evaluate(project), lat, lon, project.planned_altitudes_amsl_ft[0])
    assert rows[0].answer == alone


def test_text_and_json_name_what_binds_and_what_to_confirm(project):
    sets = [load_rule_set(name) for name in ("us", "icao")]
    lon, lat = lonlat(60, 0)
    rows = compare_at(project, sets, lat, lon)
    page = places_text(rows)
    assert max(map(len, page.splitlines())) <= 96
    assert "us: 1 500 ft AMSL (us-91.119-c-surface" in page
    assert "An altitude of 500 feet above the surface" in page
    assert page.count("CONFIRM") == 1
    assert "CONFIRM" not in point_text(rows[0].answer, evaluate(project))
    assert "CONFIRM         icao-annex-2-4.6-b" in point_text(rows[1].answer, evaluate(project))
    us, icao = places_as_json(rows)
    assert (us["rule_set"], us["legal_floor_amsl_ft"], us["binding_confirm"]) == ("us", 1500, "")
    assert icao["binding_rule"] == "icao-annex-2-4.6-b"
    assert icao["binding_confirm"]


def test_outside_the_data_every_set_is_unknown(project):
    rows = compare_at(project, [load_rule_set("us")], 50.0, 20.0)
    assert rows[0].answer.legal_floor_amsl_ft is None
    assert "us: unknown" in places_text(rows)
