"""A small invented country with everything that a briefing tells, names that bite included."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from tests.planning.builder import Country, box, lonlat, plain_country

HOSTILE = '</style><script>alert(1)</script> #panic("x") *b* $1$ \\ & "quoted" 100%'
QUIET = "Dell <b>farm</b>"
LANDMARKS = ("pond", "quarry", HOSTILE, "silo")
HOME_LON, HOME_LAT = lonlat(-6000.0, 500.0)
HOME = f'aerodrome = {{ name = "Ostrel", lat = {HOME_LAT!r}, lon = {HOME_LON!r} }}'
WORDS = f"""
[briefing]
revision = "7"
author = "A. Harbin"
review_by = 2027-03-31
{HOME}
landmarks = ["pond", "quarry", '{HOSTILE}', "silo"]
frequencies = [
  {{ station = "Ostrel Tower", frequency = "118.350", use = "class D", airspace = "OSTREL D" }},
  {{ station = "Plain area", frequency = "122.750", use = "calls in the area" }},
]
emergency = ["Duty desk: red board"]
lost_communication = ["Leave to the south."]
"""


def country(folder: Path) -> Country:
    """Obstacles inside, near and far; a wire across; two quiet places; airspace to one side."""
    made = Country(folder).terrain(lambda x, _: (1000.0 + x / 50.0) * 0.3048)
    made.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    made.features(
        "airspace",
        [
            (
                box(3000, -2000, 6000, 2000),
                {
                    "NAME": "OSTREL D",
                    "CLASS": "D",
                    "lower": "SFC",
                    "upper": "3500 ft AMSL",
                },
            )
        ],
    )
    made.features(
        "wires",
        [
            (
                {"type": "LineString", "coordinates": [lonlat(-3000, 200), lonlat(3000, 200)]},
                {"name": "Mill wires", "height": "40 ft"},
            )
        ],
    )
    made.features(
        "noise-sensitive",
        [
            (box(-300, -300, -100, -100), {"name": QUIET, "reason": "mares"}),
            (box(-8000, -8000, -7900, -7900), {"name": "Far chapel", "reason": "asked"}),
        ],
    )
    made.features(
        "roads",
        [
            (
                {"type": "LineString", "coordinates": [lonlat(-2500, -600), lonlat(2500, -600)]},
                {"name": "Mill Road"},
            ),
            (
                {"type": "LineString", "coordinates": [lonlat(500, -2500), lonlat(500, 2500)]},
                {"name": "Dell Lane"},
            ),
        ],
    )
    return made.none("structures", "congested", "assemblies", "persons", "sparse")


def obstacle_file(folder: Path) -> str:
    """A plain table of obstacles: one inside, one 0.3 NM outside, one far away."""
    rows = ["name,kind,lat,lon,top_agl_ft"]
    for name, x_m, y_m, agl in (
        ("in", 0, -500, 100),
        ("near", 1500, 0, 60),
        ("far", 4000, 0, 900),
    ):
        lon, lat = lonlat(x_m, y_m)
        rows.append(f"{name},mast,{lat:.8f},{lon:.8f},{agl}")
    (folder / "obstacles.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return (
        '[[source]]\nkind = "obstacles"\nfiles = ["obstacles.csv"]\nedition = "t"\ncovers = "all"\n'
    )


def project_path(folder: Path, words: str = WORDS, **keys: str) -> Path:
    return (
        country(folder)
        .more(obstacle_file(folder) + words)
        .project(planned='["1400 ft AMSL", "2500 ft AMSL"]', **keys)
    )


@cache
def plan_of_country(words: str = WORDS):
    return evaluate(read_project(project_path(Path(mkdtemp()), words)))


@cache
def bare_plan():
    """Without a [briefing] table, obstacles, wires or quiet places."""
    return evaluate(read_project(plain_country(Path(mkdtemp())).project()))
