"""Candidates lie where every layer leaves room, and nobody takes them for fields."""

import json

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.planning.candidates import (
    MOST_ACROSS_M,
    MOST_CANDIDATES,
    candidate_fields,
    measured_candidates,
    propose_fields,
)
from areaplan.planning.clean_ground import (
    CLEAR_OF_OBSTACLES_M,
    CLEAR_OF_ROADS_M,
    CLEAR_OF_STRUCTURES_M,
    CLEAR_OF_WOODS_M,
    clean_cells,
)
from tests.planning.builder import Country, box, point
from tests.planning.candidate_scenes import (
    ROUNDING_M,
    cell_boxes,
    local_of,
    one_meadow,
    scene,
)
from tests.planning.covered_country import (
    BARREN,
    CROPS,
    FOREST,
    GRASS,
    PASTURE,
    bare_country,
    line,
    patches,
    with_cover,
    write,
)


# --- where they lie -------------------------------------------------------------------------------
def test_a_meadow_in_a_forest_is_one_candidate_inside_it(tmp_path):
    project, layers, ground = scene(write(one_meadow(tmp_path)))
    (field,) = candidate_fields(project, layers, ground)
    assert field.name == "candidate 1"
    assert (field.cover, field.cover_rank) == ("pasture or hay 100%", 1)
    assert "nobody has looked" in field.surface
    (shape,) = local_of(ground, [field])
    assert shapely.box(-500, -300, 500, 300).buffer(15.0).covers(shape)  # half a pixel
    # A pixel and a cell at each side at most, the tolerance, and the corners.
    assert shape.area > (1000 - 2 * 66) * (600 - 2 * 66) * 0.97


PIECE_DEG = 1e-3  # about 100 m
offsets = st.floats(-1500.0, 1500.0)
lengths = st.floats(5.0, 400.0)
boxes = st.tuples(offsets, offsets, lengths, lengths)
places = st.lists(boxes, min_size=0, max_size=4)


def as_box(row):
    x, y, across, along = row
    return box(x, y, x + across, y + along)


def as_line(row):
    x, y, across, along = row
    return line((x, y), (x + 3 * across, y + 2 * along))


@settings(max_examples=15, deadline=None)
@given(data=st.data())
def test_no_candidate_comes_near_anything_and_every_one_lies_in_clean_cells(data, tmp_path_factory):
    """Against distances of squares measured by shapely, one layer at a time."""
    draw = data.draw
    country = Country(tmp_path_factory.mktemp("c")).terrain().none("airspace", "noise-sensitive")
    codes = st.sampled_from([GRASS, PASTURE, CROPS, BARREN, FOREST])
    ground_rows = [
        (draw(codes), x, y, x + 8 * across, y + 8 * along)
        for x, y, across, along in draw(st.lists(boxes, min_size=1, max_size=5))
    ]
    elsewhere = draw(st.sampled_from([GRASS, CROPS, FOREST]))
    with_cover(country, patches(*ground_rows, elsewhere=elsewhere))
    standing = {
        "structures": (as_box, CLEAR_OF_STRUCTURES_M, {"height": "30 ft"}),
        "persons": (as_box, CLEAR_OF_STRUCTURES_M, {"presence": "person", "height": "6 ft"}),
        "wires": (as_line, 40.0, {"height": "40 ft"}),
        "roads": (as_line, CLEAR_OF_ROADS_M, {}),
        "woods": (as_box, CLEAR_OF_WOODS_M, {"height": "60 ft"}),
        "congested": (as_box, 0.0, {"reason": "drawn"}),
        "assemblies": (as_box, 0.0, {"reason": "drawn"}),
        "fields": (as_box, 0.0, {}),
    }
    kept_off = []
    for kind, (shape, clear_m, words) in standing.items():
        rows = [shape(row) for row in draw(places)]
        if rows:
            country.features(kind, [(row, {"name": kind, **words}) for row in rows])
        else:
            country.none(kind)
        kept_off += [(row, clear_m) for row in rows]
    masts = [point(x, y) for x, y, _, _ in draw(places)]
    if masts:
        words = {"top_agl_ft": 300, "horizontal_accuracy_ft": 100, "vertical_accuracy_ft": 10}
        country.features("obstacles", [(row, {"name": "mast", **words}) for row in masts])
    else:
        country.none("obstacles")
    project, layers, ground = scene(write(country, 'wire_clearance = "40 m"'))

    squares = cell_boxes(ground.grid)
    rank = layers.land_cover[0].on_grid(ground.grid, ground.frame)
    is_clean, is_close = rank > 0, np.zeros(rank.shape, dtype=bool)
    for geometry, clear_m in kept_off:
        # A line straight in degrees bends by a millimetre on the frame: its ends alone would lie.
        drawn = shapely.segmentize(shapely.from_geojson(json.dumps(geometry)), PIECE_DEG)
        away_m = shapely.distance(squares, ground.frame.geometry_to_local(drawn))
        is_clean &= away_m > clear_m
        is_close |= np.abs(away_m - clear_m) < ROUNDING_M
    for row in (row for layer in layers.obstacles for row in layer.rows):
        away_m = shapely.distance(squares, shapely.Point(*ground.frame.to_local(row.lon, row.lat)))
        clear_m = CLEAR_OF_OBSTACLES_M + row.horizontal_accuracy_m
        is_clean &= away_m > clear_m
        is_close |= np.abs(away_m - clear_m) < ROUNDING_M
    # The outermost cells have no ground beyond them to tell a slope by.
    inner = (slice(3, -3),) * 2
    found = clean_cells(project, layers, ground)
    assert found.notes == ()
    same = (found.rank > 0) == is_clean
    assert same[inner][~is_close[inner]].all()
    assert (found.rank[found.rank > 0] == rank[found.rank > 0]).all()

    fields = candidate_fields(project, layers, ground)
    shapes = local_of(ground, fields)
    region = shapely.union_all(squares[found.rank > 0])
    for field, shape in zip(fields, shapes, strict=True):
        assert region.covers(shape)
        assert shape.area >= project.fields.width_m * project.fields.least_length_m
        under = found.rank[shapely.intersects(squares, shape)]
        assert 1 <= under.min() <= under.max() == field.cover_rank
        # Room for the width everywhere: a disc of it rolls over the whole shape, corners aside.
        half_m = project.fields.width_m / 2
        rolled = shape.buffer(-half_m + 0.05).buffer(half_m)
        assert shape.difference(rolled).area < 0.01 * shape.area
        west, south, east, north = shape.bounds
        assert max(east - west, north - south) <= MOST_ACROSS_M
    for i, shape in enumerate(shapes):
        assert not any(shape.intersection(other).area for other in shapes[:i])
    order = [(field.cover_rank, -shape.area) for field, shape in zip(fields, shapes, strict=True)]
    assert [rank for rank, _ in order] == sorted(rank for rank, _ in order)
    assert [field.name for field in fields] == [f"candidate {n + 1}" for n in range(len(fields))]


def test_steep_and_unknown_ground_holds_no_candidate(tmp_path):
    def heights(x_m, y_m):
        """Flat in the west, 6 % in the east, nothing known in the north."""
        rising = 300.0 + np.maximum(x_m, 0.0) * 0.06
        return np.where(y_m > 150.0, np.nan, rising)

    country = with_cover(bare_country(tmp_path, heights), patches(elsewhere=GRASS))
    project, layers, ground = scene(write(country))
    shapes = local_of(ground, candidate_fields(project, layers, ground))
    assert shapes
    _, _, east, north = shapely.total_bounds(shapes)
    # The slope is told over 60 m either way: at 4 % allowed, two thirds of it lie on the rise.
    assert -100 < east < 60
    assert north < 150


def test_cells_for_which_a_named_layer_does_not_speak_are_not_clean(tmp_path):
    country = Country(tmp_path).terrain()
    for kind in ("structures", "obstacles", "woods", "roads", "airspace", "fields"):
        country.none(kind)
    country.write("seen.geojson", [(box(-2500, -2500, 0, 2500), {"name": "seen"})])
    far = [(line((-2400, -2400), (-2300, -2400)), {"height": "30 ft", "name": "wire"})]
    country.features("wires", far, covers="seen.geojson")
    with_cover(country, patches(elsewhere=GRASS))
    project, layers, ground = scene(write(country))
    shapes = local_of(ground, candidate_fields(project, layers, ground))
    assert shapes
    assert shapely.total_bounds(shapes)[2] <= -project.fields.wire_clearance_m


def test_what_could_not_be_cleaned_of_is_told(tmp_path):
    country = with_cover(Country(tmp_path).terrain(), patches(elsewhere=GRASS))
    project, layers, ground = scene(write(country))
    notes = propose_fields(project, layers, ground).notes
    for kind in ("structures", "obstacles", "wires", "woods", "roads"):
        assert f"candidates are not cleaned of {kind}: the project has no such source" in notes


def test_better_ground_first_and_mixed_ground_by_its_worst(tmp_path):
    country = with_cover(
        bare_country(tmp_path),
        patches(
            (PASTURE, -1200, 300, -500, 900),
            (CROPS, -300, -900, 900, 900),
            (BARREN, -1500, -1500, -600, -800),
            # Alone too narrow for a field, together with the crops beside it wide enough.
            (GRASS, 1100, -1000, 1210, 800),
            (CROPS, 1210, -1000, 1500, 800),
        ),
    )
    project, layers, ground = scene(write(country, 'width = "120 m"\nleast_length = "600 m"'))
    fields = candidate_fields(project, layers, ground)
    ranks = [field.cover_rank for field in fields]
    assert ranks == sorted(ranks)
    assert set(ranks) == {1, 2, 3}
    for field in fields:
        words = {1: "pasture", 2: "crops", 3: "barren"}[field.cover_rank]
        assert words in field.cover
    mixed = [field for field in fields if "grassland" in field.cover]
    assert all(field.cover_rank == 2 for field in mixed)


def test_two_maps_must_agree(tmp_path):
    country = with_cover(bare_country(tmp_path), patches(elsewhere=GRASS), name="a.tif")
    with_cover(country, patches((FOREST, 0, -4000, 4000, 4000), elsewhere=CROPS), name="b.tif")
    project, layers, ground = scene(write(country))
    fields = candidate_fields(project, layers, ground)
    assert {field.cover_rank for field in fields} == {2}
    assert shapely.total_bounds(local_of(ground, fields))[2] <= 15.0


def test_too_many_are_cut_to_the_nearest_and_the_rest_counted(tmp_path):
    def class_at(x_m, y_m):
        """Strips of grass 90 m wide, a strip of forest between them, cut every 600 m."""
        return np.where((x_m % 180 < 110) & (y_m % 600 < 480), GRASS, FOREST)

    country = with_cover(bare_country(tmp_path), class_at, half_m=7000.0)
    project, layers, ground = scene(write(country, 'width = "20 m"', around="2.5 NM"))
    found = propose_fields(project, layers, ground)
    assert len(found.fields) == MOST_CANDIDATES
    assert any("left out" in note for note in found.notes)
    area = shapely.box(-1000, -1000, 1000, 1000)
    away_m = [area.distance(shape) for shape in local_of(ground, found.fields)]
    assert min(away_m) == 0.0
    assert max(away_m) < 2500.0


def test_without_land_cover_there_are_none(tmp_path):
    project, layers, ground = scene(write(bare_country(tmp_path)))
    assert candidate_fields(project, layers, ground) == ()
    found = measured_candidates(project, layers, ground)
    assert (found.counting, found.others, found.notes) == ((), (), ())


# --- whether they count ---------------------------------------------------------------------------
