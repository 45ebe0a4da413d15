"""`areaplan wind`, and the rose in `areaplan map`, in a process of their own."""

import json
from xml.etree import ElementTree

import numpy as np
import pytest

from tests.cli.running import run
from tests.planning.builder import Country, box
from tests.render.unpacking import Page, unpacked

NONE = ("obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive")
SIZE = {"cell": "100 m", "around": "1 NM"}


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wind")
    country = Country(folder).terrain(half_m=4000.0)
    country.features("fields", [(box(-700, -150, -100, 450), {"name": "<i>West</i> field"})])
    (folder / "wind.csv").write_text(
        "direction_deg_true,speed_kt,frequency\n,0,30\n270,4,60\n0,60,10\n", encoding="utf-8"
    )
    country.none(*NONE).more('[climatology]\nfile = "wind.csv"\nsource = "invented"\n')
    return country.project(wind="270/5 kt", **SIZE)


def test_json_figure_and_status(project, tmp_path):
    figure = tmp_path / "rose.svg"
    done = run("wind", project, "--altitude", "2800 ft AMSL", "--figure", figure, "--json")
    told = json.loads(done.stdout)
    assert done.returncode == {"MET": 0, "NOT_MET": 1}[told["verdict"]]
    assert told["verdict"] == "MET", done.stderr
    assert told["altitude_amsl_ft"] == 2800
    assert told["figure"] == str(figure)
    assert len(told["directions"]) == 16
    limits = {row["from_deg_true"]: row["limit_kt"] for row in told["directions"]}
    assert limits[270.0] >= 5
    assert told["year"]["holds"] == pytest.approx(0.9)
    assert ElementTree.parse(figure).getroot().tag.endswith("svg")
    low = run("wind", project, "--altitude", "2000 ft AMSL")
    assert low.returncode == 1
    assert "NOT MET" in low.stdout
    assert "of the year" in low.stdout


def test_unknown_has_its_own_status(tmp_path):
    def hole(x_m, y_m):
        return np.where((x_m > 700.0) & (y_m > 700.0), np.nan, 300.0)

    country = Country(tmp_path).terrain(hole, half_m=4000.0)
    country.features("fields", [(box(-4000, -4000, 500, 4000), {"name": "Plain"})]).none(*NONE)
    done = run("wind", country.project(planned='["3000 ft AMSL"]', **SIZE))
    assert done.returncode == 3, done.stderr
    assert "unknown even in calm" in done.stdout


def test_bad_input_is_told_with_its_fix(project, tmp_path):
    for words, said in (
        (["--altitude", "2800"], "unit"),
        (["--altitude", "9000 ft AMSL"], "planned_altitudes"),
        (["--altitude", "2000 ft AMSL", "--figure", tmp_path / "none" / "r.svg"], "--figure"),
    ):
        done = run("wind", project, *words)
        assert done.returncode == 2, words
        assert said in done.stderr
        assert "fix:" in done.stderr
        assert "Traceback" not in done.stderr
    table = project.parent / "wind.csv"
    right = table.read_text(encoding="utf-8")
    table.write_text(right.replace(",0,30", ",0,3"), encoding="utf-8")
    done = run("wind", project)
    table.write_text(right, encoding="utf-8")
    assert done.returncode == 2
    assert "sum to 73" in done.stderr


def test_the_map_embeds_the_rose_when_asked(project, tmp_path):
    target = tmp_path / "map.html"
    alone = run("map", project, "--altitude", "2800 ft AMSL", "--out", target)
    assert alone.returncode == 2
    assert not target.exists()
    done = run("map", project, "--wind-limits", "--altitude", "2800 ft AMSL", "--out", target)
    assert done.returncode in (0, 1), done.stderr
    assert "Wind limits at 2 800 ft AMSL" in target.read_text(encoding="utf-8")
    html = target.read_text(encoding="utf-8")
    _holds_the_limits_of_every_cell(html, project)
    assert '<svg xmlns="http://www.w3.org/2000/svg" role="img"' in html
    assert "<i>West" not in html[html.index("<aside") : html.index("</aside>")]


def _holds_the_limits_of_every_cell(html, project):
    """The least limit of the area's cells is the least of the directions over the whole area."""
    cells = Page(html).data["areaplan-cells"]
    (block,) = cells["arrays"]["wind_limit_kt"]
    least_kt = unpacked(block, cells["rows"], cells["cols"])
    told = json.loads(run("wind", project, "--altitude", "2800 ft AMSL", "--json").stdout)
    assert cells["wind"]["altitude_amsl_ft"] == told["altitude_amsl_ft"]
    in_area = least_kt[least_kt != cells["wind"]["outside"]]
    assert in_area.min() == min(row["limit_kt"] for row in told["directions"]) > 0
    assert in_area.max() > in_area.min()
