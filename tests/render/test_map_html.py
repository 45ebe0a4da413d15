"""The map's file as an HTML parser sees it: whole, self-contained, escaped, repeatable, small."""

import base64
import hashlib
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import attrs
import numpy as np
import pytest
import shapely

from areaplan.errors import InputError
from areaplan.render import map_figure, whole_file
from areaplan.render.map import LARGEST_FILE_BYTES, map_html, write_map
from areaplan.render.map_cells import as_script_json
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.map_figure import OfflineFigure, OfflineMap, leaflet_files
from areaplan.sources.layers import Layer, SourceKind, SourceRecord
from tests.render.plan_fixture import plan
from tests.render.scenery import FIELDS_M, FRAME, HOSTILE_NAMES
from tests.render.unpacking import Page, contrast

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def html():
    return map_html(plan())


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


# --- self-contained -------------------------------------------------------------------------


def test_every_script_and_style_that_runs_is_in_the_policy_and_nothing_else(html, page):
    """W3C CSP Level 3, 6.7.3.3: the hash is over the text of the element as UTF-8."""
    for tag, directive in (("script", "script-src"), ("style", "style-src")):
        hashes = {
            f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
            for text in page.texts[tag]
        }
        assert hashes == set(page.policy[directive])
    assert page.policy["default-src"] == ["'none'"]
    assert page.policy["img-src"] == ["data:", "blob:"]
    assert "connect-src" not in page.policy
    assert not [one for words in page.policy.values() for one in words if "unsafe" in one]
    assert "\r" not in html, "a browser hashes CR LF as LF"


def test_policy_stands_before_anything_that_it_governs(page):
    names = [tag for tag, _ in page.elements]
    first = next(i for i, (_, attributes) in enumerate(page.elements) if "http-equiv" in attributes)
    assert first < names.index("style")
    assert first < names.index("script")


def test_nothing_is_loaded_from_anywhere(page):
    for name in ("src", "srcset", "action", "poster", "background", "formaction", "style"):
        assert page.attribute(name) == []
    assert all(target.startswith("#") for target in page.attribute("href"))
    assert not [name for _, one in page.elements for name in one if name.startswith("on")]
    tags = {tag for tag, _ in page.elements}
    assert not tags & {"link", "iframe", "object", "embed", "base", "img", "video", "audio"}
    styles = " ".join(page.texts["style"])
    assert "url(" not in styles
    assert "@import" not in styles


def test_no_library_but_leaflet_comes_along(html):
    for word in ("jquery", "bootstrap", "fontawesome", "glyphicon", "sourcemappingurl"):
        assert word not in html.lower()
    assert html.count("Leaflet 1.9.4, a JS library") == 1
    assert "BSD 2-Clause" in html


def test_leaflet_is_the_published_one():
    """Subresource integrity values of Leaflet 1.9.4 as printed on leafletjs.com/download.html."""
    assert map_figure._LEAFLET_SHA256 == {
        "leaflet.js": "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=",
        "leaflet.css": "p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY=",
    }
    files = leaflet_files()
    assert 't.version="1.9.4"' in files["leaflet.js"]


def test_a_changed_leaflet_is_refused(monkeypatch):
    monkeypatch.setitem(map_figure._LEAFLET_SHA256, "leaflet.js", "A" * 43 + "=")
    with pytest.raises(RuntimeError, match=r"not Leaflet 1\.9\.4"):
        leaflet_files()


def test_an_unknown_link_is_refused():
    figure = OfflineFigure("t", {"leaflet.js": "1", "leaflet.css": "*{}"})
    chart = OfflineMap(location=[1.0, 2.0], tiles=None)
    chart.default_js = [*chart.default_js, ("other.js", "https://example.invalid/other.js")]
    figure.add_child(chart)
    with pytest.raises(LookupError, match=r"other\.js"):
        figure.offline_html()


# --- repeatable and small -------------------------------------------------------------------


def test_two_runs_in_two_processes_give_the_same_bytes(html):
    code = (
        "import hashlib; from tests.render.plan_fixture import plan; "
        "from areaplan.render.map import map_html; "
        "print(hashlib.sha256(map_html(plan()).encode()).hexdigest())"
    )
    digests = set()
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        )
        digests.add(done.stdout.strip())
    assert digests == {hashlib.sha256(html.encode()).hexdigest()}


def test_file_is_small(html):
    assert len(html.encode()) < LARGEST_FILE_BYTES == 12_000_000
    assert len(html.encode()) < 1_500_000, "100,000 cells took 0.7 MB when this was written"


# --- escaped --------------------------------------------------------------------------------


def test_no_name_becomes_markup(html, page):
    for raw in ("<script>window", "<img", "onerror=window.broken=1>", "<!--", "-->", "]]>"):
        assert any(raw in name for name in HOSTILE_NAMES)
        assert raw not in html
    tags = [tag for tag, _ in page.elements]
    assert "b" not in tags
    assert "i" not in tags
    assert "u" not in tags
    assert tags.count("script") == 3 + 1 + 1, "three blocks of data, Leaflet, the page's own"
    ends = html.count("</script>")
    assert ends == tags.count("script")
    assert "{{ 7*7 }}" in html
    assert "49 }}" not in html
    assert html.count("@@POLICY@@") == html.count("line\\u2028and\\u2029paragraph {{ 7*7 }}") + (
        html.count("line\u2028and\u2029paragraph {{ 7*7 }}")
    )


def test_names_reach_the_reader_whole(page):
    drawn = page.data["areaplan-drawn"]["layers"]
    assert drawn["area"][0][1] == HOSTILE_NAMES[1]
    assert {row[1] for row in drawn["fields"]} == {name for name, _ in FIELDS_M}
    assert [one["name"] for one in page.data["areaplan-table"]["fields"]] == [
        name for name, _ in FIELDS_M
    ]
    text = "".join(page.visible)
    assert "North area <b>" in text
    assert '"Invented" school' in text
    assert HOSTILE_NAMES[0] in text


def test_data_blocks_hold_no_bracket_and_no_line_separator(html):
    blocks = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', html, re.DOTALL)
    assert len(blocks) == 3
    for block in blocks:
        assert not re.search(r"[<>&\u2028\u2029]", block)


def test_numbers_that_json_cannot_say_are_an_error():
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_script_json({"a": float("nan")})


def test_direction_of_writing_stays_inside_a_name(html):
    """HTML standard, 4.5.24: bdi isolates; every name of the sheet stands in one."""
    sheet = html[html.index('<aside id="sheet"') : html.index("</aside>")]
    for start in ("\u202e", "\u200f"):
        for found in re.finditer(start, sheet):
            before = sheet[: found.start()]
            assert before.rfind("<bdi>") > before.rfind("</bdi>")


# --- the sheet ------------------------------------------------------------------------------


def test_sheet_carries_every_fixed_part(page):
    text = " ".join(" ".join(page.visible).split())
    for words in (
        "Planning aid only, not for navigation.",
        "Most wires and most objects below 200 ft are in no database",
        "2026-11-25",
        "UNKNOWN",
        "At the planned altitudes",
        "No block:",
        "210/14 kt",
        "65 kt",
        "9 : 1",
        "leaves 7.2 : 1",
        "0.25 NM",
        "980 to 1040 hPa",
        "Confirm before use:",
        "An invented sentence: 500 feet above the surface.",
        "NAVD88",
        "0123456789ab",
        "no woods & wires",
        "permission: letter of agreement",
    ):
        assert words in text, words


def test_expired_data_are_loud(page):
    alerts = [one for _, one in page.elements if one.get("class") == "expired-data"]
    assert alerts[0]["role"] == "alert"
    text = " ".join(" ".join(page.visible).split())
    assert "Expired data" in text
    assert "EXPIRED" in text
    assert text.index("Expired data") < text.index("At the altitude chosen")


def test_nothing_is_called_expired_when_nothing_is():
    made = attrs.evolve(plan(), sources=plan().sources[:2], warnings=())
    text = " ".join(Page(map_html(made)).visible)
    assert "xpired" not in text
    assert "EXPIRED" not in text


def test_page_is_accessible_on_its_face(page):
    """WCAG 2.2: 3.1.1 language, 1.3.1 headings, 4.1.2 names, 4.1.3 status messages."""
    tags = [tag for tag, _ in page.elements]
    assert page.elements[0] == ("html", {"lang": "en"})
    assert tags.count("h1") == tags.count("main") == tags.count("title") == 1
    labels = set(page.attribute("for"))
    for tag, one in page.elements:
        if tag in ("input", "select"):
            assert one["id"] in labels or one.get("aria-label")
        if one.get("role") == "img":
            assert one["aria-label"]
    ids = page.attribute("id")
    assert len(ids) == len(set(ids))
    assert set(page.attribute("aria-controls")) <= set(ids)
    assert set(page.attribute("aria-labelledby")) <= set(ids)
    assert "polite" in page.attribute("aria-live")
    viewport = next(one["content"] for _, one in page.elements if one.get("name") == "viewport")
    assert "user-scalable" not in viewport
    assert "maximum-scale" not in viewport


def test_text_and_patterns_have_contrast():
    """WCAG 2.2, 1.4.3 (text, 4.5 : 1) and 1.4.11 (graphics, 3 : 1)."""
    css = (ROOT / "areaplan/render/page/page.css").read_text(encoding="utf-8")
    colours = dict(re.findall(r"--(\w+): (#[0-9A-F]{6})", css))
    for ground in (colours["paper"], colours["shade"], "#FFFFFF"):
        for text in ("ink", "soft", "alarm"):
            assert contrast(colours[text], ground) >= 4.5, (text, ground)
        assert contrast(colours["focus"], ground) >= 3.0
        assert contrast(colours["rule"], ground) >= 2.8
    assert contrast("#FFFFFF", colours["alarm"]) >= 4.5
    for style in CLASS_STYLES:
        if style.pattern != "plain":
            assert contrast(style.fill, style.ink) >= 4.0, style
    assert contrast(colours["ink"], "#FFFFFF") >= 3.27, "lines on their white casing"


def test_every_class_has_a_pattern_of_its_own():
    assert len({style.pattern for style in CLASS_STYLES}) == 5
    assert [int(style.cell_class) for style in CLASS_STYLES] == [0, 1, 2, 3, 4]


# --- writing --------------------------------------------------------------------------------


def test_written_file_is_the_html_and_nothing_is_left_beside_it(tmp_path, html):
    path = tmp_path / "map.html"
    write_map(plan(), path)
    assert path.read_bytes() == html.encode()
    assert [one.name for one in tmp_path.iterdir()] == ["map.html"]
    assert stat.S_IMODE(path.stat().st_mode) & 0o044


def test_a_failure_keeps_the_older_map_and_leaves_nothing(tmp_path, monkeypatch):
    path = tmp_path / "map.html"
    path.write_text("older")

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_file.os, "replace", fail)
    with pytest.raises(InputError, match="No space left"):
        write_map(plan(), path)
    assert path.read_text() == "older"
    assert [one.name for one in tmp_path.iterdir()] == ["map.html"]


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(InputError, match="cannot be written"):
        write_map(plan(), tmp_path / "nowhere" / "map.html")


def test_a_plan_without_fields_findings_volumes_or_block_is_drawn():
    bare = attrs.evolve(
        plan(), findings=(), volumes=(), standoffs=(), warnings=(), cautions=(), limits=()
    )
    text = " ".join(Page(map_html(bare)).visible)
    assert "None: no rule asks anything" in text
    assert "No airspace volume" in text


def test_fields_in_local_metres_close(page):
    for one, (_, shape) in zip(page.data["areaplan-table"]["fields"], FIELDS_M, strict=True):
        rings = [np.array(ring).reshape(-1, 2) for ring in one["rings_m"]]
        assert all((ring[0] == ring[-1]).all() for ring in rings)
        area = sum(shapely.Polygon(ring).area for ring in rings)
        assert area == pytest.approx(shape.area, rel=1e-3)
    assert FRAME.lat == 45.5


def test_a_source_of_no_file_is_named():
    record = SourceRecord(SourceKind.ASSEMBLIES, (), (), "none: looked on 2026-10-02")
    layers = attrs.evolve(plan().layers, assemblies=(Layer(record, ()),))
    made = attrs.evolve(plan(), layers=layers, sources=(*plan().sources, record))
    assert "none: looked on 2026-10-02" in " ".join(Page(map_html(made)).visible)
