"""`areaplan compare` in a process of its own, and its page with the map of the difference."""

import json
import re
import shutil
from xml.etree import ElementTree

import pytest

from tests.cli.running import run
from tests.planning.builder import Country, box
from tests.render.document_cases import objects_of, sizes_of
from tests.render.test_rules_document import page_text

HOSTILE = "Dell <script>alert(1)</script> field"
SIZE = {"cell": "100 m", "around": "1.5 NM", "planned": '["2600 ft AMSL"]'}


def project(folder, fields):
    folder.mkdir()
    country = Country(folder).terrain(half_m=5000.0)
    country.features("fields", [(shape, {"name": name}) for shape, name in fields])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    return country.none("noise-sensitive").project(**SIZE)


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    folder = tmp_path_factory.mktemp("compare")
    plain = (box(-3000, -3000, 3000, 3000), "Plain")
    far = (box(2000, 2000, 3000, 3000), HOSTILE)
    return project(folder / "old", [plain]), project(folder / "new", [far])


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    return tmp_path_factory.mktemp("page") / "changes.html"


@pytest.fixture(scope="module")
def done(pair, page):
    return run("compare", *pair, "--page", page, "--json")


def test_json_page_and_status(done, page):
    assert done.returncode == 1, done.stderr
    told = json.loads(done.stdout)
    assert any("not for navigation" in words for words in told["cautions"])
    assert told["verdict"] == "NOT_MET"
    assert told["written"] == [str(page)]
    assert {row["change"] for row in told["things"]} == {"added", "removed"}
    assert told["cells"][0]["lost_share"] > 0.0
    assert told["compared"]["is_same_grid"] is True
    html = page.read_text(encoding="utf-8")
    assert "<script" not in html
    assert re.sub(r"http://www\.w3\.org/2000/svg", "", html).count("http:") == 0
    assert HOSTILE in page_text(html)
    svg = ElementTree.fromstring(re.search(r"<svg.*?</svg>", html, re.S)[0])
    space = "{http://www.w3.org/2000/svg}"
    fills = [path.get("fill") for path in svg.iter(f"{space}path")]
    assert "url(#c0-lost)" in fills
    assert "url(#c0-gained)" not in fills
    numbers = [text.text for text in svg.iter(f"{space}text") if (text.text or "").isdigit()]
    assert numbers == ["1", "2"]


def test_text_tells_it_the_gravest_first_and_the_page_has_the_same_bytes(
    pair, done, page, tmp_path
):
    again = tmp_path / "again.html"
    told = run("compare", *pair, "--page", again)
    assert told.returncode == done.returncode == 1, told.stderr
    for words in ("SOMETHING IS WORSE", "Before:", "Now:", "lost", "fields, added: 1"):
        assert words in told.stdout
    assert told.stdout.index("Worse than it was") < told.stdout.index("Shares of the area")
    assert again.read_bytes() == page.read_bytes()


def test_the_page_as_pdf(pair, tmp_path):
    """With maps in it, tagged (ISO 14289-1), and the same bytes each time."""
    pages = [tmp_path / "one.pdf", tmp_path / "two.pdf"]
    for page in pages:
        told = run("compare", *pair, "--page", page)
        assert told.returncode == 1, told.stderr
    assert pages[0].read_bytes() == pages[1].read_bytes()
    text = objects_of(pages[0].read_bytes())
    assert re.search(rb"pdfuaid:part[>=\"]+1", text)
    assert b"/Figure" in text
    assert sizes_of(pages[0].read_bytes()) == {(612, 792)}  # ANSI Letter, 8.5 x 11 in


def test_the_map_of_the_difference(pair, tmp_path):
    path = tmp_path / "difference.html"
    told = run("compare", *pair, "--map", path)
    assert told.returncode == 1, told.stderr
    assert told.stdout.rstrip().endswith(str(path))
    html = path.read_text(encoding="utf-8")
    assert "ground_lost@" in html
    assert "SOMETHING IS WORSE" in html


def test_a_saved_result_is_no_map_to_draw_on(pair, tmp_path):
    saved, path = tmp_path / "new.result", tmp_path / "difference.html"
    assert run("check", pair[1], "--save", saved).returncode in {0, 1, 3}
    told = run("compare", pair[0], saved, "--map", path)
    assert told.returncode == 2
    assert "a saved result, with --map" in told.stderr
    assert not path.exists()
    back = run("compare", saved, pair[0], "--map", path)
    assert back.returncode == 0, back.stderr
    assert "a saved result, made with areaplan" in path.read_text(encoding="utf-8")


def test_the_other_way_round_it_is_better(pair):
    back = run("compare", *reversed(pair))
    assert back.returncode == 0, back.stdout
    assert "nothing that matters is worse" in back.stdout


def test_a_copy_is_the_same(pair, tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(pair[1].parent, copy)
    told = run("compare", pair[1], copy / "project.toml")
    assert told.returncode == 0, told.stderr
    assert "No thing in any layer changed." in told.stdout


def test_bad_input(pair, tmp_path):
    for words, said in (
        ([pair[0], tmp_path / "none.toml"], "none.toml"),
        ([*pair, "--page", tmp_path / "none" / "map.html"], "--page"),
        ([*pair, "--page", tmp_path / "page.docx"], "--page page.html"),
    ):
        told = run("compare", *words)
        assert told.returncode == 2
        assert said in told.stderr
        assert "Traceback" not in told.stderr
