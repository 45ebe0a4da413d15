"""`areaplan brief`, run as a person runs it."""

import json

import pytest

from tests.cli.running import run
from tests.planning.briefing_country import project_path


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return project_path(tmp_path_factory.mktemp("brief"))


def test_it_writes_a_page_beside_the_project(project):
    done = run("brief", project, "--no-wind-limits", "--no-sites", "--paper", "a4")
    assert done.returncode == 1, done.stderr
    path, verdict = done.stdout.splitlines()[:2]
    assert path == str(project.with_name("project-briefing.html"))
    assert verdict.startswith("NOT MET")
    assert "size: A4;" in project.with_name("project-briefing.html").read_text(encoding="utf-8")


def test_json_tells_the_same_document(project, tmp_path):
    out = tmp_path / "area.pdf"
    done = run("brief", project, "--no-wind-limits", "--no-sites", "--out", out, "--json")
    assert done.returncode == 1, done.stderr
    told = json.loads(done.stdout)
    assert told["briefing"] == str(out)
    assert told["verdict"] == "NOT_MET"
    assert [part["name"] for part in told["document"]["parts"]][:2] == ["short", "area"]
    assert out.read_bytes().startswith(b"%PDF")


def test_a_file_that_cannot_be_is_refused_before_the_work(project, tmp_path):
    done = run("brief", project, "--out", tmp_path / "area.docx")
    assert done.returncode == 2
    assert "--out" in done.stderr
    assert list(tmp_path.iterdir()) == []
