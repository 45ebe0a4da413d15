"""Words on drawings: never over one another, never outside the frame, as matplotlib sets them."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg

from areaplan.render.figures.labels import Labels, Spot
from areaplan.render.figures.paper import canvas

HALF_POINT = 0.5  # letters hang over their advance by less
WORDS = st.text("abcdefgW ijl 0123456789-.,", min_size=1, max_size=18).map(str.strip).filter(bool)
SPOT = st.builds(
    Spot,
    x=st.floats(0.0, 10.0),
    y=st.floats(0.0, 10.0),
    right_pt=st.floats(-8.0, 8.0),
    up_pt=st.floats(-8.0, 8.0),
    ha=st.sampled_from(["left", "center", "right"]),
    va=st.sampled_from(["bottom", "center", "top"]),
)


def on_paper():
    """A sheet with axes of 10 by 10."""
    sheet = canvas("labels", 90, 70)
    figure = sheet.__enter__()
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    axes.set_xlim(0.0, 10.0)
    axes.set_ylim(0.0, 10.0)
    return sheet, figure, axes


def boxes_as_drawn(figure, axes):
    """What matplotlib itself says of every text, in points."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    scale = 72.0 / figure.dpi
    return [
        np.array(text.get_window_extent(renderer).extents) * scale
        for text in axes.texts
        if text.get_text()
    ]


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(WORDS, st.lists(SPOT, min_size=1, max_size=4)), min_size=1, max_size=25),
    st.booleans(),
)
def test_no_words_over_words_nor_outside(asked, is_bold):
    sheet, figure, axes = on_paper()
    labels = Labels(axes)
    look = {"weight": "bold"} if is_bold else {"style": "italic"}
    placed = sum(labels.place(text, spots, size=6.0, **look) for text, spots in asked)
    drawn = boxes_as_drawn(figure, axes)
    frame = np.array(axes.bbox.extents) * 72.0 / figure.dpi
    sheet.__exit__(None, None, None)
    assert len(drawn) == placed
    for number, one in enumerate(drawn):
        assert (one[:2] >= frame[:2] - HALF_POINT).all()
        assert (one[2:] <= frame[2:] + HALF_POINT).all()
        for other in drawn[:number]:
            apart = np.maximum(one[:2], other[:2]) - np.minimum(one[2:], other[2:])
            assert apart.max() > -HALF_POINT


def test_the_first_free_spot_is_taken_and_nothing_is_forced():
    sheet, _, axes = on_paper()
    labels = Labels(axes)
    first, second = Spot(5.0, 5.0), Spot(5.0, 8.0)
    assert labels.place("one", [first], size=6.0)
    assert labels.place("two", [first, second], size=6.0)
    assert [text.xy for text in axes.texts] == [(5.0, 5.0), (5.0, 8.0)]
    assert not labels.place("three", [first, second, Spot(0.0, 0.0)], size=6.0)
    assert len(axes.texts) == 2
    sheet.__exit__(None, None, None)


def test_marks_and_lines_are_kept_free():
    sheet, _, axes = on_paper()
    labels = Labels(axes)
    labels.keep_free(2.0, 2.0, 3.0)
    assert not labels.place("over a mark", [Spot(2.0, 2.0)], size=6.0)
    x = np.linspace(0.0, 10.0, 200)
    labels.keep_free_line(x, np.where(x < 5.0, 4.0, 9.0))
    assert not labels.place("on a line", [Spot(2.5, 4.0)], size=6.0)
    assert not labels.place("on its step", [Spot(5.0, 6.5)], size=6.0)
    assert labels.place("beside it", [Spot(2.0, 6.5)], size=6.0)
    labels.keep_free_line(x, np.full(x.shape, np.nan))
    assert labels.place("unknown", [Spot(8.0, 3.0)], size=6.0)
    sheet.__exit__(None, None, None)


def test_a_dollar_is_a_dollar():
    sheet, _, axes = on_paper()
    assert Labels(axes).place("$x_1$", [Spot(5.0, 5.0)], size=6.0)
    assert axes.texts[0].get_text() == r"\$x_1\$"
    sheet.__exit__(None, None, None)
