"""The fewest sets against all combinations."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from areaplan.engine.covering import MOST_THINGS, fewest_that_cover


@given(arrays(np.bool_, st.tuples(st.integers(0, 7), st.integers(1, 6))))
def test_no_fewer_rows_hold_as_much(holds):
    chosen = fewest_that_cover(holds)
    wanted = holds.any(axis=0)
    assert (holds[list(chosen)].any(axis=0) == wanted).all()
    for count in range(len(chosen)):
        for rows in combinations(range(len(holds)), count):
            assert (holds[list(rows)].any(axis=0) != wanted).any()


def test_a_greedy_choice_would_take_more():
    holds = np.zeros((3, 6), dtype=bool)
    holds[0, :4] = True  # the largest, and not needed
    holds[1, [0, 1, 4]] = True
    holds[2, [2, 3, 5]] = True
    assert fewest_that_cover(holds) == (1, 2)


def test_refuses_too_many_things():
    with pytest.raises(ValueError, match="things"):
        fewest_that_cover(np.zeros((2, MOST_THINGS + 1), dtype=bool))
