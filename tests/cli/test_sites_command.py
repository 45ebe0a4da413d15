"""`areaplan sites` as people and programs use it, in a process of its own."""

import json

import pytest

from tests.cli.running import run
from tests.planning.test_sites import CROSSROADS, HALF_M, _country


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    country = _country(tmp_path_factory.mktemp("sites"), roads=CROSSROADS)
    return country.project(half_m=HALF_M, cell="100 m")


def test_finds_sites_and_writes_them(project, tmp_path):
    page, tracks = tmp_path / "map.html", tmp_path / "sites.gpx"
    words = ("--wind", "360/14", "--manoeuvre", "s-turns", "--map", page, "--export", tracks)
    done = run("sites", project, *words, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["verdict"] == "MET"
    assert told["wind"] == {"from_deg_true": 360.0, "speed_kt": 14.0} or (
        told["wind"] == {"from_deg_true": 0.0, "speed_kt": 14.0}
    )
    (figure,) = told["figures"]
    assert figure["sites"][0]["reference"] == "East Road"
    assert told["written"] == [str(tracks), str(page)]
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert tracks.read_bytes().startswith(b"<?xml")


def test_no_site_is_status_1(project):
    done = run("sites", project, "--wind", "045/14", "--manoeuvre", "s-turns")
    assert done.returncode == 1, done.stderr
    assert "lies across the wind" in " ".join(done.stdout.split())


def test_all_winds_as_text_and_json(project):
    words = ("sites", project, "--manoeuvre", "turns-around-a-point", "--all-winds", "12 kt")
    done = run(*words)
    assert done.returncode == 0, done.stderr
    assert "calm, 6 kt, 12 kt" in " ".join(done.stdout.split())
    assert "* crossing of East Road and North Road" in done.stdout
    row = next(line for line in done.stdout.splitlines() if "* crossing" in line)
    assert row.split()[-16:] == ["x"] * 16
    told = json.loads(run(*words, "--json").stdout)
    (figure,) = told["figures"]
    assert figure["fewest"] == ["crossing of East Road and North Road"]
    assert figure["speeds_flown_kt"] == [0.0, 6.0, 12.0]
    assert figure["directions_deg_true"] == [22.5 * i for i in range(16)]
    assert figure["unserved_deg_true"] == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--manoeuvre", "s-turn"), "--manoeuvre"),
        (("--wind", "north"), "--wind"),
        (("--wind", "360/200"), "a wind of 200 kt"),
        (("--all-winds", "15"), "--all-winds"),
        (("--all-winds", "0 kt"), "--all-winds"),
        (("--all-winds", "200 kt"), "a wind of 200 kt"),
        (("--all-winds", "15 kt", "--wind", "calm"), "--all-winds"),
        (("--export", "sites.txt", "--manoeuvre", "s-turns"), "--export"),
    ],
)
def test_bad_words_are_bad_input(project, words, told):
    done = run("sites", project, *words)
    assert done.returncode == 2, done.stderr
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_manoeuvres_tell_their_place_in_the_wind_asked(project):
    words = ("manoeuvres", project, "--only", "steep-turns", "--place", "--wind", "200/15")
    done = run(*words, "--json")
    assert done.returncode == 0, done.stderr
    (row,) = json.loads(done.stdout)["manoeuvres"]
    best = row["place"]["best"]
    assert best["heading_deg_true"] in (20.0, 110.0, 200.0, 290.0)
    assert best["drift_north_m"] > best["drift_east_m"] > 0.0
    assert "Place: fits with its drift from" in run(*words).stdout
