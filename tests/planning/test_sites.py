"""Places for ground-reference work: small countries in which the right answer is plain."""

import json
import math

import numpy as np
import pyogrio
import pytest
import shapely

from areaplan.engine.flight import STANDARD_GRAVITY_MPS2
from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.planning.sites import find_sites
from areaplan.render.site_files import write_sites
from areaplan.render.site_json import sites_as_json
from areaplan.render.site_text import sites_text
from areaplan.rules.figures_asked import builtin_figures
from areaplan.units import FOOT_M, parse_wind
from tests.planning.builder import GROUND_FT, Country, box, point
from tests.planning.covered_country import line

HALF_M = 4000.0
OF_THE_PLAIN_FT = (GROUND_FT + 600 + 100, GROUND_FT + 1000 - 100)  # ACS task V.B, +-100 ft
MAST = (1500.0, 1200.0)


def _country(folder, *, roads, masts=()):
    """Flat, one great field over everything, so that only the figures' own limits bind."""
    country = Country(folder).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.features("roads", [(line(*ends), {"name": name}) for name, *ends in roads])
    if masts:
        rows = [(point(x, y), {"name": "Mast", "height_ft": feet}) for x, y, feet in masts]
        country.features("structures", rows, default_height="600 ft")
    else:
        country.none("structures")
    return country.none(
        "obstacles", "airspace", "congested", "assemblies", "noise-sensitive", "wires", "sparse"
    )


CROSSROADS = (
    ("East Road", (-3500.0, 0.0), (3500.0, 0.0)),
    ("North Road", (0.0, -3500.0), (0.0, 3500.0)),
)


def _plan(folder, **words):
    return evaluate(read_project(_country(folder, **words).project(half_m=HALF_M)))


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return _plan(tmp_path_factory.mktemp("sites"), roads=CROSSROADS)


@pytest.fixture(scope="module")
def with_mast(tmp_path_factory):
    folder = tmp_path_factory.mktemp("mast")
    return _plan(folder, roads=CROSSROADS, masts=[(*MAST, 600)])


def _sites(plan, wind, *names):
    return find_sites(plan, parse_wind(wind), builtin_figures().named(names))


def test_turns_around_the_crossing_are_the_circle_of_the_handbook(plan):
    answer = _sites(plan, "360/14 kt", "turns-around-a-point")
    (found,) = answer.figures
    best = found.sites[0]
    assert found.verdict is answer.verdict is Verdict.MET
    assert best.layout.reference.name == "crossing of East Road and North Road"
    assert (best.lowest_entry_amsl_ft, best.highest_entry_amsl_ft) == OF_THE_PLAIN_FT
    assert best.entry_amsl_ft == GROUND_FT + 800
    assert best.room_ft == best.ceiling_ft == 100
    centre = best.layout.reference.geometry
    middle = plan.frame.geometry_to_local(shapely.Point(point(0, 0)["coordinates"]))
    assert centre.distance(middle) < 1.0
    off = np.hypot(best.course.x_m - centre.x, best.course.y_m - centre.y)
    assert off == pytest.approx(best.layout.shape.radius_m, abs=0.01)
    # The handbook's steepest point: where the groundspeed is greatest, straight downwind.
    steepest = best.track.greatest_bank_index
    assert best.track.track_deg_true[steepest] == pytest.approx(180.0, abs=0.01)
    assert best.track.track_deg_true[0] == pytest.approx(180.0)  # "from a downwind position"
    fastest = answer.tas_mps + answer.wind.speed_mps
    bank = math.degrees(math.atan(fastest**2 / (STANDARD_GRAVITY_MPS2 * off[0])))
    assert best.track.greatest_bank_deg == pytest.approx(bank, abs=0.01)
    assert bank == pytest.approx(40.0, abs=0.01)
    assert {one.field for one in best.fields} == {"The plain"}


def test_s_turns_are_offered_across_the_wind_only(plan):
    (found,) = _sites(plan, "360/14 kt", "s-turns").figures
    assert {site.layout.reference.name for site in found.sites} == {"East Road"}
    for site in found.sites:
        assert site.track.track_deg_true[0] == pytest.approx(180.0, abs=0.5)
        assert site.layout.off_wind_deg < 1.0
        on_line = np.abs(site.course.y_m[[0, -1]])
        assert on_line == pytest.approx(0.0, abs=1.0)
    (turned,) = _sites(plan, "270/14 kt", "s-turns").figures
    assert {site.layout.reference.name for site in turned.sites} == {"North Road"}
    (neither,) = _sites(plan, "045/14 kt", "s-turns").figures
    assert not neither.sites
    assert neither.tried == 0
    words = "of 2 known in the area no line has a size that fits and lies across the wind"
    assert neither.lacks == words


def test_every_track_stays_inside_the_area_and_between_the_heights(plan):
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    answer = _sites(plan, "010/12 kt")
    shown = [site for one in answer.figures for site in one.sites]
    assert len(shown) > 10
    for site in shown:
        track = shapely.LineString(np.column_stack([site.course.x_m, site.course.y_m]))
        assert area.covers(track)
        # Less what the arcs may bulge beyond the straights between samples, and never more.
        assert -2.0 < site.edge_m - area.boundary.distance(track) <= 0.0
        assert site.track.greatest_bank_deg <= site.figure.steepest_deg
        assert site.smallest_margin_ft >= 0
        if site.layout.shape.entry_above_m is None:
            heights_ft = site.course.altitude_amsl_m / FOOT_M - GROUND_FT
            assert heights_ft.min() >= 700 - 1e-6
            assert heights_ft.max() <= 900 + 1e-6


def test_ranks_by_smallest_margin_then_by_the_wind(plan):
    for one in _sites(plan, "010/12 kt").figures:
        ranks = [(-site.smallest_margin_ft, site.layout.off_wind_deg) for site in one.sites]
        assert ranks == sorted(ranks)


def test_each_point_agrees_with_the_answer_for_its_place(with_mast):
    (found,) = _sites(with_mast, "360/10 kt", "eights-along-a-road").figures
    site = found.sites[-1]
    for at in range(0, site.lon.size, 17):
        told = answer_point(with_mast, float(site.lat[at]), float(site.lon[at]), site.entry_amsl_ft)
        low, high = site.entry_amsl_ft - 100, site.entry_amsl_ft + 100
        ceilings = [(band.floor_amsl_ft, band.ceiling_amsl_ft) for band in told.bands]
        assert any(floor <= low and (top is None or high <= top) for floor, top in ceilings)


def test_keeps_500_ft_above_the_highest_obstruction(with_mast):
    # FAA-H-8083-3A ch. 6: "in no case lower than 500 feet above the highest obstruction".
    top_ft, reach_m = GROUND_FT + 600, 2000 * FOOT_M
    answer = _sites(with_mast, "360/10 kt", "s-turns", "turns-around-a-point")
    near = 0
    for one in answer.figures:
        assert one.sites
        for site in one.sites:
            apart = np.hypot(site.course.x_m - MAST[0], site.course.y_m - MAST[1])
            is_near = apart <= reach_m
            near += int(is_near.sum())
            lowest_ft = site.course.altitude_amsl_m[is_near] / FOOT_M - 100
            assert (lowest_ft >= top_ft + 500 - 1e-6).all()
    assert near == 0  # 1,100 ft above ground is above the 1,000 ft that the standard allows


def test_the_nearest_miss_says_what_it_lacks(tmp_path):
    # A mast of 800 ft at the crossing: 1,300 ft above ground, where 1,000 ft is the most.
    plan = _plan(tmp_path, roads=CROSSROADS, masts=[(60.0, 60.0, 800)])
    (found,) = _sites(plan, "calm", "turns-around-a-point").figures
    assert not found.sites
    assert found.verdict is Verdict.NOT_MET
    short_ft = (800 + 500 + 100) - (1000 - 100)
    assert found.nearest_miss.lowest_entry_amsl_ft - GROUND_FT == 800 + 500 + 100
    assert f"{short_ft} ft of height" in found.lacks
    # Over ground at 1,000 ft: from 1,400 ft above it, up to 900 ft above it.
    assert "entry at 2 400 ft AMSL or above" in found.lacks
    assert "for 1 900 ft or below" in found.lacks


def test_what_the_data_do_not_tell_is_no_site(tmp_path):
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.features("roads", [(line(*ends), {"name": name}) for name, *ends in CROSSROADS])
    country.none("obstacles", "congested", "assemblies")  # of airspace nobody spoke
    plan = evaluate(read_project(country.project(half_m=HALF_M)))
    answer = _sites(plan, "calm", "s-turns")
    assert answer.verdict is Verdict.UNKNOWN
    assert "can't be told" in answer.figures[0].lacks


def test_without_references_it_says_so(tmp_path):
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies", "roads")
    answer = _sites(evaluate(read_project(country.project())), "calm", "s-turns")
    assert answer.verdict is Verdict.NOT_MET
    assert answer.figures[0].lacks.startswith("no line is known in the area")


def test_refuses_an_unknown_figure():
    with pytest.raises(InputError, match="s-turns"):
        builtin_figures().named(["s-turn"])


def test_the_files_carry_the_tracks(plan, tmp_path):
    answer = _sites(plan, "360/14 kt", "s-turns", "turns-around-a-point")
    shown = [site for one in answer.figures for site in one.sites]
    for ending, layer in ((".geojson", None), (".kml", None), (".gpx", "tracks")):
        path = tmp_path / f"sites{ending}"
        write_sites(answer, plan, path)
        first = path.read_bytes()
        write_sites(answer, plan, path)
        assert path.read_bytes() == first
        layers = [layer] if layer else [row[0] for row in pyogrio.list_layers(path)]
        geometries = []
        for name in layers:
            frame = pyogrio.read_dataframe(path, layer=name)
            geometries += list(frame.geometry)
        assert len(geometries) == len(shown)
        for geometry, site in zip(geometries, shown, strict=True):
            xy = shapely.get_coordinates(geometry)
            assert xy[:, 0] == pytest.approx(site.lon, abs=1e-6)
            assert xy[:, 1] == pytest.approx(site.lat, abs=1e-6)
    with pytest.raises(InputError, match="geojson"):
        write_sites(answer, plan, tmp_path / "sites.txt")


def test_text_and_json_tell_the_same(plan):
    answer = _sites(plan, "360/14 kt", "s-turns")
    text, values = sites_text(answer, plan), sites_as_json(answer, plan)
    assert json.loads(json.dumps(values, allow_nan=False)) == values
    rows = values["figures"][0]["sites"]
    assert len(rows) == text.count("enter at ") > 0
    assert "not for navigation" in text
    assert values["cautions"] == list(plan.cautions)
    assert rows[0]["greatest_bank"]["limit_deg"] == 45.0
