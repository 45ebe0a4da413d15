"""Routes and gates judged: against points all along, and what a route has to say of itself."""

import numpy as np
import pytest
from attrs import evolve

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.flown import Course, flown_scene, judge_course
from areaplan.planning.gates import Use
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, UNREACHABLE_FT, Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.planning.routes import judge_all, judge_gates, judge_routes, refuse_nothing
from areaplan.render.route_text import around_words, routes_text, stretch_words
from areaplan.units import FOOT_M, NAUTICAL_MILE_M, parse_wind
from tests.planning.builder import Country, box, lonlat

NONE = ("obstacles", "structures", "assemblies")
SHELF = {"lower": "2500 ft AMSL", "upper": "4500 ft AMSL", "name": "Shelf", "class": "C"}


def route(name, *places, altitude="2300 ft AMSL", use="both"):
    points = ", ".join(
        f'"{place}"' if isinstance(place, str) else f"[{lonlat(*place)[1]}, {lonlat(*place)[0]}]"
        for place in places
    )
    return (
        f'\n[[route]]\nname = "{name}"\npoints = [{points}]\naltitude = "{altitude}"\n'
        f'use = "{use}"\n'
    )


def gate(name, x_m, y_m, altitude="2300 ft AMSL"):
    lon, lat = lonlat(x_m, y_m)
    return f'\n[[gate]]\nname = "{name}"\nlat = {lat}\nlon = {lon}\naltitude = "{altitude}"\n'


def country(folder, extra):
    """Two fields with 4 km between them, a town in the east, a shelf of airspace over the north."""
    made = Country(folder).terrain(lambda x, y: 300.0 + 0.01 * x + 0.0 * y)
    fields = [
        (box(-2600, -400, -1800, 400), {"name": "West field"}),
        (box(1800, -400, 2600, 400), {"name": "East field"}),
    ]
    made.features("fields", fields)
    made.features("airspace", [(box(-3500, 900, 3500, 4000), SHELF)])
    made.features("congested", [(box(900, -2500, 1900, -1500), {"name": "Town", "reason": "t"})])
    return made.none(*NONE).more(extra)


def scene_of(folder, extra, around="2 NM", wind="270/10 kt"):
    project = read_project(country(folder, extra).project(wind=wind, around=around))
    return flown_scene(evaluate(project))


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    extra = (
        gate("West gate", -1310, 12, "2600 ft AMSL")
        + gate("North gate", 0, 2000, "2600 ft AMSL")
        + gate("Far gate", 30_000, 0)
        + route("Along the fields", (-2200, 0), "West gate", altitude="2400 ft AMSL", use="in")
        + route("Under the shelf", (0, -1000), (0, 3000), altitude="2400 ft AMSL")
        + route("Low past the town", (-1500, -2000), (2500, -1900), altitude="1700 ft AMSL")
        + route("Out of the grid", (-10, 12), (-6500, 0), altitude="2450 ft AMSL", use="out")
    )
    return scene_of(tmp_path_factory.mktemp("routes"), extra)


@pytest.fixture(scope="module")
def routes(scene):
    answers = judge_routes(scene)
    return {(one.route.name, one.is_reversed): one for one in answers}


def test_both_ways_only_where_used_both_ways(routes):
    assert sorted(routes) == [
        ("Along the fields", False),
        ("Low past the town", False),
        ("Low past the town", True),
        ("Out of the grid", False),
        ("Under the shelf", False),
        ("Under the shelf", True),
    ]


@pytest.mark.parametrize("name", ["Under the shelf", "Low past the town", "Out of the grid"])
@pytest.mark.parametrize("is_reversed", [False, True])
def test_agrees_with_points_all_along(scene, routes, name, is_reversed):
    """Every 5 m along the line, each judged by itself."""
    if (name, is_reversed) not in routes:
        return
    answer, plan = routes[name, is_reversed], scene.plan
    ends = answer.route.points[::-1] if is_reversed else answer.route.points
    x_m, y_m = (np.array(values) for values in plan.frame.to_local(*zip(*ends, strict=True)))
    length_m = np.hypot(*np.diff([x_m, y_m], axis=1))[0]
    assert answer.length_nm == pytest.approx(length_m / NAUTICAL_MILE_M)
    share = np.linspace(0.0, 1.0, round(length_m / 5.0))
    track = np.degrees(np.arctan2(*np.diff([x_m, y_m], axis=1)))[0]
    feet = answer.route.altitude_amsl_ft
    course = Course(
        np.interp(share, [0, 1], x_m),
        np.interp(share, [0, 1], y_m),
        np.full(share.shape, feet * FOOT_M),
        np.full(share.shape, track),
    )
    found = judge_course(scene, course)
    known = found.legal_margin_ft[found.legal_margin_ft != UNKNOWN_FT]
    assert answer.legal.margin_ft <= known.min()
    assert answer.legal.margin_ft >= known.min() - 1  # a corner of a cell between two points
    known = found.glide_margin_ft[found.glide_margin_ft != UNKNOWN_FT]
    assert answer.glide.margin_ft <= known.min()
    for told, where in (
        (answer.met_share, found.is_met),
        (answer.legal_share, found.legal_margin_ft >= 0),
        (answer.field_share, found.glide_margin_ft >= 0),
        (answer.unknown_share, found.is_unknown),
    ):
        assert told == pytest.approx(where.mean(), abs=0.01)
    in_a_stretch = np.zeros(share.shape, dtype=bool)
    for one in answer.stretches:
        at_nm = share * answer.length_nm
        in_a_stretch |= (at_nm >= one.begin_nm - 1e-9) & (at_nm <= one.end_nm + 1e-9)
    assert in_a_stretch[~found.is_met].all()
    place = answer_point(plan, answer.legal.lat, answer.legal.lon, feet)
    assert answer.legal.binder in [place.floor_by] + [
        by for band in place.bands for by in (band.floor_by, band.ceiling_by)
    ]


def test_verdicts(routes):
    assert routes["Along the fields", False].verdict is Verdict.MET
    assert routes["Along the fields", False].met_share == 1.0
    assert routes["Along the fields", False].stretches == ()
    assert routes["Low past the town", True].verdict is Verdict.NOT_MET
    assert routes["Out of the grid", False].verdict is Verdict.UNKNOWN


def test_what_binds_is_named(routes):
    town = routes["Low past the town", False]
    assert town.legal.binder.limit.rule == "us-91.119-b"
    assert town.legal.margin_ft < 0
    assert any(one.is_not_legal and not one.is_unknown for one in town.stretches)
    shelf = routes["Under the shelf", True]
    assert shelf.legal.margin_ft == 0  # 2,500 ft less the builder's margin of 100 ft
    assert shelf.legal.binder.feature == "Shelf"


def test_the_way_flown_matters_to_the_glide_only(routes):
    out, back = (routes["Low past the town", way] for way in (False, True))
    assert out.legal.margin_ft == back.legal.margin_ft
    assert out.legal_share == pytest.approx(back.legal_share)
    assert out.glide.margin_ft != back.glide.margin_ft
    assert (out.glide.track_deg_true - back.glide.track_deg_true) % 360 == pytest.approx(180, abs=1)


def test_the_grid_told_is_enough(tmp_path, routes):
    answer = routes["Out of the grid", False]
    assert answer.around_needed_m > 2 * NAUTICAL_MILE_M
    unknown = [one for one in answer.stretches if one.is_unknown]
    assert unknown[-1].end_nm == pytest.approx(answer.length_nm)
    extra = route("Out of the grid", (-10, 12), (-6500, 0), altitude="2450 ft AMSL", use="out")
    wider = scene_of(tmp_path, extra, around=f"{answer.around_needed_m / NAUTICAL_MILE_M} NM")
    (again,) = judge_routes(wider)
    assert again.around_needed_m is None
    assert again.unknown_share == 0.0
    assert again.verdict is not Verdict.UNKNOWN


def test_gates_are_judged_whatever_the_heading(scene):
    west, north, far = judge_gates(scene)
    cells = scene.plan.cells
    cell = scene.plan.grid.cell_of(-1310.0, 12.0)
    assert west.glide.required_amsl_ft == cells.glide_required_amsl_ft[cell]
    assert west.glide.margin_ft == 2600 - west.glide.required_amsl_ft
    assert not west.is_in_area
    assert west.to_edge_nm == pytest.approx(310.0 / NAUTICAL_MILE_M, rel=1e-3)
    assert west.gate.use is Use.BOTH
    assert north.verdict is Verdict.NOT_MET
    assert north.legal.binder.feature == "Shelf"
    assert north.legal.margin_ft == -200
    assert far.verdict is Verdict.UNKNOWN
    assert far.glide is None
    assert far.around_needed_m > 29_000.0
    everything = judge_all(scene)
    assert everything.verdict is Verdict.UNKNOWN
    assert len(everything.gates) == 3


def test_unknown_ground_makes_a_route_unknown(tmp_path):
    extra = route("Over the hole", (-1500, 0), (1500, 0), altitude="2450 ft AMSL")
    made = Country(tmp_path).terrain(
        lambda x, y: np.where((abs(x) < 200) & (abs(y) < 300), np.nan, 300.0)
    )
    made.features("fields", [(box(-5000, -5000, 5000, -600), {"name": "South"})])
    made.none(*NONE, "airspace", "congested").more(extra)
    scene = flown_scene(evaluate(read_project(made.project(around="2 NM"))))
    there, back = judge_routes(scene)
    assert there.verdict is back.verdict is Verdict.UNKNOWN
    assert there.around_needed_m is None
    assert 0.1 < there.unknown_share < 0.6
    assert "unknown" in stretch_words(next(one for one in there.stretches if one.is_unknown))


def test_a_bend_that_alone_fails_is_told(tmp_path):
    """West field only, strong west wind: only on the way round does the track point away."""
    places = ((-1500, -900), (-1500, 0), (-1500, -880))
    scene = scene_of(tmp_path, route("Hairpin", *places, use="in"), wind="270/25 kt")
    base = scene.plan.project.routes[0]
    for feet in range(1500, 3000, 10):
        (answer,) = judge_routes(_with_route(scene, base, feet))
        is_only_bend = answer.verdict is Verdict.NOT_MET and answer.legal_share == 1.0
        if is_only_bend and all(one.begin_nm == one.end_nm for one in answer.stretches):
            assert answer.field_share < 1.0
            assert answer.glide.margin_ft < 0
            assert stretch_words(answer.stretches[0]).startswith("At 0.49 NM: no field in reach")
            return
    pytest.fail("no altitude at which only the bend fails")


def _with_route(scene, base, feet):
    project = evolve(scene.plan.project, routes=(evolve(base, altitude_amsl_ft=feet),))
    return evolve(scene, plan=evolve(scene.plan, project=project))


def test_the_lowest_altitude_told_is_met_and_the_foot_below_is_not(scene, routes):
    told = 0
    for answer in routes.values():
        lowest = answer.lowest_met_amsl_ft
        if lowest is None:
            continue
        base = answer.route
        for feet, is_met in ((lowest, True), (lowest - 1, False)):
            again = judge_routes(_with_route(scene, base, feet))[answer.is_reversed]
            assert (again.verdict is Verdict.MET) == is_met
        told += 1
    assert told >= 3
    assert routes["Out of the grid", False].lowest_met_amsl_ft is None


def test_no_altitude_at_all_is_told(tmp_path):
    zone = {"lower": "SFC", "upper": "UNL", "name": "R-1", "type": "R"}
    made = Country(tmp_path).terrain()
    made.features("fields", [(box(-5000, -5000, 5000, 5000), {"name": "Plain"})])
    made.features("airspace", [(box(200, -500, 900, 500), zone)])
    extra = route("Through", (-900, 10), (1500, 10), use="in")
    made.none(*NONE, "congested").more(extra)
    scene = flown_scene(evaluate(read_project(made.project(around="2 NM"))))
    (answer,) = judge_routes(scene)
    assert answer.verdict is Verdict.NOT_MET
    assert answer.lowest_met_amsl_ft is None
    assert answer.legal.margin_ft is None
    assert answer.legal.binder is not None
    text = routes_text(judge_all(scene))
    assert "no altitude would do" in text
    assert "Met all along at no altitude" in text


def test_a_high_route_over_a_country_that_asks_for_little_is_met(tmp_path):
    """Higher than the airspeeds were taken for: it comes down through there."""
    scene = scene_of(tmp_path, route("High", (-900, -900), (900, -900), altitude="9000 ft AMSL"))
    assert scene.highest_amsl_ft == 5000
    assert {one.verdict for one in judge_routes(scene)} == {Verdict.MET}


def test_nothing_declared_is_refused(tmp_path):
    scene = scene_of(tmp_path, "")
    with pytest.raises(InputError, match="neither"):
        refuse_nothing(scene.plan.project)
    assert judge_all(scene).verdict is Verdict.UNKNOWN


def test_the_text_says_it_all(scene):
    text = routes_text(judge_all(scene))
    assert "Verdict: UNKNOWN" in text
    assert "Gate North gate (in and out);" in text
    assert "Route Along the fields, to West gate; 0.5 NM at 2 400 ft AMSL: MET" in text
    assert "write [grid] around = " in text
    assert "farther than a project's grid may reach" not in text
    assert "Planning aid only" in text
    assert max(map(len, text.splitlines())) <= 96
    far = around_words(60_000.0, scene.plan.project)
    assert "farther than a project's grid may reach (20 NM)" in far
    assert around_words(None, scene.plan.project) == ""


def test_a_wind_asked_for_is_told(scene):
    other = flown_scene(scene.plan, parse_wind("090/20 kt"))
    own, asked = (judge_routes(one) for one in (scene, other))
    assert [one.legal for one in own] == [one.legal for one in asked]
    assert [one.glide.margin_ft for one in own] != [one.glide.margin_ft for one in asked]
    assert "Wind 090/20 kt as asked" in routes_text(judge_all(other))


def test_sentinels_never_leave_as_numbers(scene):
    text = routes_text(judge_all(scene))
    for sentinel in (UNKNOWN_FT, UNREACHABLE_FT, NOBODY * 32767):
        assert f"{abs(sentinel):,}".replace(",", " ") not in text
