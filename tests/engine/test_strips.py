"""Strips in fields whose longest one is known on paper, in all 36 directions."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import affinity

from areaplan.engine.strip_table import DIRECTION_STEP_DEG, DIRECTIONS
from areaplan.engine.strips import BETTER
from tests.engine.strip_scenes import EAST, FLAT, GRID, NORTH, SOUTH, WEST, measured, things
from tests.oracles.strips_twin import strip_box

LONG_M, SHORT_M, WIDTH_M = 600.0, 100.0, 30.0
EDGE_M = 1e-4  # strips are a micrometre narrower than asked: it tells at flat angles


def in_rectangle(long_m, short_m, width_m, off_axis_deg):
    """Longest strip in a rectangle, at an angle to its long side.

    A strip of length s and width w at angle a reaches s cos a + w sin a along the rectangle and
    s sin a + w cos a across it; both must fit.
    """
    angle = np.radians(off_axis_deg)
    sine, cosine = abs(np.sin(angle)), abs(np.cos(angle))
    along = (long_m - width_m * sine) / cosine if cosine > 1e-12 else np.inf
    across = (short_m - width_m * cosine) / sine if sine > 1e-12 else np.inf
    longest = min(along, across)
    return longest if longest > 0 else 0.0


@pytest.mark.parametrize("turned_deg", [0.0, 10.0, 37.3, 90.0, 161.0])
@pytest.mark.parametrize("short_m", [SHORT_M, 300.0, WIDTH_M])
def test_a_rectangle_at_any_angle(turned_deg: float, short_m: float) -> None:
    box = shapely.box(-LONG_M / 2, -short_m / 2, LONG_M / 2, short_m / 2)
    strips = measured(affinity.rotate(box, -turned_deg, origin=(0, 0)))
    for i in range(DIRECTIONS):
        off_deg = i * DIRECTION_STEP_DEG - 90.0 - turned_deg
        known = in_rectangle(LONG_M, short_m, WIDTH_M, off_deg)
        if known < 1.5:
            continue  # shorter than a metre is no strip
        assert strips.length_m[i] <= known + EDGE_M
        assert strips.length_m[i] >= known * (1 - BETTER)
    np.testing.assert_array_equal(strips.usable_m, strips.length_m)


def test_both_ways_along_an_axis_are_one() -> None:
    strips = measured(shapely.Polygon([(0, 0), (500, 40), (430, 260), (90, 310)]))
    np.testing.assert_allclose(strips.length_m[:18], strips.length_m[18:], rtol=BETTER)


def test_a_narrow_field_has_no_strip() -> None:
    strips = measured(shapely.box(0, 0, 600, 29.9))
    assert strips.length_m[EAST] == strips.usable_m[EAST] == 0.0
    assert np.isnan(strips.touchdown_m[EAST]).all()
    assert np.isnan(strips.slope[EAST])
    assert strips.length_m[NORTH] == pytest.approx(29.9)  # wider than long


def test_the_long_leg_of_an_l() -> None:
    """An L of 500 m by 80 m and 60 m by 400 m: each axis takes its own leg."""
    leg = shapely.union_all([shapely.box(0, 0, 500, 80), shapely.box(0, 0, 60, 400)])
    strips = measured(leg)
    assert strips.length_m[[EAST, WEST]] == pytest.approx([500.0, 500.0])
    assert strips.length_m[[NORTH, SOUTH]] == pytest.approx([400.0, 400.0])


def test_a_triangle_along_its_base() -> None:
    """Base 600, height 300: a strip 30 m wide on the base ends where the sides are 30 m up."""
    strips = measured(shapely.Polygon([(-300, 0), (300, 0), (0, 300)]))
    assert strips.length_m[EAST] == pytest.approx(600.0 * (1 - 30.0 / 300.0), rel=BETTER)
    # North: 30 m wide in the middle the sides are 300 - 15 high.
    assert strips.length_m[NORTH] == pytest.approx(285.0, rel=BETTER)
    assert strips.length_m[NORTH] <= 285.0 + EDGE_M


def test_a_diamond_whose_longest_strip_touches_no_corner() -> None:
    """Half-diagonals 300 and 200: at half width 15 the sides are 300 (1 - 15 / 200) out."""
    strips = measured(shapely.Polygon([(-300, 0), (0, -200), (300, 0), (0, 200)]))
    known = 2 * 300.0 * (1 - 15.0 / 200.0)
    assert known * (1 - BETTER) <= strips.length_m[EAST] <= known + EDGE_M
    assert strips.touchdown_m[EAST] == pytest.approx([-277.5, 0.0], abs=1.5)
    assert strips.rollout_m[EAST] == pytest.approx([277.5, 0.0], abs=1.5)


def test_a_hole_splits_the_field() -> None:
    """A pond 20 m by 20 m in the middle of 600 by 70 m leaves 25 m beside it: too narrow."""
    pond = shapely.box(100, -10, 120, 10)
    strips = measured(shapely.box(-300, -35, 300, 35).difference(pond))
    assert strips.length_m[EAST] == pytest.approx(400.0)
    assert strips.length_m[WEST] == pytest.approx(400.0)
    wide = measured(shapely.box(-300, -45, 300, 45).difference(pond))
    assert wide.length_m[EAST] == pytest.approx(600.0)


def test_a_field_in_two_parts_takes_the_longer() -> None:
    parts = shapely.MultiPolygon([shapely.box(0, 0, 300, 50), shapely.box(310, 0, 710, 50)])
    strips = measured(parts)
    assert strips.length_m[EAST] == pytest.approx(400.0)
    assert strips.touchdown_m[EAST, 0] == pytest.approx(310.0)
    assert strips.rollout_m[EAST, 0] == pytest.approx(710.0)


def test_every_strip_lies_in_the_field() -> None:
    field = shapely.Polygon([(0, 0), (500, 40), (430, 260), (300, 120), (90, 310)])
    strips = measured(field)
    for i in range(DIRECTIONS):
        if strips.length_m[i] > 0:
            assert field.buffer(1e-3).contains(strip_box(strips, i, WIDTH_M))
            run = strips.rollout_m[i] - strips.touchdown_m[i]
            bearing = np.degrees(np.arctan2(run[0], run[1])) % 360
            assert bearing == pytest.approx(i * DIRECTION_STEP_DEG, abs=1e-6)
            assert np.hypot(*run) == pytest.approx(strips.length_m[i])


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"width_m": 0.0}, "width"),
        ({"width_m": np.nan}, "width"),
        ({"slope": 0.0}, "slope"),
        ({"keep_m": -1.0, "obstructions": things((shapely.Point(0, 0), 5.0))}, "keep_clear"),
        ({"lowest": FLAT[1:]}, "shape"),
    ],
)
def test_what_makes_no_sense_is_refused(changes: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        measured(shapely.box(0, 0, 100, 100), **changes)


def test_a_line_is_no_field() -> None:
    with pytest.raises(ValueError, match="LineString"):
        measured(shapely.LineString([(0, 0), (1, 1)]))
    assert GRID.shape == FLAT.shape
