"""Pieces of the day sheet and of the paper that it is printed on."""

from types import SimpleNamespace

import pytest

from areaplan.planning.day_fields import FieldToday
from areaplan.planning.site import FigureSites, SiteAnswer
from areaplan.render.day_fields import MOST_OUT, fields_section
from areaplan.render.day_sites import MOST_SITES, sites_section
from areaplan.render.paper import Paper, Section, Table, paper_html, paper_text
from areaplan.rules.figures_asked import builtin_figures
from areaplan.units import parse_wind
from tests.render.test_rules_document import page_text

EVIL = "<b>Dell</b> & <script>alert(1)</script>"


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


def test_field_figures_are_rounded_to_the_cautious_side():
    (row,) = fields_section([field("A")]).table.rows
    assert row == ("A", "9 %", "360", "355", "544 / 357 m", "0 / 12 kt left", "270", "stubble")


def test_an_unknown_variation_is_said():
    (row,) = fields_section([field("A", landing_deg_magnetic=None)]).table.rows
    assert row[3] == "unknown"


def test_no_more_rows_than_asked_and_the_rest_is_counted():
    counting = [field(f"F{n}") for n in range(9)]
    lost = [field(f"L{n}", counts=False) for n in range(MOST_OUT + 2)]
    section = fields_section([*counting, *lost], 4)
    assert section.title == f"Fields today: 9 of {9 + len(lost)} count"
    assert len(section.table.rows) == 4
    assert section.after[0].startswith("5 more count")
    assert section.after[1].endswith("; and 2 more.")
    assert "too short: 299 m" in section.after[1]
    assert fields_section(lost).sentences == ("No field counts today.",)


def test_sites_or_what_is_missing():
    figures = builtin_figures().named(())
    site = SimpleNamespace(
        entry_amsl_ft=2_100,
        smallest_margin_ft=40,
        binding_margin="glide",
        track=SimpleNamespace(greatest_bank_deg=41.4),
        layout=SimpleNamespace(reference=SimpleNamespace(name=EVIL)),
    )
    rows = (
        FigureSites(figures[0], (site,) * (MOST_SITES + 1), None, 5, 9, ""),
        FigureSites(figures[1], (), None, 0, 0, "no line long enough"),
    )
    section = sites_section(SiteAnswer(parse_wind("240/18 kt"), 48.0, rows, ()))
    assert section.title.endswith("wind 240/18 kt: 1 of 2 figures have one")
    told = [(figures[0].title, "2 100 ft", "41 deg", "40 ft (glide)", EVIL)] * MOST_SITES
    assert list(section.table.rows[:MOST_SITES]) == told
    assert section.table.rows[-1][-1] == "NOT MET: no line long enough"


PAPER = Paper(
    EVIL,
    (EVIL, "at 2 863 ft AMSL"),
    EVIL,
    (
        Section(EVIL, (EVIL,), Table((EVIL, "b"), ((EVIL, "1 NM"),)), (EVIL,), (EVIL,)),
        Section("Map", figure="<svg></svg>", is_wide=True),
        Section("Wide", ("words",), is_wide=True, is_small=True),
    ),
)


def test_what_a_file_says_is_never_markup():
    page = paper_html(PAPER)
    assert "<script" not in page
    assert page_text(page).count(EVIL) == 10  # the title stands twice
    assert "<svg></svg>" in page


def test_figures_stay_with_their_units():
    assert "at 2\xa0863\xa0ft AMSL" in paper_html(PAPER)
    assert "1\xa0NM" in paper_html(PAPER)


def test_as_text_every_word_but_the_picture():
    text = paper_text(PAPER)
    assert text.count(EVIL) == 9
    assert "Map" not in text
    assert "svg" not in text


@pytest.mark.parametrize("words", ["short", "many words " * 30])
def test_a_last_column_of_words_is_wrapped_and_nothing_lost(words):
    table = Table(("a", "b"), (("x", words.strip()),), left=(1,))
    text = paper_text(Paper("t", (), "v", (Section("s", table=table),)))
    assert max(map(len, text.splitlines())) <= 96
    assert " ".join(text.split()).count("many words") == words.count("many words")
