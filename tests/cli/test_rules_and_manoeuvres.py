"""`areaplan rules --compare`, `--at`, `--document`, and `areaplan manoeuvres`."""

import json

import pytest

from areaplan.rules.loading import builtin_rule_sets, load_rule_set
from tests.cli.test_commands import run
from tests.oracles.pdf_words import pdf_words
from tests.planning.builder import lonlat, plain_country
from tests.render.document_cases import sizes_of


@pytest.fixture(scope="module")
def flat(tmp_path_factory):
    return plain_country(tmp_path_factory.mktemp("flat")).project(planned='["2500 ft AMSL"]')


def test_compare_puts_sets_side_by_side():
    done = run("rules", "--compare", "us", "canada", "uk")
    assert done.returncode == 0, done.stderr
    head = done.stdout.splitlines()[0].split()
    assert head == ["us", "canada", "uk"]
    for row in ("congested", "assembly", "sparse", "other", "aerobatic"):
        assert f"\n{row} " in done.stdout
    told = json.loads(run("rules", "--compare", "us", "canada", "--json").stdout)
    assert told["sets"] == ["us", "canada"]
    assert told["rows"]["sparse"]["canada"][0]["rule"] == "ca-602.14-2-b"


def test_compare_at_a_place_gives_the_floor_under_each(flat):
    lon, lat = lonlat(100, 100)
    done = run("rules", "--compare", "us", "icao", "--at", flat, lat, lon)
    assert done.returncode == 0, done.stderr
    assert "us: 1 500 ft AMSL" in done.stdout
    assert "icao: 1 493 ft AMSL" in done.stdout
    done = run("rules", "--compare", "us", "icao", "--at", flat, "-33.5", "-70.25", "--json")
    assert done.returncode == 0, done.stderr
    assert [row["legal_floor_amsl_ft"] for row in json.loads(done.stdout)["at"]] == [None, None]


def test_a_policy_file_may_stand_beside_a_built_in_set(tmp_path):
    assert run("new", tmp_path / "mine").returncode == 0
    done = run("rules", "--compare", "us", tmp_path / "mine" / "policy.toml")
    assert done.returncode == 0, done.stderr
    assert "solo: at least" in done.stdout
    assert "policy" in done.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--compare", "us"], "two to four"),
        (["--compare", "us", "us"], "each set once"),
        (["--compare", "us", "uss"], 'did you mean "us"'),
        (["us", "--at", "p.toml", "1", "2"], "--at goes with --compare"),
        (["us", "--set", "uk"], "not both"),
        (["--compare", "us", "uk", "--document", "r.md"], "--document"),
        (["--document", "rules.docx"], ".html, .pdf or .md"),
        (["--compare", "us", "uk", "--at", "none.toml", "1", "2"], "no such file"),
        (["--compare", "us", "uk", "--at", "none.toml", "100", "2"], "100"),
    ],
)
def test_wrong_use_is_told_with_status_2(words, told):
    done = run("rules", *words)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_the_document_lists_every_rule(tmp_path):
    for name in ("rules.html", "rules.md"):
        done = run("rules", "--document", tmp_path / name)
        assert done.returncode == 0, done.stderr
        assert done.stdout.strip() == str(tmp_path / name)
        text = (tmp_path / name).read_text(encoding="utf-8")
        for one in builtin_rule_sets():
            for rule in load_rule_set(one).rules:
                assert rule.id in text
        assert "steep-spiral" in text
    one = run("rules", "us", "--document", tmp_path / "us.md", "--json")
    assert json.loads(one.stdout)["rule_sets"] == ["us"]
    assert "sera-3105" not in (tmp_path / "us.md").read_text(encoding="utf-8")


def test_the_document_is_printed_on_the_paper_asked_for(tmp_path):
    for name, size in (("letter", (612, 792)), ("a4", (595, 842))):
        for one in ("rules.pdf", "again.pdf"):
            done = run("rules", "us", "--document", tmp_path / one, "--paper", name)
            assert done.returncode == 0, done.stderr
        printed = (tmp_path / "rules.pdf").read_bytes()
        assert printed == (tmp_path / "again.pdf").read_bytes()
        assert sizes_of(printed) == {size}
        assert "us-91.119-b" in pdf_words(printed)
    run("rules", "us", "--document", tmp_path / "us.html", "--paper", "a4")
    assert "size: A4" in (tmp_path / "us.html").read_text(encoding="utf-8")


def test_the_page_shows_weather_and_manoeuvres():
    page = run("rules", "--set", "us").stdout
    assert "Class C and D: visibility 3 SM; 500 ft below cloud, 1,000 ft above, 2,000 ft" in page
    everything = run("rules").stdout
    assert "never below 1,500 ft above the surface" in everything


def test_manoeuvres_tell_entries_stops_and_weather(flat):
    done = run("manoeuvres", flat)
    assert done.returncode == 0, done.stderr
    page = " ".join(done.stdout.split())
    assert "Power-off stall [power-off-stall, advisory]: enter from 2 800 ft up" in page
    assert "enter between 1 700 ft and 1 900 ft" in page
    assert "visibility 3 SM" in page
    assert "CONFIRM:" in page
    assert "not for navigation" in page
    assert max(map(len, done.stdout.splitlines())) <= 96


def test_manoeuvres_json_and_status(flat, tmp_path):
    done = run("manoeuvres", flat, "--only", "steep-turns", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["verdict"] == "MET"
    (steep,) = told["manoeuvres"]
    assert steep["entries"] == [{"floor_amsl_ft": 2700, "ceiling_amsl_ft": None}]
    assert steep["weather"]["cloud_base_amsl_ft"] == 2700 + 200 + 500
    assert run("manoeuvres", flat, "--only", "loop").returncode == 2
    # A row of hills 500 ft high leaves no one altitude between 600 and 1,000 ft above all ground.
    hills = plain_country(tmp_path)
    hills._sources = [text for text in hills._sources if '"terrain"' not in text]
    hills.terrain(heights_m=lambda x, _: 304.8 + 152.4 * (abs(x) < 300))
    project = hills.project(planned='["2500 ft AMSL"]')
    done = run("manoeuvres", project, "--only", "ground-reference")
    assert done.returncode == 1, done.stderr
    assert "does NOT fit" in done.stdout
