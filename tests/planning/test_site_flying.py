"""A site as flown: cells touched, the coarse look below nothing, and an independent solver."""

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from areaplan.planning.evaluation import evaluate
from areaplan.planning.ground_reference import Reference
from areaplan.planning.plan import Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.site_cells import cells_touched
from areaplan.planning.site_flying import fly_site, site_scene
from areaplan.planning.site_layouts import lay_out
from areaplan.planning.site_looks import coarse_room_ft
from areaplan.planning.site_room import figure_room
from areaplan.planning.sites import find_sites
from areaplan.rules.figures_asked import builtin_figures
from areaplan.sources.layers import ReferenceKind
from areaplan.units import FOOT_M, Wind, parse_wind
from tests.oracles import point_mass
from tests.planning.builder import GROUND_FT, Country, box, lonlat, point
from tests.planning.test_sites import CROSSROADS, HALF_M, _country

ONE_METRE_M = 1.0


def _hilly(folder):
    """Waves of 12 m in the north and south, two fields, two masts: margins of every kind."""

    def heights(x_m, y_m):
        waves = 6.0 * (np.sin(x_m / 700.0) + np.cos(y_m / 500.0))
        return GROUND_FT * FOOT_M + np.where(np.abs(y_m) > 1600.0, waves, 0.0)

    country = Country(folder).terrain(heights)
    rows = [(box(-3500, -1500, -400, 1500), "West"), (box(700, -1100, 2600, 800), "East")]
    country.features("fields", [(shape, {"name": name}) for shape, name in rows])
    masts = [(1500.0, 2200.0, 450), (-2200.0, -2300.0, 380)]
    country.features(
        "structures",
        [(point(x, y), {"name": "Mast", "height_ft": feet}) for x, y, feet in masts],
        default_height="400 ft",
    )
    country.none("obstacles", "airspace", "congested", "assemblies", "noise-sensitive", "wires")
    return evaluate(read_project(country.project(half_m=HALF_M, cell="100 m")))


@pytest.fixture(scope="module")
def scenes(tmp_path_factory):
    plan = _hilly(tmp_path_factory.mktemp("hilly"))
    rooms = {name: figure_room(plan, name) for name in ("ground-reference", "eights-on-pylons")}
    winds = (Wind(0.0, 0.0), Wind(40.0, 5.0), Wind(205.0, 9.0))
    return [site_scene(plan, wind, rooms) for wind in winds]


def _reference(kind, x_m, y_m, deg, length_m, width_m):
    ux, uy = np.sin(np.radians(deg)), np.cos(np.radians(deg))
    ends = [(x_m + k * length_m * ux, y_m + k * length_m * uy) for k in (-0.5, 0.5)]
    shapes = {
        ReferenceKind.POINT: lambda: shapely.Point(x_m, y_m),
        ReferenceKind.LINE: lambda: shapely.LineString(ends),
        ReferenceKind.PAIR: lambda: shapely.MultiPoint(ends),
        ReferenceKind.RECTANGLE: lambda: shapely.Point(x_m, y_m).buffer(10.0),
    }
    direction = None if kind is ReferenceKind.POINT else deg % 180.0
    return Reference("r", kind, shapes[kind](), (), direction, length_m, width_m)


FIGURES = {one.id: one for one in builtin_figures().figures}


@given(
    name=st.sampled_from(sorted(FIGURES)),
    which=st.integers(0, 2),
    x_m=st.floats(-3500.0, 3500.0),
    y_m=st.floats(-3500.0, 3500.0),
    deg=st.floats(0.0, 179.9),
    length_m=st.floats(400.0, 3000.0),
)
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
def test_the_coarse_look_never_hides_a_margin(scenes, name, which, x_m, y_m, deg, length_m):
    scene, figure = scenes[which], FIGURES[name]
    reference = _reference(figure.reference, x_m, y_m, deg, length_m, 700.0)
    layouts = list(lay_out(figure, [reference], scene.flight))[:4]
    for coarse_ft, layout in zip(coarse_room_ft(scene, layouts), layouts, strict=True):
        exact_ft = fly_site(scene, layout).smallest_margin_ft
        assert coarse_ft >= exact_ft or (coarse_ft < 0.0 and exact_ft < 0)


def test_some_of_those_places_fit_and_some_do_not(scenes):
    figure = FIGURES["turns-around-a-point"]
    found = {
        fly_site(scenes[1], layout).verdict
        for x_m in range(-3000, 3001, 750)
        for layout in lay_out(
            figure, [_reference(figure.reference, x_m, 0.0, 0.0, 0.0, 0.0)], scenes[1].flight
        )
    }
    assert found == {Verdict.MET, Verdict.NOT_MET}


@pytest.mark.parametrize("name", ["turns-around-a-point", "s-turns", "eights-on-pylons"])
def test_every_cell_of_a_track_is_looked_at(scenes, name):
    scene, grid = scenes[2], scenes[2].plan.grid
    kind = FIGURES[name].reference
    references = [_reference(kind, 37.0, -61.0, 115.0, 700.0 + 50 * k, 0.0) for k in range(14)]
    layouts = list(lay_out(FIGURES[name], references, scene.flight))[:6]
    assert layouts
    for layout in layouts:
        track = layout.shape.fly(0.5 * grid.cell_m)
        touched = cells_touched(grid, track, layout.x_m, layout.y_m)
        taken = set(zip(touched.row.tolist(), touched.col.tolist(), strict=True))
        fine = layout.shape.fly(0.25)
        col = np.floor((layout.x_m + fine.east_m - grid.x_min_m) / grid.cell_m).astype(int)
        row = np.floor((grid.y_max_m - layout.y_m - fine.north_m) / grid.cell_m).astype(int)
        flown = set(zip(row.tolist(), col.tolist(), strict=True))
        assert flown <= taken
        assert len(taken) <= 2 * len(flown)


def test_eights_on_pylons_stand_on_the_pylons_ground(tmp_path):
    """A valley between two pylons on higher ground, the east one 60 ft above the west one."""

    def heights(x_m, _y_m):
        ground_ft = np.where(x_m < -300.0, 1100.0, np.where(x_m > 300.0, 1160.0, 900.0))
        return ground_ft * FOOT_M

    country = Country(tmp_path).terrain(heights)
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies", "wires")
    plan = evaluate(read_project(country.project(half_m=HALF_M, cell="50 m")))
    scene = site_scene(
        plan, Wind(0.0, 5.0), {"eights-on-pylons": figure_room(plan, "eights-on-pylons")}
    )
    figure = FIGURES["eights-on-pylons"]
    layouts = [
        layout
        for apart_m in range(700, 1300, 50)
        for layout in lay_out(
            figure, [_reference(figure.reference, 0.0, 0.0, 90.0, apart_m, 0.0)], scene.flight
        )
    ]
    site = fly_site(scene, layouts[0])
    above_ft = layouts[0].shape.entry_above_m / FOOT_M
    assert site.entry_amsl_ft == 1100 + int(above_ft)
    assert site.entry_amsl_ft > GROUND_FT


def test_the_bank_of_a_found_site_flies_it_again(tmp_path):
    """SciPy's solver, from entry and bank alone, follows the whole site within a metre."""
    country = _country(tmp_path, roads=CROSSROADS)
    plan = evaluate(read_project(country.project(half_m=HALF_M)))
    answer = find_sites(plan, parse_wind("020/14 kt"), builtin_figures().figures)
    flown = 0
    for one in answer.figures:
        for site in one.sites[:1]:
            track = site.track
            east, north, _ = point_mass.fly(
                track.time_s,
                track.bank_deg,
                np.full(track.time_s.size, answer.tas_mps),
                answer.wind.from_deg_true,
                answer.wind.speed_mps,
                (site.course.x_m[0], site.course.y_m[0]),
                track.heading_deg_true[0],
            )
            apart = np.hypot(east - site.course.x_m, north - site.course.y_m)
            assert apart.max() <= ONE_METRE_M
            # And on the globe: the degrees given out are those places.
            again = np.array([lonlat(x, y) for x, y in zip(east, north, strict=True)])
            assert np.abs(again - np.column_stack([site.lon, site.lat])).max() < 1e-5
            flown += 1
    assert flown >= 2
