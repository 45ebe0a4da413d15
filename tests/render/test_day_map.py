"""The day sheet's drawing: its arrows and dial against the day's figures, the same bytes twice."""

import re
import xml.etree.ElementTree as ET
from datetime import datetime
from importlib import util

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.patches import Wedge

from areaplan.errors import InputError
from areaplan.planning.day import day_sheet
from areaplan.planning.day_conditions import Conditions
from areaplan.planning.project_file import read_project
from areaplan.planning.sun import GLARE_HALF_DEG, LOW_SUN_DEG, Light, Sun
from areaplan.render.figures.base_map import begin_map
from areaplan.render.figures.day_dial import draw_dial, sun_words
from areaplan.render.figures.day_map import HEIGHT_MM, WIDTH_MM, _draw_fields, day_map
from areaplan.render.figures.labels import Labels
from areaplan.render.figures.paper import canvas
from areaplan.units import Wind, parse_pressure, parse_temperature, parse_wind
from tests.planning.briefing_country import HOSTILE, WORDS
from tests.planning.builder import Country, box
from tests.render.test_section_figures import written

TIME = datetime.fromisoformat("2026-11-25T15:00+01:00")
SHELF = {"NAME": "OSTREL C", "CLASS": "C", "lower": "2000 ft AMSL", "upper": "5000 ft AMSL"}
MM_A_POINT = 25.4 / 72.0
A_STEP_DEG = 5.1  # strips are measured every 10 degrees
A_DEGREE = 1.0


def conditions(wind):
    return Conditions(
        time=TIME,
        wind=parse_wind(wind),
        altimeter_setting_pa=parse_pressure("30.10inHg"),
        temperature_k=parse_temperature("12C"),
    )


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    """Three fields: one long from west to east, one from south to north, one too short."""
    made = Country(tmp_path_factory.mktemp("day-map")).terrain()
    made.features(
        "fields",
        [
            (box(-900, 500, 400, 700), {"name": "Field long"}),
            (box(-800, -900, -600, 300), {"name": "Field tall"}),
            (box(300, 0, 360, 60), {"name": "Field short"}),
        ],
    )
    made.none("obstacles", "structures", "congested", "assemblies", "noise-sensitive")
    made.features("airspace", [(box(700, -900, 6000, 2000), SHELF)])
    path = made.more(WORDS).project(planned='["1400 ft AMSL", "2500 ft AMSL"]')
    return read_project(path)


@pytest.fixture(scope="module")
def sheet(project):
    return day_sheet(project, conditions("240/12 kt"))


def test_the_same_sheet_gives_the_same_bytes(sheet):
    first = day_map(sheet)
    assert first == day_map(sheet)
    root = ET.fromstring(first.svg)
    assert float(root.attrib["width"].removesuffix("pt")) * MM_A_POINT == pytest.approx(
        WIDTH_MM, abs=0.1
    )
    assert float(root.attrib["height"].removesuffix("pt")) * MM_A_POINT == pytest.approx(
        HEIGHT_MM, abs=0.1
    )
    assert first.width_mm == WIDTH_MM
    links = re.findall(r'(?:href="|url\()([^")]+)', first.svg)
    assert all(link.startswith("#day-") for link in links)
    assert "<script" not in first.svg
    assert HOSTILE not in first.svg


def test_it_says_altitude_wind_and_the_sun(sheet):
    made = day_map(sheet)
    assert made.caption == "The area today at 2 500 ft AMSL"
    assert "wind 240/12 kt true" in made.described
    assert "wind 240/12 kt true" in written(made)
    assert sun_words(sheet.sun) in written(made)
    assert sun_words(sheet.sun)[1:] in made.described
    assert "long" in written(made)
    assert "short" in written(made)


def test_another_wind_is_another_drawing(project, sheet):
    other = day_map(day_sheet(project, conditions("060/12 kt")))
    assert other.svg != day_map(sheet).svg
    calm = day_map(day_sheet(project, conditions("calm")))
    assert "calm" in written(calm)


@pytest.mark.parametrize("wind", ["240/12 kt", "090/12 kt"])
def test_arrows_point_the_way_of_landing(project, wind):
    today = day_sheet(project, conditions(wind))
    with canvas("arrows", 90, 90) as paper:
        axes = paper.add_axes((0.1, 0.1, 0.8, 0.8))
        begin_map(axes, today.plan)
        before = len(axes.texts)
        _draw_fields(axes, Labels(axes), today)
        arrows = [text for text in axes.texts[before:] if getattr(text, "arrow_patch", None)]
    counting = {row.name: row for row in today.fields if row.counts}
    assert len(arrows) == len(counting) == 2  # not the short one
    told = sorted(row.landing_deg_true for row in counting.values())
    drawn = []
    for arrow in arrows:
        (x1, y1), (x0, y0) = arrow.xy, arrow.xyann
        drawn.append(np.degrees(np.arctan2(x1 - x0, y1 - y0)) % 360.0)
    for want, got in zip(told, sorted(drawn), strict=True):
        assert abs((got - want + 180.0) % 360.0 - 180.0) < A_STEP_DEG


def sun_at(azimuth_deg, elevation_deg):
    return Sun(TIME, azimuth_deg, elevation_deg, Light.DAY, (), None, None)


@settings(deadline=None, max_examples=40)
@given(st.floats(0.0, 359.0), st.floats(0.0, 89.0), st.integers(1, 360))
def test_the_dial_against_the_definition(azimuth_deg, elevation_deg, from_deg):
    """Twin: every whole heading, in the wedge or not; the arrow's tail towards the wind."""
    sun = sun_at(azimuth_deg, elevation_deg)
    with canvas("dial", 40, 40) as paper:
        draw_dial(paper, Wind(from_deg % 360, 6.0), sun, (0.0, 0.0, 1.0, 1.0))
        (axes,) = paper.axes
        (arrow,) = [text for text in axes.texts if getattr(text, "arrow_patch", None)]
        wedges = [patch for patch in axes.patches if isinstance(patch, Wedge)]
        (x0, y0), (x1, y1) = arrow.xyann, arrow.xy
        assert np.degrees(np.arctan2(x0, y0)) % 360.0 == pytest.approx(from_deg % 360, abs=1e-6)
        assert x0 * x1 + y0 * y1 < 0.0  # it ends beyond the middle
        assert len(wedges) == (elevation_deg < LOW_SUN_DEG)
        for wedge in wedges:
            for heading in range(360):
                off = abs((heading - azimuth_deg + 180.0) % 360.0 - 180.0)
                if abs(off - GLARE_HALF_DEG) < A_DEGREE:
                    continue
                inward = 0.5 * np.array([np.sin(np.radians(heading)), np.cos(np.radians(heading))])
                is_in = wedge.get_path().contains_point(inward, wedge.get_patch_transform())
                assert is_in == (off < GLARE_HALF_DEG), heading


def test_a_calm_has_no_arrow_and_a_high_sun_no_wedge(sheet):
    calm = evolve(sheet.plan.project, wind=Wind(0.0, 0.0))
    told = evolve(sheet, sun=sun_at(180.0, 60.0), plan=evolve(sheet.plan, project=calm))
    made = day_map(told)
    assert "No low sun to look into." in made.described
    assert not any("roll out" in words for words in written(made))
    assert "calm" in written(made)


def test_landmarks_that_do_not_fit_are_a_fault(sheet):
    words = evolve(sheet.plan.project.briefing, landmarks=("pond",))
    plan = evolve(sheet.plan, project=evolve(sheet.plan.project, briefing=words))
    with pytest.raises(InputError, match="landmarks"):
        day_map(evolve(sheet, plan=plan))


def test_without_matplotlib_there_is_none(monkeypatch, sheet):
    monkeypatch.setattr(util, "find_spec", lambda _: None)
    assert day_map(sheet) is None
