"""The briefing in words and as HTML: what stands in it, whole lists, hostile names, same bytes."""

import re
from html.parser import HTMLParser

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.planning.briefing import make_briefing
from areaplan.planning.plan import Verdict
from areaplan.render.briefing.document import CAUTION, briefing_document
from areaplan.render.briefing.places import degrees_minutes
from areaplan.render.document.as_json import document_as_json
from areaplan.render.document.html import document_as_html
from areaplan.render.document.model import (
    Bullets,
    Figure,
    Quoted,
    RuledLines,
    TableBlock,
    Terms,
    unbroken,
)
from areaplan.render.text import verdict_text
from areaplan.rules.asking import Severity
from areaplan.rules.model import RuleKind
from tests.planning.briefing_country import HOSTILE, QUIET, bare_plan, plan_of_country
from tests.planning.builder import lonlat

HALF_A_THOUSANDTH_MINUTE_DEG = 0.0005 / 60.0 + 1e-12


@pytest.fixture(scope="module")
def briefing():
    return make_briefing(plan_of_country())


@pytest.fixture(scope="module")
def document(briefing):
    return briefing_document(briefing)


@pytest.fixture(scope="module")
def page(document):
    return Page(document_as_html(document))


class Page(HTMLParser):
    """Tags, texts and attributes of a page, by the standard library's own parser."""

    def __init__(self, text):
        super().__init__()
        self.text = text
        self.tags = []
        self.words = []
        self._open = []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        self._open.append(tag)

    def handle_endtag(self, tag):
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data):
        if "style" not in self._open:
            self.words.append(data)

    @property
    def plain(self):
        return " ".join("".join(self.words).replace("\u00a0", " ").split())


def blocks(document, kind, part=None):
    return [
        block
        for one in document.parts
        if part in (None, one.name)
        for section in one.sections
        for block in section.blocks
        if isinstance(block, kind)
    ]


def rows_of(document, caption):
    (found,) = [one for one in blocks(document, TableBlock) if one.caption.startswith(caption)]
    return found.rows


def test_parts_and_what_asks_for_them(document):
    assert [part.name for part in document.parts] == [
        "short",
        "area",
        "weather",
        "traffic",
        "heights",
        "wind",
        "emergency",
        "unknown",
        "fields",
        "data",
        "rules",
        "cautions",
    ]
    asked = {part.name: part.asked_by for part in document.parts if part.asked_by}
    # 14 CFR 141.93(a)(3): paragraphs (i), (viii), (ix) and (x).
    for name, paragraph in (
        ("weather", "(i)"),
        ("traffic", "(viii)"),
        ("heights", "(ix)"),
        ("area", "(x)"),
    ):
        assert f"141.93(a)(3){paragraph}" in asked.pop(name)
    assert asked == {}
    # What is briefed stands before what is looked up.
    is_annex = [part.title.startswith("Annex: ") for part in document.parts]
    assert is_annex == sorted(is_annex)
    assert sum(is_annex) == 4


def test_every_list_of_the_plan_is_whole(briefing, document):
    plan = briefing.plan
    assert len(rows_of(document, "Corners")) == 4
    assert len(rows_of(document, "Planned altitudes")) == len(plan.planned)
    assert len(rows_of(document, "Volumes")) == len(plan.volumes)
    assert len(rows_of(document, "Entry altitudes")) == len(briefing.manoeuvres)
    assert len(rows_of(document, "Listed")) == len(briefing.quiet)
    assert len(rows_of(document, "Obstacles on file")) == len(briefing.obstacles)
    assert len(rows_of(document, "Wires drawn")) == len(briefing.wires)
    assert len(rows_of(document, "Stations")) == 2
    places = [site for one in briefing.sites.figures for site in one.sites]
    assert len(rows_of(document, "Places found")) == len(places) > 0
    assert len(rows_of(document, "Sources")) == len(plan.sources)
    assert len(rows_of(document, "Limits by direction")) == 16
    fields = blocks(document, TableBlock, "fields")
    assert sum(len(one.rows) for one in fields) == len(plan.fields)
    failing = [
        row
        for row in plan.findings
        if row.verdict is not Verdict.MET and row.limit.severity is not Severity.ADVISORY
    ]
    assert failing
    assert len(rows_of(document, "Rules of law and policy")) == len(failing)


def test_every_rule_in_force_is_quoted_once_law_and_advisory_apart(briefing, document):
    rules = [rule for one in briefing.rule_sets for rule in one.rules]
    quoted = blocks(document, Quoted, "rules")
    assert sorted(one.rule for one in quoted) == sorted(rule.id for rule in rules)
    (part,) = [one for one in document.parts if one.name == "rules"]
    said = {
        one.title: [block.rule for block in one.blocks if isinstance(block, Quoted)]
        for one in part.sections
    }
    for title, severity in (
        ("Law", Severity.LAW),
        ("Advisory: asked, not ordered", Severity.ADVISORY),
    ):
        wanted = [
            rule.id
            for rule in rules
            if rule.severity is severity and rule.kind is not RuleKind.BRIEFING
        ]
        assert said[title] == wanted != []


def test_digests_stand_whole(briefing, document):
    text = " ".join(cell for row in rows_of(document, "Sources") for cell in row).replace(" ", "")
    for record in briefing.plan.sources:
        for digest in record.sha256:
            assert digest in text


def test_calls_use_the_names_of_the_area(document):
    (calls,) = blocks(document, Terms, "traffic")
    words = " ".join(value for _, value in calls.rows)
    for name in ("Plain area", "Builder area", "over the silo", "Ostrel", "2 500 feet"):
        assert name in words
    assert words.count("(call sign)") == len(calls.rows)


def test_what_is_not_given_is_a_line_to_fill_in():
    bare = briefing_document(make_briefing(bare_plan(), has_wind_limits=False, has_sites=False))
    identity = dict(bare.identity.rows)
    assert [identity[name] for name in ("Revision", "Author", "Approved by", "Review by")] == [
        None
    ] * 4
    assert {row[3] for row in rows_of(bare, "Corners")} == {None}
    assert len(blocks(bare, RuledLines, "traffic")) == 2
    (part,) = [one for one in bare.parts if one.name == "unknown"]
    gaps = " ".join(part.sections[1].blocks[0].items)
    for word in (
        "aerodrome",
        "landmarks",
        "frequencies",
        "revision",
        "review",
        "Wind limits",
        "routes",
        "ground-reference",
        "Maps",
    ):
        assert word in gaps
    html = Page(document_as_html(bare))
    blanks = [one for tag, one in html.tags if one.get("class") == "blank"]
    assert len(blanks) > 20
    assert {one["aria-label"] for one in blanks} == {"to fill in by hand"}


def test_the_page_says_first_what_must_be_known(document, page):
    assert document.verdict in page.plain
    assert CAUTION in page.plain
    assert page.plain.index(document.verdict) < page.plain.index("Boundary")
    assert page.plain.count("CONFIRM:") >= 3


def test_an_overdue_review_and_expired_data_come_before_all_else(briefing):
    plan = briefing.plan
    old = evolve(plan.sources[0], expires=plan.project.day.replace(year=2020))
    late = evolve(
        briefing,
        words=evolve(briefing.words, review_by=plan.project.day.replace(year=2021)),
        plan=evolve(plan, sources=(old, *plan.sources[1:])),
    )
    text = Page(document_as_html(briefing_document(late))).plain
    assert text.index("REVIEW OVERDUE") < text.index("Boundary")
    assert text.index("EXPIRED DATA") < text.index("Boundary")


def test_hostile_names_stay_text(page):
    assert HOSTILE.replace("\\", "\\") in page.plain
    assert QUIET in page.plain
    names = [tag for tag, _ in page.tags]
    assert "script" not in names
    assert "b" not in names
    assert names.count("style") == 1


def test_the_running_line_cannot_leave_the_style_sheet(document):
    hostile = evolve(document, running='a"; } </style><script>x</script> \\ü')
    text = Page(document_as_html(hostile))
    assert "script" not in [tag for tag, _ in text.tags]
    assert '"a\\000022\\00003b' in text.text


def test_nothing_comes_from_outside(page):
    for tag, attributes in page.tags:
        assert tag not in ("script", "link", "img", "iframe", "object")
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in ("href", "src"):
                assert value.startswith("#")
    assert "default-src 'none'" in page.text
    assert not re.search(r"url\((?!#)", page.text)


def test_every_link_has_its_target(page):
    targets = {attributes.get("id") for _, attributes in page.tags}
    links = [one["href"][1:] for tag, one in page.tags if tag == "a"]
    assert links
    assert set(links) <= targets


def test_the_same_briefing_gives_the_same_bytes():
    first, again = (
        briefing_document(make_briefing(plan_of_country(), has_wind_limits=False)) for _ in range(2)
    )
    for paper, size in (("letter", "size: letter;"), ("a4", "size: A4;")):
        assert document_as_html(first, paper) == document_as_html(again, paper)
        assert size in document_as_html(first, paper)


def test_another_paper_is_refused(document):
    with pytest.raises(ValueError, match="paper 'a5'"):
        document_as_html(document, "a5")


def test_the_rose_is_drawn_and_told(document):
    (figure,) = blocks(document, Figure)
    assert figure.name == "wind-rose"
    assert figure.described


def test_plain_values_hold_every_text_but_no_drawing(document):
    told = document_as_json(document)
    kinds = {
        block["kind"]
        for part in told["parts"]
        for section in part["sections"]
        for block in section["blocks"]
    }
    assert kinds == {
        "paragraph",
        "bullets",
        "terms",
        "tableblock",
        "quoted",
        "ruledlines",
        "figure",
    }
    assert "<svg" not in str(told)
    assert len(blocks(document, Bullets)) > 5


@settings(deadline=None, max_examples=200)
@given(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0))
def test_degrees_and_minutes_read_back(lat, lon):
    text = degrees_minutes(lat, lon)
    form = r"(\d\d)°(\d\d\.\d{3})'([NS]) (\d{3})°(\d\d\.\d{3})'([EW])"
    north, north_minutes, south, east, east_minutes, west = re.fullmatch(form, text).groups()
    assert float(north_minutes) < 60.0
    assert float(east_minutes) < 60.0
    read_lat = (int(north) + float(north_minutes) / 60.0) * (-1 if south == "S" else 1)
    read_lon = (int(east) + float(east_minutes) / 60.0) * (-1 if west == "W" else 1)
    assert abs(read_lat - lat) <= HALF_A_THOUSANDTH_MINUTE_DEG
    assert abs(read_lon - lon) <= HALF_A_THOUSANDTH_MINUTE_DEG


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("2 500 ft AMSL", "2\u00a0500\u00a0ft AMSL"),
        ("94 % of 5.2 NM", "94\u00a0% of 5.2\u00a0NM"),
        ("14 CFR 91", "14 CFR 91"),
        ("revision 4 of 2026", "revision 4 of 2026"),
    ],
)
def test_figures_stay_with_their_units(text, kept):
    assert unbroken(text) == kept


def test_a_table_whose_rows_do_not_fit_is_refused():
    with pytest.raises(ValueError, match="rows, heads and widths"):
        TableBlock("x", ("a", "b"), (("1",),), (1, 1))


def test_what_figures_lack_is_told(briefing, document):
    (area,) = [part for part in document.parts if part.name == "area"]
    (section,) = [one for one in area.sections if one.title.startswith("Places")]
    words = " ".join(
        item for one in section.blocks if isinstance(one, Bullets) for item in one.items
    )
    lacking = [one for one in briefing.sites.figures if not one.sites]
    assert lacking
    for one in lacking:
        assert f"{one.figure.title}: NOT MET; {one.lacks}" in words


def test_gates_and_routes_stand_with_their_verdicts():
    lon, lat = lonlat(-900.0, 0.0)
    far_lon, far_lat = lonlat(-3000.0, 0.0)
    words = f"""
[[gate]]
name = "Mill gate"
lat = {lat!r}
lon = {lon!r}
altitude = "2000 ft AMSL"
use = "both"

[[route]]
name = "West way"
points = [[{far_lat!r}, {far_lon!r}], "Mill gate"]
altitude = "2000 ft AMSL"
"""
    briefing = make_briefing(plan_of_country(words), has_wind_limits=False, has_sites=False)
    told = briefing_document(briefing)
    (gate,) = rows_of(told, "Gates")
    assert gate[0] == "Mill gate (in and out)"
    assert gate[1] is None  # no landmark given: a line to fill in
    assert gate[4] == verdict_text(briefing.ways.gates[0].verdict)
    routes = rows_of(told, "Routes")
    assert len(routes) == len(briefing.ways.routes) == 2  # one for each way
    assert [row[3] for row in routes] == [verdict_text(one.verdict) for one in briefing.ways.routes]
