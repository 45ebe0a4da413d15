"""Drawings for paper: the same bytes, nothing from outside, what is drawn against the plan."""

import re
import xml.etree.ElementTree as ET
from importlib import util

import pytest
from attrs import evolve

from areaplan.planning.briefing import make_briefing, wind_altitude_ft
from areaplan.planning.plan import CellClass
from areaplan.render.briefing.document import briefing_document
from areaplan.render.document.html import document_as_html
from areaplan.render.figures.drawings import briefing_drawings
from areaplan.render.figures.maps import WIDTH_MM
from areaplan.render.figures.paper import as_svg, canvas, plain
from areaplan.render.frames import class_frame
from areaplan.render.map_classes import CLASS_STYLES
from tests.planning.briefing_country import plan_of_country

POINTS_AN_INCH = 72.0
MM_AN_INCH = 25.4


@pytest.fixture(scope="module")
def briefing():
    return make_briefing(plan_of_country(), has_wind_limits=False)


@pytest.fixture(scope="module")
def drawings(briefing):
    return briefing_drawings(briefing)


def all_of(drawings):
    return (*drawings.area, *drawings.profile, *drawings.sites, *drawings.heights)


def test_the_same_plan_gives_the_same_drawings(briefing, drawings):
    assert briefing_drawings(briefing) == drawings
    names = ["overview", "section-along", "section-across", "sites", "fields"]
    assert [one.name for one in all_of(drawings)] == names


def test_drawings_are_well_formed_and_hold_nothing_from_outside(drawings):
    for one in all_of(drawings):
        root = ET.fromstring(one.svg)
        width_mm = float(root.attrib["width"].removesuffix("pt")) / POINTS_AN_INCH * MM_AN_INCH
        assert width_mm == pytest.approx(WIDTH_MM, abs=0.1)
        links = re.findall(r'(?:href="|url\()([^")]+)', one.svg)
        assert all(link.startswith(f"#{one.name}-") for link in links)
        assert "<script" not in one.svg
        assert "<image" not in one.svg
        assert "<metadata" not in one.svg


def test_no_identifier_stands_twice_on_a_page(briefing, drawings):
    page = document_as_html(briefing_document(briefing, drawings))
    names = re.findall(r'\bid="([^"]+)"', page)
    assert len(names) == len(set(names)) > 50


def test_every_class_that_occurs_is_filled_with_its_own_colour(briefing, drawings):
    plan = briefing.plan
    frame = class_frame(plan, wind_altitude_ft(plan))
    present = {CellClass(one) for one in frame["cell_class"]}
    for style in CLASS_STYLES:
        is_drawn = style.fill.lower() in drawings.area[0].svg.lower()
        assert is_drawn is (style.cell_class in present), style.cell_class


def test_the_best_place_of_every_figure_is_drawn_and_named(briefing, drawings):
    found = [one.sites[0] for one in briefing.sites.figures if one.sites]
    assert len(found) >= 3
    (figure,) = drawings.sites
    for letter, site in zip("ABCDEF", found, strict=False):
        assert f"{letter} {site.figure.title}, {site.layout.reference.name}" in figure.described


def test_no_map_of_places_where_none_was_found(briefing):
    assert briefing_drawings(evolve(briefing, sites=None)).sites == ()


def test_a_lower_altitude_changes_the_overview(briefing, drawings):
    """At 1,400 ft no field is in reach and little is legal; the picture must say so."""
    plan = briefing.plan
    low = evolve(plan, planned=(plan.planned[0],))
    assert wind_altitude_ft(low) == 1400
    changed = briefing_drawings(evolve(briefing, plan=low))
    assert changed.area[0].svg != drawings.area[0].svg
    assert "1 400 ft AMSL" in changed.area[0].caption


def test_north_is_up(briefing):
    """The arrow's head is above its letter: its last point lies higher on the paper."""
    with canvas("north", 100, 100) as sheet:
        from areaplan.render.figures.base_map import begin_map, end_map

        axes = sheet.add_axes((0.1, 0.1, 0.8, 0.8))
        begin_map(axes, briefing.plan)
        end_map(axes, briefing)
        (letter,) = [one for one in axes.texts if one.get_text() == "N"]
        assert letter.arrow_patch.get_arrowstyle().arrow == "->"
        assert letter.xy[1] > letter.xyann[1]


def test_the_users_own_settings_do_not_show(briefing, drawings):
    import matplotlib as mpl

    with mpl.rc_context({"font.size": 20.0, "lines.linewidth": 9.0, "axes.facecolor": "red"}):
        assert briefing_drawings(briefing) == drawings


def test_a_dollar_sign_begins_no_formula():
    with canvas("dollar", 50, 20) as sheet:
        sheet.text(0.1, 0.5, plain("a $x$ b_{1}$"))
        assert as_svg(sheet, "dollar").startswith("<svg")


def test_without_matplotlib_the_briefing_says_that_maps_are_missing(monkeypatch, briefing):
    monkeypatch.setattr(util, "find_spec", lambda _: None)
    assert briefing_drawings(briefing) is None
    page = document_as_html(briefing_document(briefing, None))
    assert "Maps are not drawn" in page
    assert "<figure" not in page
