"""The command line as people and programs use it, in a process of its own."""

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest

from areaplan.cli.main import _VERBS
from areaplan.render.gpx import GpxPoint, GpxTrack, gpx_bytes
from tests.cli.running import ROOT, run
from tests.planning.builder import lonlat, plain_country


@pytest.fixture(scope="module")
def met_project(tmp_path_factory):
    return plain_country(tmp_path_factory.mktemp("met")).project()


def test_help_lists_every_verb():
    done = run("--help")
    assert done.returncode == 0
    verbs = (
        *("brief", "check", "compare", "day", "demo", "export", "fields", "manoeuvres", "map"),
        *("new", "point", "routes", "rules", "sites", "track", "wind"),
    )
    assert list(_VERBS) == list(verbs)
    for verb in verbs:
        assert f"  {verb} " in done.stdout
        assert run(verb, "--help").returncode == 0


def test_check_json_has_the_promised_keys(met_project):
    done = run("check", met_project, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["verdict"] == "MET"
    keys = [
        "altitude_amsl_ft",
        "legal_share",
        "safe_share",
        "legal_and_safe_share",
        "unknown_share",
    ]
    for row in (*told["planned"], *told["by_altitude"]):
        assert set(keys) <= set(row)
    assert told["planned"][0]["altitude_amsl_ft"] == 2000
    assert set(told["block"]) == {"floor_amsl_ft", "ceiling_amsl_ft"}
    for finding in told["findings"]:
        promised = ["rule", "verdict", "margin_ft", "lat", "lon", "feature", "quote", "document"]
        assert set(promised) <= set(finding)
    assert any("91.119" in row["document"] for row in told["findings"])
    digests = [file["sha256"] for source in told["sources"] for file in source["files"]]
    assert digests
    assert all(len(digest) == 64 for digest in digests)
    assert any("not for navigation" in text for text in told["cautions"])


def test_check_text_names_rule_sentence_and_cautions(met_project):
    done = run("check", met_project)
    assert done.returncode == 0
    for words in ("Verdict: MET", "us-91.119-a", "not for navigation", "65 kt at 10:1"):
        assert words in done.stdout
    assert "\x1b" not in done.stdout


def test_point_json_has_the_promised_keys(met_project):
    lon, lat = lonlat(100, 100)
    done = run("point", met_project, lat, lon, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert any("not for navigation" in words for words in told["cautions"])
    assert told["terrain_amsl_ft"] == 1000
    assert told["legal_floor_amsl_ft"] == 1500
    assert told["open_bands_amsl_ft"] == [[1500, None]]
    assert told["binding_feature"] == "ground"
    assert told["binding_rule"].startswith("us-91.119-c")
    assert told["field"] == "The plain"
    assert told["field_distance_nm"] == 0
    assert told["sectors_with_field"] == 12
    assert told["verdict"] == "MET"
    promised = ["lat", "lon", "glide_required_amsl_ft", "field_bearing_true_deg"]
    assert set(promised) <= set(told)


def test_point_takes_southern_and_western_places_and_an_altitude(met_project):
    done = run("point", met_project, "-33.5", "-70.25", "--json")
    assert done.returncode == 3, done.stderr
    assert json.loads(done.stdout)["terrain_amsl_ft"] is None
    lon, lat = lonlat(0, 0)
    low = run("point", met_project, lat, lon, "--altitude", "1400 ft AMSL")
    assert low.returncode == 1
    assert "NOT MET" in low.stdout
    bare = run("point", met_project, lat, lon, "--altitude", "1400")
    assert bare.returncode == 2
    assert "unit" in bare.stderr


def test_not_met_and_unknown_have_their_own_status(tmp_path):
    high = plain_country(tmp_path).project(planned='["1200 ft AMSL"]')
    assert run("check", high).returncode == 1
    (tmp_path / "outside").mkdir()
    country = plain_country(tmp_path / "outside")
    outside = country.terrain(half_m=900.0).project()
    text = outside.read_text(encoding="utf-8")
    first = text.index('[[source]]\nkind = "terrain"')
    second = text.index('[[source]]\nkind = "fields"')
    outside.write_text(text[:first] + text[second:], encoding="utf-8")
    done = run("check", outside)
    assert done.returncode == 3, done.stderr
    assert "UNKNOWN" in done.stdout


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "no such file"),
        ("", "project"),
        ("[project\n", "TOML"),
        ("[project]\nname = 5\n", "project.name"),
    ],
)
def test_bad_project_is_told_with_its_fix_and_status_2(tmp_path, content, words):
    path = tmp_path / "project.toml"
    if content is not None:
        path.write_text(content, encoding="utf-8")
    for verb in (["check", path], ["map", path, "--out", tmp_path / "m.html"]):
        done = run(*verb)
        assert done.returncode == 2
        assert "project.toml" in done.stderr
        assert words.lower() in done.stderr.lower()
        assert "fix:" in done.stderr
        assert "Traceback" not in done.stderr
    assert not (tmp_path / "m.html").exists()


@pytest.mark.parametrize(
    "words",
    [
        ("brief", "{bad}", "--out", "{out}/b.html"),
        ("compare", "{bad}", "{bad}"),
        (
            *("day", "{bad}", "--time", "2026-11-25T15:00-06:00", "--wind", "240/18"),
            *("--altimeter", "30.10inHg", "--temperature", "12C", "--out", "{out}/d.html"),
        ),
        ("export", "{bad}", "--to", "{out}/files"),
        ("routes", "{bad}"),
        ("sites", "{bad}", "--wind", "210/14", "--map", "{out}/s.html"),
        ("track", "{bad}", "{flight}", "--figure", "{out}/p.svg"),
    ],
    ids=lambda words: words[0],
)
@pytest.mark.parametrize("is_missing", [True, False], ids=["missing", "broken"])
def test_every_verb_refuses_a_bad_project_and_writes_nothing(tmp_path, words, is_missing):
    bad, out, flight = tmp_path / "bad.toml", tmp_path / "out", tmp_path / "flight.gpx"
    out.mkdir()
    if not is_missing:
        bad.write_text("[project\n", encoding="utf-8")
    begun = datetime(2026, 11, 25, 15, tzinfo=UTC)
    points = [
        GpxPoint(lat, -100.0, 900.0, begun + timedelta(seconds=5 * k))
        for k, lat in enumerate((41.0, 41.001))
    ]
    flight.write_bytes(
        gpx_bytes(
            title="flight",
            description="",
            made=begun,
            tracks=[GpxTrack("flight", (tuple(points),))],
        )
    )
    done = run(*(word.format(bad=bad, out=out, flight=flight) for word in words), "--json")
    assert done.returncode == 2, done.stderr
    assert "bad.toml" in done.stderr
    assert "fix:" in done.stderr
    assert "Traceback" not in done.stderr
    assert not done.stdout
    assert list(out.iterdir()) == []


def test_a_missing_recording_is_told_with_its_fix(met_project):
    done = run("track", met_project, "none.igc")
    assert done.returncode == 2
    assert "none.igc: there is no such file" in done.stderr
    assert "fix:" in done.stderr


def test_quantities_of_options_are_refused_in_one_manner(met_project):
    for words in (
        ("track", met_project, "none.igc", "--altimeter", "29.92"),
        ("track", met_project, "none.igc", "--uncertainty", "some"),
        ("export", met_project, "--to", "none", "--altitude", "2000"),
        ("routes", met_project, "--wind", "210"),
    ):
        done = run(*words)
        assert done.returncode == 2
        assert f"command line: {words[-2]}: " in done.stderr
        assert f"fix: give it as {words[-2]} " in done.stderr


def test_map_is_written_whole_and_the_same_twice(met_project, tmp_path):
    one, two = tmp_path / "one.html", tmp_path / "two.html"
    for target in (one, two):
        done = run("map", met_project, "--out", target, "--json")
        assert done.returncode == 0, done.stderr
        assert json.loads(done.stdout) == {"map": str(target), "verdict": "MET"}
    assert one.read_bytes() == two.read_bytes()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["one.html", "two.html"]


def test_map_into_a_folder_that_is_not_there_is_bad_input(met_project, tmp_path):
    done = run("map", met_project, "--out", tmp_path / "none" / "map.html")
    assert done.returncode == 2
    assert "fix:" in done.stderr


def test_new_writes_a_project_that_is_met_as_it_stands(tmp_path):
    done = run("new", tmp_path / "mine", "--json")
    assert done.returncode == 0, done.stderr
    written = json.loads(done.stdout)["written"]
    assert str(tmp_path / "mine" / "project.toml") in written
    checked = run("check", tmp_path / "mine" / "project.toml")
    assert checked.returncode == 0, checked.stdout
    again = run("new", tmp_path / "mine")
    assert again.returncode == 2
    assert "fix:" in again.stderr


def test_rules_show_sentences_and_editions():
    done = run("rules")
    assert done.returncode == 0
    assert "An altitude of 500 feet above the surface" in done.stdout
    assert "SERA.5005" in done.stdout
    told = json.loads(run("rules", "--json").stdout)
    assert {row["id"] for row in told["rule_sets"]} >= {"us", "icao-eu", "uk", "manoeuvres"}
    one = json.loads(run("rules", "--set", "us", "--json").stdout)
    assert [row["id"] for row in one["rule_sets"]] == ["us"]
    unknown = run("rules", "--set", "uss")
    assert unknown.returncode == 2


def test_demo_prints_a_verdict_and_writes_its_map(tmp_path):
    done = run("demo", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Verdict: NOT MET" in done.stdout
    page = tmp_path / "maps" / "demo.html"
    assert 100_000 < page.stat().st_size < 12_000_000


def test_a_defect_is_no_verdict():
    code = "import sys, areaplan.cli.main as door\ndoor.cli = lambda **_: 1 / 0\ndoor.main()\n"
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert done.returncode == 70
    assert "no verdict" in done.stderr
