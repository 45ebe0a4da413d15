"""What a volume of airspace asks: published codes, the strictest set, and never open unasked."""

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.rules.entry import entry_for
from areaplan.rules.loading import load_rule_set, policy_template
from areaplan.rules.model import Entry, RuleSet, Severity

AUTHORITIES = Path(__file__).parents[1] / "authorities"
STRICTNESS = list(Entry)
US = load_rule_set("us")
EUROPE = load_rule_set("icao-eu")

CLASSES = st.sampled_from(["", "A", "B", "C", "D", "E", "F", "G", "Z"])
TYPES = st.sampled_from(
    [
        *("", "R", "P", "D", "MOA", "A", "W", "TFR", "CTR", "TMA", "RMZ", "CLASS", "CLASS_B"),
        *("CLASS_E5", "XYZ", "*", "unknown", " "),
    ]
)


@pytest.fixture(scope="module")
def policy(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    path = tmp_path_factory.mktemp("policy") / "policy.toml"
    path.write_text(policy_template(), encoding="utf-8")
    return load_rule_set("policy.toml", path)


def code_rows() -> list[dict[str, str]]:
    lines = (AUTHORITIES / "faa_airspace_codes.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", code_rows(), ids=lambda row: f"{row['class']}/{row['type']}")
def test_published_us_code(row: dict[str, str]) -> None:
    answer = entry_for([US], row["class"], row["type"])
    assert answer.entry == row["entry"]
    assert (answer.rule is None) is (row["entry"] == "unknown")


@pytest.mark.parametrize(
    ("letter", "entry"),
    [
        ("A", Entry.NO_ENTRY),
        *((letter, Entry.CLEARANCE) for letter in "BCD"),
        *((letter, Entry.OPEN) for letter in "EFG"),
    ],
)
def test_the_seven_classes_of_the_icao_for_visual_flight(letter: str, entry: Entry) -> None:
    """SERA.6001 and ICAO Annex 11 appendix 4, both from memory."""
    assert entry_for([EUROPE], letter, "").entry is entry
    assert entry_for([EUROPE], letter, "CTR").entry is entry
    assert entry_for([EUROPE], "", f"CLASS_{letter}").entry is entry


@pytest.mark.parametrize(
    ("code", "entry"),
    [
        *(("P", Entry.NO_ENTRY), ("R", Entry.NO_ENTRY), ("D", Entry.NO_ENTRY)),
        *(("RMZ", Entry.TWO_WAY_RADIO), ("TMZ", Entry.OPEN)),
        *(("CTR", Entry.UNKNOWN), ("TSA", Entry.UNKNOWN)),
    ],
)
def test_types_in_europe(code: str, entry: Entry) -> None:
    assert entry_for([EUROPE], "", code).entry is entry


def test_the_alert_area_of_the_published_sample_is_open_with_an_advisory() -> None:
    answer = entry_for([US], "", "A")  # A-220, TYPE_CODE "A", CLASS null
    assert answer.entry is Entry.OPEN
    assert answer.rule is not None
    assert answer.rule.severity is Severity.ADVISORY


def test_the_rule_of_the_type_is_named_where_class_and_type_ask_the_same() -> None:
    answer = entry_for([US], "E", "MOA")
    assert answer.rule is not None
    assert answer.rule.id == "us-aim-special-use"


def test_a_restricted_area_stays_restricted_in_any_class() -> None:
    for letter in ("", *"ABCDEFG"):
        answer = entry_for([US], letter, "R")
        assert answer.entry is Entry.NO_ENTRY
    assert entry_for([US], "", "R").rule.id == "us-91.133"


def test_the_stricter_of_two_authorities_wins() -> None:
    answer = entry_for([US, EUROPE], "D", "")
    assert answer.entry is Entry.CLEARANCE
    assert answer.rule.id == "sera-6001-b-c-d"
    assert entry_for([EUROPE, US], "D", "").rule.id == "sera-6001-b-c-d"


def test_a_school_closes_what_the_law_leaves_open(policy: RuleSet) -> None:
    assert entry_for([US], "C", "CLASS_C").entry is Entry.TWO_WAY_RADIO
    answer = entry_for([US, policy], "C", "CLASS_C")
    assert answer.entry is Entry.NO_ENTRY
    assert answer.rule.severity is Severity.POLICY


def test_a_school_can_not_open_what_the_law_closes(tmp_path: Path) -> None:
    text = policy_template().replace('entry = "no entry"', 'entry = "open"')
    text = text.replace('["CLASS_B", "CLASS_C"]', '["CLASS_B", "CLASS_C", "R"]')
    text = text.replace("\nid = ", '\ntypes_ruled_by_class = ["P", "R"]\nid = ', 1)
    path = tmp_path / "loose.toml"
    path.write_text(text, encoding="utf-8")
    loose = load_rule_set("loose.toml", path)
    assert loose.types_ruled_by_class == ("P", "R")
    for letter, code in (("B", ""), ("C", "CLASS_C"), ("", "R"), ("G", "R"), ("G", "P")):
        assert entry_for([US, loose], letter, code) == entry_for([US], letter, code)


def test_spelling_does_not_open_anything() -> None:
    assert entry_for([US], " d ", " class_d ").entry is Entry.TWO_WAY_RADIO
    assert entry_for([US], "g", "r").entry is Entry.NO_ENTRY


def test_without_any_rule_set_everything_is_unknown() -> None:
    assert entry_for([], "G", "").entry is Entry.UNKNOWN
    assert entry_for([], "", "").rule is None


@settings(deadline=None, max_examples=200)
@given(letter=CLASSES | st.text(max_size=3), code=TYPES | st.text(max_size=6))
def test_open_never_comes_without_a_rule(letter: str, code: str) -> None:
    for sets in ([US], [EUROPE], [US, EUROPE]):
        answer = entry_for(sets, letter, code)
        assert (answer.entry is Entry.UNKNOWN) is (answer.rule is None)
        if answer.rule is not None:
            named = letter.strip().upper() in answer.rule.airspace_classes
            assert named or code.strip().upper() in answer.rule.airspace_types


@settings(deadline=None, max_examples=200)
@given(letter=CLASSES, code=TYPES)
def test_a_known_answer_never_gets_milder_by_adding_a_set(letter: str, code: str) -> None:
    alone = entry_for([US], letter, code).entry
    together = entry_for([US, EUROPE], letter, code).entry
    # What one set does not know another may; what it knows stays at least as strict.
    assert alone is Entry.UNKNOWN or STRICTNESS.index(together) >= STRICTNESS.index(alone)
    assert together is entry_for([EUROPE, US], letter, code).entry
