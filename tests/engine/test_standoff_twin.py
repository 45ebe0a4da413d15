"""Floors and cell sets against shapely, one square and one geometry at a time."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import (
    NO_FEATURE,
    cells_inside,
    cells_inside_index,
    cells_touching,
    cells_touching_index,
    highest_within,
    raise_ground,
    standoff_floor,
)
from areaplan.grid import Grid
from tests.oracles import standoff_twin as twin

# Two ways to compute a distance differ by this much at the most; right at a radius the smallest
# difference decides, so cells nearer than this to it are left out of a comparison.
ROUNDING_M = 2e-6
MILLIMETRE_M = 1e-3


@st.composite
def places(draw: st.DrawFn) -> tuple[float, float]:
    """Anywhere in and around the grid; often on the corners and edges of cells."""
    coordinate = st.one_of(
        st.integers(-16, 48).map(lambda n: n * 4.0),
        st.floats(-60.0, 200.0, allow_nan=False).map(lambda x: round(x, 3)),
    )
    return draw(coordinate), draw(coordinate)


@st.composite
def stars(draw: st.DrawFn) -> shapely.Polygon:
    """A polygon that may be concave, sometimes with a hole of the same shape."""
    corners = draw(st.integers(3, 9))
    reach_m = draw(st.lists(st.floats(2.0, 90.0), min_size=corners, max_size=corners))
    turn = draw(st.floats(0.0, 1.0))
    x, y = draw(places())
    angles = (np.arange(corners) + turn) * 2.0 * math.pi / corners
    ring = np.column_stack([x + reach_m * np.cos(angles), y + reach_m * np.sin(angles)])
    outer = shapely.Polygon(ring)
    if draw(st.booleans()):
        hole = affinity.scale(outer, *(draw(st.sampled_from([0.3, 0.9])),) * 2, origin=(x, y))
        if outer.contains_properly(hole):
            outer = shapely.Polygon(ring, [hole.exterior.coords])
    return outer


def geometries() -> st.SearchStrategy[shapely.Geometry]:
    return st.one_of(
        places().map(shapely.Point),
        st.lists(places(), min_size=2, max_size=4).map(shapely.MultiPoint),
        st.lists(places(), min_size=2, max_size=5).map(shapely.LineString),
        st.tuples(stars(), stars().map(lambda s: affinity.translate(s, 300.0, 0.0))).map(
            shapely.MultiPolygon
        ),
        stars(),
        stars(),
    ).filter(lambda geometry: geometry.is_valid)


GRIDS = st.sampled_from(
    [Grid(0.0, 128.0, 16.0, 8, 9), Grid(-40.0, 150.0, 10.0, 7, 12), Grid(3.7, 99.1, 7.3, 12, 9)]
)
FEATURES = st.lists(
    st.tuples(
        geometries(),
        st.sampled_from([100.0, 120.0, 130.5, math.nan]),
        st.sampled_from([0.0, 0.0, 7.5, 20.0]),
    ),
    max_size=5,
)


@settings(deadline=None, max_examples=250)
@given(
    grid=GRIDS,
    scene=FEATURES,
    radius_m=st.sampled_from([0.0, 12.0, 37.5, 152.4]),
    rule=st.sampled_from([("slant", True), ("level", True), ("level", False)]),
)
def test_floor_and_feature_of_every_cell(
    grid: Grid, scene: list, radius_m: float, rule: tuple[str, bool]
) -> None:
    profile, is_inclusive = rule
    height_m = 30.0 if profile == "level" else 0.0
    shapes, tops, spreads = [s[0] for s in scene], [s[1] for s in scene], [s[2] for s in scene]
    features = FeatureSet.from_geometries(shapes, tops, spreads)
    floor = standoff_floor(
        grid, features, radius_m=radius_m, height_m=height_m, profile=profile,
        is_radius_inclusive=is_inclusive,
    )  # fmt: skip
    distance_m = twin.distances_m(grid, shapes)
    expected, feature = twin.floor_m(
        distance_m, tops, spreads, radius_m, height_m, profile, is_inclusive
    )
    beyond_m = distance_m - np.reshape(spreads, (-1, 1, 1)) - radius_m
    is_decided = ~((np.abs(beyond_m) < ROUNDING_M) & (beyond_m != 0.0)).any(axis=0)
    np.testing.assert_allclose(
        floor.amsl_m[is_decided], expected[is_decided], rtol=0.0, atol=ROUNDING_M
    )
    # On a slant two features may tie but for rounding: then either may be named.
    is_exact = is_decided & ((profile == "level") | np.isnan(expected) | (feature == NO_FEATURE))
    np.testing.assert_array_equal(floor.feature[is_exact], feature[is_exact])
    for index in range(len(scene)):
        alone, _ = twin.floor_m(
            distance_m[[index]], [tops[index]], [spreads[index]], radius_m, height_m, profile,
            is_inclusive,
        )  # fmt: skip
        is_named = is_decided & (floor.feature == index)
        np.testing.assert_allclose(alone[is_named], expected[is_named], rtol=0.0, atol=ROUNDING_M)


@settings(deadline=None, max_examples=150)
@given(grid=GRIDS, scene=FEATURES, distance_m=st.sampled_from([0.0, 12.0, 40.0]))
def test_cells_touching_and_inside(grid: Grid, scene: list, distance_m: float) -> None:
    shapes, spreads = [s[0] for s in scene], [s[2] for s in scene]
    features = FeatureSet.from_geometries(shapes, math.nan, spreads)  # tops play no part
    squares = twin.squares(grid)
    distances_m = twin.distances_m(grid, shapes)
    touching, inside = (grid.full(NO_FEATURE, np.int32) for _ in range(2))
    is_decided = np.ones(grid.shape, dtype=bool)
    for index in reversed(range(len(scene))):
        beyond_m = distances_m[index] - spreads[index] - distance_m
        is_decided &= (np.abs(beyond_m) >= ROUNDING_M) | (beyond_m == 0.0)
        touching[beyond_m <= 0.0] = index
        if features.is_area[index]:
            edge_m = shapely.distance(squares, shapes[index].boundary)
            is_inside = shapely.covers(shapes[index], squares) & (edge_m >= spreads[index])
            inside[is_inside] = index
            is_decided &= (edge_m == 0.0) | (np.abs(edge_m - spreads[index]) >= ROUNDING_M)
            # Containment to the last bit: a micrometre more and the answer would differ.
            shrunk = shapely.buffer(squares, -ROUNDING_M, join_style="mitre")
            is_decided &= shapely.covers(shapes[index], shrunk) == shapely.covers(
                shapes[index], squares
            )
    assert (cells_touching_index(grid, features, distance_m) == touching)[is_decided].all()
    assert (cells_touching(grid, features, distance_m) == (touching >= 0))[is_decided].all()
    assert (cells_inside_index(grid, features) == inside)[is_decided].all()
    assert (cells_inside(grid, features) == (inside >= 0))[is_decided].all()


@pytest.mark.parametrize("seed", range(4))
def test_slices_of_a_slant_standoff_are_buffers(seed: int) -> None:
    """At altitude z the closed ground is each feature widened by sqrt(R^2 - (z - top)^2)."""
    rng = np.random.default_rng(seed)
    grid, radius_m = Grid(0.0, 1000.0, 10.0, 100, 100), 152.4
    shapes = [
        shapely.Point(rng.uniform(0, 1000, 2)),
        shapely.LineString(rng.uniform(0, 1000, (4, 2))),
        shapely.Point(rng.uniform(0, 1000, 2)).buffer(120.0, quad_segs=2).difference(
            shapely.Point(rng.uniform(0, 1000, 2)).buffer(60.0)
        ),
        shapely.box(*rng.uniform(0, 500, 2), *rng.uniform(500, 1000, 2)).exterior,
    ]  # fmt: skip
    tops = rng.uniform(100.0, 160.0, len(shapes))
    floor = standoff_floor(
        grid, FeatureSet.from_geometries(shapes, tops), radius_m=radius_m, profile="slant"
    ).amsl_m
    squares = twin.squares(grid)
    for above_m in (0.0, 30.0, 100.0, 145.0):
        z_m = float(tops.min()) + above_m
        inner, outer = (np.zeros(grid.shape, dtype=bool) for _ in range(2))
        for shape, top_m in zip(shapes, tops, strict=True):
            if abs(z_m - top_m) >= radius_m:
                continue
            # Below the top the standoff keeps its full width: the feature stands on the ground.
            reach_m = math.sqrt(radius_m**2 - max(0.0, z_m - top_m) ** 2)
            for answer, share in ((inner, 1.0 - MILLIMETRE_M), (outer, 1.0 + MILLIMETRE_M)):
                answer |= shapely.intersects(squares, shape.buffer(reach_m * share, quad_segs=128))
        closed = floor > z_m
        assert inner.any()
        assert (inner <= closed).all()
        assert (closed <= outer).all()
        assert (inner != outer).mean() < 0.005  # the two buffers leave little room


def test_raise_ground_takes_the_tops_that_touch() -> None:
    grid = Grid(0.0, 40.0, 10.0, 4, 4)
    ground = np.arange(16, dtype=np.float64).reshape(4, 4)
    ground[3, 3] = np.nan
    shapes = [shapely.Point(15.0, 35.0), shapely.Point(35.0, 25.0), shapely.box(2, 2, 8, 18)]
    raised = raise_ground(
        ground, grid, FeatureSet.from_geometries(shapes, [50.0, np.nan, 9.0], [0.0, 0.0, 3.0])
    )
    expected = ground.copy()
    expected[0, 1] = 50.0
    expected[1, 3] = np.nan
    # The shed and its spread reach 3 m further, into the second column; ground above 9 m stays.
    expected[1:, :2] = np.maximum(expected[1:, :2], 9.0)
    np.testing.assert_array_equal(raised, expected)


@pytest.mark.parametrize("radius_m", [0.0, 7.0, 8.0, 20.0, 33.0])
def test_highest_within_against_the_distance_of_each_pair_of_squares(radius_m: float) -> None:
    grid = Grid(0.0, 192.0, 8.0, 24, 21)
    ground = np.random.default_rng(3).uniform(0.0, 500.0, grid.shape)
    ground[12, 4] = np.nan
    answer = highest_within(ground, grid, radius_m)
    np.testing.assert_array_equal(answer, twin.highest_m(ground, grid, radius_m))
    assert np.isfinite(answer).any()
    applies = np.zeros(grid.shape, dtype=bool)
    applies[9:14, 8:16] = True
    judged = highest_within(ground, grid, radius_m, applies, threads=2)
    np.testing.assert_array_equal(judged[applies], answer[applies])
    assert (judged[~applies] == -math.inf).all()


def test_highest_within_on_a_grid_smaller_than_the_radius_is_unknown() -> None:
    grid = Grid(0.0, 30.0, 10.0, 3, 3)
    assert np.isnan(highest_within(np.zeros(grid.shape), grid, 600.0)).all()


def test_highest_within_is_the_same_in_several_bands_of_rows() -> None:
    grid = Grid(0.0, 4000.0, 10.0, 400, 30)
    ground = np.random.default_rng(4).uniform(0.0, 500.0, grid.shape)
    answer = highest_within(ground, grid, 75.0, threads=1)
    assert answer.tobytes() == highest_within(ground, grid, 75.0, threads=3).tobytes()
    middle = Grid(0.0, 4000.0 - 1700.0, 10.0, 60, 30)
    part = highest_within(ground[170:230], middle, 75.0)
    np.testing.assert_array_equal(part[9:-9], answer[179:221])
