"""Rule files that are wrong: every fault is told at once, with its place and a way to mend it."""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import Fault, InputError
from areaplan.rules.loading import load_rule_set, load_rule_sets, policy_template
from areaplan.rules.model import Ground, Rule, RuleKind, RuleSet

HEAD = 'id = "school"\ntitle = "School policy"\nauthority = "Chief flight instructor"\n'
SOURCE = """
document = "School operations manual"
section = "3"
edition = "1"
last_checked = 2026-11-25
quote = "We keep away."
"""
SURFACE = f"""
[[rule]]
id = "low"
title = "Least height"
kind = "height above surface"
severity = "policy"
where = ["anywhere"]
height = "700 ft"
{SOURCE}"""
NEIGHBOUR = f"""
[[rule]]
id = "farm"
title = "The farm"
kind = "lateral distance"
severity = "policy"
where = ["sparse", "other"]
height = "300 m (1,000 ft)"
radius = "600 m (2,000 ft)"
binding_unit = "ft"
is_radius_inclusive = true
counts = ["noise-sensitive"]
{SOURCE}"""
ENTRY = f"""
[[rule]]
id = "stay-out"
title = "Stay out"
kind = "airspace entry"
severity = "policy"
airspace_classes = ["c"]
airspace_types = ["class_c"]
entry = "no entry"
{SOURCE}"""
EXAMPLE = """
[[rule.example]]
source = "instructor"
ground = "sparse"
terrain = "0 ft AMSL"
things = [{ counted = "structure", top = "30 ft AMSL", distance = "10 ft" }]
altitude = "700 ft AMSL"
allowed = true
"""


def load(tmp_path: Path, text: str) -> RuleSet:
    path = tmp_path / "policy.toml"
    path.write_text(text, encoding="utf-8")
    return load_rule_set("policy.toml", path)


def faults_of(tmp_path: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        load(tmp_path, text)
    for fault in caught.value.faults:
        assert fault.place == str(tmp_path / "policy.toml")
        assert all((fault.found, fault.expected, fault.fix))
    return caught.value.faults


def test_a_school_file_is_read(tmp_path: Path) -> None:
    rule_set = load(tmp_path, HEAD + SURFACE + EXAMPLE + NEIGHBOUR + ENTRY)
    low, farm, stay_out = rule_set.rules
    assert rule_set.path == tmp_path / "policy.toml"
    assert low.where == tuple(Ground)
    assert low.height_m == pytest.approx(213.36)
    assert low.height_text == "700 ft"
    assert low.radius_m is None
    assert low.examples[0].things[0].horizontal_distance_m == pytest.approx(3.048)
    assert farm.height_m == pytest.approx(304.8)
    assert farm.radius_m == pytest.approx(609.6)
    assert farm.radius_text == "600 m (2,000 ft)"
    assert farm.where == (Ground.SPARSE, Ground.OTHER)
    assert stay_out.airspace_classes == ("C",)
    assert stay_out.airspace_types == ("CLASS_C",)
    assert stay_out.where == tuple(Ground)


def test_the_metric_figure_of_a_pair_binds_when_told(tmp_path: Path) -> None:
    text = HEAD + NEIGHBOUR.replace('binding_unit = "ft"', 'binding_unit = "m"')
    (farm,) = load(tmp_path, text).rules
    assert (farm.height_m, farm.radius_m) == (300.0, 600.0)


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    (low,) = load(tmp_path, "\ufeff" + HEAD + SURFACE).rules
    assert low.height_m == pytest.approx(213.36)


def test_a_binding_unit_where_no_length_belongs_is_an_unknown_key(tmp_path: Path) -> None:
    text = HEAD + ENTRY.replace('entry = "no entry"', 'entry = "no entry"\nbinding_unit = "ft"')
    (fault,) = faults_of(tmp_path, text)
    assert (fault.key, fault.found) == ("rule[stay-out].binding_unit", "unknown key")


def test_the_digest_follows_the_file(tmp_path: Path) -> None:
    before = load(tmp_path, HEAD + SURFACE).sha256
    assert load(tmp_path, HEAD + SURFACE + "# one remark more\n").sha256 != before


SURFACE_FAULTS = [
    ('"700 ft"', "700", "rule[low].height", "700; expected a length with unit"),
    ('"700 ft"', '"700"', "rule[low].height", "'700'"),
    ('"700 ft"', '"-700 ft"', "rule[low].height", "0 or more"),
    ('"700 ft"', '"unlimited"', "rule[low].height", "unlimited"),
    ('"700 ft"', '"700 ft AGL"', "rule[low].height", "AGL"),
    ('"700 ft"', "true", "rule[low].height", "the truth value true; expected a length"),
    ('"policy"', '"polcy"', "rule[low].severity", 'did you mean "policy"'),
    ('"height above surface"', '"height abov surface"', "rule[low].kind", "did you mean"),
    ('["anywhere"]', '["conjested"]', "rule[low].where", 'did you mean "congested"'),
    ('["anywhere"]', '"anywhere"', "rule[low].where", "a list"),
    ('["anywhere"]', "[]", "rule[low].where", "a list"),
    ('["anywhere"]', '["anywhere", "sparse"]', "rule[low].where", "anywhere"),
    ('["anywhere"]', '["sparse", "sparse"]', "rule[low].where", "each word once"),
    ("2026-11-25", '"2026-11-25"', "rule[low].last_checked", "a date"),
    ("2026-11-25", "2026-11-25T10:00:00", "rule[low].last_checked", "a date"),
    ('"We keep away."', '" "', "rule[low].quote", "not empty"),
    ('"We keep away."', "3", "rule[low].quote", "text in quotes"),
    ('height = "700 ft"', 'hieght = "700 ft"', "rule[low].hieght", 'did you mean "height"'),
    ('height = "700 ft"', "", "rule[low].height", "not given"),
    ('edition = "1"', "", "rule[low].edition", "not given"),
    ('id = "low"', "", "rule[1].id", "not given"),
    ('severity = "policy"', "", "rule[low].severity", "not given"),
    ('severity = "policy"', 'severity = "policy"\nradius = "1 NM"', "rule[low].radius", "unk"),
    ('"700 ft"', '"700 ft"\nbinding_unit = "ft"', "rule[low].binding_unit", "take it out"),
    ('"700 ft"', '"200 m (700 ft)"', "rule[low].binding_unit", "m or ft"),
    ('"School policy"', '["School policy"]', "title", "text in quotes"),
    ('authority = "Chief', 'rulez = 1\nauthority = "Chief', "rulez", 'did you mean "rule"'),
    ('authority = "Chief', 'notes = [3]\nauthority = "Chief', "notes", "a list of texts"),
    ('id = "school"', 'id = "us"', "id", "no built-in set's name"),
]
NEIGHBOUR_FAULTS = [
    ("600 m (2,000 ft)", "600 m (200 ft)", "rule[farm].radius", "printed in two units"),
    ("600 m (2,000 ft)", "600 m (2,000)", "rule[farm].binding_unit", "unit that binds"),
    ("600 m (2,000 ft)", "600 m (2,0 ft)", "rule[farm].radius", "a length with unit"),
    ("600 m (2,000 ft)", "600 ft (2,000 ft)", "rule[farm].radius", "two units"),
    ("600 m (2,000 ft)", "0 m (0 ft)", "rule[farm].radius", "above 0"),
    ("600 m (2,000 ft)", "unlimited", "rule[farm].radius", "a length with unit"),
    ('"ft"', '"NM"', "rule[farm].binding_unit", "m or ft"),
    ("= true", '= "yes"', "rule[farm].is_radius_inclusive", "true or false"),
    ("is_radius_inclusive = true", "", "rule[farm].is_radius_inclusive", "not given"),
    ('["noise-sensitive"]', '["noise"]', "rule[farm].counts", 'mean "noise-sensitive"'),
    ('["noise-sensitive"]', '["terrain"]', "rule[farm].counts", "one of"),
    ('["noise-sensitive"]', "[[1]]", "rule[farm].counts", "[1]"),
]
ENTRY_FAULTS = [
    ('"no entry"', '"noentry"', "rule[stay-out].entry", 'did you mean "no entry"'),
    ('"no entry"', '"unknown"', "rule[stay-out].entry", "leave the rule out"),
    ('"policy"', '"advisory"', "rule[stay-out].entry", "in an advisory"),
    ('["c"]', '["CLASS_C"]', "rule[stay-out].airspace_classes", "class letters"),
    ('["c"]', '"C"', "rule[stay-out].airspace_classes", "a list of texts"),
    ('["class_c"]', '[""]', "rule[stay-out].airspace_types", "a list of texts"),
    ('entry = "no entry"', "", "rule[stay-out].entry", "not given"),
    (
        'severity = "policy"',
        'where = ["other"]\nseverity = "policy"',
        "rule[stay-out].where",
        "",
    ),
]


@pytest.mark.parametrize(
    ("table", "old", "new", "key", "in_message"),
    [
        *((SURFACE, *row) for row in SURFACE_FAULTS),
        *((NEIGHBOUR, *row) for row in NEIGHBOUR_FAULTS),
        *((ENTRY, *row) for row in ENTRY_FAULTS),
    ],
)
def test_a_fault_is_named(
    tmp_path: Path, table: str, old: str, new: str, key: str, in_message: str
) -> None:
    text = HEAD + table
    assert old in text
    faults = faults_of(tmp_path, text.replace(old, new, 1))
    assert any(fault.key == key and in_message in str(fault) for fault in faults), faults


def test_one_slip_is_one_fault(tmp_path: Path) -> None:
    for old, new, key, _ in SURFACE_FAULTS:
        keys = [fault.key for fault in faults_of(tmp_path, (HEAD + SURFACE).replace(old, new, 1))]
        assert keys.count(key) == 1


def test_an_airspace_rule_without_class_or_type_is_refused(tmp_path: Path) -> None:
    text = HEAD + ENTRY.replace('airspace_classes = ["c"]', "")
    (fault,) = faults_of(tmp_path, text.replace('airspace_types = ["class_c"]', ""))
    assert fault.key == "rule[stay-out].airspace_classes"


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('"0 ft AMSL"', '"0 ft"', "terrain"),
        ('"0 ft AMSL"', '"0 ft AGL"', "terrain"),
        ("allowed = true", "", "allowed"),
        ('altitude = "700 ft AMSL"', "", "altitude"),
        ('altitude = "700 ft AMSL"\nallowed = true', "", "floor"),
        ('altitude = "700 ft AMSL"\nallowed = true', 'floor = "nothing"', "floor"),
        ('altitude = "700 ft AMSL"\nallowed = true', "floor = 0", "floor"),
        ('"structure"', '"structures"', "thing[1].counted"),
        ('"10 ft"', "10", "thing[1].distance"),
        ('source = "instructor"', "", "source"),
        ("allowed = true", 'allowed = true\nallwed = "?"', "allwed"),
        ("things = [{", "things = [1, {", "things"),
    ],
)
def test_a_fault_of_an_example_is_named(tmp_path: Path, old: str, new: str, key: str) -> None:
    text = HEAD + SURFACE + EXAMPLE
    assert old in text
    faults = faults_of(tmp_path, text.replace(old, new, 1))
    assert f"rule[low].example[1].{key}" in {fault.key for fault in faults}


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    text = HEAD + SURFACE.replace('"700 ft"', "700") + NEIGHBOUR.replace("true", "1") + SURFACE
    text += ENTRY.replace('"policy"', '"rule"').replace("2026-11-25", "2026")
    keys = [fault.key for fault in faults_of(tmp_path, text)]
    assert keys == [
        "rule[low].height",
        "rule[farm].is_radius_inclusive",
        "rule[low].id",
        "rule[stay-out].severity",
        "rule[stay-out].last_checked",
    ]


def test_a_file_without_rules_is_refused(tmp_path: Path) -> None:
    assert [fault.key for fault in faults_of(tmp_path, HEAD)] == ["rule"]
    assert [fault.key for fault in faults_of(tmp_path, HEAD + "[rule]\n")] == ["rule"]
    assert "rule" in [fault.key for fault in faults_of(tmp_path, HEAD + "rule = []\n")]


@pytest.mark.parametrize(
    "content",
    [
        b"\xff\xfe",
        b"id = ",
        b"[[rule]\n",
        b"id = 'a'\nid = 'b'\n",
        b"\x00",
        b"x = 1e",
        b"PK\x03\x04",
        b"x = " + b"[" * 100_000,
        b"x = " + b"9" * 10_000,
    ],
)
def test_a_file_that_is_not_toml_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "policy.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match="TOML file in UTF-8"):
        load_rule_set("policy.toml", path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a readable rule file"):
        load_rule_set("none.toml", tmp_path / "none.toml")
    with pytest.raises(InputError, match="a readable rule file"):
        load_rule_set("folder", tmp_path)
    with pytest.raises(InputError, match='did you mean "us"'):
        load_rule_set("uss", tmp_path / "uss")


@pytest.mark.parametrize(
    ("name", "advice"),
    [
        ("US", 'did you mean "us"'),
        ("icao_eu", 'did you mean "icao-eu"'),
        ("policy_template", "one of these"),
        ("../us", 'did you mean "us"'),
        ("", "one of these"),
    ],
)
def test_an_unknown_built_in_set_is_refused(name: str, advice: str) -> None:
    with pytest.raises(InputError, match='expected one of "australia", "canada", "eu"') as caught:
        load_rule_set(name)
    assert advice in str(caught.value)


def test_several_sets_tell_all_their_faults(tmp_path: Path) -> None:
    bad, worse = tmp_path / "bad.toml", tmp_path / "worse.toml"
    bad.write_text(HEAD + SURFACE.replace('"700 ft"', "700"), encoding="utf-8")
    worse.write_text(HEAD, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_rule_sets(["us", "bad.toml", "worse.toml", "usa"], [None, bad, worse, None])
    places = [fault.place for fault in caught.value.faults]
    assert places == [str(bad), str(worse), "built-in rules usa"]


def test_an_identifier_belongs_to_one_set(tmp_path: Path) -> None:
    one, other = tmp_path / "one.toml", tmp_path / "other.toml"
    one.write_text(HEAD + SURFACE, encoding="utf-8")
    other.write_text(HEAD.replace('"school"', '"club"') + SURFACE, encoding="utf-8")
    with pytest.raises(InputError, match=r"rule\[low\]\.id: duplicate"):
        load_rule_sets(["one.toml", "other.toml"], [one, other])
    with pytest.raises(InputError, match="the same rule set twice"):
        load_rule_sets(["us", "us"], [None, None])
    assert [s.id for s in load_rule_sets(["us", "one.toml"], [None, one])] == ["us", "school"]


def test_the_template_explains_every_word(tmp_path: Path) -> None:
    text = policy_template()
    rule_set = load(tmp_path, text)
    assert rule_set.rules
    for kind in RuleKind:
        assert f'"{kind}"' in text
    for ground in Ground:
        assert f'"{ground}"' in text


WHOLE = HEAD + SURFACE + EXAMPLE + NEIGHBOUR + ENTRY
QUANTITIES = ("height", "radius", "terrain", "altitude")
HOSTILE = [
    *("1", "-0.0", "nan", "inf", "[]", "{}", '""', '"  "', '"\\u0000"', '["a", 1]', "[[{}]]"),
    *("1979-05-27", "07:32:00", "false", '"９００ ft"', '"1e3 ft"', '"0x1F ft"', '"-1 ft AMSL"'),
    *(f'"{"9" * 400} ft"', f'"{"9" * 400} ft AMSL"', '"nan ft"', '"inf ft"', '"500 ft 500 ft"'),
    *('"<script>alert(1)</script>"', '"\\u202e1000 ft"', '"($1 ft)"', '"1 ft ((1 m))"', '"() ()"'),
    *("0x" + "f" * 10_000, "[0x" + "f" * 10_000 + "]"),  # more digits than Python writes out
]


@settings(deadline=None, max_examples=250)
@given(
    line=st.sampled_from([line for line in WHOLE.splitlines() if " = " in line]),
    value=st.sampled_from(HOSTILE),
)
def test_no_value_of_any_key_brings_the_reader_down(
    tmp_path_factory: pytest.TempPathFactory, line: str, value: str
) -> None:
    key = line.partition(" = ")[0]
    path = tmp_path_factory.mktemp("hostile") / "policy.toml"
    path.write_text(WHOLE.replace(line, f"{key} = {value}", 1), encoding="utf-8")
    faults: tuple[Fault, ...] = ()
    rules: tuple[Rule, ...] = ()
    try:
        rules = load_rule_set("policy.toml", path).rules
    except InputError as error:
        faults = error.faults
    assert all(fault.found and fault.expected and fault.fix for fault in faults)
    assert faults or len(rules) == 3
    # An altitude of -1 ft is one; no other of these is a quantity.
    is_quantity = key in QUANTITIES[2:] and value == '"-1 ft AMSL"'
    assert faults or key not in QUANTITIES or is_quantity


def test_what_can_not_be_printed_is_refused(tmp_path: Path) -> None:
    for hidden in ("\\u0000", "\\u202e", "\\u0007"):
        text = (HEAD + SURFACE).replace("Least height", f"Least {hidden} height")
        assert [fault.key for fault in faults_of(tmp_path, text)] == ["rule[low].title"]


def test_the_rules_know_no_array_and_no_map() -> None:
    code = (
        "import sys, areaplan.rules.loading, areaplan.rules.entry, areaplan.rules.text;"
        "heavy = {'numpy', 'numba', 'pyproj', 'shapely', 'geopandas', 'rasterio', 'folium'};"
        "print(sorted(heavy & set(sys.modules)))"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=Path.cwd()
    )
    assert run.stdout.strip() == "[]"
