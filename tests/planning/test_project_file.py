"""The project file: what is read from it, in which units and with which defaults."""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

import pytest

from areaplan.planning.project_file import read_project
from areaplan.sources.layers import SourceKind
from tests.planning.project_text import (
    PROJECT,
    TODAY,
    faults_of,
    folder_with_files,
    read,
    swapped,
)

FEET_PER_METRE = 1 / 0.3048  # international foot, NIST SP 811 appendix B.6
MPS_PER_KNOT = 1852 / 3600  # BIPM SI brochure, 9th edition, table 8 note
MPS_PER_MPH = 1609.344 / 3600  # NIST SP 811


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return folder_with_files(tmp_path)


def test_the_whole_file_arrives_in_si(folder: Path) -> None:
    project = read(folder, PROJECT)
    assert project.planned_altitudes_amsl_ft == (2000, 2500)
    assert project.aircraft.best_glide_speed_mps == pytest.approx(65 * MPS_PER_KNOT)
    assert project.aircraft.manoeuvre_speed_mps == pytest.approx(90 * MPS_PER_MPH)
    assert project.aircraft.best_glide_ratio == 9.0
    assert project.aircraft.glide_ratio_used == pytest.approx(7.2)
    assert project.aircraft.figure_sources == {
        "best_glide_speed": "handbook 3-4",
        "best_glide_ratio": "handbook 3-5",
        "glide_derating": "flown on 2026-09-01",
        "manoeuvre_speed": "handbook 4-1",
        "stall_speed": "handbook 5-1",
    }
    assert (project.wind.from_deg_true, project.wind.speed_mps) == (210.0, 14 * MPS_PER_KNOT)
    assert project.margins.arrival_height_m == pytest.approx(400 / FEET_PER_METRE)
    assert project.cell_m == 50.0
    assert project.day == date(2026, 11, 24)
    assert project.permissions[0].expires == date(2027, 3, 31)


def test_margins_and_grid_have_the_stated_defaults(folder: Path) -> None:
    text = swapped('[margins]\narrival_height = "400 ft"\n', "").replace(
        '[grid]\ncell = "50 m"\n', ""
    )
    project = read(folder, text)
    margins = project.margins
    assert margins.airspace_lateral_m == 463.0  # a quarter of 1,852 m
    assert margins.airspace_vertical_m == pytest.approx(30.48)
    assert margins.glide_clearance_m == pytest.approx(30.48)
    assert margins.arrival_height_m == pytest.approx(91.44)
    assert margins.reaction_time_s == 4.0
    assert margins.turn_bank_deg == 30.0
    assert (margins.qnh_lowest_pa, margins.qnh_highest_pa) == (98_000.0, 104_000.0)
    assert (project.cell_m, project.around_m) == (25.0, 4630.0)


def test_sources_carry_paths_heights_and_key(folder: Path) -> None:
    area, terrain, first, second, roads, assemblies = read(folder, PROJECT).sources
    assert area.kind is SourceKind.AREA
    assert area.key == "project.area"
    assert area.paths == (folder / "area.geojson",)
    assert terrain.names == ("terrain.tif", "terrain2.tif")
    assert terrain.expires == date(2027, 10, 1)
    assert first.covers_path == folder / "looked_at.geojson"
    assert first.default_height_m == pytest.approx(9.144)
    assert (second.key, second.layer, second.covers) == ("source[3]", "barns", "extent")
    assert second.covers_path is None
    assert second.default_height_m == 12.0
    assert roads.presence == "vehicle"
    assert assemblies.none_because.startswith("none seen")
    assert assemblies.paths == ()


def test_digest_is_of_the_bytes(folder: Path) -> None:
    project = read(folder, PROJECT)
    assert project.sha256 == hashlib.sha256(PROJECT.encode()).hexdigest()


def test_day_defaults_to_today(folder: Path) -> None:
    text = swapped("day = 2026-11-24\n", "")
    assert read(folder, text).day == TODAY
    assert read_project(folder / "project.toml").day == date.today()


def test_a_byte_order_mark_is_passed_over(folder: Path) -> None:
    path = folder / "project.toml"
    path.write_bytes(b"\xef\xbb\xbf" + PROJECT.encode())
    assert read_project(path).name == "North practice area"


def test_none_because_stands_without_anything_else(folder: Path) -> None:
    text = PROJECT + '\n[[source]]\nkind = "wires"\nnone_because = "none"\ncovers = "all"\n'
    assert read(folder, text).sources[-1].none_because == "none"
    faults = faults_of(folder, text + 'default_height = "40 ft"\nlayer = "x"\n')
    assert [fault.key for fault in faults] == ["source[6].layer", "source[6].default_height"]


def test_without_a_default_height_the_reader_decides(folder: Path) -> None:
    text = swapped('default_height = "30 ft"\n', "")
    assert read(folder, text).sources[2].default_height_m is None
