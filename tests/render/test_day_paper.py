"""Pieces of the day sheet, and the whole of it on one sheet of paper."""

from types import SimpleNamespace

import pytest
from attrs import evolve

from areaplan.planning.day import day_sheet
from areaplan.planning.day_fields import FieldToday
from areaplan.planning.project_file import read_project
from areaplan.planning.site import FigureSites, SiteAnswer
from areaplan.render.day_fields import MOST_OUT, fields_section
from areaplan.render.day_paper import day_document, day_text, write_day_page
from areaplan.render.day_sites import MOST_SITES, sites_section
from areaplan.render.document.model import Paragraph, TableBlock
from areaplan.render.document.pdf import document_as_pdf
from areaplan.rules.figures_asked import builtin_figures
from areaplan.units import parse_wind
from tests.planning.builder import plain_country
from tests.planning.test_day import conditions
from tests.render.document_cases import pages_of, sizes_of
from tests.render.test_rules_document import page_text

EVIL = "<b>Dell</b> & <script>alert(1)</script>"
EXPIRED = "EXPIRED DATA: terrain (2019) ended 2020-01-01"
LACKS = (
    "the nearest miss lacks 40 ft of height: a field in reach asks for an entry at 1966 ft AMSL or "
    "above, the standard or the airspace above it for 1926 ft or below"
)


def field(name, counts=True, **more):
    values = {
        "name": name,
        "counts": counts,
        "why_not": () if counts else ("too short: 299 m usable of 357 m needed",),
        "landing_deg_true": 360 if counts else None,
        "landing_deg_magnetic": 355.2 if counts else None,
        "usable_m": 544.97,
        "needed_m": 356.03,
        "headwind_kt": -0.2,
        "crosswind_kt": -11.6,
        "into_wind_deg_true": 270,
        "leaning_share": 0.0999,
        "surface": "stubble",
        "remarks": "",
    }
    return FieldToday(**(values | more))


def rows_of(section):
    (table,) = [one for one in section.blocks if isinstance(one, TableBlock)]
    return table.rows


def sentences_of(section):
    return [one.text for one in section.blocks if isinstance(one, Paragraph)]


def sites_answer(name=EVIL, lacks="no line long enough"):
    figures = builtin_figures().named(())
    site = SimpleNamespace(
        entry_amsl_ft=2_100,
        smallest_margin_ft=40,
        binding_margin="glide",
        track=SimpleNamespace(greatest_bank_deg=41.4),
        layout=SimpleNamespace(reference=SimpleNamespace(name=name)),
    )
    rows = (
        FigureSites(figures[0], (site,) * (MOST_SITES + 1), None, 5, 9, ""),
        FigureSites(figures[1], (), None, 0, 0, lacks),
    )
    return SiteAnswer(parse_wind("240/18 kt"), 48.0, rows, ())


def test_field_figures_are_rounded_to_the_cautious_side():
    (row,) = rows_of(fields_section([field("A")]))
    assert row == ("A", "9 %", "360", "355", "544 / 357 m", "0 / 12 kt left", "270", "stubble")


def test_an_unknown_variation_is_said():
    (row,) = rows_of(fields_section([field("A", landing_deg_magnetic=None)]))
    assert row[3] == "unknown"


def test_no_more_rows_than_asked_and_the_rest_is_counted():
    counting = [field(f"F{n}") for n in range(9)]
    lost = [field(f"L{n}", counts=False) for n in range(MOST_OUT + 2)]
    section = fields_section([*counting, *lost], 4)
    assert section.title == f"Fields today: 9 of {9 + len(lost)} count"
    assert len(rows_of(section)) == 4
    assert sentences_of(section)[0].startswith("5 more count")
    assert sentences_of(section)[1].endswith("; and 2 more.")
    assert "too short: 299 m" in sentences_of(section)[1]
    assert sentences_of(fields_section(lost))[0] == "No field counts today."


def test_sites_or_what_is_missing():
    answer = sites_answer()
    figures = [one.figure for one in answer.figures]
    section = sites_section(answer)
    assert section.title.endswith("wind 240/18 kt: 1 of 2 figures have one")
    told = [(figures[0].title, "2 100 ft", "41 deg", "40 ft (glide)", EVIL)] * MOST_SITES
    assert list(rows_of(section)[:MOST_SITES]) == told
    assert rows_of(section)[-1][-1] == "NOT MET: no line long enough"


@pytest.fixture(scope="module")
def sheet(tmp_path_factory):
    project = read_project(plain_country(tmp_path_factory.mktemp("day")).project())
    return day_sheet(project, conditions("240/12 kt", "30.10inHg", "12C"))


@pytest.fixture(scope="module")
def full(sheet):
    """A sheet with as much on it as a day brings: many fields, all figures, an alarm."""
    fields = [field(f"Field {n}", remarks="soft after rain, fence in the west") for n in range(30)]
    lost = [field(f"Lost {n}", counts=False) for n in range(5)]
    answer = sites_answer("crossing of the mill road and the long canal", LACKS)
    each = [
        evolve(answer.figures[number % 2], figure=figure)
        for number, figure in enumerate(builtin_figures().named(()))
    ]
    return evolve(
        sheet,
        fields=(*fields, *lost),
        glide=sheet.glide * 2,
        sites=evolve(answer, figures=tuple(each)),
        plan=evolve(
            sheet.plan,
            planned=sheet.plan.planned * 2,
            warnings=(EXPIRED, *sheet.plan.warnings),
        ),
    )


def test_what_a_file_says_is_never_markup(sheet, tmp_path):
    hostile = evolve(sheet, sites=sites_answer(), fields=(field(EVIL),))
    write_day_page(hostile, tmp_path / "day.html")
    page = (tmp_path / "day.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert page_text(page).count(EVIL) == MOST_SITES + 1
    write_day_page(hostile, tmp_path / "day.pdf")
    assert day_text(hostile).count("<script>") == MOST_SITES + 1


def test_the_alarm_comes_before_all_else(full):
    assert day_document(full).alarms == (EXPIRED,)
    text = day_text(full)
    assert text.index("! EXPIRED DATA") < text.index("Usable part")


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_it_stays_on_one_sheet_as_pdf(sheet, full, paper, tmp_path):
    for name, one in (("plain", sheet), ("full", full), ("no-sites", evolve(full, sites=None))):
        path = tmp_path / f"{name}.pdf"
        write_day_page(one, path, paper)
        assert pages_of(path.read_bytes()) == 1, name


@pytest.mark.browser
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_it_stays_on_one_sheet_from_the_browser(browser, sheet, full, paper, tmp_path):
    for name, one in (("plain", sheet), ("full", full), ("no-sites", evolve(full, sites=None))):
        path = tmp_path / f"{name}.html"
        write_day_page(one, path, paper)
        page = browser.new_page()
        page.goto(path.as_uri())
        printed = page.pdf(prefer_css_page_size=True)
        page.close()
        assert pages_of(printed) == 1, name
        assert sizes_of(printed) == sizes_of(document_as_pdf(day_document(one), paper))
