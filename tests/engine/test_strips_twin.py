"""Strips against a brute-force twin, in fields that hypothesis draws."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.engine.strip_scenes import measured
from tests.oracles.strips_twin import longest, strip_box

STEP_M = 2.0
WIDTHS = st.sampled_from([20.0, 30.0, 45.0])
CLOSE = 0.98  # of a length that none exceeds


@st.composite
def fields(draw):
    """Stars of 3 to 9 corners, some with a pond, some with a notch of another field."""
    count = draw(st.integers(3, 9))
    steps = draw(st.lists(st.floats(0.3, 1.0), min_size=count, max_size=count))
    radii = draw(st.lists(st.floats(60.0, 420.0), min_size=count, max_size=count))
    angles = np.cumsum(steps) / np.sum(steps) * 2 * np.pi + draw(st.floats(0, 6.3))
    shape = shapely.Polygon(np.stack([np.cos(angles), np.sin(angles)], axis=1) * np.c_[radii])
    if draw(st.booleans()):
        x_m, y_m, size_m = draw(st.tuples(*[st.floats(-150, 150)] * 2, st.floats(5, 60)))
        shape = shape.difference(shapely.Point(x_m, y_m).buffer(size_m, quad_segs=2))
    assume(shape.is_valid and shape.area > 2000.0)
    return shape


@settings(deadline=None, max_examples=40)
@given(fields(), WIDTHS, st.integers(0, 17))
def test_never_longer_than_the_longest_and_close_to_it(field, width_m, axis) -> None:
    strips = measured(field, width_m=width_m)
    found_m, none_exceeds_m = longest(field, axis * 10.0, width_m, STEP_M)
    for i in (axis, axis + 18):
        assert strips.length_m[i] <= none_exceeds_m + 1e-3
        assert strips.length_m[i] >= CLOSE * found_m - 1.0  # less than a metre is no strip
    if none_exceeds_m > 20.0 and found_m > 0.995 * none_exceeds_m:
        assert strips.length_m[axis] >= CLOSE * none_exceeds_m - 1.0


@settings(deadline=None, max_examples=60)
@given(fields(), WIDTHS)
def test_strips_lie_in_the_field(field, width_m) -> None:
    strips = measured(field, width_m=width_m)
    wide = field.buffer(1e-3)
    for i in np.flatnonzero(strips.length_m > 0.0):
        assert wide.contains(strip_box(strips, i, width_m))
    assert (strips.length_m[strips.length_m > 0] >= 1.0).all()


@settings(deadline=None, max_examples=30)
@given(fields(), st.integers(1, 35))
def test_turning_the_field_turns_the_answer(field, tens) -> None:
    once = measured(field)
    turned = shapely.affinity.rotate(field, -10.0 * tens, origin=(0, 0))
    np.testing.assert_allclose(
        np.roll(once.length_m, tens), measured(turned).length_m, rtol=0.006, atol=1.0
    )


@settings(deadline=None, max_examples=30)
@given(fields(), st.floats(1.0, 40.0))
def test_a_larger_field_or_a_narrower_strip_is_never_shorter(field, more_m) -> None:
    once = measured(field).length_m
    assert (measured(field.buffer(more_m, quad_segs=1)).length_m >= once * 0.994 - 1.0).all()
    assert (measured(field, width_m=30.0 - 0.5 * more_m).length_m >= once * 0.994 - 1.0).all()
