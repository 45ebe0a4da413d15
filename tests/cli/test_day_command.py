"""`areaplan day` in a process of its own, and its page."""

import json

import pytest

from tests.cli.running import run
from tests.planning.builder import Country, box, plain_country
from tests.render.document_cases import sizes_of
from tests.render.test_rules_document import page_text

DAY = (
    *("--time", "2026-11-25T15:00+01:00", "--wind", "240/12"),
    *("--altimeter", "1019hPa", "--temperature", "12C"),
)
HOSTILE = "Dell <script>alert(1)</script> field"


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    country = Country(tmp_path_factory.mktemp("day")).terrain()
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": HOSTILE})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    return country.none("noise-sensitive").project()


def test_json_and_page(project, tmp_path):
    page = tmp_path / "day.html"
    done = run("day", project, *DAY, "--out", page, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["verdict"] == told["plan"]["verdict"] == "MET"
    assert told["page"] == str(page)
    assert told["wind"] == {"from_deg_true": 240.0, "speed_kt": 12.0}
    assert told["altimeter_setting_hpa"] == pytest.approx(1019.0)
    assert told["sun"]["light"] == "day"
    assert [row["event"] for row in told["sun"]["events"]][1:3] == ["sunrise", "sunset"]
    assert told["fields"][0]["counts"] is True
    assert -90 < told["magnetic_variation_deg_east"] < 90
    html = page.read_text(encoding="utf-8")
    assert "<script" not in html
    assert "http:" not in html.replace("http://www.w3.org/", "")  # namespaces of the drawing
    assert "https:" not in html
    assert HOSTILE in page_text(html)


def test_the_same_inputs_give_the_same_bytes(project, tmp_path):
    pages = [tmp_path / "one.html", tmp_path / "two.html"]
    for page in pages:
        assert run("day", project, *DAY, "--out", page).returncode == 0
    assert pages[0].read_bytes() == pages[1].read_bytes()


def test_a_page_as_pdf(project, tmp_path):
    page = tmp_path / "day.pdf"
    done = run("day", project, *DAY, "--out", page, "--paper", "a4")
    assert done.returncode == 0, done.stderr
    assert sizes_of(page.read_bytes()) == {(595, 842)}  # ISO 216 A4, 210 x 297 mm


def test_another_kind_of_file_is_refused_before_the_work(tmp_path):
    done = run("day", tmp_path / "none.toml", *DAY, "--out", tmp_path / "day.docx")
    assert done.returncode == 2
    assert "--out day.html" in done.stderr
    assert "none.toml" not in done.stderr


def test_text_tells_the_day(project):
    done = run("day", project, *DAY, "--station", "1000 ft AMSL")
    assert done.returncode == 0, done.stderr
    for words in (
        "15:00 local (UTC+01:00), 14:00 UTC",
        "30.09 inHg (1019 hPa)",
        "240/12 kt true",
        "density altitude",
        "lost per NM",
        "Night begins",
        "Weather needed",
        "Fields today: 1 of 1 count",
        "not for navigation",
    ):
        assert words in done.stdout


def test_too_much_wind_is_not_met(tmp_path):
    country = plain_country(tmp_path)
    (tmp_path / "policy.toml").write_text(POLICY, encoding="utf-8")
    project = country.project(rules='["us", "policy.toml"]')
    assert run("day", project, *DAY).returncode == 0
    strong = run("day", project, *DAY[:3], "240/26", *DAY[4:])
    assert strong.returncode == 1
    assert "too much wind" in strong.stdout


POLICY = """\
id = "test-policy"
title = "Test policy"
authority = "Test school"

[[rule]]
id = "test-wind"
title = "Greatest wind"
kind = "wind limit"
severity = "policy"
wind = "25 kt"
document = "Flying orders"
section = "1"
edition = "1"
last_checked = 2026-11-25
quote = "No lesson in more wind than 25 kt."
"""


@pytest.mark.parametrize(
    ("place", "value", "option"),
    [
        (1, "2026-11-25T15:00", "--time"),
        (1, "tomorrow", "--time"),
        (3, "240", "--wind"),
        (3, "240/80", "--wind"),
        (5, "30.10", "--altimeter"),
        (7, "12", "--temperature"),
    ],
)
def test_bad_input_is_told_with_its_fix(project, place, value, option):
    words = list(DAY)
    words[place] = value
    done = run("day", project, *words)
    assert done.returncode == 2
    assert option in done.stderr
    assert "fix:" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_page_that_cannot_be_written(project, tmp_path):
    done = run("day", project, *DAY, "--out", tmp_path / "none" / "day.html")
    assert done.returncode == 2
    assert "--out" in done.stderr


def test_what_makes_the_sheet_worthless_comes_first(project):
    late = run("day", project, "--time", "2026-11-25T23:00+01:00", *DAY[2:])
    text = late.stdout
    assert text.index("NOT BY DAY: at this time it is night") < text.index("Usable part")
    assert "No low sun" in text
