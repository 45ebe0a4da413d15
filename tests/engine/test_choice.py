"""Altitudes with enough in reach, against counting one cell at a time."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine import choice
from areaplan.engine.choice import NO_LABEL, enough_labels, enough_sectors
from areaplan.engine.moves import SECTORS
from areaplan.rules.model import DIRECTIONS
from tests.oracles.choice_twin import enough_from, in_reach

SHAPE = (3, 4)


@st.composite
def surfaces(draw):
    """Twelve sectors with ties, unknown and unreachable ones; few labels, some missing."""
    generator = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    feet = generator.integers(0, draw(st.integers(1, 40)), (SECTORS, *SHAPE)).astype(np.float32)
    feet[generator.random(feet.shape) < draw(st.sampled_from([0.0, 0.2, 0.7]))] = np.inf
    labels = generator.integers(0, draw(st.integers(1, 12)), feet.shape).astype(np.int16)
    if draw(st.booleans()):  # a label where nothing is in reach counts for nothing either way
        labels[np.isinf(feet)] = NO_LABEL
    unknown = generator.random(feet.shape) < draw(st.sampled_from([0.0, 0.1, 0.5]))
    feet[unknown], labels[unknown] = np.nan, NO_LABEL
    return feet, labels


@given(made=surfaces(), count=st.integers(1, SECTORS))
@settings(deadline=None, max_examples=120)
def test_altitudes_are_those_of_counting(made, count):
    feet, labels = made
    answers = (enough_sectors(feet, count), enough_labels(feet, labels, count))
    for row, col in np.ndindex(SHAPE):
        here, names = feet[:, row, col].tolist(), labels[:, row, col].tolist()
        for which, answer in enumerate(answers):
            expected = enough_from(here, names, count, which)
            got, last = float(answer.amsl_m[row, col]), int(answer.last[row, col])
            assert got == expected or (math.isnan(got) and math.isnan(expected))
            if not math.isfinite(got):
                assert last == NO_LABEL if which else not math.isfinite(here[last])
                continue
            # What comes in reach last comes in at this very altitude.
            same = [n for h, n in zip(here, names, strict=True) if h == got]
            assert last in same if which else here[last] == got
            assert in_reach(here, names, got)[which] >= count
            assert in_reach(here, names, np.nextafter(got, -np.inf))[which] < count


@given(made=surfaces(), count=st.integers(1, SECTORS - 1))
@settings(deadline=None, max_examples=40)
def test_asking_for_more_never_lowers_the_altitude(made, count):
    feet, labels = made
    known = np.where(np.isnan(feet), np.inf, feet).astype(np.float32)
    for ask in (enough_sectors, lambda f, n: enough_labels(f, labels, n)):
        assert (ask(known, count).amsl_m <= ask(known, count + 1).amsl_m).all()


@given(made=surfaces(), count=st.integers(1, SECTORS), lower=st.integers(0, SECTORS - 1))
@settings(deadline=None, max_examples=40)
def test_a_lower_sector_never_raises_the_number_of_directions_needed(made, count, lower):
    feet, _ = made
    known = np.where(np.isnan(feet), np.inf, feet).astype(np.float32)
    better = known.copy()
    better[lower] -= 7.0
    assert (enough_sectors(better, count).amsl_m <= enough_sectors(known, count).amsl_m).all()


def test_bands_of_rows_give_the_same_as_the_whole(monkeypatch):
    generator = np.random.default_rng(4)
    feet = generator.uniform(0, 90, (SECTORS, 23, 7)).astype(np.float32)
    labels = generator.integers(0, 5, feet.shape).astype(np.int16)
    whole = enough_sectors(feet, 7), enough_labels(feet, labels, 3)
    monkeypatch.setattr(choice, "_BAND_CELLS", 21)
    parts = enough_sectors(feet, 7), enough_labels(feet, labels, 3)
    for one, other in zip(whole, parts, strict=True):
        np.testing.assert_array_equal(one.amsl_m, other.amsl_m)
        np.testing.assert_array_equal(one.last, other.last)


@pytest.mark.parametrize("count", [0, SECTORS + 1])
def test_a_count_that_sectors_cannot_reach_is_refused(count):
    feet = np.zeros((SECTORS, 2, 2), np.float32)
    with pytest.raises(ValueError, match="expected 1 to 12"):
        enough_sectors(feet, count)
    with pytest.raises(ValueError, match="expected 1 to 12"):
        enough_labels(feet, feet.astype(np.int16), count)


def test_labels_of_another_shape_are_refused():
    feet = np.zeros((SECTORS, 2, 2), np.float32)
    with pytest.raises(ValueError, match="labels"):
        enough_labels(feet, np.zeros((SECTORS, 2, 3), np.int16), 1)


def test_rules_and_engine_mean_the_same_directions():
    """Neither may import the other, so the number stands in both."""
    assert DIRECTIONS == SECTORS
