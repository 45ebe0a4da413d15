"""A whole project file as text, to be changed in one place at a time."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from areaplan.errors import Fault, InputError
from areaplan.planning.project import Project
from areaplan.planning.project_file import read_project

TODAY = date(2026, 11, 25)

PROJECT = """\
[project]
name = "North practice area"
school = "Invented school"
area = "area.geojson"
planned_altitudes = ["2500 ft AMSL", "2,000 ft MSL"]
rules = ["us", "policy.toml"]
activities = ["training"]
day = 2026-11-24

[aircraft]
name = "two-seat trainer"
best_glide_speed = { value = "65 kt", source = "handbook 3-4" }
best_glide_ratio = { value = 9, source = "handbook 3-5" }
glide_derating = { value = "20 %", source = "flown on 2026-09-01" }
manoeuvre_speed = { value = "90 mph", source = "handbook 4-1" }
stall_speed = { value = "48 kt", source = "handbook 5-1" }

[wind]
value = "210/14 kt"
source = "forecast"

[margins]
arrival_height = "400 ft"

[grid]
cell = "50 m"

[[source]]
kind = "terrain"
files = ["terrain.tif", "terrain2.tif"]
edition = "2026-10"
effective = 2026-10-01
expires = 2027-10-01
vertical_datum = "EGM96"

[[source]]
kind = "structures"
files = ["structures.geojson"]
edition = "2026-10"
covers = "looked_at.geojson"
default_height = "30 ft"

[[source]]
kind = "structures"
files = ["more.gpkg"]
layer = "barns"
edition = "2026-11"
covers = "extent"
default_height = "12 m"

[[source]]
kind = "roads"
files = ["roads.geojson"]
edition = "2026-10"
covers = "all"
count_as = "vehicle"

[[source]]
kind = "assemblies"
none_because = "none seen on 2026-10-02, chief instructor"

[[permission]]
airspace = "R-0001"
reason = "letter of 2026-09-14"
expires = 2027-03-31
"""
FILES = (
    "area.geojson",
    "policy.toml",
    "terrain.tif",
    "terrain2.tif",
    "structures.geojson",
    "more.gpkg",
    "looked_at.geojson",
    "roads.geojson",
)


def folder_with_files(folder: Path) -> Path:
    """The files that the project names, empty."""
    for name in FILES:
        (folder / name).touch()
    return folder


def read(folder: Path, text: str) -> Project:
    path = folder / "project.toml"
    path.write_text(text, encoding="utf-8")
    return read_project(path, today=TODAY)


def read_or_faults(folder: Path, text: str) -> Project | tuple[Fault, ...]:
    try:
        return read(folder, text)
    except InputError as error:
        return error.faults


def faults_of(folder: Path, text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        read(folder, text)
    return caught.value.faults


def swapped(old: str, new: str, count: int = 1) -> str:
    assert old in PROJECT
    return PROJECT.replace(old, new, count)
