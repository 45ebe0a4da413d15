"""The starter: all of it or nothing, never over somebody's work, and it passes as it stands."""

from __future__ import annotations

import os
import shutil
import tomllib
from pathlib import Path

import pytest
from attrs import evolve

import areaplan
from areaplan.errors import InputError
from areaplan.planning import starter
from areaplan.planning.briefing import make_briefing
from areaplan.planning.evaluation import evaluate
from areaplan.planning.flown import flown_scene
from areaplan.planning.plan import Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.routes import judge_all
from areaplan.planning.starter import scenario_directory, write_starter
from areaplan.render.figures.section import section_figures
from areaplan.rules.loading import load_rule_set, policy_template
from areaplan.sources.layers import SourceKind
from areaplan.units import KNOT_MPS

ROOT = Path(__file__).parents[2]
TO_FLY_BY = {
    SourceKind.RAILS,
    SourceKind.FENCES,
    SourceKind.SECTION_LINES,
    SourceKind.CANALS,
    SourceKind.LANDMARKS,
    SourceKind.REFERENCES,
}


def test_it_writes_a_project_that_can_be_read(tmp_path: Path) -> None:
    written = write_starter(tmp_path / "north")
    assert written[0] == tmp_path / "north" / "project.toml"
    assert sorted(written) == sorted((tmp_path / "north").iterdir())
    project = read_project(written[0])
    assert project.path == written[0]
    kinds = [spec.kind for spec in project.sources]
    # Every kind but those that only some rules ask for, airways (aerobatic) and sparse (a relief),
    # land cover, which proves no field, and what is only flown by.
    left_out = {SourceKind.AIRWAYS, SourceKind.SPARSE, SourceKind.LAND_COVER, *TO_FLY_BY}
    assert set(SourceKind) - set(kinds) == left_out
    assert all(path.is_file() for spec in project.sources for path in spec.paths)


def test_every_file_written_is_named_by_the_project(tmp_path: Path) -> None:
    project_file, *others = write_starter(tmp_path / "north")
    project = read_project(project_file)
    named = {path for spec in project.sources for path in spec.paths}
    named |= {path for path in project.rule_paths if path}
    assert named == set(others)


def test_the_policy_is_the_template(tmp_path: Path) -> None:
    write_starter(tmp_path / "north")
    policy = tmp_path / "north" / "policy.toml"
    assert policy.read_text(encoding="utf-8") == policy_template()
    assert load_rule_set("policy.toml", policy).rules


def test_comments_name_every_margin_with_its_default(tmp_path: Path) -> None:
    text = write_starter(tmp_path / "north")[0].read_text(encoding="utf-8")
    stated = read_project(tmp_path / "north" / "project.toml")
    lines = text.replace("# [margins]", "[margins]").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("[margins]"))
    end = next(i for i, line in enumerate(lines) if line.startswith("[grid]"))
    lines[start + 1 : end] = [line.removeprefix("# ") for line in lines[start + 1 : end]]
    spelt_out = tmp_path / "north" / "spelt_out.toml"
    spelt_out.write_text("\n".join(lines), encoding="utf-8")
    keys = set(tomllib.loads("\n".join(lines))["margins"])
    assert len(keys) == 8
    assert read_project(spelt_out).margins == stated.margins


def test_an_empty_folder_is_filled_in_place(tmp_path: Path) -> None:
    before = tmp_path.stat().st_ino
    written = write_starter(tmp_path)
    assert tmp_path.stat().st_ino == before
    assert sorted(written) == sorted(tmp_path.iterdir())


def test_a_relative_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert write_starter(Path())[0].is_file()
    assert write_starter(Path("second"))[0] == Path("second/project.toml")
    assert (tmp_path / "second" / "project.toml").is_file()


def test_a_new_folder_has_ordinary_rights(tmp_path: Path) -> None:
    (tmp_path / "plain").mkdir()
    write_starter(tmp_path / "north")
    assert (tmp_path / "north").stat().st_mode == (tmp_path / "plain").stat().st_mode


@pytest.mark.parametrize("name", ["notes.txt", ".hidden"])
def test_a_folder_that_holds_something_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match=r"it holds .*; expected an empty folder"):
        write_starter(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_file_and_a_missing_parent_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError, match="it is a file"):
        write_starter(file)
    assert file.read_text(encoding="utf-8") == "mine"
    with pytest.raises(InputError, match="there is no folder"):
        write_starter(tmp_path / "a" / "b")
    with pytest.raises(InputError):
        write_starter(tmp_path / ("x" * 5000))
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize("is_there", [True, False])
@pytest.mark.parametrize("failing", ["copy", "move"])
def test_nothing_half_written_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, is_there: bool, failing: str
) -> None:
    target = tmp_path / "north"
    if is_there:
        target.mkdir()
    calls = 0

    def full_disk(*args: object, **_: object) -> None:
        nonlocal calls
        calls += 1
        if calls > 3 or (failing == "move" and not is_there):
            raise OSError(28, "No space left on device")
        (real_copy if failing == "copy" else real_replace)(*args)

    real_copy, real_replace = shutil.copyfile, os.replace
    if failing == "copy":
        monkeypatch.setattr(starter.shutil, "copyfile", full_disk)
    elif is_there:
        monkeypatch.setattr(starter.os, "replace", full_disk)
    else:
        monkeypatch.setattr(Path, "rename", full_disk)
    with pytest.raises(InputError, match="No space left on device"):
        write_starter(target)
    assert calls
    assert list(tmp_path.iterdir()) == ([target] if is_there else [])
    if is_there:
        assert list(target.iterdir()) == []


def test_the_scenario_is_found_in_a_checkout() -> None:
    assert scenario_directory() == ROOT / "data_samples" / "scenario"


def test_the_scenario_is_found_where_the_wheel_puts_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = build["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    installed = tmp_path / wheel["data_samples"] / "scenario"
    installed.mkdir(parents=True)
    (installed / "project.toml").touch()
    monkeypatch.setattr(areaplan, "__file__", str(tmp_path / "areaplan" / "__init__.py"))
    assert scenario_directory() == installed
    with pytest.raises(InputError, match="install areaplan again"):
        write_starter(tmp_path / "north")


def test_the_weather_of_the_comments_can_be_switched_on(tmp_path: Path) -> None:
    path, *_ = write_starter(tmp_path / "area")
    lines = path.read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("# [weather]"))
    lines[start : start + 4] = [line.removeprefix("# ") for line in lines[start : start + 4]]
    assert read_project(path).weather is None
    path.write_text("\n".join(lines), encoding="utf-8")
    weather = read_project(path).weather
    assert weather is not None
    assert str(weather) == "visibility 10 km, ceiling 3200 ft AGL"


@pytest.mark.parametrize(
    ("first", "count"), [("[[wind_aloft]]", 4), ("[atmosphere]", 2), ("[climatology]", 3)]
)
def test_the_air_of_the_comments_can_be_switched_on(tmp_path: Path, first: str, count: int) -> None:
    path, *_ = write_starter(tmp_path / "area")
    (path.parent / "wind.csv").write_text("direction_deg_true,speed_kt,frequency\n,0,1\n")
    plain = read_project(path)
    lines = path.read_text(encoding="utf-8").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith(f"# {first}"))
    lines[start : start + count] = [
        line.removeprefix("# ") for line in lines[start : start + count]
    ]
    path.write_text("\n".join(lines), encoding="utf-8")
    told = read_project(path)
    names = ("winds_aloft", "isa_deviation_k", "climatology")
    assert sum(getattr(told, name) != getattr(plain, name) for name in names) == 1


def test_the_crosswind_limit_of_the_comments_can_be_switched_on(tmp_path: Path) -> None:
    path, *_ = write_starter(tmp_path / "area")
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("# crosswind_limit", "crosswind_limit"), encoding="utf-8")
    assert read_project(path).aircraft.crosswind_limit_mps == pytest.approx(12 * KNOT_MPS)


def test_gates_routes_time_and_briefing_of_the_comments_can_be_switched_on(tmp_path: Path) -> None:
    """All of them at once: judged, and printed with nothing left of the examples unread."""
    path, *_ = write_starter(tmp_path / "area")
    text = path.read_text(encoding="utf-8")
    begin = text.index("# [[gate]]")
    tables = [
        line.removeprefix("#").removeprefix(" ")
        for line in text[begin:].splitlines()
        if not line.startswith(("# When airspace", "# What only"))
    ]
    path.write_text("\n".join([text[:begin], *tables]), encoding="utf-8")
    project = read_project(path)
    assert [one.name for one in project.gates] == ["West gate"]
    assert project.routes[0].point_names == ("", "West gate")
    assert project.planned_time is not None
    assert [one.airspace for one in project.inactive] == ["NAME AS PUBLISHED"]
    assert project.briefing is not None
    assert project.section is not None
    plan = evaluate(evolve(project, inactive=()))
    answers = judge_all(flown_scene(plan))
    assert {one.verdict for one in (*answers.gates, *answers.routes)} == {Verdict.MET}
    found = make_briefing(plan, has_wind_limits=False, has_sites=False)
    assert len(found.corners) == 4
    assert len(section_figures(found)) == 2
