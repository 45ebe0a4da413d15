"""What a finding is about, in words: a way out is never told as if it were in the way."""

import pytest
from attrs import evolve

from areaplan.planning.choice import TOO_FEW_FIELDS
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import Finding, Limit, Names, Verdict
from areaplan.planning.project_file import read_project
from areaplan.render.as_json import plan_as_json
from areaplan.render.finding_words import NO_CHOICE, NO_FIELD, SOME_HEADING, cause_words
from areaplan.render.map_records import findings_html
from areaplan.render.text import plan_text
from areaplan.rules.model import Severity
from tests.planning.builder import Country, box

LIMIT = Limit("r", "A rule", Severity.LAW, "", "")
BROKEN = Finding(LIMIT, Verdict.NOT_MET, 2100, -675, 41.1, -100.0, "Field D8b", 0.7, ())


@pytest.mark.parametrize(
    ("names", "verdict", "feature", "words"),
    [
        (Names.CAUSE, Verdict.NOT_MET, "tower 99-000001", "tower 99-000001"),
        (Names.CAUSE, Verdict.MET, "ground", "ground"),
        (Names.NEAREST_FIELD, Verdict.NOT_MET, "Field D8b", f"{SOME_HEADING}; nearest: Field D8b"),
        (Names.NEAREST_FIELD, Verdict.NOT_MET, "", NO_FIELD),
        (Names.NEAREST_FIELD, Verdict.MET, "Field D8b", "field in reach; nearest: Field D8b"),
        (Names.NEAREST_FIELD, Verdict.UNKNOWN, "", ""),
        (
            Names.NEXT_CHOICE,
            Verdict.NOT_MET,
            "direction 270 true",
            f"{NO_CHOICE}; the last one needed: direction 270 true",
        ),
        (
            Names.NEXT_CHOICE,
            Verdict.MET,
            "Field B",
            "enough fields in reach to choose from; the last one needed: Field B",
        ),
        (Names.NEXT_CHOICE, Verdict.NOT_MET, TOO_FEW_FIELDS, TOO_FEW_FIELDS),
        (Names.NEXT_CHOICE, Verdict.NOT_MET, "", ""),
    ],
)
def test_each_kind_of_cause(names, verdict, feature, words):
    row = evolve(BROKEN, names=names, verdict=verdict, feature=feature)
    assert cause_words(row) == words


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    """One field far to the west: from the east of the area it is out of reach at 1,600 ft."""
    made = Country(tmp_path_factory.mktemp("words")).terrain()
    made.features("fields", [(box(-2600, -400, -1200, 400), {"name": "Field west"})])
    made.none("obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive")
    return evaluate(read_project(made.project(planned='["1600 ft AMSL"]')))


def test_the_glide_says_that_its_feature_is_a_field(plan):
    (glide,) = [row for row in plan.findings if row.names is Names.NEAREST_FIELD]
    assert (glide.verdict, glide.feature) == (Verdict.NOT_MET, "Field west")
    assert cause_words(glide) == f"{SOME_HEADING}; nearest: Field west"
    others = [row for row in plan.findings if row is not glide]
    assert all(row.names is Names.CAUSE for row in others)


def test_every_printer_says_so_and_the_json_is_as_ever(plan):
    said = f"{SOME_HEADING}; nearest: Field west"
    assert said in " ".join(plan_text(plan).split())
    assert said in findings_html(plan)
    rows = plan_as_json(plan)["findings"]
    assert "Field west" in [row["feature"] for row in rows]
    assert all("names" not in row for row in rows)


def test_a_field_that_no_altitude_reaches_is_not_the_ground(tmp_path):
    made = Country(tmp_path).terrain()
    made.none("fields", "obstacles", "structures", "airspace", "congested", "assemblies")
    made.none("noise-sensitive")
    bare = evaluate(read_project(made.project()))
    rows = [row for row in bare.findings if row.names is Names.NEAREST_FIELD]
    assert rows
    assert {cause_words(row) for row in rows if row.verdict is Verdict.NOT_MET} <= {NO_FIELD}
    assert all(row.feature != "ground" for row in rows)
