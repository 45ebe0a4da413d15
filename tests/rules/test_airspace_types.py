"""Every type of the published AIXM sample gets an answer in every set, or UNKNOWN by name."""

import csv
from pathlib import Path

import pytest
from attrs import evolve

from areaplan.rules.entry import entry_for
from areaplan.rules.loading import builtin_rule_sets, load_rule_set
from areaplan.rules.model import Activity, Entry, RuleSet
from areaplan.sources.layers import CLASS_NOT_GIVEN

TABLE = Path(__file__).parents[1] / "authorities" / "aixm_sample_types.csv"


def rows() -> list[dict[str, str]]:
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def for_training(name: str) -> RuleSet:
    one = load_rule_set(name)
    return evolve(one, rules=tuple(row for row in one.rules if row.activity is Activity.ANY))


SETS = {name: for_training(name) for name in builtin_rule_sets()}


def test_the_table_speaks_of_every_set() -> None:
    assert set(rows()[0]) == {"type", "class", *SETS} - {"icao-eu"}
    assert len({row["type"] for row in rows()}) == 13


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['type']}-{row['class']}")
@pytest.mark.parametrize("name", [name for name in SETS if name != "icao-eu"])
def test_a_type_of_the_sample(name: str, row: dict[str, str]) -> None:
    answer = entry_for([SETS[name]], row["class"], row["type"])
    assert answer.entry == row[name]
    is_unknown = answer.entry is Entry.UNKNOWN
    assert (answer.rule is None) is is_unknown
    assert (row["type"] in answer.why_unknown) is is_unknown


@pytest.mark.parametrize("name", SETS)
def test_a_region_with_classes_but_none_here_is_unknown(name: str) -> None:
    """A flight information region is open by itself; a gap between its classes is not."""
    assert entry_for([SETS[name]], "", "FIR").entry is Entry.OPEN
    answer = entry_for([SETS[name]], CLASS_NOT_GIVEN, "FIR")
    assert answer.entry is Entry.UNKNOWN
    assert "FIR is published with classes" in answer.why_unknown
    assert entry_for([SETS[name]], CLASS_NOT_GIVEN, "R").entry is Entry.NO_ENTRY


def test_an_unknown_answer_says_what_is_missing() -> None:
    eu = [SETS["eu"]]
    assert entry_for(eu, "", "CTR").why_unknown.startswith("Airspace of type CTR is entered by")
    assert entry_for(eu, "", "XYZ").why_unknown.endswith("type XYZ is entered")
    assert entry_for(eu, "D", "XYZ").why_unknown.endswith("type XYZ is entered")
    assert entry_for([SETS["canada"]], "F", "").why_unknown.endswith("class F is entered")
    assert "neither class nor type" in entry_for(eu, "", "").why_unknown
    assert entry_for(eu, "D", "").why_unknown == ""
