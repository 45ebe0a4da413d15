"""A manoeuvre's own track: from the sources of a project to a place's altitude, and on the page."""

import json

import pytest

from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from areaplan.planning.track import answer_track
from tests.cli.running import run
from tests.planning.builder import Country, box, lonlat


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    """One field, to the north."""
    country = Country(tmp_path_factory.mktemp("track")).terrain()
    country.features("fields", [(box(-400, 1500, 400, 2500), {"name": "North field"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    return country.project(wind="180/8 kt")


def test_towards_the_field_asks_for_less_than_away_from_it(path):
    plan = evaluate(read_project(path))
    lon, lat = lonlat(0, 0)
    asked = {
        track: answer_track(plan, lat, lon, track, lambda _: None).glide_required_amsl_ft
        for track in (0.0, 90.0, 180.0)
    }
    assert asked[0.0] < asked[90.0] < asked[180.0]
    row, col = plan.grid.cell_of(0, 0)
    assert asked[180.0] <= int(plan.cells.glide_required_amsl_ft[row, col])


def test_beyond_the_grid_nothing_is_known(path):
    plan = evaluate(read_project(path))
    answer = answer_track(plan, -40.0, 100.0, 0.0, lambda _: None)
    assert answer.is_unknown
    assert answer.glide_required_amsl_ft is None


def test_point_tells_it_where_asked(path):
    lon, lat = lonlat(0, 0)
    plain = run("point", path, lat, lon, "--json")
    assert "glide_required_on_track_amsl_ft" not in json.loads(plain.stdout)
    told = json.loads(run("point", path, lat, lon, "--track", "0", "--json").stdout)
    assert told["track_true_deg"] == 0.0
    assert told["glide_required_on_track_amsl_ft"] < told["glide_required_amsl_ft"]
    text = run("point", path, lat, lon, "--track", "0").stdout
    assert "on tracks near 000 degrees true" in text
    assert run("point", path, lat, lon, "--track", "400").returncode == 2
