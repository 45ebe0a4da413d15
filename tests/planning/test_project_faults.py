"""Every fault of a project file is told, with its key, all at once; nothing else is ever raised."""

from __future__ import annotations

import math
import re
from pathlib import Path

import attrs
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from areaplan.errors import InputError
from areaplan.planning.project import Project
from areaplan.planning.project_file import read_project
from tests.planning.project_text import (
    PROJECT,
    faults_of,
    folder_with_files,
    read_or_faults,
    swapped,
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_with_files(tmp_path)


ONE_FAULT = [
    # what is changed, key path, words that the message must hold
    (('"2500 ft AMSL"', '"2500 ft AGL"'), "project.planned_altitudes[1]", "above mean sea level"),
    (('"2500 ft AMSL"', '"2500 ft"'), "project.planned_altitudes[1]", "unit and reference"),
    (('"2500 ft AMSL"', "2500"), "project.planned_altitudes[1]", "bare number 2500"),
    (('"2500 ft AMSL"', '"600 m AMSL"'), "project.planned_altitudes[1]", "1968.50 ft"),
    (('"2500 ft AMSL"', '"18001 ft AMSL"'), "project.planned_altitudes[1]", "18000 ft AMSL"),
    (('"2500 ft AMSL"', '"-1001 ft AMSL"'), "project.planned_altitudes[1]", "-1000 ft AMSL"),
    (('"2500 ft AMSL"', '"2000 ft AMSL"'), "project.planned_altitudes", "2000 ft AMSL more"),
    (('["2500 ft AMSL", "2,000 ft MSL"]', "[]"), "project.planned_altitudes", "an empty list"),
    (('["us", ', '["uss", '), "project.rules[1]", 'did you mean "us"'),
    (('"policy.toml"', '"polic.toml"'), "project.rules[2]", "tried "),
    (('["training"]', '["trainin"]'), "project.activities", 'did you mean "training"'),
    (('["training"]', '["aerobatic"]'), "project.activities", 'add "training"'),
    (("day = 2026-11-24", 'day = "2026-11-24"'), "project.day", "a date"),
    (("day = 2026-11-24", "day = 2026-11-24T10:00:00"), "project.day", "a date"),
    (('"area.geojson"', '"aria.geojson"'), "project.area", "no such file"),
    (('"area.geojson"', '"."'), "project.area", "a folder"),
    (('name = "North practice area"\n', ""), "project.name", "missing"),
    (('name = "North practice area"', 'name = " "'), "project.name", "an empty text"),
    (('name = "North practice area"', 'name = "a\\nb"'), "project.name", "printable"),
    (('name = "North practice area"', "name = true"), "project.name", "truth value true"),
    (('"65 kt"', "65"), "aircraft.best_glide_speed.value", "bare number 65"),
    (('"65 kt"', '"65 knots"'), "aircraft.best_glide_speed.value", "kt, mph"),
    (('"65 kt"', '"6.5 kt"'), "aircraft.best_glide_speed.value", "15 kt to 250 kt"),
    (('{ value = "65 kt", source = "handbook 3-4" }', '"65 kt"'), "aircraft.best_glide_speed", "{"),
    ((', source = "handbook 3-4"', ""), "aircraft.best_glide_speed.source", "missing"),
    (("handbook 3-4", ""), "aircraft.best_glide_speed.source", "empty"),
    (("value = 9,", "value = 90,"), "aircraft.best_glide_ratio.value", "3 to 60"),
    (("value = 9,", "value = nan,"), "aircraft.best_glide_ratio.value", "3 to 60"),
    (("value = 9,", "value = true,"), "aircraft.best_glide_ratio.value", "truth value"),
    (("value = 9,", 'value = "9:1",'), "aircraft.best_glide_ratio.value", "bare number from"),
    (('"20 %"', '"100 %"'), "aircraft.glide_derating.value", "no glide left"),
    (('"20 %"', "0.2"), "aircraft.glide_derating.value", "per cent"),
    (('"48 kt"', '"70 kt"'), "aircraft.stall_speed", "best_glide_speed, 65 kt"),
    (('"90 mph"', '"50 mph"'), "aircraft.stall_speed", "manoeuvre_speed, 43 kt"),
    (('"210/14 kt"', '"210/65 kt"'), "wind.value", "makes headway"),
    (('"210/14 kt"', '"210 at 14 kt"'), "wind.value", "210/14 kt"),
    (('"210/14 kt"', '"210/14"'), "wind.value", "210/14 kt"),
    (('source = "forecast"\n', ""), "wind.source", "missing"),
    (('"400 ft"', '"0 ft"'), "margins.arrival_height", "never zero, because"),
    (('arrival_height = "400 ft"', 'qnh_lowest = "1050 hPa"'), "margins.qnh_lowest", "1040 hPa"),
    (('"50 m"', '"50"'), "grid.cell", "unit"),
    (('"50 m"', '"50 km"'), "grid.cell", "250 m"),
    (('kind = "structures"', 'kind = "structure"'), "source[2].kind", 'mean "structures"'),
    (('kind = "assemblies"', 'kind = "area"'), "source[5].kind", "only once"),
    (('"terrain2.tif"', '"terrain.tif"'), "source[1].files", "more than once"),
    (('"terrain2.tif"', '"terrain3.tif"'), "source[1].files", "tried "),
    (('["terrain.tif", "terrain2.tif"]', '"terrain.tif"'), "source[1].files", "a list"),
    (("effective = 2026-10-01", "effective = 2028-10-01"), "source[1].expires", "2028-10-01"),
    (('vertical_datum = "EGM96"\n', ""), "source[1].vertical_datum", "mean-sea-level datum"),
    (('vertical_datum = "EGM96"', 'vertical_datum = ""'), "source[1].vertical_datum", "empty"),
    (('edition = "2026-10"', ""), "source[1].edition", "missing"),
    (('covers = "looked_at.geojson"', ""), "source[2].covers", "silence"),
    (('covers = "looked_at.geojson"', 'covers = "al"'), "source[2].covers", '"all", "extent"'),
    (('"30 ft"', "30"), "source[2].default_height", "bare number"),
    (('"30 ft"', '"0 ft"'), "source[2].default_height", "nothing"),
    (('count_as = "vehicle"', 'count_as = "vessel"'), "source[4].count_as", "vehicle"),
    (('count_as = "vehicle"', 'default_height = "9 ft"'), "source[4].default_height", "only "),
    (('covers = "extent"', 'covers = "all"\ncount_as = "vehicle"'), "source[3].count_as", "only"),
    (('none_because = "none', 'files = ["roads.geojson"]\nedition = "x"\ncovers = "all"\n'
      'none_because = "none'), "source[5].none_because", "not both"),
    (('none_because = "none', 'covers = "extent"\nnone_because = "none'), "source[5].covers",
     "all"),
    (('none_because = "none seen on 2026-10-02, chief instructor"', 'edition = "a"'),
     "source[5].files", "none_because"),
    (('reason = "letter of 2026-09-14"\n', ""), "permission[1].reason", "missing"),
    (('airspace = "R-0001"', 'airspace = ""'), "permission[1].airspace", "empty"),
    (("[grid]", "[gird]"), "gird", 'did you mean "grid"'),
    (('cell = "50 m"', 'cel = "50 m"'), "grid.cel", 'did you mean "cell"'),
    (("[wind]", "[winds]\nvalue = 1\n[wind]"), "winds", 'did you mean "wind"'),
    (("layer =", "layers ="), "source[3].layers", 'did you mean "layer"'),
    (("source = \"handbook 3-4\" }", 'source = "x", note = "y" }'),
     "aircraft.best_glide_speed.note", "unknown key"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "key", "words"), ONE_FAULT)
def test_one_fault_names_key_and_remedy(
    folder: Path, change: tuple[str, str], key: str, words: str
) -> None:
    (fault,) = faults_of(folder, swapped(*change))
    assert fault.key == key
    assert fault.place == str(folder / "project.toml")
    assert words in str(fault)
    assert all((fault.found, fault.expected, fault.fix))


@pytest.mark.parametrize(
    ("margin", "zero"),
    [
        ("airspace_lateral", "0 NM"),
        ("airspace_vertical", "0 ft"),
        ("glide_clearance", "0 ft"),
        ("arrival_height", "0 m"),
        ("reaction_time", "0 s"),
    ],
)
def test_no_margin_is_ever_zero(folder: Path, margin: str, zero: str) -> None:
    (fault,) = faults_of(folder, swapped('arrival_height = "400 ft"', f'{margin} = "{zero}"'))
    assert fault.key == f"margins.{margin}"
    assert "never zero, because" in fault.expected


def test_exactly_one_terrain(folder: Path) -> None:
    terrain = PROJECT[PROJECT.index("[[source]]") : PROJECT.index('[[source]]\nkind = "structures')]
    (none,) = faults_of(folder, swapped(terrain, ""))
    assert none.key == "source"
    assert "exactly one" in none.expected
    (two,) = faults_of(folder, PROJECT + terrain)
    assert "source[1], source[6]" in two.found
    (lazy,) = faults_of(
        folder,
        PROJECT.replace(
            'files = ["terrain.tif", "terrain2.tif"]\n', 'none_because = "flat"\n'
        ).replace('vertical_datum = "EGM96"\n', ""),
    )
    assert lazy.key == "source[1].none_because"


def test_too_many_altitudes(folder: Path) -> None:
    many = ", ".join(f'"{height} ft AMSL"' for height in range(1500, 2800, 100))
    (fault,) = faults_of(folder, swapped('"2500 ft AMSL", "2,000 ft MSL"', many))
    assert fault.found == "13 altitudes"


def test_all_faults_are_told_at_once(folder: Path) -> None:
    text = PROJECT
    for old, new in [
        ('"2500 ft AMSL"', "2500"),
        ("value = 9,", "value = 900,"),
        ('"48 kt"', '"48"'),
        ('"210/14 kt"', '"gale"'),
        ('"400 ft"', '"0 ft"'),
        ('"terrain2.tif"', '"terrain3.tif"'),
        ('covers = "extent"\n', ""),
        ('reason = "letter of 2026-09-14"\n', ""),
        ("[grid]", "[greed]"),
    ]:
        assert old in text
        text = text.replace(old, new, 1)
    assert [fault.key for fault in faults_of(folder, text)] == [
        "project.planned_altitudes[1]",
        "aircraft.best_glide_ratio.value",
        "aircraft.stall_speed.value",
        "wind.value",
        "margins.arrival_height",
        "source[1].files",
        "source[3].covers",
        "permission[1].reason",
        "greed",
    ]


def test_an_empty_file_names_each_missing_table_once(folder: Path) -> None:
    keys = [fault.key for fault in faults_of(folder, "")]
    assert keys == ["project", "aircraft", "wind", "source"]


@pytest.mark.parametrize("name", ["project", "aircraft", "wind", "margins", "source", "permission"])
def test_a_table_of_the_wrong_type_is_one_fault(folder: Path, name: str) -> None:
    header = re.compile(rf"\[+{name}\]+\n(?:[^\[\n].*\n|\n)*")
    text = f"{name} = 3\n" + header.sub("", PROJECT)
    faults = [fault for fault in faults_of(folder, text) if "exactly one" not in fault.expected]
    assert [fault.key for fault in faults] == [name]
    assert "bare number 3" in faults[0].found


def test_a_permission_declared_twice(folder: Path) -> None:
    again = PROJECT[PROJECT.index("[[permission]]") :]
    (fault,) = faults_of(folder, PROJECT + again)
    assert fault.key == "permission[2].airspace"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"[project\nname = 3", "line 1"),
        (b'[project]\nname = "\xff"', "line 2: byte 0xff, which is not UTF-8"),
        (b"PK\x03\x04\xb1", "a zip archive, such as a saved result is"),
        (b"#" * 1_000_001, "more than 1,000,000 bytes"),
    ],
)
def test_bytes_that_are_no_project(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "project.toml"
    path.write_bytes(data)
    with pytest.raises(InputError, match=re.escape(words)):
        read_project(path)


def test_paths_that_are_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"a folder.*\n.*project\.toml"):
        read_project(tmp_path)
    with pytest.raises(InputError, match=r"no such file.*\n.*areaplan new"):
        read_project(tmp_path / "none.toml")
    with pytest.raises(InputError, match=r"cannot be read|no such file"):
        read_project(tmp_path / ("x" * 5000))


@pytest.mark.parametrize("value", ["0x" + "f" * 10_000, ".".join(["a"] * 5000) + " = 1"])
def test_values_too_long_to_show_are_still_a_fault(folder: Path, value: str) -> None:
    line = f"name = {value}" if value.startswith("0x") else f"name.{value}"
    (fault,) = faults_of(folder, swapped('name = "North practice area"', line))
    assert fault.key == "project.name"
    assert len(str(fault)) < 500


VALUES = st.sampled_from(
    ['""', "0", "-1", "nan", "inf", "true", "1979-05-27", "07:32:00", "[]", "[[]]", "{}", '"x"',
     '"9 ft"', '"all"', '"0 %"', '[""]', "[1]", '"\\u0000"', '{ value = "1 kt", source = "s" }']
)  # fmt: skip
LINES = [number for number, line in enumerate(PROJECT.splitlines()) if " = " in line]


@settings(
    deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.tuples(st.sampled_from(LINES), VALUES), min_size=1, max_size=6))
def test_any_value_anywhere_is_read_or_refused(
    folder: Path, changes: list[tuple[int, str]]
) -> None:
    lines = PROJECT.splitlines()
    for number, value in changes:
        lines[number] = f"{lines[number].split(' = ')[0]} = {value}"
    outcome = read_or_faults(folder, "\n".join(lines))
    if isinstance(outcome, Project):
        assert_no_stand_in(outcome)
    else:
        assert outcome
        assert all(fault.found and fault.expected and fault.fix for fault in outcome)


@settings(
    deadline=None, max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.binary(max_size=200))
def test_any_bytes_are_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "project.toml"
    path.write_bytes(data)
    with pytest.raises(InputError):
        read_project(path)


@settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.sampled_from(LINES), st.sampled_from(["x{}", "{}x", "{}_"]))
def test_every_misspelt_key_is_told(folder: Path, number: int, pattern: str) -> None:
    lines = PROJECT.splitlines()
    key = lines[number].split(" = ")[0]
    lines[number] = lines[number].replace(key, pattern.format(key), 1)
    keys = [fault.key.rpartition(".")[2] for fault in faults_of(folder, "\n".join(lines))]
    assert pattern.format(key) in keys


def assert_no_stand_in(project: Project) -> None:
    """No NaN and no empty text stands where a fault was passed over."""
    figures = project.aircraft
    numbers = [figures.best_glide_speed_mps, figures.best_glide_ratio, figures.glide_derating]
    numbers += [figures.manoeuvre_speed_mps, figures.stall_speed_mps, project.cell_m]
    numbers += [project.around_m, *attrs.astuple(project.margins)]
    assert all(math.isfinite(number) for number in numbers)
    assert project.name
    assert project.school
    assert project.planned_altitudes_amsl_ft
    assert all(figures.figure_sources.values())
    for spec in project.sources:
        assert bool(spec.paths) != bool(spec.none_because)
        assert len(spec.paths) == len(spec.names)
