"""The generated document: every rule of every set, in every form, the same bytes, escaped."""

import html
import re
import tomllib
from datetime import date
from html.parser import HTMLParser
from importlib import resources
from itertools import pairwise
from pathlib import Path

import pytest
from attrs import evolve

from areaplan.errors import InputError
from areaplan.render.document.html import document_as_html
from areaplan.render.document.markdown import document_as_markdown
from areaplan.render.document.model import Bullets, Quoted
from areaplan.render.document.pdf import document_as_pdf
from areaplan.render.document.text import document_as_text
from areaplan.render.rules_document import rules_document, write_rules_document
from areaplan.rules.loading import builtin_manoeuvres, builtin_rule_sets, load_rule_set
from areaplan.rules.model import ChoiceExample, RuleKind
from tests.oracles.pdf_words import pdf_words
from tests.render.document_cases import objects_of, sizes_of, texts_of

INLINE = {"bdi", "span", "a"}
SETS = [*map(load_rule_set, builtin_rule_sets()), builtin_manoeuvres()]


class Reader(HTMLParser):
    """Text of a page with its tags, a line for each block, and a check that they nest."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.pieces: list[str] = []

    def handle_starttag(self, tag, _attrs):
        self.tags.add(tag)
        self.end_line(tag)
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag
        self.end_line(tag)

    def end_line(self, tag):
        if tag not in INLINE:
            self.pieces.append("\n")

    def handle_data(self, data):
        self.pieces.append(data)


def page_text(page: str) -> str:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert reader.open == []
    assert not reader.tags & {"script", "link", "img", "iframe"}
    return "".join(reader.pieces).replace("\u00a0", " ")


def document_html(rule_sets):
    return document_as_html(rules_document(rule_sets))


def document_markdown(rule_sets):
    return document_as_markdown(rules_document(rule_sets))


def squeezed(text: str) -> str:
    """Without white space, which lines and pages break."""
    return "".join(text.split())


def unescaped_markdown(text: str) -> str:
    return re.sub(r"\\([\\`*_{}\[\]<>#|~&])", r"\1", text)


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_every_rule_of_every_set_is_listed_whole(form: str) -> None:
    text = page_text(document_html(SETS))
    if form == "markdown":
        text = unescaped_markdown(document_markdown(SETS))
    for one in SETS:
        assert f"{one.title} [{one.id}]" in text
        assert one.sha256 in text
        assert all(note in text for note in one.notes)
        for row in (*one.rules, *one.weather, *one.manoeuvres):
            for words in (f"{row.title} [{row.id}]", row.quote, row.citation, row.reading):
                assert words in text
            assert f"Last checked {row.last_checked.isoformat()}" in text
            assert not row.confirm or f"CONFIRM: {row.confirm}" in text
        for rule in one.rules:
            for example in rule.examples:
                assert f"Example ({example.source}): over {example.ground} ground" in text


def test_it_says_what_each_example_gives() -> None:
    text = page_text(document_html([load_rule_set("us")]))
    assert text.count("\nExample (") == sum(len(r.examples) for r in load_rule_set("us").rules)
    line = next(line for line in text.splitlines() if "a building of 100 ft on ground" in line)
    assert line.endswith("1,999 ft (609.3 m) away: lowest altitude 1,100 ft (335.3 m) AMSL.")
    assert "closed at every altitude, 10,000 ft (3,048 m) AMSL is not allowed." in text
    assert "nothing is asked." in text


def test_a_rule_of_two_sets_is_printed_once_and_named_in_the_other() -> None:
    text = page_text(document_html(SETS))
    assert text.count("[sera-3105]") == 2
    assert "[sera-3105]: as in the set eu." in text


def test_the_same_sets_give_the_same_bytes(tmp_path: Path) -> None:
    for name in ("rules.html", "rules.md", "rules.pdf"):
        one, two = tmp_path / f"1-{name}", tmp_path / f"2-{name}"
        write_rules_document(SETS, one)
        write_rules_document([*map(load_rule_set, builtin_rule_sets()), builtin_manoeuvres()], two)
        assert one.read_bytes() == two.read_bytes()
        assert len(one.read_bytes()) > 50_000
    assert len(list(tmp_path.iterdir())) == 6


def test_what_a_file_says_is_never_markup() -> None:
    us = load_rule_set("us")
    evil = "<script>alert(1)</script> & **bold** [link](x)"
    wicked = evolve(us, rules=(evolve(us.rules[0], quote=evil, title=evil),), title=evil)
    page = document_html([wicked])
    assert html.escape(evil) in page
    assert evil in page_text(page)
    assert "script>" not in document_markdown([wicked]).replace("script\\>", "")
    assert evil in unescaped_markdown(document_markdown([wicked]))


def test_a_wrong_ending_and_a_missing_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ending in \.html, \.pdf or \.md"):
        write_rules_document(SETS, tmp_path / "rules.docx")
    with pytest.raises(InputError, match="--document"):
        write_rules_document(SETS, tmp_path / "none" / "rules.md")
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(ValueError, match="paper 'a5'"):
        write_rules_document(SETS, tmp_path / "rules.pdf", "a5")


TABLES = [
    *(("data", f"{name}.toml") for name in builtin_rule_sets()),
    ("manoeuvres", "handbook.toml"),
]
# What the files say in words of their own for programs: the document tells it in sentences.
TOLD_OTHERWISE = {"kind", "where", "counts", "airspace_types", "airspace_classes", "entry"}
TOLD_OTHERWISE |= {"activity", "applies_to", "ground", "top_amsl"}
EXAMPLE_HEIGHTS = {"terrain", "floor", "altitude", "top", "distance"}  # told in feet and metres
UNLIMITED = "unlimited"  # a height; told as "at any altitude"


def words_of_file(value, key=""):
    """Every text and day of a rule file that a reader must meet."""
    if isinstance(value, dict):
        for name, one in value.items():
            if name not in TOLD_OTHERWISE | EXAMPLE_HEIGHTS:
                yield from words_of_file(one, name)
    elif isinstance(value, list):
        for one in value:
            yield from words_of_file(one, key)
    elif isinstance(value, str | date) and value != UNLIMITED:
        yield key, str(value)


def heights_of_example(value):
    """Every height and distance of a worked example, as the file has it."""
    for name, one in value.items():
        if name == "things":
            for thing in one:
                yield from heights_of_example(thing)
        elif name in EXAMPLE_HEIGHTS and one not in ("none", "closed"):
            yield one


def as_told(height):
    """How the document has it; a nautical mile is 1 852 m (BIPM SI brochure, 9th ed.)."""
    number, unit = height.removesuffix(" AMSL").split(" ")
    if unit == "NM":
        return f"({float(number) * 1852:,.1f}".removesuffix(".0") + " m)"
    return f"({number} m)" if unit == "m" else f"{number} {unit} ("


@pytest.fixture(scope="module")
def pages():
    """All that stands on the pages of the PDF."""
    return squeezed(pdf_words(document_as_pdf(rules_document(SETS))))


@pytest.mark.parametrize(("folder", "name"), TABLES)
def test_no_word_of_a_rule_file_is_lost_on_paper(pages, folder, name):
    """The files as a plain reader of TOML gives them, against the pages of the PDF."""
    text = (resources.files("areaplan.rules") / folder / name).read_text(encoding="utf-8")
    lost = [(k, w) for k, w in words_of_file(tomllib.loads(text)) if squeezed(w) not in pages]
    assert lost == []


@pytest.mark.parametrize("name", builtin_rule_sets())
def test_each_figure_of_an_example_stands_beside_its_rule(name):
    text = (resources.files("areaplan.rules") / "data" / f"{name}.toml").read_text("utf-8")
    parts = [one for part in rules_document([load_rule_set(name)]).parts for one in part.sections]
    followed = {
        block.rule: next_block
        for section in parts
        for block, next_block in pairwise((*section.blocks, None))
        if isinstance(block, Quoted)
    }
    for rule in tomllib.loads(text).get("rule", ()):
        examples = rule.get("example", ())
        told = followed[rule["id"]].items if examples else ()
        for example, sentence in zip(examples, told, strict=True):
            assert example["source"] in sentence
            for height in heights_of_example(example):
                assert as_told(height) in sentence, (rule["id"], height)


def test_no_word_of_the_document_is_lost_on_paper(pages):
    document = rules_document(SETS)
    told = [text for text in texts_of(document) if text is not None]
    assert len(told) > 1000
    assert [text for text in told if squeezed(text) not in pages] == []
    assert squeezed(document.running) in pages


def test_the_foot_of_the_page_keeps_its_spaces():
    """CSS Syntax 3, 4.3.7: one space after a code belongs to the code."""
    page = document_as_html(evolve(rules_document(SETS[:1]), running="a; b;c"))
    assert r'"a\00003b  b\00003bc"' in page


def test_the_foot_of_the_page_has_one_line():
    assert rules_document(SETS[:2]).running.startswith("Rules of australia, canada, last checked ")
    assert rules_document(SETS).running.startswith(f"Rules of {len(SETS)} sets, last checked ")


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_it_is_a_tagged_document_on_its_paper(paper, tmp_path):
    """ISO 14289-1 (PDF/UA-1); ANSI Letter 612 x 792, ISO 216 A4 595 x 842 points of 1/72 inch."""
    write_rules_document(SETS[:1], tmp_path / "rules.pdf", paper)
    pdf = (tmp_path / "rules.pdf").read_bytes()
    assert sizes_of(pdf) == {{"letter": (612, 792), "a4": (595, 842)}[paper]}
    objects = objects_of(pdf)
    assert re.search(rb"pdfuaid:part[>=\"]+1", objects)
    assert b"/Marked true" in objects
    for word in (b"/URI", b"/JavaScript", b"/Launch", b"/EmbeddedFile"):
        assert word not in objects


def blocks_of(document, kind):
    sections = (section for part in document.parts for section in part.sections)
    return [block for one in sections for block in one.blocks if isinstance(block, kind)]


def test_each_row_is_quoted_once_and_counted():
    document = rules_document(SETS)
    rows = {row for one in SETS for row in (*one.rules, *one.weather, *one.manoeuvres)}
    quoted = blocks_of(document, Quoted)
    assert sorted(one.rule for one in quoted) == sorted(row.id for row in rows)
    confirmed = sum(bool(row.confirm) for row in rows)
    assert document.verdict.endswith(f"10 manoeuvres; {confirmed} of them to be confirmed.")


def test_law_policy_and_advisories_stand_apart():
    us = load_rule_set("us")
    (part,) = rules_document([us]).parts
    asked = {
        section.title.split(":")[0]: {one.rule for one in section.blocks if hasattr(one, "rule")}
        for section in part.sections
    }
    aloud = {rule.id for rule in us.rules if rule.kind is RuleKind.BRIEFING}
    assert asked["To be read aloud"] == aloud != set()
    for title, severity in (("Law", "law"), ("Advisory", "advisory")):
        assert asked[title] == {rule.id for rule in us.rules if rule.severity == severity} - aloud
    assert "Policy" not in asked


def test_the_examples_of_a_choice_of_fields_are_told():
    us = load_rule_set("us")
    asked = ChoiceExample("chief flight instructor", 12, 1, is_allowed=False)
    rule = evolve(us.rules[0], examples=(), choice_examples=(asked,))
    text = document_as_text(rules_document([evolve(us, rules=(rule,), path=Path("own.toml"))]))
    assert (
        "Example (chief flight instructor): 12 of 12 directions lead to a field within gliding "
        "distance, 1 separate field in all: not allowed."
    ) in " ".join(text.split())
    assert "no test has run the examples of another file" in " ".join(text.split())
    assert "File: own.toml" in text


def test_sets_of_one_name_and_none_at_all_are_printed():
    us = load_rule_set("us")
    twice = rules_document([us, us])
    assert len(blocks_of(twice, Quoted)) == len(us.rules) + len(us.weather)
    told = [item for block in blocks_of(twice, Bullets) for item in block.items]
    assert sum(item.endswith(": as in the set us.") for item in told) == len(us.rules) + len(
        us.weather
    )
    assert document_as_pdf(rules_document([])).startswith(b"%PDF")


def test_it_needs_the_typesetter_for_pdf_only(monkeypatch, tmp_path):
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    with pytest.raises(InputError, match=r"areaplan\[pdf\]"):
        write_rules_document(SETS, tmp_path / "rules.pdf")
    write_rules_document(SETS, tmp_path / "rules.html")
    assert [path.name for path in tmp_path.iterdir()] == ["rules.html"]
