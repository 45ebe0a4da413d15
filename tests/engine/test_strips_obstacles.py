"""What stands before, beside and in a field, and what it costs by hand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.features import FeatureSet
from areaplan.engine.strips import BETTER
from tests.engine.strip_scenes import EAST, FLAT_M, GRID, NORTH, WEST, measured, plane, things

FIELD = shapely.box(-300, -50, 300, 50)  # 600 m by 100 m
ACROSS_M = 400.0


def wall(x_m):
    """A line across the approach from the west."""
    return shapely.LineString([(x_m, -ACROSS_M), (x_m, ACROSS_M)])


@pytest.mark.parametrize(
    ("height_m", "distance_m", "slope", "lost_m"),
    [
        # height / slope - distance, by hand
        (10.0, 20.0, 0.1, 80.0),
        (10.0, 0.0, 0.1, 100.0),
        (20.0, 50.0, 0.1, 150.0),
        (20.0, 50.0, 0.05, 350.0),
        (10.0, 100.0, 0.1, 0.0),
        (10.0, 160.0, 0.1, 0.0),
        (70.0, 20.0, 0.1, 600.0),  # all of it
    ],
)
def test_length_lost_at_the_end_landed_over(
    height_m: float, distance_m: float, slope: float, lost_m: float
) -> None:
    strips = measured(FIELD, things((wall(-300.0 - distance_m), height_m)), slope=slope)
    assert strips.length_m[EAST] == pytest.approx(600.0)
    assert strips.lost_before_m[EAST] == pytest.approx(lost_m)
    assert strips.usable_m[EAST] == pytest.approx(600.0 - lost_m)
    assert strips.lost_after_m[EAST] == 0.0
    assert strips.obstacle[EAST] == (0 if lost_m > 0 else -1)
    # Landing the other way it stands at the far end and costs nothing.
    assert strips.usable_m[WEST] == pytest.approx(600.0)
    assert strips.obstacle[WEST] == -1


def test_the_costliest_of_several_counts() -> None:
    rows = [(wall(-310.0), 5.0), (wall(-400.0), 30.0), (wall(-900.0), 40.0)]
    strips = measured(FIELD, things(*rows))
    # 50 - 10, 300 - 100, 400 - 600
    assert strips.lost_before_m[EAST] == pytest.approx(200.0)
    assert strips.obstacle[EAST] == 1


def test_beside_the_approach_it_costs_nothing() -> None:
    tree = shapely.Point(-350.0, 49.0)
    strips = measured(FIELD, things((tree, 30.0)))
    assert strips.usable_m[EAST] == pytest.approx(600.0)  # a strip further south is free of it
    narrow = measured(shapely.box(-300, 30, 300, 60), things((tree, 30.0)))
    assert narrow.usable_m[EAST] == pytest.approx(600.0 - (300.0 - 50.0))


def test_spread_brings_it_nearer() -> None:
    strips = measured(FIELD, things((wall(-320.0), 10.0, 15.0)))
    assert strips.lost_before_m[EAST] == pytest.approx(80.0 + 15.0)


def test_kept_clear_along_and_sideways() -> None:
    """A low wire 5 m beyond each end of the strip, 30 m to keep: 25 m lost at each."""
    ends = things((wall(-305.0), 1.0), (wall(305.0), 1.0))
    strips = measured(FIELD, ends, 30.0)
    assert strips.lost_before_m[EAST] == pytest.approx(25.0)
    assert strips.lost_after_m[EAST] == pytest.approx(25.0)
    assert strips.usable_m[EAST] == pytest.approx(550.0)
    beside = things((shapely.LineString([(-900, 60), (900, 60)]), 1.0))
    clear = measured(FIELD, beside, 30.0)
    assert clear.usable_m[EAST] == pytest.approx(600.0)
    assert clear.touchdown_m[EAST, 1] <= 60.0 - 30.0 - 15.0 + 1e-6
    assert measured(FIELD, beside, 85.0).usable_m[EAST] == 0.0  # 25 m remain


def test_a_wire_across_cuts_the_field() -> None:
    """At x = 100 and 8 m high: west of it 400 m less 30 kept; east of it 200 m less 80 lost."""
    strips = measured(FIELD, things((wall(100.0), 8.0)), 30.0)
    assert strips.usable_m[EAST] == pytest.approx(370.0)
    assert strips.usable_m[WEST] == pytest.approx(320.0)  # over the wire: 400 - 80
    assert strips.length_m[WEST] == pytest.approx(400.0)
    assert strips.lost_before_m[WEST] == pytest.approx(80.0)


def test_a_wood_round_the_field_costs_both_ways() -> None:
    """A field in a clearing: trees 20 m high on all sides, 200 m lost whichever way."""
    clearing = shapely.box(-800, -800, 800, 800).difference(FIELD)
    strips = measured(FIELD, things((clearing, 20.0)))
    assert strips.usable_m[[EAST, WEST]] == pytest.approx([400.0, 400.0])
    assert strips.usable_m[NORTH] == 0.0
    assert strips.length_m[NORTH] == pytest.approx(100.0)
    assert strips.lost_before_m[NORTH] == pytest.approx(100.0)


def test_inside_a_wood_there_is_no_strip() -> None:
    strips = measured(FIELD, things((shapely.box(-800, -800, 800, 800), 20.0)))
    assert (strips.length_m == 0.0).all()
    assert (strips.obstacle == -1).all()


def test_a_thing_of_unknown_top_leaves_nothing_behind_it() -> None:
    unknown = FeatureSet.from_geometries([wall(-320.0)], np.nan)
    strips = measured(FIELD, unknown)
    assert strips.usable_m[EAST] == 0.0
    assert strips.usable_m[WEST] == pytest.approx(600.0)


@pytest.mark.parametrize("uphill", [0.03, -0.03])
def test_sloping_ground_brings_the_path_down_sooner_or_later(uphill: float) -> None:
    """A line falling at 0.1 from 10 m up meets ground of slope g after 10 / (0.1 + g)."""
    lowest, highest = plane(uphill, 0.0)
    # Lowest ground of the cells: half a cell's rise below the middle, and so is the plane used.
    low_at_wall = FLAT_M - 300.0 * uphill - GRID.cell_m * abs(uphill)
    strips = measured(
        FIELD,
        FeatureSet.from_geometries([wall(-300.0)], low_at_wall + 10.0),
        lowest=lowest,
        highest=highest,
    )
    assert strips.lost_before_m[EAST] == pytest.approx(10.0 / (0.1 + uphill), rel=1e-6)


def test_ground_that_falls_away_faster_than_the_approach_leaves_nothing() -> None:
    lowest, highest = plane(-0.12, 0.0)
    strips = measured(FIELD, things((wall(-300.0), 50.0)), lowest=lowest, highest=highest)
    assert strips.usable_m[EAST] == 0.0


@pytest.mark.parametrize("depth_m", [4.0, -4.0])
def test_in_a_hollow_or_over_a_hump_the_path_is_down_where_the_strip_begins(depth_m: float) -> None:
    x, _ = np.meshgrid(GRID.centre_x_m(), GRID.centre_y_m())
    ground = FLAT_M - depth_m * np.cos(x / 250.0)
    strips = measured(FIELD, things((wall(-320.0), 30.0)), lowest=ground)
    down_m = -300.0 + strips.lost_before_m[EAST]
    assert 0.0 < strips.usable_m[EAST] < 600.0
    path_m = FLAT_M + 30.0 - 0.1 * (down_m + 320.0)
    beyond = (x[0] > down_m) & (x[0] < 300.0)
    assert (path_m - 0.1 * (x[0] - down_m) <= ground[0])[beyond].all()


def test_behind_things_unknown_ground_leaves_nothing() -> None:
    unknown = GRID.full(np.nan)
    strips = measured(FIELD, things((wall(-300.0), 1.0)), lowest=unknown)
    assert strips.usable_m[EAST] == 0.0
    assert strips.length_m[EAST] == pytest.approx(600.0)


# In whole millimetres: shapely's buffer gives NaN for widths near the smallest float.
SIZES_M = st.integers(0, 30_000).map(lambda millimetres: millimetres / 1000.0)
PLACES = st.tuples(
    st.floats(-700, 700), st.floats(-300, 300), st.floats(0, 40), SIZES_M, st.booleans()
)


def made(places):
    rows = []
    for x_m, y_m, height_m, size_m, is_area in places:
        place = shapely.Point(x_m, y_m)
        shape = place.buffer(size_m, quad_segs=2) if is_area and size_m > 0.5 else place
        rows.append((shape, height_m, 0.0 if is_area else size_m))
    return things(*rows)


@settings(deadline=None, max_examples=60)
@given(st.lists(PLACES, min_size=1, max_size=5), st.floats(0, 40))
def test_one_thing_more_never_lengthens(places, keep_m) -> None:
    field = shapely.Polygon([(-300, -90), (280, -50), (310, 120), (-40, 60), (-280, 140)])
    with_all = measured(field, made(places), keep_m)
    without = measured(field, made(places[:-1]), keep_m) if places[1:] else measured(field)
    # Both are within BETTER of the longest, which the thing cannot lengthen; a metre is no strip.
    assert (with_all.usable_m <= without.usable_m * (1 + 1.01 * BETTER) + 1.0).all()
    assert (with_all.usable_m >= 0.0).all()
    total = with_all.usable_m + with_all.lost_before_m + with_all.lost_after_m
    np.testing.assert_allclose(total, with_all.length_m, atol=1e-6)
    assert (with_all.lost_before_m >= -1e-6).all()
    assert (with_all.lost_after_m >= -1e-6).all()


@settings(deadline=None, max_examples=40)
@given(st.lists(PLACES, min_size=1, max_size=4), st.floats(0, 40))
def test_the_usable_strip_is_clear_of_everything(places, keep_m) -> None:
    """Distance and approach looked at again with shapely, on flat ground."""
    field = shapely.box(-300, -60, 300, 60)
    strips = measured(field, made(places), keep_m)
    for i in range(36):
        if strips.usable_m[i] < 1.0:
            continue
        way = (strips.rollout_m[i] - strips.touchdown_m[i]) / strips.length_m[i]
        start = strips.touchdown_m[i] + way * strips.lost_before_m[i]
        end = strips.rollout_m[i] - way * strips.lost_after_m[i]
        strip = shapely.LineString([start, end]).buffer(15.0, cap_style="flat")
        approach = shapely.LineString([start, start - way * 2000.0]).buffer(15.0, cap_style="flat")
        for x_m, y_m, height_m, size_m, is_area in places:
            place = shapely.Point(x_m, y_m)
            body = place.buffer(size_m, quad_segs=2) if is_area and size_m > 0.5 else place
            spread_m = 0.0 if is_area else size_m
            assert strip.distance(body) >= keep_m + spread_m - 1e-3
            before = body.buffer(spread_m * 0.999).intersection(approach.buffer(-1e-3))
            if not before.is_empty:
                near_m = min(
                    float(np.dot(start - xy, way)) for xy in shapely.get_coordinates(before)
                )
                assert near_m >= height_m / 0.1 - 0.01
