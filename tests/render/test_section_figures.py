"""The drawn sections: what they name, why they lie there, the same bytes each time."""

import re

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.planning.briefing import make_briefing
from areaplan.planning.briefing_places import Place, Standing
from areaplan.planning.plan import Verdict
from areaplan.planning.vertical_section import vertical_sections
from areaplan.render.figures.labels import Labels
from areaplan.render.figures.paper import canvas
from areaplan.render.figures.section import section_figures
from areaplan.render.figures.section_marks import NEAR_NM, TALL_FT, draw_obstacles, near_the_line
from areaplan.units import NAUTICAL_MILE_M, feet_text
from tests.planning.briefing_country import plan_of_country
from tests.planning.test_vertical_section import PLANNED_FT, plan_with_shelf, with_line

NEARLY_M = 15.0  # between samples of the slow twin


def briefing_of(plan):
    return make_briefing(plan, has_wind_limits=False, has_sites=False)


@pytest.fixture(scope="module")
def shelf():
    return briefing_of(plan_with_shelf())


def written(figure):
    """Words of a drawing without a casing: matplotlib notes each beside its outlines."""
    return re.findall(r"<!-- (.*?) -->", figure.svg)


def test_two_sections_the_same_each_time(shelf):
    first = section_figures(shelf)
    assert first == section_figures(shelf)
    assert [one.name for one in first] == ["section-along", "section-across"]
    assert len({one.svg for one in first}) == 2


def test_the_volumes_cut_are_named_with_their_limits(shelf):
    along, across = section_figures(shelf)
    assert {"CORVASH C", "2000 ft AMSL to 5000 ft AMSL"} <= set(written(across))
    assert {"WIDE E", "700 ft AGL to FL 180"} <= set(written(across))
    assert "WIDE E" in written(along)
    assert "CORVASH C" not in written(along)  # it lies beside that line


def test_a_volume_above_the_drawing_is_told_below_it(shelf):
    plan = shelf.plan
    # Nothing changes but what is drawn: at 1,100 ft both volumes lie above.
    low = evolve(plan, project=evolve(plan.project, planned_altitudes_amsl_ft=(1100,)))
    low = evolve(low, planned=(evolve(plan.planned[0], altitude_amsl_ft=1100),))
    _, across = section_figures(evolve(shelf, plan=low))
    assert "CORVASH C" not in written(across)


def test_the_reason_is_told(shelf):
    along, across = section_figures(shelf)
    assert "longest axis, through its middle" in along.described
    assert "the middle of what CORVASH C covers of the area" in across.described
    finding = next(row for row in shelf.plan.findings if row.feature == "CORVASH C")
    assert finding.verdict is Verdict.NOT_MET
    assert f"short by {-finding.margin_ft} ft" in across.described
    assert finding.limit.title in across.described


def test_the_reason_where_all_is_met_and_where_the_school_chose():
    _, across = section_figures(briefing_of(plan_of_country()))
    assert "everything that binds is met there" in across.described
    first, _ = section_figures(briefing_of(with_line((-900.0, 0.0), (900.0, 300.0))))
    assert first.name == "section-chosen"
    assert "the school chose" in first.caption


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"margin_ft": None}, "met at no altitude"),
        ({"margin_ft": None, "verdict": Verdict.UNKNOWN}, "is unknown"),
        ({"feature": "somewhere else"}, "N 0"),
    ],
)
def test_other_reasons(shelf, change, words):
    plan = shelf.plan
    rows = tuple(
        evolve(row, **change) if row.feature == "CORVASH C" else row for row in plan.findings
    )
    _, across = section_figures(evolve(shelf, plan=evolve(plan, findings=rows)))
    assert words in across.described


def test_tall_obstacles_beside_the_line_are_drawn_and_named():
    briefing = briefing_of(plan_of_country())
    _, cut = vertical_sections(briefing.plan, PLANNED_FT, 926.0)
    with canvas("obstacles", 180, 90) as sheet:
        axes = sheet.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.set_xlim(0.0, cut.along_m[-1] / NAUTICAL_MILE_M)
        axes.set_ylim(800.0, 3300.0)
        frame = briefing.plan.frame
        assert draw_obstacles(axes, Labels(axes), cut, frame, briefing.obstacles) == 0
        (words,) = [text.get_text() for text in axes.texts]
        (standing,) = [one for one in briefing.obstacles if one.name == "mast in"]
        assert words == f"mast in, {feet_text(standing.top_amsl_ft)}"
        mast, top = axes.lines
        # It stands 500 m south of the middle: 500 m short of half way along from the south.
        at_nm = (cut.along_m[-1] / 2.0 - 500.0) / NAUTICAL_MILE_M
        assert mast.get_xdata() == pytest.approx([at_nm, at_nm], abs=0.001)
        assert mast.get_ydata() == pytest.approx([1000.0, standing.top_amsl_ft], abs=1.0)
        assert list(top.get_ydata()) == [standing.top_amsl_ft]
        labels = Labels(axes)
        labels.keep_free(at_nm, standing.top_amsl_ft, 200.0)
        assert draw_obstacles(axes, labels, cut, frame, briefing.obstacles) == 1


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(
            st.floats(-2500.0, 2500.0),
            st.floats(-2500.0, 2500.0),
            st.sampled_from([None, TALL_FT - 1, TALL_FT, 900]),
            st.sampled_from([None, 1200, 1900]),
        ),
        max_size=12,
    )
)
def test_near_the_line_against_every_point_of_it(rows):
    """Twin: the distance to thousands of points of the line."""
    plan = plan_of_country()
    cut = vertical_sections(plan, PLANNED_FT, 926.0)[0]
    share = np.linspace(0.0, 1.0, 4000)[:, None]
    samples = cut.ends_m[0] + share * (cut.ends_m[1] - cut.ends_m[0])
    standing, wanted, unsure = [], set(), set()
    for number, (x_m, y_m, agl, top) in enumerate(rows):
        lon, lat = plan.frame.to_lonlat(x_m, y_m)
        place = Place(float(lat), float(lon), 0.0, None, None)
        standing.append(Standing(f"mast {number}", agl, top, "", place))
        off_m = float(np.hypot(*(samples - (x_m, y_m)).T).min())
        if abs(off_m - NEAR_NM * NAUTICAL_MILE_M) < NEARLY_M:
            unsure.add(f"mast {number}")
        elif off_m < NEAR_NM * NAUTICAL_MILE_M and top and (agl is None or agl >= TALL_FT):
            wanted.add(f"mast {number}")
    found = {name for _, _, name in near_the_line(cut, plan.frame, standing)}
    assert found - unsure == wanted
