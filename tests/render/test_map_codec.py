"""Packed arrays come back exactly; decoded here from the standards, not with our own code."""

import base64
import zlib

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from areaplan.render.map_codec import packed
from tests.render.unpacking import unpacked

ARRAYS = hnp.arrays(np.int16, st.tuples(st.integers(1, 12), st.integers(1, 12)))


@given(values=ARRAYS, is_label=st.booleans())
@settings(deadline=None, max_examples=150)
def test_every_array_comes_back(values, is_label):
    block = packed(values, is_label=is_label)
    np.testing.assert_array_equal(unpacked(block, *values.shape), values)


def test_text_is_base64_of_a_zlib_stream():
    """RFC 4648 and RFC 1950, through the standard library."""
    block = packed(np.arange(12, dtype=np.int16).reshape(3, 4), is_label=False)
    planes = zlib.decompress(base64.b64decode(block["text"], validate=True))
    assert len(planes) == 2 * 12


def test_a_slope_packs_to_almost_nothing():
    east, north = np.meshgrid(np.arange(300), np.arange(200))
    slope = (3 * east - 2 * north + 500).astype(np.int16)
    assert len(packed(slope, is_label=False)["text"]) < slope.nbytes / 150


def test_input_stays_as_it_was():
    values = np.array([[5, 7], [-32768, 32767]], dtype=np.int16)
    packed(values, is_label=False)
    np.testing.assert_array_equal(values, [[5, 7], [-32768, 32767]])


def test_views_pack_like_copies():
    values = np.arange(60, dtype=np.int16).reshape(6, 10)[::2, 3:9]
    assert packed(values, is_label=False) == packed(values.copy(), is_label=False)
