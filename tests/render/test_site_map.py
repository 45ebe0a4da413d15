"""The map with sites on it: references, tracks and entries where they are, hostile names dead."""

import numpy as np
import pytest
import shapely

from areaplan.geodesy import distance_and_bearing
from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from areaplan.planning.sites import find_sites
from areaplan.render.map_shapes import page_shapes
from areaplan.render.site_files import named_sites
from areaplan.render.site_map import entry_words, site_lines, write_site_map
from areaplan.rules.figures_asked import builtin_figures
from areaplan.units import parse_wind
from tests.planning.test_sites import CROSSROADS, HALF_M, _country
from tests.render.scenery import HOSTILE_NAMES
from tests.render.unpacking import Page
from tests.render.visiting import DESKTOP, Visit


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    roads = ((HOSTILE_NAMES[0], *CROSSROADS[0][1:]), CROSSROADS[1])
    country = _country(tmp_path_factory.mktemp("sites"), roads=roads)
    return evaluate(read_project(country.project(half_m=HALF_M, cell="100 m")))


@pytest.fixture(scope="module")
def answer(plan):
    figures = builtin_figures().named(["s-turns", "turns-around-a-point"])
    return find_sites(plan, parse_wind("360/14 kt"), figures)


def test_lines_lie_where_the_sites_are(plan, answer):
    over = site_lines(answer, plan)
    sites = [site for one in answer.figures for site in one.sites]
    assert len(over["site_tracks"]) == len(over["site_entries"]) == len(sites) > 1
    assert len(over["site_references"]) == len({id(site.layout.reference) for site in sites})
    for (track, name, words), (arrow, entry_name, _), site in zip(
        over["site_tracks"], over["site_entries"], sites, strict=True
    ):
        assert name == entry_name
        assert words.startswith("In wind 360/14 kt")
        assert shapely.get_coordinates(track)[:, 0] == pytest.approx(site.lon)
        (_, _), (lon, lat) = shapely.get_coordinates(arrow)
        assert (lon, lat) == pytest.approx((site.lon[0], site.lat[0]), abs=1e-9)
        begin = shapely.get_coordinates(arrow)[0]
        _, bearing = distance_and_bearing(begin[1], begin[0], lat, lon)
        off = (float(bearing) - site.track.track_deg_true[0] + 180.0) % 360.0 - 180.0
        assert abs(off) < 1.0
    for shape, _, _ in over["site_references"]:
        assert np.abs(shapely.get_coordinates(shape) - (20.0, 10.0)).max() < 0.1


def test_another_wind_than_the_painted_one_is_told_first(plan, answer, tmp_path):
    assert answer.notes
    write_site_map(answer, plan, tmp_path / "m.html")
    html = (tmp_path / "m.html").read_text(encoding="utf-8")
    words = " ".join(" ".join(Page(html).visible).split())
    for told in (*answer.notes, f"the glide, is for {plan.project.wind} still."):
        assert words.index(told) < words.index("Practice area sheet")


def test_the_sheet_lists_every_place_and_what_is_missing(plan, answer, tmp_path):
    write_site_map(answer, plan, tmp_path / "m.html")
    words = " ".join(
        " ".join(Page((tmp_path / "m.html").read_text(encoding="utf-8")).visible).split()
    )
    found = sum(bool(one.sites) for one in answer.figures)
    assert f"{found} of {len(answer.figures)} figures have a place." in words
    for name, site in named_sites(answer):
        assert f"{name} : {site.layout.reference.name}" in words  # two elements, told apart
        assert entry_words(site) in words
    for one in answer.figures:
        assert one.sites or one.lacks in words


@pytest.mark.parametrize("layer", ["flights", "ground_lost", "ground_lost@", "routes@2100"])
def test_refuses_a_layer_that_the_page_does_not_know(plan, layer):
    with pytest.raises(ValueError, match="expected some of"):
        page_shapes(plan, plan.grid, {layer: ()})


@pytest.mark.browser
def test_the_page_draws_and_tells_them(browser, plan, answer, tmp_path):
    path = tmp_path / "sites.html"
    write_site_map(answer, plan, path)
    assert HOSTILE_NAMES[0] not in path.read_text(encoding="utf-8")
    visit = Visit(browser, path, viewport=DESKTOP)
    counts = visit.run(
        "Object.fromEntries(areaplan.parts.drawing.layers.map((one) => [one.id, one.rows.length]))"
    )
    sites = [site for one in answer.figures for site in one.sites]
    assert counts["site_tracks"] == counts["site_entries"] == len(sites)
    site = sites[-1]
    at = [float(site.lon[len(site.lon) // 3]), float(site.lat[len(site.lat) // 3])]
    found = visit.run("([lon, lat]) => areaplan.parts.drawing.pick(lon, lat)", at)
    assert "Tracks of the figures" in {row["layer"] for row in found}
    assert visit.complaints == []
    assert visit.run("window.violations") == []
    assert visit.requests == [path.as_uri()]
    visit.context.close()
