"""Gates and routes as a project file declares them: values, defaults and faults."""

from pathlib import Path

import pytest

from areaplan.planning.gates import Gate, Route, Use
from tests.planning.project_text import PROJECT, faults_of, folder_with_files, read

GATE = """
[[gate]]
name = "Mill bridge"
lat = 10.05
lon = 20.01
altitude = "2500 ft AMSL"
use = "in"
landmark = "stone bridge over the river"
"""
ROUTE = """
[[route]]
name = "North route"
points = [[10.12, 20], "Mill bridge", [10.0, 20.02]]
altitude = "2,100 ft MSL"
remarks = "listen out before the bridge"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_with_files(tmp_path)


def test_none_is_the_default(folder):
    project = read(folder, PROJECT)
    assert project.gates == project.routes == ()


def test_every_key_is_read(folder):
    project = read(folder, PROJECT + GATE + ROUTE)
    landmark = "stone bridge over the river"
    assert project.gates == (Gate("Mill bridge", 10.05, 20.01, 2500, Use.IN, landmark),)
    points = ((20.0, 10.12), (20.01, 10.05), (20.02, 10.0))
    names = ("", "Mill bridge", "")
    remarks = "listen out before the bridge"
    assert project.routes == (Route("North route", points, names, 2100, Use.BOTH, remarks),)


def test_the_optional_keys_may_be_left_out(folder):
    gate = "\n".join(row for row in GATE.splitlines() if not row.startswith(("use", "land")))
    route = ROUTE.replace("remarks", 'use = "out"\n#')
    project = read(folder, PROJECT + gate + route)
    assert (project.gates[0].use, project.gates[0].landmark) == (Use.BOTH, "")
    assert (project.routes[0].use, project.routes[0].remarks) == (Use.OUT, "")


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ('name = "Mill bridge"\n', "", "gate[1].name", "not given"),
        ("lat = 10.05", "lat = 91", "gate[1].lat", "bare number 91"),
        ("lon = 20.01", 'lon = "20"', "gate[1].lon", "'20'"),
        ("2500 ft AMSL", "2500 ft AGL", "gate[1].altitude", "AGL"),
        ("2500 ft AMSL", "40000 ft AMSL", "gate[1].altitude", "40000"),
        ("2500 ft AMSL", "2500.4 ft AMSL", "gate[1].altitude", "2500.40 ft"),
        ('"in"', '"inn"', "gate[1].use", "'inn'"),
        ("landmark", "landmrk", "gate[1].landmrk", "unknown key"),
        ("2,100 ft MSL", "2100", "route[1].altitude", "2100"),
        ('"Mill bridge", [', '"Mil bridge", [', "route[1].points[2]", "'Mil bridge'"),
        ("[10.12, 20]", "[10.12]", "route[1].points[1]", "[10.12]"),
        ("[10.12, 20]", "[nan, 20]", "route[1].points[1]", "nan"),
        ("[10.12, 20]", "[10.12, 181]", "route[1].points[1]", "181"),
        ("[10.12, 20]", "[true, 20]", "route[1].points[1]", "True"),
        ("[10.12, 20]", "[10.05, 20.01]", "route[1].points[2]", "same place"),
        ('[[10.12, 20], "Mill bridge", [10.0, 20.02]]', "[[10.1, 20]]", "route[1].points", "1 p"),
        ('[[10.12, 20], "Mill bridge", [10.0, 20.02]]', "7", "route[1].points", "number 7"),
        ("remarks", "remark", "route[1].remark", "unknown key"),
    ],
)
def test_each_fault_is_named_once_with_its_place(folder, old, new, key, words):
    text = GATE + ROUTE
    assert old in text
    faults = faults_of(folder, PROJECT + text.replace(old, new, 1))
    assert [fault.key for fault in faults][:1] == [key]
    assert words in faults[0].found
    others = {fault.key for fault in faults} - {key}
    # A gate without a name is not there for the route that names it.
    assert others <= ({"route[1].points[2]"} if key == "gate[1].name" else set())
    assert all(fault.fix for fault in faults)


def test_names_only_once_and_tables_in_double_brackets(folder):
    faults = faults_of(folder, PROJECT + GATE + GATE + ROUTE + ROUTE)
    assert {fault.key for fault in faults} == {"gate[2].name", "route[2].name"}
    faults = faults_of(folder, "gate = 3\n" + PROJECT)
    assert [fault.key for fault in faults] == ["gate"]


def test_the_nearest_gate_is_offered(folder):
    text = GATE + ROUTE.replace("Mill bridge", "Mil brige")
    assert "Mill bridge" in faults_of(folder, PROJECT + text)[0].fix
    assert "[[gate]]" in faults_of(folder, PROJECT + ROUTE)[0].fix
