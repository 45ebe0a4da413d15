"""The keys of `[fields]` and the landing distance: defaults, values and faults."""

from __future__ import annotations

from pathlib import Path

import pytest

from areaplan.errors import QuantityError
from areaplan.planning.project import FieldLimits
from areaplan.units import FOOT_M, parse_slope
from tests.planning.project_text import PROJECT, faults_of, folder_with_files, read, swapped


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_with_files(tmp_path)


def with_fields(lines: str) -> str:
    return swapped("[grid]", f"[fields]\n{lines}\n[grid]")


def test_defaults_are_those_that_the_starter_shows(folder: Path) -> None:
    project = read(folder, PROJECT)
    assert project.fields == FieldLimits(30.0, 300.0, 0.1, 0.04, 0.5, 30.0, False)
    assert project.aircraft.landing_distance_m is None
    assert "landing_distance" not in project.aircraft.figure_sources


def test_every_key_is_read(folder: Path) -> None:
    lines = (
        'width = "60 ft"\nleast_length = "250 m"\napproach_slope = "12.5 %"\nsteepest = "1:50"\n'
        'roughest = "0.8 m"\nwire_clearance = "150 ft"\ncount_candidates = true\n'
    )
    text = with_fields(lines).replace(
        "[wind]", 'landing_distance = { value = "1,350 ft", source = "handbook 5-11" }\n[wind]'
    )
    project = read(folder, text)
    limits = project.fields
    assert (limits.width_m, limits.least_length_m) == (60 * FOOT_M, 250.0)
    assert (limits.approach_slope, limits.steepest) == (0.125, 0.02)
    assert (limits.roughest_m, limits.wire_clearance_m) == (0.8, 150 * FOOT_M)
    assert limits.is_candidate_counted
    assert project.aircraft.landing_distance_m == pytest.approx(1350 * FOOT_M)
    assert project.aircraft.figure_sources["landing_distance"] == "handbook 5-11"


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ('width = "2 m"', "5 m to 200 m"),
        ("width = 30", "bare number"),
        ('least_length = "20 m"', "50 m to 5 km"),
        ('approach_slope = "10"', "1:10"),
        ('approach_slope = "1:2"', "1:50 to 1:3"),
        ('approach_slope = "0 %"', "1:50 to 1:3"),
        ('steepest = "4"', "per cent"),
        ('steepest = "30 %"', "0.5 % to 20 %"),
        ('roughest = "0 m"', "0.05 m to 10 m"),
        ('wire_clearance = "0 m"', "nobody sees a wire"),
        ('count_candidates = "yes"', "true or false"),
        ('widht = "30 m"', 'did you mean "width"'),
    ],
)
def test_faults_name_the_key(folder: Path, line: str, words: str) -> None:
    (fault,) = faults_of(folder, with_fields(line))
    assert fault.key == f"fields.{line.split(' = ')[0]}"
    assert words in str(fault)


@pytest.mark.parametrize(
    ("value", "key"),
    [
        ('"1300 ft"', "aircraft.landing_distance"),
        ('{ value = "1300", source = "x" }', "aircraft.landing_distance.value"),
        ('{ value = "1300 ft" }', "aircraft.landing_distance.source"),
        ('{ value = "13 ft", source = "x" }', "aircraft.landing_distance.value"),
    ],
)
def test_a_landing_distance_has_unit_and_source(folder: Path, value: str, key: str) -> None:
    (fault,) = faults_of(folder, swapped("[wind]", f"landing_distance = {value}\n[wind]"))
    assert fault.key == key


@pytest.mark.parametrize(
    ("text", "slope"), [("1:10", 0.1), (" 1 : 12.5 ", 0.08), ("10 %", 0.1), ("4%", 0.04)]
)
def test_slopes(text: str, slope: float) -> None:
    assert parse_slope(text) == pytest.approx(slope)


@pytest.mark.parametrize("text", ["10", "2:20", "1:0", "1:0.5", "1:-10", "101 %", "-1 %", None, 10])
def test_no_slopes(text: object) -> None:
    with pytest.raises(QuantityError, match="1:10"):
        parse_slope(text)
