"""`areaplan check --save` and `areaplan compare` with its files, in processes of their own."""

import json
import shutil

import pytest

from tests.cli.running import run
from tests.planning.builder import Country, box

SIZE = {"cell": "100 m", "around": "1.5 NM", "planned": '["2600 ft AMSL"]'}


def project(folder, half_m):
    folder.mkdir()
    country = Country(folder).terrain(half_m=5000.0)
    fields = [(box(-half_m, -half_m, half_m, half_m), {"name": "Plain"})]
    country.features("fields", fields)
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    return country.none("noise-sensitive").project(**SIZE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("saved")


@pytest.fixture(scope="module")
def pair(folder):
    return project(folder / "old", 3000.0), project(folder / "new", 200.0)


@pytest.fixture(scope="module")
def saved(pair, folder):
    """Both results; and the old project is gone afterwards but for a copy."""
    paths = folder / "last year.result", folder / "this year.result"
    for one, path in zip(pair, paths, strict=True):
        done = run("check", one, "--save", path)
        assert done.returncode in (0, 1), done.stderr
        assert f"Saved: {path}" in done.stdout
    return paths


def told(*words, status):
    done = run("compare", *words, "--json")
    assert done.returncode == status, done.stderr
    return json.loads(done.stdout)


def test_a_result_and_its_own_project(pair, saved):
    found = told(saved[0], pair[0], status=0)
    assert found["is_same"] is True
    assert found["notes"] == ["Nothing changed."]
    assert found["old"]["saved_result"]["path"] == str(saved[0])
    assert found["new"]["saved_result"] is None
    text = run("compare", saved[0], pair[0]).stdout
    assert "Nothing changed." in text
    assert "a saved result, made with areaplan" in " ".join(text.split())


def test_saved_or_live_the_same_is_told(pair, saved, folder, tmp_path):
    """Each side either way, and without the old project's files."""
    pages = []
    found = []
    for number, (old, new) in enumerate(
        [(pair[0], pair[1]), (saved[0], pair[1]), (pair[0], saved[1]), (saved[0], saved[1])]
    ):
        page = tmp_path / f"{number}.html"
        one = told(old, new, "--page", page, status=1)
        for key in ("old", "new"):
            del one[key]["saved_result"]
        del one["written"]
        found.append(one)
        pages.append(page.read_text(encoding="utf-8"))
    assert all(one == found[0] for one in found)
    assert "a saved result, made with areaplan" in pages[1]
    svg = {page[page.index("<svg") : page.rindex("</svg>")] for page in pages}
    assert len(svg) == 1
    away = tmp_path / "away"
    shutil.move(folder / "old", away)
    try:
        assert told(saved[0], saved[1], status=1)["things"] == found[0]["things"]
    finally:
        shutil.move(away, folder / "old")


def test_saving_twice_gives_the_same_bytes(pair, saved, tmp_path):
    again = tmp_path / "again"
    done = run("check", pair[0], "--save", again, "--json")
    assert json.loads(done.stdout)["saved"] == str(again)
    assert again.read_bytes() == saved[0].read_bytes()
    assert json.loads(run("check", pair[0], "--json").stdout)["saved"] is None


def test_bad_input(pair, saved, tmp_path):
    broken = tmp_path / "broken.result"
    data = bytearray(saved[0].read_bytes())
    data[len(data) // 2] ^= 255
    broken.write_bytes(data)
    for words, said in (
        (["compare", broken, pair[1]], "damaged"),
        (["check", pair[0], "--save", tmp_path / "none" / "x.result"], "--save"),
        (["check", pair[0], "--save", pair[0]], "no saved result"),
        (["check", saved[0]], "UTF-8"),
    ):
        done = run(*words)
        assert done.returncode == 2, done.stdout
        assert said in done.stderr
        assert "Traceback" not in done.stderr
    assert pair[0].read_text(encoding="utf-8").startswith("[project]")
