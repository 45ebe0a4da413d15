"""`areaplan export` as people and programs use it, in a process of its own."""

import json

import pyogrio
import pytest

from tests.cli.running import run
from tests.planning.builder import plain_country


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return plain_country(tmp_path_factory.mktemp("export")).project()


def test_all_formats_are_written_once_and_not_over(project, tmp_path):
    target = tmp_path / "out"
    done = run("export", project, "--to", target, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert any("not for navigation" in words for words in told["cautions"])
    assert told["verdict"] == "MET"
    written = sorted(str(path) for path in target.rglob("*") if path.is_file())
    assert sorted(told["files"]) == written
    endings = {path.rpartition(".")[2] for path in written}
    assert endings == {"geojson", "kml", "gpx", "gpkg", "tif"}
    again = run("export", project, "--to", target)
    assert again.returncode == 2
    assert "there already" in again.stderr
    assert "--replace" in again.stderr
    before = {path: (target / path).read_bytes() for path in written}
    replaced = run("export", project, "--to", target, "--replace")
    assert replaced.returncode == 0, replaced.stderr
    assert "not for navigation" in replaced.stdout
    assert {path: (target / path).read_bytes() for path in written} == before


def test_one_format_at_an_altitude_of_its_own(project, tmp_path):
    words = ("--format", "geopackage", "--altitude", "1700 ft AMSL")
    done = run("export", project, "--to", tmp_path, *words)
    assert done.returncode == 0, done.stderr
    (path,) = tmp_path.iterdir()
    assert path.name == "project.gpkg"
    layers = [name for name, _ in pyogrio.list_layers(path)]
    assert "classes_1700_ft_amsl" in layers
    assert "classes_2000_ft_amsl" not in layers


def test_bad_words_are_bad_input_and_write_nothing(project, tmp_path):
    for words in (
        ("--altitude", "1700"),
        ("--format", "paper"),
    ):
        assert run("export", project, "--to", tmp_path / "out", *words).returncode == 2
    assert run("export", project).returncode == 2
    nowhere = run("export", project, "--to", tmp_path / "no" / "where", "--format", "kml")
    assert nowhere.returncode == 2
    assert "fix:" in nowhere.stderr
    assert list(tmp_path.iterdir()) == []


def test_status_is_the_verdicts(tmp_path):
    low = plain_country(tmp_path).project(planned='["1200 ft AMSL"]')
    done = run("export", low, "--to", tmp_path / "out", "--format", "gpx")
    assert done.returncode == 1
    assert (tmp_path / "out" / "project.gpx").exists()
