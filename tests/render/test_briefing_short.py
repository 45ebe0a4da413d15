"""What is read aloud first, and the tables that follow: from the plan, and gaps as gaps."""

import re

import pytest
from attrs import evolve

from areaplan.planning.briefing import make_briefing
from areaplan.planning.plan import Names, Verdict
from areaplan.render.briefing.document import briefing_document
from areaplan.render.briefing.places import half_bearing, the
from areaplan.render.briefing.short import student_words
from areaplan.render.briefing.wording import beyond_words
from areaplan.render.document.html import document_as_html
from areaplan.render.document.model import Bullets, TableBlock, Terms
from areaplan.render.document.pdf import document_as_pdf
from areaplan.render.finding_words import cause_words
from areaplan.render.text import percent_down, percent_up
from areaplan.render.wind_text import COMPASS
from areaplan.units import feet_text
from tests.planning.briefing_country import bare_plan, plan_of_country
from tests.planning.short_scenes import HIGH_FT, LOW_FT, gate, scene, words

WAYS = gate("West gate", "in", -900, 0, HIGH_FT, "old pump") + gate(
    "East gate", "both", 900, 0, HIGH_FT
)
ONE_LINE = 24  # letters that fit into a cell of places without a break


@pytest.fixture(scope="module")
def briefing():
    return make_briefing(scene(words(WAYS)))


@pytest.fixture(scope="module")
def document(briefing):
    return briefing_document(briefing)


def said(document):
    (part,) = [one for one in document.parts if one.name == "short"]
    (rows,) = [one for one in part.sections[0].blocks if isinstance(one, Terms)]
    return dict(rows.rows)


def table(document, caption):
    found = [
        block
        for part in document.parts
        for section in part.sections
        for block in section.blocks
        if isinstance(block, TableBlock) and block.caption.startswith(caption)
    ]
    (one,) = found
    return one


def test_it_stands_first_and_holds_no_gap_to_fill_in(document):
    assert document.parts[0].name == "short"
    rows = said(document)
    assert next(iter(rows)) == "For a student"
    assert all(rows.values())


def test_a_student_hears_what_part_is_not_to_be_used(briefing, document):
    first = said(document)["For a student"]
    for row in briefing.plan.planned:
        share = percent_up(1.0 - row.legal_and_safe_share)
        assert f"{share} at {feet_text(row.altitude_amsl_ft)}" in first
    assert "stay out" in first


def test_where_is_told_by_landmarks_and_from_the_aerodrome(document):
    where = said(document)["Where"]
    assert "1.6 NM from Ostrel" in where  # 3,000 m of 1,852 m each
    assert "090 T" in where
    assert "the rail bridge in the" in where
    assert "Corvash mill in the" in where  # a name takes no article
    assert "between 999 ft" in where or "between 1 000 ft" in where


def test_each_altitude_tells_what_is_usable_and_what_closes_the_rest(briefing, document):
    rows = said(document)
    for row in briefing.short.altitudes:
        told = rows[f"At {feet_text(row.shares.altitude_amsl_ft)}"]
        assert told.startswith(f"{percent_down(row.shares.legal_and_safe_share)} of the area is")
        for one in row.closures[:2]:
            assert percent_up(one.share) in told
            assert f"in the {one.patches[0].spot.side}" in told
    high = rows[f"At {feet_text(HIGH_FT)}"]
    assert "CORVASH C" in high
    assert "closed from 2 1" in high  # 2,200 ft less the margin of 100 ft
    assert "No field in reach" in rows[f"At {feet_text(LOW_FT)}"]


def test_the_rest_comes_from_the_plan(briefing, document):
    rows = said(document)
    assert feet_text(briefing.short.legal_everywhere.amsl_ft) in rows["Enough everywhere"]
    assert feet_text(briefing.short.field_everywhere.amsl_ft) in rows["Enough everywhere"]
    assert rows["Highest obstacle"].startswith("mast in, top ")
    assert "Higher, outside: mast near" in rows["Highest obstacle"]
    assert rows["Wires"].startswith("Not known")
    assert "CORVASH C" in rows["Airspace and calls"]
    assert "call Ostrel Tower 118.350" in rows["Airspace and calls"]
    assert "Plain area 122.750" in rows["Frequencies"]
    assert "In: West gate over the old pump, 2 500 ft; East gate" in rows["Gates"]
    assert "East gate, 2 500 ft (NOT MET there)" in rows["Gates"]
    least = min(one.limit_kt for one in briefing.wind_limits.directions)
    assert f"{least} kt" in rows["Wind"]
    assert briefing.serving.rows[0].measured.field.name in rows["Fields"]


def test_facts_that_are_missing_are_said_to_be(document):
    bare = said(
        briefing_document(make_briefing(bare_plan(), has_wind_limits=False, has_sites=False))
    )
    assert list(bare)[2:] != list(said(document))[2:]  # other altitudes
    assert "not known: the project names none" in bare["Where"]
    assert "the project names no landmarks" in bare["Where"]
    assert bare["Frequencies"].startswith("Not known")
    assert bare["Wind"].startswith("Not known")
    assert bare["Wires"].startswith("Not known")
    assert bare["Gates"].startswith("None is declared")
    assert bare["Highest obstacle"] == "None is on file in the area." or bare[
        "Highest obstacle"
    ].startswith("Not known")
    assert "None" not in bare["For a student"]


def test_an_area_that_is_wholly_usable_says_so():
    plan = bare_plan()
    assert plan.verdict is Verdict.MET
    briefing = make_briefing(plan, has_wind_limits=False, has_sites=False)
    # What was found, not leave to fly: the pilot in command decides.
    assert student_words(briefing) == (
        "By the data and rules named here all of the area is legal at every planned altitude, with "
        "a field within gliding distance whatever the heading, in the wind named above."
    )


def test_an_area_not_known_says_that_first():
    plan = scene(is_dark=True)
    rows = said(briefing_document(make_briefing(plan, has_wind_limits=False, has_sites=False)))
    unknown = percent_up(plan.planned[0].unknown_share)
    assert rows["For a student"].startswith(f"{unknown} of the area cannot be judged")
    assert f"{unknown} is not known" in rows[f"At {feet_text(LOW_FT)}"]
    assert rows["Enough everywhere"].startswith("Not known for every rule")
    assert rows["Not known"].startswith(unknown)


def test_too_much_wind_comes_before_all_else(briefing):
    windy = evolve(briefing, short=evolve(briefing.short, is_air_open=False))
    assert student_words(windy).startswith("The wind or weather named for this briefing")


def test_the_body_tells_a_dozen_fields_at_most_and_the_annex_all(briefing, document):
    body = table(document, "The most ground first")
    assert 0 < len(body.rows) <= 12
    for row, one in zip(body.rows, briefing.serving.rows, strict=True):
        assert row[0] == one.measured.field.name
        for cell, share in zip(row[1:3], one.shares, strict=True):
            assert float(cell.removesuffix(" %")) <= share * 100.0 + 1e-9
            assert float(cell.removesuffix(" %")) > share * 100.0 - 0.1 - 1e-9
    (annex,) = [part for part in document.parts if part.name == "fields"]
    rows = [
        row
        for block in annex.sections[0].blocks
        if isinstance(block, TableBlock)
        for row in block.rows
    ]
    assert len(rows) == len(briefing.plan.fields)


def test_the_glide_names_the_nearest_field_as_such(briefing, document):
    rows = [one.finding for one in briefing.failing if one.finding.names is Names.NEAREST_FIELD]
    assert rows
    cells = [row[2] for row in table(document, "Rules of law and policy").rows]
    for row in rows:
        assert cause_words(row) in cells
        assert f"nearest: {row.feature}" in cause_words(row)
    places = [row[3] for row in table(document, "Rules of law and policy").rows]
    assert all("NM from" in place and "(corner " in place for place in places if "°" in place)


def test_airspace_tells_its_share_of_the_area(document):
    rows = {row[0]: row[3] for row in table(document, "Volumes").rows}
    assert rows["CORVASH C (class C)"] == "over 25 % of it"
    assert rows["OSTREL D (class D)"] == "over 13 % of it"  # an eighth, never less than it is


def test_wind_limits_stand_one_line_a_direction(briefing, document):
    found = table(document, "Limits by direction")
    assert [row[0].split()[0] for row in found.rows] == list(COMPASS)
    assert [row[0].split()[1] for row in found.rows][:3] == ["360", "022.5", "045"]
    for row, one in zip(found.rows, briefing.wind_limits.directions, strict=True):
        assert row[5] == "nowhere" or re.fullmatch(
            r"\d\d°\d\d\.\d{3}'[NS] \d{3}°\d\d\.\d{3}'[EW]", row[5]
        )
        assert len(row[5]) <= ONE_LINE
        assert (row[6] == "") == (one.lat is None)


def test_a_quote_is_followed_by_what_must_be_confirmed_of_it():
    briefing = make_briefing(plan_of_country(), has_wind_limits=False, has_sites=False)
    document = briefing_document(briefing)
    items = [
        item
        for part in document.parts
        for section in part.sections
        for block in section.blocks
        if isinstance(block, Bullets)
        for item in block.items
    ]
    assert not [item for item in items if item.startswith("CONFIRM")]
    joined = [item for item in items if " CONFIRM: " in item]
    for rows in briefing.manoeuvre_tables.values():
        for one in rows:
            if one.confirm and rows[0].id in {row.id for row in briefing.manoeuvres}:
                assert f"“{one.quote}” {one.citation} CONFIRM: {one.confirm}" in joined


def test_places_stand_by_the_width_of_their_window():
    briefing = make_briefing(plan_of_country(), has_wind_limits=False)
    rows = table(briefing_document(briefing), "Places found").rows
    for one in briefing.sites.figures:
        windows = [
            site.highest_entry_amsl_ft - site.lowest_entry_amsl_ft
            for site in one.sites
            if site.layout.shape.entry_above_m is None
        ]
        told = [row for row in rows if row[0] == one.figure.title]
        assert len(told) == len(one.sites)
        spans = [re.search(r"fits from ([\d ]+) ft to ([\d ]+) ft", row[2]) for row in told]
        widths = [
            int(span[2].replace(" ", "")) - int(span[1].replace(" ", "")) for span in spans if span
        ]
        assert widths == sorted(widths, reverse=True)
        assert set(widths) <= set(windows)
    assert not [row for row in rows if "Field " in row[-1]]


def test_a_window_of_no_width_says_so():
    briefing = make_briefing(plan_of_country(), has_wind_limits=False)
    figure = next(
        one
        for one in briefing.sites.figures
        if one.sites and one.sites[0].layout.shape.entry_above_m is None
    )
    site = evolve(
        figure.sites[0],
        lowest_entry_amsl_ft=figure.sites[0].entry_amsl_ft,
        highest_entry_amsl_ft=figure.sites[0].entry_amsl_ft,
    )
    narrow = evolve(
        briefing, sites=evolve(briefing.sites, figures=(evolve(figure, sites=(site,)),))
    )
    (row,) = table(briefing_document(narrow), "Places found").rows
    assert row[2].endswith("this altitude only")


@pytest.mark.parametrize(
    ("beyond", "listed", "told"),
    [
        (0, 3, "Listed up to 1.0 NM from the area; nothing more in the data."),
        (2, 3, "Listed up to 1.0 NM from the area; 2 more in the data lie farther away."),
        (0, 0, "None in the area, nor up to 1.0 NM from it; nothing more in the data."),
    ],
)
def test_how_far_a_list_goes(beyond, listed, told):
    assert beyond_words(beyond, listed) == told


def test_calls_say_what_is_flown_over(document):
    (part,) = [one for one in document.parts if one.name == "traffic"]
    calls = dict(part.sections[-1].blocks[-1].rows)
    assert "West gate, over the old pump, 2 500 feet, entering" in calls["Entering, West gate"]
    assert "East gate, (altitude), leaving" in calls["Leaving, East gate"]


@pytest.mark.parametrize("rules", ['["icao"]', '["eu"]', '["uk"]'])
def test_no_other_country_borrows_the_words_of_the_us(rules):
    briefing = make_briefing(scene(rules=rules), has_wind_limits=False, has_sites=False)
    document = briefing_document(briefing)
    for part in document.parts:
        assert "CFR" not in part.asked_by
    assert all(said(document).values())
    assert "CFR" not in " ".join(said(document).values())


def test_the_same_bytes_twice(briefing):
    first, again = (briefing_document(briefing) for _ in range(2))
    assert document_as_html(first) == document_as_html(again)
    assert document_as_pdf(first, "a4") == document_as_pdf(again, "a4")


@pytest.mark.parametrize(
    ("deg", "told"),
    [(0.0, "360"), (22.5, "022.5"), (45.0, "045"), (337.5, "337.5"), (359.9, "360"), (90.2, "090")],
)
def test_bearings_are_whole_or_half(deg, told):
    assert half_bearing(deg) == told


@pytest.mark.parametrize(
    ("landmark", "told"),
    [("pond", "the pond"), ("the pond", "the pond"), ("a barn", "a barn"), ("Mill", "Mill")],
)
def test_landmarks_are_spoken_with_their_article(landmark, told):
    assert the(landmark) == told
