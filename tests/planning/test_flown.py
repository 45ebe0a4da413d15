"""Points flown against what the rest of the tool says of the same places, and against logic."""

import math

import numpy as np
import pytest
import shapely
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.worst_heading import required_for_tracks
from areaplan.planning import flown
from areaplan.planning.cells import feet_up_array
from areaplan.planning.evaluation import evaluate
from areaplan.planning.flown import NEVER_FT, Course, flown_scene, judge_course
from areaplan.planning.glide import sectors_in_wind
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, UNREACHABLE_FT, CellClass
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.units import FOOT_M, parse_wind
from tests.planning.builder import Country, box, lonlat

ALOFT = '\n[[wind_aloft]]\nheight = "4000 ft AMSL"\nvalue = "230/20 kt"\nsource = "invented"\n'
NAMES = (
    *("legal_margin_ft", "legal_binder", "glide_required_amsl_ft", "glide_margin_ft"),
    *("field", "height_agl_ft", "is_in_area", "is_unknown"),
)


def _ground_m(x_m, y_m):
    heights = 300.0 + 0.02 * x_m + 40.0 * np.sin(y_m / 700.0)
    return np.where((x_m > 2500.0) & (y_m > 2500.0), np.nan, heights)


def _country(folder):
    """Waves of ground with a corner unknown, a shelf of airspace, a closed zone, a town."""
    made = Country(folder).terrain(_ground_m)
    fields = [
        (box(-400, 1500, 400, 2500), {"name": "North field"}),
        (box(-3000, -2600, -2000, -2000), {"name": "West field"}),
    ]
    made.features("fields", fields)
    zone = {"lower": "SFC", "upper": "UNL", "name": "R-1", "type": "R"}
    shelf = {"lower": "2500 ft AMSL", "upper": "4500 ft AMSL", "name": "Shelf", "class": "C"}
    airspace = [(box(1500, -3000, 2500, -2000), zone), (box(-3000, -500, 3000, 3000), shelf)]
    made.features("airspace", airspace)
    made.features("congested", [(box(-900, -2500, 300, -1500), {"name": "Town", "reason": "t"})])
    return made.none("obstacles", "structures", "assemblies")


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    country = _country(tmp_path_factory.mktemp("flown"))
    return evaluate(read_project(country.project(wind="180/8 kt", around="2 NM")))


@pytest.fixture(scope="module")
def scene(plan):
    return flown_scene(plan)


def _course(plan, count, seed, feet=(800, 6000)):
    """Random places on the grid and a little off it, at whole feet."""
    rng, grid = np.random.default_rng(seed), plan.grid
    return Course(
        rng.uniform(grid.x_min_m - 200, grid.x_max_m + 200, count),
        rng.uniform(grid.y_min_m - 200, grid.y_max_m + 200, count),
        rng.integers(*feet, count) * FOOT_M,
        rng.uniform(0.0, 360.0, count),
    )


def _at(course, number):
    place = float(course.x_m[number]), float(course.y_m[number])
    return (*place, round(course.altitude_amsl_m[number] / FOOT_M))


def test_agrees_with_point_answers(plan, scene):
    course = _course(plan, 600, 1)
    found = judge_course(scene, course)
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    kinds = set()
    for i in range(len(course)):
        x_m, y_m, feet = _at(course, i)
        lon, lat = plan.frame.to_lonlat(x_m, y_m)
        told = answer_point(plan, float(lat), float(lon), feet)
        assert found.is_in_area[i] == area.intersects(shapely.Point(x_m, y_m))
        if told.terrain_amsl_ft is None:
            assert found.height_agl_ft[i] == UNKNOWN_FT
        else:
            assert found.height_agl_ft[i] == feet - told.terrain_amsl_ft
        if told.bands is None:
            assert found.legal_margin_ft[i] == UNKNOWN_FT
            assert found.legal_binder[i] == NOBODY
            assert found.is_unknown[i]
            kinds.add("unknown")
            continue
        expected, binder = _plain_margin(told.bands, feet)
        assert found.legal_margin_ft[i] == expected
        if binder is not None:
            assert plan.binders[found.legal_binder[i]] == binder
        is_legal = told.cell_class in (CellClass.LEGAL_WITH_FIELD, CellClass.LEGAL_NO_FIELD)
        if told.cell_class is not CellClass.UNKNOWN:
            assert is_legal == (found.legal_margin_ft[i] >= 0)
        kinds.add("never" if expected == NEVER_FT else "legal" if expected >= 0 else "not legal")
    assert kinds == {"unknown", "never", "legal", "not legal"}


def _plain_margin(bands, feet):
    """Margin and binder by the words of the docstring, one band at a time."""
    inside = [band for band in bands if band.floor_amsl_ft <= feet <= _ceiling(band)]
    edges = [(abs(feet - band.floor_amsl_ft), band.floor_by) for band in inside or bands]
    edges += [(abs(feet - _ceiling(band)), band.ceiling_by) for band in inside or bands]
    if not edges:
        return NEVER_FT, None
    least = min(distance for distance, _ in edges)
    binders = [binder for distance, binder in edges if distance == least]
    return (least if inside else -least), (binders[0] if len(binders) == 1 else None)


def _ceiling(band):
    return math.inf if band.ceiling_amsl_ft is None else band.ceiling_amsl_ft


def test_the_glide_is_that_of_required_for_tracks(plan, scene):
    sectors = sectors_in_wind(scene.glide, scene.wind, is_labelled=False)
    kinds = set()
    for track in (0.0, 37.5, 100.0, 215.0, 352.5):
        required = required_for_tracks(
            sectors, scene.glide.surface_amsl_m, plan.grid.cell_m, scene.turn, track
        )
        expected = feet_up_array(required)
        course = _course(plan, 2000, 2)
        course = Course(course.x_m, course.y_m, course.altitude_amsl_m, np.full(2000, track))
        found = judge_course(scene, course)
        for i in range(2000):
            x_m, y_m, feet = _at(course, i)
            is_on_grid = plan.grid.x_min_m <= x_m < plan.grid.x_max_m
            is_on_grid &= plan.grid.y_min_m < y_m <= plan.grid.y_max_m
            need = int(expected[plan.grid.cell_of(x_m, y_m)]) if is_on_grid else UNKNOWN_FT
            assert found.glide_required_amsl_ft[i] == need
            margin = NEVER_FT if need > 5000 else feet - need  # 3,000 ft above the planned altitude
            margin = UNKNOWN_FT if need == UNKNOWN_FT else margin
            assert found.glide_margin_ft[i] == margin
            assert (found.field[i] == NOBODY) == (need in (UNKNOWN_FT, UNREACHABLE_FT))
            kinds.add("unknown" if need == UNKNOWN_FT else "known" if need <= 5000 else "too high")
    assert kinds >= {"unknown", "known"}


def test_never_asks_more_than_the_worst_heading(plan, scene):
    course = _course(plan, 5000, 3)
    found = judge_course(scene, course)
    known = np.flatnonzero(~found.is_unknown)
    cells = [plan.grid.cell_of(*_at(course, i)[:2]) for i in known]
    worst = np.array([plan.cells.glide_required_amsl_ft[cell] for cell in cells])
    is_told = worst != UNKNOWN_FT
    assert is_told.sum() > 1000
    assert (found.glide_required_amsl_ft[known][is_told] <= worst[is_told]).all()


def test_one_at_a_time_or_in_pieces_is_the_same(plan, scene, monkeypatch):
    course = _course(plan, 50, 4)
    whole = judge_course(scene, course)
    monkeypatch.setattr(flown, "_CHUNK", 7)
    pieces = judge_course(scene, course)
    for name in NAMES:
        np.testing.assert_array_equal(getattr(whole, name), getattr(pieces, name))
        assert getattr(whole, name).dtype == getattr(pieces, name).dtype
    empty = judge_course(scene, Course([], [], [], []))
    assert all(getattr(empty, name).shape == (0,) for name in NAMES)


def test_parts_of_a_foot_count_against_every_edge(plan, scene):
    """On the shelf's floor and a tenth of a foot on either side."""
    lon, lat = lonlat(13.0, 7.0)
    told = answer_point(plan, lat, lon, 2000)
    floor, ceiling = told.bands[0].floor_amsl_ft, told.bands[0].ceiling_amsl_ft
    feet = np.array([floor - 0.1, floor, floor + 0.1, ceiling - 0.1, ceiling, ceiling + 0.1])
    x_m, y_m = np.full(6, 13.0), np.full(6, 7.0)
    found = judge_course(scene, Course(x_m, y_m, feet * FOOT_M, y_m))
    assert found.legal_margin_ft.tolist() == [-1, 0, 0, 0, 0, -1]
    need = found.glide_required_amsl_ft[0]
    near = np.array([need - 0.1, need, need + 0.9])
    found = judge_course(scene, Course(x_m[:3], y_m[:3], near * FOOT_M, y_m[:3]))
    assert found.glide_margin_ft.tolist() == [-1, 0, 0]


def test_the_field_ahead_is_named(plan, scene):
    """Between the two, each lies dead ahead on its own track."""
    names = []
    for x_m, y_m, track in ((0.0, 900.0, 0.0), (-1600.0, -2300.0, 270.0)):
        found = judge_course(scene, Course(x_m, y_m, 900.0, track))
        names.append(plan.fields[found.field[0]].name)
    assert names == ["North field", "West field"]


def test_what_is_not_known_is_unknown(scene):
    nan, far = math.nan, 1e6
    rows = [
        *((nan, 0, 700, 0), (0, nan, 700, 0), (0, 0, nan, 0), (0, 0, 700, nan)),
        *((far, 0, 700, 0), (0, -far, 700, 0), (math.inf, 0, 700, 0), (0, 0, math.inf, 0)),
        (2800, 2800, 700, 0),  # over unknown ground
    ]
    found = judge_course(scene, Course(*np.array(rows, dtype=float).T))
    assert found.is_unknown.all()
    assert not found.is_met.any()
    assert not found.is_in_area[[0, 1, 4, 5, 6, 8]].any()
    on_grid_without_track = 3
    assert found.legal_margin_ft[on_grid_without_track] >= 0
    assert found.glide_margin_ft[on_grid_without_track] == UNKNOWN_FT
    assert found.field[on_grid_without_track] == NOBODY
    others = np.delete(np.arange(len(rows)), on_grid_without_track)
    assert (found.legal_margin_ft[others] == UNKNOWN_FT).all()


def test_arrays_must_match():
    with pytest.raises(ValueError, match="shapes"):
        Course([0.0, 1.0], [0.0], [0.0], [0.0])
    with pytest.raises(ValueError, match="shapes"):
        Course(*np.zeros((4, 2, 2)))


FINITE = st.floats(-6000.0, 6000.0)
HEIGHTS = st.floats(100.0, 3000.0)


@given(
    st.lists(
        st.tuples(
            st.one_of(FINITE, st.just(math.nan)),
            st.one_of(FINITE, st.just(math.nan)),
            st.one_of(HEIGHTS, st.just(math.nan)),
            st.one_of(st.floats(-720.0, 720.0), st.just(math.nan)),
        ),
        min_size=1,
        max_size=20,
    ),
    st.floats(0.0, 2000.0),
)
@settings(deadline=None, max_examples=60)
def test_higher_never_loses_glide_and_unknown_stays_unknown(scene, rows, up_m):
    x_m, y_m, altitude_m, track = np.array(rows, dtype=float).T
    low = judge_course(scene, Course(x_m, y_m, altitude_m, track))
    high = judge_course(scene, Course(x_m, y_m, altitude_m + up_m, track))
    assert (high.glide_margin_ft >= low.glide_margin_ft).all()
    np.testing.assert_array_equal(low.is_unknown, high.is_unknown)
    np.testing.assert_array_equal(low.field, high.field)
    is_dark = ~np.isfinite(np.array(rows, dtype=float)).all(axis=1)
    for name in ("legal_margin_ft", "glide_margin_ft", "height_agl_ft"):
        is_dark |= getattr(low, name) == UNKNOWN_FT
    np.testing.assert_array_equal(low.is_unknown, is_dark)
    assert not (low.is_met & low.is_unknown).any()


def test_another_wind_changes_the_glide_and_nothing_else(plan, scene):
    course = _course(plan, 3000, 5)
    own = judge_course(scene, course)
    strong = flown_scene(plan, parse_wind("270/25 kt"))
    other = judge_course(strong, course)
    for name in ("legal_margin_ft", "legal_binder", "height_agl_ft", "is_in_area"):
        np.testing.assert_array_equal(getattr(own, name), getattr(other, name))
    known = ~own.is_unknown & ~other.is_unknown
    moved = own.glide_required_amsl_ft[known] != other.glide_required_amsl_ft[known]
    assert moved.mean() > 0.5
    assert len(strong.notes) == 1
    assert "270/25 kt" in strong.notes[0]
    assert "180/8 kt" in strong.notes[0]
    assert scene.notes == ()


def test_a_wind_asked_for_replaces_the_table_of_winds_aloft(tmp_path, plan):
    (tmp_path / "aloft").mkdir()
    country = _country(tmp_path / "aloft").more(ALOFT)
    aloft = evaluate(read_project(country.project(wind="180/8 kt", around="2 NM")))
    asked = parse_wind("210/14 kt")
    course = _course(plan, 2000, 6)
    with_table, without = flown_scene(aloft, asked), flown_scene(plan, asked)
    for name in NAMES:
        one, two = judge_course(with_table, course), judge_course(without, course)
        np.testing.assert_array_equal(getattr(one, name), getattr(two, name))
    assert "winds aloft" in with_table.notes[0]
    own = judge_course(flown_scene(aloft), course)
    assert (own.glide_required_amsl_ft > one.glide_required_amsl_ft).any()


def test_no_way_out_in_a_wind_faster_than_the_glide(plan):
    found = judge_course(flown_scene(plan, parse_wind("270/90 kt")), Course(0.0, 0.0, 900.0, 90.0))
    assert found.glide_required_amsl_ft[0] == UNREACHABLE_FT
    assert found.glide_margin_ft[0] == NEVER_FT
    assert found.field[0] == NOBODY
    assert not found.is_unknown[0]
    assert not found.is_met[0]


def test_no_glide_is_counted_on_that_asks_for_more_than_was_considered(scene):
    course = _course(scene.plan, 2000, 7, feet=(4000, 9000))
    usual = judge_course(scene, course)
    known = usual.glide_margin_ft[usual.glide_margin_ft != UNKNOWN_FT]
    assert (known > 0).any()
    strict = judge_course(evolve(scene, highest_amsl_ft=2000), course)
    is_more = usual.glide_required_amsl_ft > 2000
    assert 0 < is_more.sum() < 2000
    assert (strict.glide_margin_ft[is_more] == NEVER_FT).all()
    np.testing.assert_array_equal(strict.glide_margin_ft[~is_more], usual.glide_margin_ft[~is_more])
    np.testing.assert_array_equal(strict.glide_required_amsl_ft, usual.glide_required_amsl_ft)
