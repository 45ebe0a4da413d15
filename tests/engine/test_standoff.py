"""Floors of features: what must hold of them whatever the scene, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import (
    NO_FEATURE,
    cells_inside_index,
    cells_touching,
    cells_touching_index,
    highest_within,
    raise_ground,
    standoff_floor,
)
from areaplan.grid import Grid

SLANT = {"radius_m": 152.4, "profile": "slant"}
LEVEL = {"radius_m": 609.6, "height_m": 304.8, "profile": "level"}
RULES = pytest.mark.parametrize("rule", [SLANT, LEVEL], ids=["slant", "level"])


def scene(seed: int, count: int, size_m: float) -> tuple[list, np.ndarray, np.ndarray]:
    """Houses, masts and lines with corners on whole eighths of a metre, tops and spreads."""
    rng = np.random.default_rng(seed)

    def eighths(values: np.ndarray) -> np.ndarray:
        return np.round(values * 8.0) / 8.0

    shapes: list = []
    while len(shapes) < count:
        centre = rng.uniform(-0.6 * size_m, 0.6 * size_m, 2)
        kind = rng.random()
        if kind < 0.2:
            shapes.append(shapely.Point(eighths(centre)))
        elif kind < 0.4:
            shapes.append(shapely.LineString(eighths(centre + rng.uniform(-200, 200, (4, 2)))))
        else:
            corners = np.sort(rng.uniform(0, 2 * math.pi, 6))
            ring = centre + rng.uniform(5, 60, (6, 1)) * np.c_[np.cos(corners), np.sin(corners)]
            polygon = shapely.Polygon(eighths(ring))
            if polygon.is_valid and polygon.area > 1.0:
                shapes.append(polygon)
    return shapes, eighths(rng.uniform(50, 200, count)), rng.choice([0.0, 6.25, 76.25], count)


ROUNDING_M = 1e-9
GRID = Grid(-512.0, 512.0, 16.0, 64, 64)


@RULES
def test_adding_a_feature_never_lowers_and_raising_a_top_never_lowers(rule: dict) -> None:
    shapes, tops, spreads = scene(1, 30, 1000.0)
    whole = standoff_floor(GRID, FeatureSet.from_geometries(shapes, tops, spreads), **rule).amsl_m
    fewer = standoff_floor(
        GRID, FeatureSet.from_geometries(shapes[:20], tops[:20], spreads[:20]), **rule
    ).amsl_m
    assert (fewer <= whole).all()
    assert (fewer < whole).any()
    raised_tops = tops + np.where(np.arange(30) % 3 == 0, 25.0, 0.0)
    higher = standoff_floor(
        GRID, FeatureSet.from_geometries(shapes, raised_tops, spreads), **rule
    ).amsl_m
    assert (whole <= higher).all()
    assert (whole < higher).any()
    wider = standoff_floor(
        GRID, FeatureSet.from_geometries(shapes, tops, spreads + 10.0), **rule
    ).amsl_m
    assert (whole <= wider).all()


@RULES
def test_rotating_everything_by_a_quarter_turn_rotates_the_answer(rule: dict) -> None:
    shapes, tops, spreads = scene(2, 30, 1000.0)
    turned = [shapely.transform(s, lambda xy: np.c_[-xy[:, 1], xy[:, 0]]) for s in shapes]
    first = standoff_floor(GRID, FeatureSet.from_geometries(shapes, tops, spreads), **rule)
    again = standoff_floor(GRID, FeatureSet.from_geometries(turned, tops, spreads), **rule)
    assert np.unique(first.feature).size > 4
    np.testing.assert_array_equal(again.amsl_m, np.rot90(first.amsl_m))
    np.testing.assert_array_equal(again.feature, np.rot90(first.feature))


@RULES
def test_shifting_everything_by_whole_cells_shifts_the_answer(rule: dict) -> None:
    shapes, tops, spreads = scene(3, 30, 1000.0)
    moved = [affinity.translate(s, 7 * 16.0, -5 * 16.0) for s in shapes]
    first = standoff_floor(GRID, FeatureSet.from_geometries(shapes, tops, spreads), **rule)
    again = standoff_floor(GRID, FeatureSet.from_geometries(moved, tops, spreads), **rule)
    np.testing.assert_array_equal(again.amsl_m[5:, 7:], first.amsl_m[:-5, :-7])
    np.testing.assert_array_equal(again.feature[5:, 7:], first.feature[:-5, :-7])


@RULES
def test_the_number_of_threads_and_the_order_of_features_change_nothing(rule: dict) -> None:
    shapes, tops, spreads = scene(4, 200, 3000.0)
    grid = Grid(-1600.0, 1600.0, 10.0, 320, 300)
    features = FeatureSet.from_geometries(shapes, tops, spreads)
    first = standoff_floor(grid, features, threads=1, **rule)
    for threads in (2, 3, 8):
        again = standoff_floor(grid, features, threads=threads, **rule)
        assert again.amsl_m.tobytes() == first.amsl_m.tobytes()
        assert again.feature.tobytes() == first.feature.tobytes()
    shuffled = np.random.default_rng(0).permutation(200)
    other = FeatureSet.from_geometries(
        [shapes[i] for i in shuffled], tops[shuffled], spreads[shuffled]
    )
    assert standoff_floor(grid, other, **rule).amsl_m.tobytes() == first.amsl_m.tobytes()


def test_finer_cells_converge_to_the_floor_at_a_point_from_above() -> None:
    shapes, tops, _ = scene(5, 12, 600.0)
    features = FeatureSet.from_geometries(shapes, tops)
    rng, radius_m, judged = np.random.default_rng(6), 152.4, 0
    for x_m, y_m in rng.uniform(-500.0, 500.0, (40, 2)):
        distance_m = shapely.distance(shapes, shapely.Point(x_m, y_m))
        # The floor is steep next to the radius: judge points well inside some standoff.
        is_steep = np.abs(distance_m / radius_m - 1.0) < 0.1
        if is_steep.any() or not (distance_m < radius_m).any():
            continue
        judged += 1
        near = distance_m < radius_m
        point_m = (tops + np.sqrt(np.where(near, radius_m**2 - distance_m**2, 0.0)))[near].max()
        coarser_m = math.inf
        for cell_m in (64.0, 32.0, 16.0, 8.0, 4.0, 2.0, 1.0, 0.5, 0.25):
            cell = Grid(
                math.floor(x_m / cell_m) * cell_m, math.ceil(y_m / cell_m) * cell_m, cell_m, 1, 1
            )
            floor_m = float(standoff_floor(cell, features, **SLANT).amsl_m[0, 0])
            assert point_m - ROUNDING_M <= floor_m <= coarser_m + ROUNDING_M
            coarser_m = floor_m
        # |d floor / d distance| = d / sqrt(R^2 - d^2) is at most 2.1 at 0.9 R.
        assert floor_m - point_m < 2.1 * 0.25 * math.sqrt(2.0) + 0.05
    assert judged > 10


def test_a_hole_is_not_part_of_an_area_but_its_edge_is() -> None:
    grid = Grid(0.0, 100.0, 10.0, 10, 10)
    yard = shapely.box(0, 0, 100, 100).difference(shapely.box(30, 30, 70, 70))
    features = FeatureSet.from_geometries([yard], 10.0)
    touching = cells_touching(grid, features)
    expected = np.ones((10, 10), dtype=bool)
    expected[4:6, 4:6] = False  # cells that meet the hole's edge belong to the area
    np.testing.assert_array_equal(touching, expected)
    inside = cells_inside_index(grid, features) == 0
    expected = np.ones((10, 10), dtype=bool)
    expected[3:7, 3:7] = False
    np.testing.assert_array_equal(inside, expected)


def test_areas_are_not_joined_and_the_lowest_index_wins() -> None:
    grid = Grid(0.0, 10.0, 10.0, 1, 4)
    halves = [shapely.box(0, 0, 15, 10), shapely.box(15, 0, 40, 10), shapely.box(20, 0, 40, 10)]
    features = FeatureSet.from_geometries(halves, 0.0)
    assert cells_inside_index(grid, features).tolist() == [[0, NO_FEATURE, 1, 1]]
    assert cells_touching_index(grid, features).tolist() == [[0, 0, 1, 1]]
    spread = FeatureSet.from_geometries(halves, 0.0, [0.0, 0.0, 0.001])
    assert cells_inside_index(grid, spread).tolist() == [[0, NO_FEATURE, 1, 1]]
    only_spread = FeatureSet.from_geometries(halves[2:], 0.0, 0.001)
    assert (cells_inside_index(grid, only_spread) == NO_FEATURE).all()


def test_equal_floors_go_to_the_first_feature() -> None:
    grid = Grid(0.0, 10.0, 10.0, 1, 1)
    same = [shapely.Point(5, 5), shapely.Point(5, 5), shapely.Point(5, 5)]
    for rule in (SLANT, LEVEL):
        features = FeatureSet.from_geometries(same, [10.0, 20.0, 20.0])
        assert standoff_floor(grid, features, **rule).feature.tolist() == [[1]]
    # 3-4-5 triangle: a top 1 m higher and 3 m away asks for the same 5 m.
    tied = FeatureSet.from_geometries([shapely.Point(5, 5), shapely.Point(13, 5)], [0.0, 1.0])
    floor = standoff_floor(grid, tied, radius_m=5.0, profile="slant")
    assert (floor.amsl_m.tolist(), floor.feature.tolist()) == ([[5.0]], [[0]])
    endless = {**LEVEL, "height_m": math.inf}
    features = FeatureSet.from_geometries(same, [10.0, 20.0, 20.0])
    floor = standoff_floor(grid, features, **endless)
    assert floor.amsl_m.tolist() == [[math.inf]]
    assert floor.feature.tolist() == [[0]]


def test_the_rounding_of_a_coordinate_never_opens_a_cell() -> None:
    grid = Grid(0.0, 0.3, 0.3, 1, 1)
    beside = FeatureSet.from_geometries([shapely.Point(0.1 + 0.2, 0.1)], 1.0)  # 0.30000000000000004
    assert cells_touching(grid, beside).all()
    assert not cells_touching(grid, FeatureSet.from_geometries([shapely.Point(0.30001, 0.1)], 1.0))
    at_radius = FeatureSet.from_geometries([shapely.Point(0.3 + 609.6, 0.1)], 1.0)
    assert np.isfinite(standoff_floor(grid, at_radius, **LEVEL).amsl_m).all()


@RULES
def test_an_unknown_top_makes_its_reach_unknown_and_nothing_else(rule: dict) -> None:
    grid = Grid(0.0, 20.0, 20.0, 1, 60)
    mast, other = shapely.Point(10.0, 10.0), shapely.Point(400.0, 10.0)
    known = standoff_floor(grid, FeatureSet.from_geometries([other], 500.0), **rule)
    two = FeatureSet.from_geometries([other, mast], [500.0, math.nan])
    both = standoff_floor(grid, two, **rule)
    is_unknown = np.isnan(both.amsl_m)
    reach = cells_touching(grid, FeatureSet.from_geometries([mast], 0.0), rule["radius_m"])
    np.testing.assert_array_equal(is_unknown, reach)
    assert is_unknown.any()
    assert (both.feature[is_unknown] == 1).all()
    np.testing.assert_array_equal(both.amsl_m[~is_unknown], known.amsl_m[~is_unknown])


@RULES
def test_cells_to_which_the_rule_does_not_apply_get_nothing(rule: dict) -> None:
    shapes, tops, spreads = scene(7, 30, 1000.0)
    tops[3] = math.nan
    features = FeatureSet.from_geometries(shapes, tops, spreads)
    applies = np.random.default_rng(8).random(GRID.shape) < 0.3
    applies[:, :9] = False
    everywhere = standoff_floor(GRID, features, **rule)
    some = standoff_floor(GRID, features, applies=applies, **rule)
    np.testing.assert_array_equal(some.amsl_m[applies], everywhere.amsl_m[applies])
    np.testing.assert_array_equal(some.feature[applies], everywhere.feature[applies])
    assert (some.amsl_m[~applies] == -math.inf).all()
    assert (some.feature[~applies] == NO_FEATURE).all()


def test_features_beyond_the_grid_count_and_far_ones_do_no_harm() -> None:
    grid = Grid(0.0, 100.0, 10.0, 10, 10)
    for x_m, y_m in ((-100.0, 50.0), (200.0, 50.0), (50.0, -100.0), (50.0, 200.0)):
        features = FeatureSet.from_geometries([shapely.Point(x_m, y_m)], 10.0)
        floor = standoff_floor(grid, features, **SLANT).amsl_m
        assert np.isfinite(floor).any()
        assert not np.isfinite(floor).all()
    far = [shapely.Point(x, y) for x in (-1e9, 50.0, 1e9) for y in (-1e9, 50.0, 1e9)]
    features = FeatureSet.from_geometries([f for f in far if f != shapely.Point(50, 50)], 10.0)
    assert (standoff_floor(grid, features, **SLANT).amsl_m == -math.inf).all()
    assert not cells_touching(grid, features, 500.0).any()
    around = FeatureSet.from_geometries([shapely.box(-1e8, -1e8, 1e8, 1e8)], 10.0)
    assert (standoff_floor(grid, around, **SLANT).amsl_m == 162.4).all()
    assert (cells_inside_index(grid, around) == 0).all()


def test_no_feature_at_all() -> None:
    nothing = FeatureSet.from_geometries([], [])
    for rule in (SLANT, LEVEL):
        floor = standoff_floor(GRID, nothing, **rule)
        assert (floor.amsl_m == -math.inf).all()
        assert (floor.feature == NO_FEATURE).all()
    assert (cells_inside_index(GRID, nothing) == NO_FEATURE).all()
    ground = np.random.default_rng(0).random(GRID.shape)
    np.testing.assert_array_equal(raise_ground(ground, GRID, nothing), ground)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"radius_m": -1.0}, "radius_m"),
        ({"radius_m": math.nan}, "radius_m"),
        ({"radius_m": math.inf}, "radius_m"),
        ({"profile": "cone"}, "profile"),
        ({"height_m": math.nan}, "height_m"),
        ({"profile": "slant"}, "a slant standoff has no height"),
        ({"applies": np.ones((2, 2), dtype=bool)}, "applies has shape"),
        ({"threads": 0}, "0 threads"),
    ],
)
def test_bad_input_is_refused(change: dict, message: str) -> None:
    features = FeatureSet.from_geometries([shapely.Point(0, 0)], 1.0)
    with pytest.raises(ValueError, match=message):
        standoff_floor(GRID, features, **{**LEVEL, **change})


def test_bad_ground_and_distance_are_refused() -> None:
    features = FeatureSet.from_geometries([shapely.Point(0, 0)], 1.0)
    with pytest.raises(ValueError, match="ground_amsl_m has shape"):
        raise_ground(np.zeros((2, 2)), GRID, features)
    with pytest.raises(ValueError, match="ground_amsl_m has shape"):
        highest_within(np.zeros((2, 2)), GRID, 10.0)
    with pytest.raises(ValueError, match="radius_m"):
        highest_within(np.zeros(GRID.shape), GRID, -10.0)
    with pytest.raises(ValueError, match="distance_m"):
        cells_touching(GRID, features, math.nan)
