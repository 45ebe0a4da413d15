"""Figures that use height, placed: against every place tried one by one, and by hand."""

import numpy as np
import pytest
import shapely
from attrs import evolve

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.manoeuvres import answer_manoeuvres, overall
from areaplan.planning.plan import NO_BAND_FT, NO_LIMIT_FT, UNKNOWN_FT, UNREACHABLE_FT
from areaplan.planning.project_file import read_project
from areaplan.planning.vertical_placing import place_manoeuvres
from areaplan.render.manoeuvres import manoeuvres_as_json, manoeuvres_text
from areaplan.rules.loading import builtin_manoeuvres
from areaplan.rules.vertical_asked import builtin_vertical
from areaplan.units import FOOT_M, KNOT_MPS, Wind
from tests.planning.builder import GROUND_FT, Country, box, plain_country, point

HALF_M = 1400.0
NAMES = tuple(builtin_vertical())


def _country(folder):
    """A hill in the north-east, a tall mast in the south, a field in the west."""

    def heights(x_m, y_m):
        far = np.hypot(x_m - 1500.0, y_m - 1500.0)
        return GROUND_FT * FOOT_M + np.maximum(0.0, 120.0 - 0.1 * far)

    country = Country(folder).terrain(heights)
    country.features("fields", [(box(-1800, -700, -300, 700), {"name": "West"})])
    mast = (point(300.0, -1200.0), {"name": "Mast", "height_ft": 1900})
    country.features("structures", [mast], default_height="600 ft")
    return country.none("obstacles", "airspace", "congested", "assemblies", "noise-sensitive")


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    path = _country(tmp_path_factory.mktemp("vertical")).project(
        half_m=HALF_M, cell="100 m", wind="250/18 kt", planned='["3500 ft AMSL"]'
    )
    return evaluate(read_project(path))


@pytest.fixture(scope="module")
def answers(plan):
    return answer_manoeuvres(plan, NAMES)


@pytest.fixture(scope="module")
def placings(plan, answers):
    return place_manoeuvres(plan, answers)


def _completion_ft(name):
    row = next(row for row in builtin_manoeuvres().manoeuvres if row.id == name)
    return round(row.completion_agl_m / FOOT_M)


def _cells_flown(plan, track, x_m, y_m):
    """Cells of points a few metres apart, straight between the samples."""
    line = shapely.LineString(np.column_stack([x_m + track.east_m, y_m + track.north_m]))
    xy = shapely.get_coordinates(shapely.segmentize(line, 4.0))
    col = np.floor((xy[:, 0] - plan.grid.x_min_m) / plan.grid.cell_m).astype(int)
    row = np.floor((plan.grid.y_max_m - xy[:, 1]) / plan.grid.cell_m).astype(int)
    return line, row, col


def _entries(plan, name, placing, figure, x_m, y_m):
    """Lowest and highest entry from one place, asked of the plan's own cells; None: none."""
    cells = plan.cells
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    line, row, col = _cells_flown(plan, figure.track, x_m, y_m)
    if not area.covers(line):
        return None
    ground = cells.terrain_amsl_ft[row, col].astype(int)
    required = cells.glide_required_amsl_ft[row, col].astype(int)
    bands = cells.bands_amsl_ft[:, :, row, col].astype(int)
    assert (bands[1:, 0] == NO_BAND_FT).all()  # one band everywhere in this country
    if cells.is_legal_unknown[row, col].any() or (required >= UNREACHABLE_FT).any():
        return None
    assert (required != UNKNOWN_FT).all()
    low = max(required.max(), (ground + _completion_ft(name)).max(), bands[0, 0].max())
    assert (bands[0, 1] == NO_LIMIT_FT).all()
    return low + placing.used_ft


@pytest.mark.parametrize("name", NAMES)
def test_agrees_with_every_place_tried_one_by_one(plan, placings, name):
    placing = placings[name]
    top_ft = 3500 + 3000 - placing.gained_ft
    area = plan.cells.is_in_area
    shapes = _shapes_again(plan, placing, name)
    fits, best = 0, -np.inf
    rows, cols = np.nonzero(area)
    for row, col in zip(rows.tolist(), cols.tolist(), strict=True):
        x_m, y_m = plan.grid.centre_x_m()[col], plan.grid.centre_y_m()[row]
        here = [_entries(plan, name, placing, figure, x_m, y_m) for figure in shapes]
        lows = [low for low in here if low is not None and low <= top_ft]
        fits += bool(lows)
        best = max([best, *(min(0.5 * (top_ft - low), 250.0) for low in lows)])
    share = fits / rows.size
    # Cautious by the cells that the area's edge cuts and by corners touched: never more.
    assert placing.share <= share
    assert placing.share >= share - 0.2
    assert (placing.place is None) == (placing.share == 0.0)
    if placing.place is not None:
        place = placing.place
        margin_ft = min(place.room_ft, place.glide_ft, place.ceiling_ft, place.edge_m / FOOT_M)
        assert 0.0 <= margin_ft <= best + 25.0  # an entry read off in steps of 50 ft


def _shapes_again(plan, placing, name):
    from areaplan.engine.vertical_figures import Heights
    from areaplan.planning.vertical_shapes import vertical_shapes

    craft = plan.project.aircraft
    row = next(row for row in builtin_manoeuvres().manoeuvres if row.id == name)
    speed = craft.best_glide_speed_mps if name == "steep-spiral" else craft.manoeuvre_speed_mps
    heights = Heights(row.height_used_m, row.height_gained_m)
    asked, faster = builtin_vertical()[name], placing.tas_mps / speed
    made = vertical_shapes(asked, craft, faster, (plan.project.wind,), heights, 20.0)
    return [shape.flown[0] for shape in made]


@pytest.mark.parametrize("name", NAMES)
def test_the_best_place_holds_at_every_point_of_its_track(plan, placings, name):
    placing = placings[name]
    place = placing.place
    assert place is not None
    x_m, y_m = (float(value) for value in plan.frame.to_local(place.lon, place.lat))
    for figure in place.shape.flown:
        low = _entries(plan, name, placing, figure, x_m, y_m)
        assert low is not None
        assert low <= place.lowest_entry_amsl_ft <= place.entry_amsl_ft
        _, row, col = _cells_flown(plan, figure.track, x_m, y_m)
        required = plan.cells.glide_required_amsl_ft[row, col].astype(int).max()
        assert place.entry_amsl_ft - placing.used_ft - required >= place.glide_ft
        heights_m = figure.track.above_entry_m
        assert -heights_m.min() / FOOT_M <= placing.used_ft + 1e-6
        assert heights_m.max() / FOOT_M <= placing.gained_ft + 1e-6
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    line, _, _ = _cells_flown(plan, place.shape.flown[0].track, x_m, y_m)
    assert 0.0 <= place.edge_m <= area.boundary.distance(line)


def test_on_a_plain_the_place_is_the_middle_and_the_height_the_standards(tmp_path):
    plan = evaluate(read_project(plain_country(tmp_path).project(half_m=2000.0, cell="100 m")))
    placing = place_manoeuvres(plan, answer_manoeuvres(plan, ["steep-turns"]))["steep-turns"]
    place = placing.place
    assert place.lowest_entry_amsl_ft == GROUND_FT + 1500 + 200
    x_m, y_m = plan.frame.to_local(place.lon, place.lat)
    assert max(abs(float(x_m)), abs(float(y_m))) < 500.0
    # The circle of the textbook: V squared over g tan(bank).
    radius_m = placing.tas_mps**2 / (9.80665 * np.tan(np.radians(45.0)))
    assert place.shape.radius_m == pytest.approx(radius_m, rel=1e-6)
    reach_m = max(one.track.reach_m for one in place.shape.flown)
    assert reach_m == pytest.approx(2.0 * radius_m, rel=0.01)  # calm: a circle through the entry


def test_the_wind_carries_it_as_far_as_it_blows(placings):
    for name in ("steep-turns", "lazy-eight", "chandelle"):
        figure = placings[name].place.shape.flown[0]
        drift_m = np.hypot(figure.drift_east_m, figure.drift_north_m)
        assert drift_m == pytest.approx(18 * KNOT_MPS * figure.track.duration_s, rel=1e-6)


def test_an_area_too_small_has_no_place(tmp_path):
    plan = evaluate(read_project(plain_country(tmp_path).project(half_m=250.0, cell="50 m")))
    answers = answer_manoeuvres(plan, ["steep-turns"])
    placing = place_manoeuvres(plan, answers)["steep-turns"]
    assert placing.place is None
    assert placing.share == 0.0
    text = manoeuvres_text(plan, answers, overall(answers), {"steep-turns": placing})
    assert "nowhere in the area" in text


def test_refuses_a_wind_that_outruns_the_aircraft(plan, answers):
    fast = evolve(plan, project=evolve(plan.project, wind=Wind(250.0, 40.0)))
    with pytest.raises(InputError, match="wind of 78 kt"):
        place_manoeuvres(fast, answers)


def test_text_and_json_tell_the_place(plan, answers, placings):
    verdict = overall(answers)
    text = " ".join(manoeuvres_text(plan, answers, verdict, placings).split())
    assert text.count("Place: fits with its drift from") == len(NAMES)
    told = manoeuvres_as_json(plan, answers, verdict, placings)["manoeuvres"]
    for row in told:
        place = placings[row["id"]].place
        assert row["place"]["best"]["entry_amsl_ft"] == place.entry_amsl_ft
        assert row["place"]["share"] == placings[row["id"]].share
    assert "place" not in manoeuvres_as_json(plan, answers, verdict)["manoeuvres"][0]
