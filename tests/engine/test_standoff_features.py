"""Flattening of geometries into segments."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import cells_inside, cells_touching
from areaplan.grid import Grid

GRID = Grid(0.0, 100.0, 10.0, 10, 10)


def signed_area_m2(features: FeatureSet, index: int) -> float:
    """Shoelace sum over a feature's rings: outer rings count up, holes count down."""
    first, end = features.first_segment[index : index + 2]
    x0, y0, x1, y1 = features.segments_m[first:end].T
    return float((x0 * y1 - x1 * y0).sum() / 2.0)


def test_every_kind_of_geometry_keeps_its_segments_in_order() -> None:
    line = shapely.LineString([(0, 0), (3, 4), (3, 9)])
    square = shapely.box(0, 0, 10, 10)
    geometries = [
        square,
        shapely.Point(1, 2),
        line,
        shapely.MultiPoint([(5, 6), (7, 8)]),
        shapely.MultiLineString([line, [(9, 9), (8, 8)]]),
        shapely.MultiPolygon([square, shapely.box(20, 0, 30, 10)]),
        shapely.GeometryCollection([line, shapely.MultiLineString([line])]),
        square.exterior,
        shapely.Point(1, 2, 99),
    ]
    features = FeatureSet.from_geometries(geometries, 5.0, np.arange(9.0))
    assert len(features) == 9
    assert np.diff(features.first_segment).tolist() == [4, 1, 2, 2, 3, 8, 4, 4, 1]
    assert features.is_area.tolist() == [True, *[False] * 4, True, *[False] * 3]
    assert features.segments_m[4].tolist() == [1, 2, 1, 2]
    assert features.segments_m[5:7].tolist() == [[0, 0, 3, 4], [3, 4, 3, 9]]
    assert features.segments_m[-1].tolist() == [1, 2, 1, 2]
    assert features.top_amsl_m.tolist() == [5.0] * 9
    assert features.spread_m.tolist() == list(range(9))


@pytest.mark.parametrize("turn", [1, -1])
def test_outer_rings_run_counter_clockwise_and_holes_clockwise(turn: int) -> None:
    outer, hole = [(0, 0), (90, 0), (90, 90), (0, 90)], [(10, 10), (40, 10), (40, 40), (10, 40)]
    far = (1e6, 2e6)  # the sense of a ring far from the origin
    polygon = shapely.Polygon(outer[::turn], [hole[::turn], hole[::-turn]][:1])
    moved = shapely.transform(polygon, lambda xy: xy + far)
    features = FeatureSet.from_geometries([polygon, moved], 0.0)
    assert signed_area_m2(features, 0) == polygon.area
    assert signed_area_m2(features, 1) == pytest.approx(moved.area, rel=1e-3)


def test_parts_that_overlap_by_mistake_do_not_cancel() -> None:
    overlapping = shapely.MultiPolygon([shapely.box(0, 0, 70, 100), shapely.box(30, 0, 100, 100)])
    assert not overlapping.is_valid
    features = FeatureSet.from_geometries([overlapping], 0.0)
    assert cells_touching(GRID, features).all()
    bow = shapely.Polygon([(0, 0), (100, 100), (100, 0), (0, 100)])
    assert not bow.is_valid
    features = FeatureSet.from_geometries([bow], 0.0)
    touching = cells_touching(GRID, features)
    assert touching[4, 0]
    assert touching[4, 9]
    assert not touching[0, 4]


def test_a_polygon_without_width_still_counts_as_what_it_is() -> None:
    flat = shapely.Polygon([(5, 55), (95, 55), (5, 55)])
    features = FeatureSet.from_geometries([flat], 0.0)
    assert cells_touching(GRID, features).sum() == 10
    assert not cells_inside(GRID, features).any()


def test_numpy_arrays_of_geometries_and_empty_lists() -> None:
    points = shapely.points([[1.0, 2.0], [3.0, 4.0]])
    assert len(FeatureSet.from_geometries(points, [1.0, 2.0])) == 2
    nothing = FeatureSet.from_geometries([], 0.0)
    assert len(nothing) == 0
    assert nothing.segments_m.shape == (0, 4)


def test_empty_parts_are_passed_over_but_not_empty_geometries() -> None:
    some = shapely.GeometryCollection([shapely.Point(), shapely.Point(1, 2)])
    assert FeatureSet.from_geometries([some], 0.0).segments_m.tolist() == [[1, 2, 1, 2]]


@pytest.mark.parametrize(
    ("geometry", "message"),
    [
        (shapely.Point(), "feature 1 is missing or empty"),
        (None, "feature 1 is missing or empty"),
        (shapely.GeometryCollection([shapely.Point(0, 0), shapely.box(0, 0, 1, 1)]), "1 mixes"),
        (shapely.LineString([(0, 0), (math.inf, 0)]), "feature 1 has a coordinate"),
    ],
)
def test_bad_geometries_are_named_by_their_position(
    geometry: shapely.Geometry | None, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        FeatureSet.from_geometries([shapely.Point(0, 0), geometry], 0.0)  # type: ignore[list-item]


def test_bad_tops_spreads_and_arrays_are_refused() -> None:
    points = [shapely.Point(0, 0), shapely.Point(1, 1)]
    for spread_m in (-1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="feature 1 has no usable spread"):
            FeatureSet.from_geometries(points, 0.0, [0.0, spread_m])
    with pytest.raises(ValueError, match="feature 0 has a top of minus infinity"):
        FeatureSet.from_geometries(points, -math.inf)
    good = FeatureSet.from_geometries(points, 0.0)
    with pytest.raises(ValueError, match="has shape"):
        FeatureSet(np.zeros((2, 3)), good.first_segment, good.is_area, *[good.top_amsl_m] * 2)
    with pytest.raises(ValueError, match="first_segment must run from 0"):
        FeatureSet(np.zeros((3, 4)), good.first_segment, good.is_area, *[good.top_amsl_m] * 2)
    with pytest.raises(ValueError, match="top_amsl_m speaks for 1 features"):
        FeatureSet(good.segments_m, good.first_segment, good.is_area, np.zeros(1), good.spread_m)
    with pytest.raises(ValueError, match="feature 1 has no segment"):
        FeatureSet(
            np.zeros((2, 4)), np.array([0, 2, 2]), good.is_area, good.top_amsl_m, good.spread_m
        )
