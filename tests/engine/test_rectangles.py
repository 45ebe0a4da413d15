"""Rectangles among polygons and blocks, against shapely's own rectangles and polygonize."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.line_network import LineNetwork
from areaplan.engine.rectangles import rectangles_among, rectangular_blocks
from tests.engine.line_scenes import moved, section_grid, split_and_shuffled, wandering

SEEDS = st.integers(0, 2**32 - 1)
MILE_M = 1609.344


def line(*xy):
    return shapely.LineString(xy)


def blocks_in(lines, *sides, **limits):
    return rectangular_blocks(LineNetwork.from_lines(lines), *sides, **limits)


@settings(deadline=None, max_examples=100)
@given(SEEDS, st.integers(3, 12))
def test_the_smallest_rectangle_is_shapelys(seed, count):
    xy = np.random.default_rng(seed).normal(size=(count, 2)) * (300.0, 100.0)
    shape = shapely.convex_hull(shapely.MultiPoint(xy))
    found = rectangles_among([shape], 1e-3, 1e6, least_fill_share=1e-6)
    twin = shapely.minimum_rotated_rectangle(shape)
    area = float(found.length_m[0] * found.width_m[0])
    # GEOS may take a rectangle on another edge; ours is never the larger one.
    assert area <= twin.area * (1.0 + 1e-9)
    assert found.fill_share[0] == pytest.approx(shape.area / area)
    corners = shapely.Polygon(found.corners_xy_m[0])
    assert corners.area == pytest.approx(area)
    assert corners.buffer(1e-6).covers(shape)
    assert corners.exterior.is_ccw
    side = found.corners_xy_m[0, 1] - found.corners_xy_m[0, 0]
    turn = np.radians(found.direction_deg_grid[0])
    along = abs(side @ (np.sin(turn), np.cos(turn)))
    assert along == pytest.approx(np.hypot(*side), abs=1e-6) or along == pytest.approx(0, abs=1e-6)
    assert 0.0 <= found.direction_deg_grid[0] < 180.0


def test_which_fields_pass():
    box = shapely.box(0, 0, 800, 400)
    cut = box.difference(shapely.Polygon([(0, 0), (400, 0), (0, 200)]))  # fills 7/8
    triangle = shapely.Polygon([(0, 0), (800, 0), (0, 400)])
    long = shapely.box(0, 0, 2600, 400)
    narrow = shapely.box(0, 0, 800, 340)
    found = rectangles_among([triangle, box, cut, long, narrow], 350.0, 2400.0)
    assert found.shape.tolist() == [1, 2]
    assert found.fill_share.tolist() == pytest.approx([1.0, 0.875])
    assert found.length_m.tolist() == pytest.approx([800.0, 800.0])
    assert found.width_m.tolist() == pytest.approx([400.0, 400.0])
    assert found.direction_deg_grid.tolist() == pytest.approx([90.0, 90.0])


def test_a_hole_is_taken_off():
    holed = shapely.box(0, 0, 800, 400).difference(shapely.box(100, 100, 300, 300))
    assert len(rectangles_among([holed], 350.0, 2400.0)) == 1  # 7/8 again
    assert len(rectangles_among([holed], 350.0, 2400.0, least_fill_share=0.9)) == 0


def test_a_section_grid_gives_its_sections():
    found = blocks_in(section_grid(4, MILE_M), 1000.0, 2000.0)
    assert len(found) == 16
    np.testing.assert_allclose(found.length_m, MILE_M, atol=1e-3)
    np.testing.assert_allclose(found.width_m, MILE_M, atol=1e-3)
    np.testing.assert_allclose(found.fill_share, 1.0, atol=1e-6)
    corners = {tuple(np.round(xy / MILE_M).astype(int).tolist()) for xy in found.corners_xy_m[:, 0]}
    assert corners == {(x, y) for x in range(4) for y in range(4)}
    assert np.diff(found.first_line).tolist() == [4] * 16


def test_a_grid_with_wiggles_and_turned():
    grid = section_grid(3, MILE_M, np.random.default_rng(8), wiggle_m=8.0)
    found = blocks_in(moved(grid, 30.0, 500.0, -800.0), 1000.0, 2000.0)
    assert len(found) == 9
    np.testing.assert_allclose(found.length_m, MILE_M, atol=16.1)
    off = (found.direction_deg_grid + 30.0) % 90.0
    assert (np.minimum(off, 90.0 - off) < 1.0).all()


def test_a_blind_road_stays_with_its_block_and_one_through_divides_it():
    ring = [line((0, 0), (1600, 0), (1600, 800), (0, 800), (0, 0))]
    blind = [line((800, 0), (800, 600))]
    assert blocks_in([*ring, *blind], 500.0, 2000.0).length_m.tolist() == pytest.approx([1600.0])
    through = [line((800, 0), (800, 800))]
    assert blocks_in([*ring, *through], 500.0, 2000.0).length_m.tolist() == pytest.approx([800] * 2)


def test_a_bent_block_is_no_rectangle():
    bent = [line((0, 0), (1600, 0), (1600, 1600), (1000, 1600), (1000, 800), (0, 800), (0, 0))]
    assert len(blocks_in(bent, 350.0, 2400.0)) == 0
    assert len(blocks_in(bent, 350.0, 2400.0, least_fill_share=0.68)) == 1


@settings(deadline=None, max_examples=60)
@given(SEEDS)
def test_blocks_are_the_faces_of_polygonize(seed):
    stream = np.random.default_rng(seed)
    lines = wandering(stream, lines=9)
    network = LineNetwork.from_lines(split_and_shuffled(lines, stream), join_m=0.0)
    found = rectangular_blocks(network, 1.0, 1e5, least_fill_share=1e-4)
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union(lines)]))
    twin = {
        round(float(shapely.minimum_rotated_rectangle(face).area), 1): face
        for face in faces
        if len(face.interiors) == 0 and face.area > 10.0
    }
    shapes = [shapely.Polygon(corners) for corners in found.corners_xy_m]
    area = found.fill_share * found.length_m * found.width_m
    for face in twin.values():
        same = [
            shape.buffer(0.01).covers(face)
            for shape, size in zip(shapes, area, strict=True)
            if abs(size - face.area) < 0.02
        ]
        assert any(same) or face.area < 1e-4 * shapely.minimum_rotated_rectangle(face).area
    assert len(found) <= len(faces)


@pytest.mark.parametrize(
    ("sides", "share", "word"),
    [
        ((0.0, 5.0), 0.8, "sides from"),
        ((6.0, 5.0), 0.8, "sides from"),
        ((1.0, np.inf), 0.8, "sides from"),
        ((1.0, 5.0), 0.0, "least_fill_share"),
        ((1.0, 5.0), 1.1, "least_fill_share"),
    ],
)
def test_limits_out_of_range_are_refused(sides, share, word):
    with pytest.raises(ValueError, match=word):
        rectangles_among([], *sides, least_fill_share=share)
    with pytest.raises(ValueError, match=word):
        blocks_in([], *sides, least_fill_share=share)


def test_nothing_gives_nothing():
    assert len(rectangles_among([], 1.0, 2.0)) == 0
    assert len(blocks_in([], 1.0, 2.0)) == 0
