"""`areaplan routes` in a process of its own: text, JSON, wind, exit status, bad input."""

import json

import pytest

from tests.cli.running import run
from tests.planning.builder import Country, box, lonlat

NONE = ("obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive")
SIZE = {"cell": "100 m", "around": "1 NM"}
BEND = '[[{}, {}], "Mill bridge"]'.format(*reversed(lonlat(-900, -900)))


def gate(altitude):
    lon, lat = lonlat(900, 130)
    return (
        f'\n[[gate]]\nname = "Mill bridge"\nlat = {lat}\nlon = {lon}\naltitude = "{altitude}"\n'
        'landmark = "stone bridge"\n'
    )


def route(altitude, points=BEND):
    return f'\n[[route]]\nname = "South route"\npoints = {points}\naltitude = "{altitude}"\n'


def written(folder, extra):
    folder.mkdir(exist_ok=True)
    country = Country(folder).terrain(half_m=5000.0)
    country.features("fields", [(box(-700, -150, -100, 450), {"name": "West field"})])
    return country.none(*NONE).more(extra).project(wind="270/5 kt", **SIZE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("routes")


def test_met(folder):
    path = written(folder / "met", gate("4000 ft AMSL") + route("4000 ft AMSL"))
    done = run("routes", path)
    assert done.returncode == 0, done.stderr
    assert "Verdict: MET" in done.stdout
    assert "Gate Mill bridge (in and out), stone bridge;" in done.stdout
    assert "Route South route, to Mill bridge;" in done.stdout
    assert "Route South route, from Mill bridge;" in done.stdout
    assert "pilot in command" in done.stdout
    told = json.loads(run("routes", path, "--json").stdout)
    assert told["verdict"] == "MET"
    assert [row["is_reversed"] for row in told["routes"]] == [False, True]
    assert told["routes"][0]["points"][1]["gate"] == "Mill bridge"
    assert told["routes"][0]["met_share"] == 1.0
    assert told["gates"][0]["glide"]["field"] == "West field"
    assert told["gates"][0]["legal"]["binder"]["rule"].startswith("us-")
    assert told["wind"] == {
        "from_deg_true": 270.0, "speed_kt": 5.0, "source": "invented", "has_winds_aloft": False,
    }  # fmt: skip


def test_not_met_and_another_wind(folder):
    path = written(folder / "low", gate("2500 ft AMSL") + route("1800 ft AMSL"))
    done = run("routes", path, "--json")
    assert done.returncode == 1, done.stderr
    told = json.loads(done.stdout)
    assert told["routes"][0]["glide"]["margin_ft"] < 0
    assert told["routes"][0]["stretches"][0]["is_without_field"]
    asked = run("routes", path, "--wind", "090/20", "--json")
    other = json.loads(asked.stdout)
    assert other["wind"]["speed_kt"] == 20.0
    assert other["notes"]
    assert other["routes"][0]["glide"] != told["routes"][0]["glide"]
    assert other["routes"][0]["legal"] == told["routes"][0]["legal"]


def test_map_is_written_whole_or_not_at_all(folder, tmp_path):
    path = written(folder / "drawn", gate("4000 ft AMSL") + route("1800 ft AMSL"))
    page = tmp_path / "routes.html"
    done = run("routes", path, "--map", page)
    assert done.returncode == 1, done.stderr
    assert done.stdout.rstrip().endswith(str(page))
    html = page.read_text(encoding="utf-8")
    assert "Gates and routes, judged" in html
    assert "no field in reach" in html
    told = json.loads(run("routes", path, "--map", page, "--json").stdout)
    assert told["written"] == [str(page)]
    assert json.loads(run("routes", path, "--json").stdout)["written"] == []
    done = run("routes", path, "--map", tmp_path / "none" / "routes.html")
    assert done.returncode == 2
    assert "--map" in done.stderr


def test_unknown_beyond_the_grid(folder):
    far = "[[{}, {}], [{}, {}]]".format(*lonlat(0, 0)[::-1], *lonlat(9000, 40)[::-1])
    done = run("routes", written(folder / "far", route("3000 ft AMSL", far)))
    assert done.returncode == 3, done.stderr
    assert "write [grid] around = " in done.stdout


def test_bad_input(folder):
    done = run("routes", written(folder / "none", ""))
    assert done.returncode == 2
    assert "[[route]]" in done.stderr
    path = written(folder / "high", gate("2500 ft AGL") + route("2500 ft AMSL"))
    assert run("routes", path).returncode == 2
    path = written(folder / "named", gate("2500 ft AMSL") + route("2500 ft AMSL"))
    for wind, said in (("210", "210/14"), ("400/10", "210/14"), ("north", "calm")):
        done = run("routes", path, "--wind", wind)
        assert done.returncode == 2
        assert said in done.stderr
