"""`areaplan fields` as people and programs use it, in a process of its own."""

import json

import pytest

from tests.cli.running import run
from tests.planning.builder import plain_country
from tests.planning.covered_country import PASTURE, bare_country, box, patches, with_cover, write


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    """One field that is long enough, one that is not, and a meadow that nobody has looked at."""
    country = bare_country(tmp_path_factory.mktemp("fields"))
    country.features(
        "fields",
        [
            (box(-900, 600, -200, 700), {"name": "Long acre", "surface": "stubble"}),
            (box(300, 600, 400, 700), {"name": "Paddock", "consent": "not asked"}),
        ],
    )
    return write(with_cover(country, patches((PASTURE, -500, -700, 500, -100))))


def test_text_tells_each_field_and_candidates_apart(project):
    done = run("fields", project)
    assert done.returncode == 0, done.stderr
    drawn, _, proposed = done.stdout.partition("Candidates from land cover, to confirm: 1")
    assert "1 of 2 count" in drawn
    assert drawn.index("1. Long acre: counts") < drawn.index(
        "2. Paddock: does not count: too short"
    )
    for words in ("size", "shape", "surface    stubble", "surrounds", "slope", "consent"):
        assert words in drawn
    assert "candidate 1" not in drawn
    assert "candidate 1: does not count: not confirmed" in proposed
    assert "one pixel" in " ".join(proposed.split())
    assert "Planning aid only" in proposed
    assert "\x1b" not in done.stdout


def test_json_has_the_promised_keys(project):
    done = run("fields", project, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["verdict"] == "MET"
    assert told["candidates_count"] is False
    assert [row["name"] for row in told["fields"]] == ["Long acre", "Paddock"]
    (candidate,) = told["candidates"]
    assert candidate["is_candidate"]
    assert candidate["land_cover"] == "pasture or hay 100%"
    for row in (*told["fields"], candidate):
        assert set(row["five_s"]) == {"size", "shape", "surface", "surrounds", "slope"}
        assert [strip["direction_deg_true"] for strip in row["strips"]] == list(range(0, 360, 10))
        assert row["counts"] == (not row["why_not"])
        best = row["best_direction_deg_true"]
        for strip in row["strips"]:
            assert strip["usable_m"] <= strip["length_m"]
            if strip["is_enough"]:
                assert strip["usable_m"] >= strip["needed_m"] - 1  # one down, the other up
        assert (best is None) == (not any(strip["is_enough"] for strip in row["strips"]))
    kinds = {source["kind"] for source in told["sources"]}
    assert kinds == {"terrain", "fields", "land-cover"}
    assert any("not for navigation" in text for text in told["cautions"])


def test_one_field_in_full_tells_every_direction(project):
    done = run("fields", project, "--field", "Long acre")
    assert done.returncode == 0, done.stderr
    told = json.loads(run("fields", project, "--json").stdout)
    (row,) = [row for row in told["fields"] if row["name"] == "Long acre"]
    table = done.stdout.partition("  enough\n")[2].partition("\n\n")[0].splitlines()
    assert len(table) == 36
    for line, strip in zip(table, row["strips"], strict=True):
        bearing, length, _, usable, needed, *_, enough = line.split()
        assert int(bearing) % 360 == strip["direction_deg_true"]
        assert (int(length), int(usable)) == (strip["length_m"], strip["usable_m"])
        assert int(needed) == strip["needed_m"]
        assert (enough != "no") == strip["is_enough"]
    assert any("Crosswind: no limit" in words for words in told["judged_by"])
    assert row["crossed_by"] == []
    wrong = run("fields", project, "--field", "Long acer")
    assert wrong.returncode == 2
    assert 'did you mean "Long acre"?' in wrong.stderr
    assert run("fields", project, "--field", "Long acre", "--json").returncode == 2


def test_candidates_can_be_left_out(project):
    assert "candidate 1" not in run("fields", project, "--no-candidates").stdout
    told = json.loads(run("fields", project, "--no-candidates", "--json").stdout)
    assert told["candidates"] is None
    clash = run("fields", project, "--no-candidates", "--export", project.parent / "x.geojson")
    assert clash.returncode == 2
    assert not (project.parent / "x.geojson").exists()


def test_export_is_whole_the_same_twice_and_says_to_confirm(project, tmp_path):
    one, two = tmp_path / "one.geojson", tmp_path / "two.geojson"
    for target in (one, two):
        done = run("fields", project, "--export", target)
        assert done.returncode == 0, done.stderr
        assert f"1 candidates written to {target}" in done.stdout
    assert one.read_bytes() == two.read_bytes()
    (feature,) = json.loads(one.read_text(encoding="utf-8"))["features"]
    assert feature["properties"]["status"] == "to confirm"
    assert feature["properties"]["confirmed"] is False
    assert sorted(path.name for path in tmp_path.iterdir()) == ["one.geojson", "two.geojson"]
    nowhere = run("fields", project, "--export", tmp_path / "none" / "c.geojson")
    assert nowhere.returncode == 2
    assert "--export" in nowhere.stderr
    assert "fix:" in nowhere.stderr


def test_status_tells_none_bad_and_unknown(tmp_path):
    for name in ("none", "bad", "dark"):
        (tmp_path / name).mkdir()
    nothing = write(bare_country(tmp_path / "none"))
    assert run("fields", nothing).returncode == 1
    bad = write(with_cover(bare_country(tmp_path / "bad"), lambda x_m, _: x_m * 0 + 33))
    done = run("fields", bad)
    assert done.returncode == 2
    assert "legend differs" in done.stderr
    assert "Traceback" not in done.stderr
    dark = plain_country(tmp_path / "dark")
    dark.terrain(heights_m=lambda x_m, _: x_m * float("nan"))
    path = dark.project(around="0.5 NM")
    text = path.read_text(encoding="utf-8")
    # The builder adds sources and never takes one away: drop the first of two terrains.
    first = text.index('[[source]]\nkind = "terrain"')
    path.write_text(text[:first] + text[text.index("[[source]]", first + 5) :], encoding="utf-8")
    assert run("fields", path).returncode == 3
