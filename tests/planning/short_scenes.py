"""Areas of which a part is closed, unknown or without a field, for what is said first."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import numpy as np

from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from tests.planning.builder import Country, box, lonlat

LOW_FT, HIGH_FT = 1600, 2500
LANDMARKS = ("bend of the road", "rail bridge", "Corvash mill", "old quarry")
_GONE_M = -400.0  # west of here no ground is known, in the scene that says so


def mixed_path(folder: Path, extra: str = "", *, is_dark: bool = False, rules: str = '["us"]'):
    """Fields to the west and south; class C over the east from 2,200 ft; two masts."""

    def ground_m(x_m, _):
        flat = np.full(np.shape(x_m), 1000.0 * 0.3048)
        return np.where((np.asarray(x_m) < _GONE_M) & is_dark, np.nan, flat)

    made = Country(folder).terrain(ground_m)
    made.features(
        "fields",
        [
            (box(-2200, -900, -1200, 1500), {"name": "Field West"}),
            (box(-1100, -2200, 600, -1300), {"name": "Field South"}),
            (box(-150, -150, 150, 150), {"name": "Field Middle"}),
        ],
    )
    made.features(
        "airspace",
        [
            (
                box(500, -3000, 3000, 3000),
                {
                    "NAME": "CORVASH C",
                    "CLASS": "C",
                    "lower": "2200 ft AMSL",
                    "upper": "4000 ft AMSL",
                },
            ),
            (
                box(-3000, -3000, -500, 0),
                {"NAME": "OSTREL D", "CLASS": "D", "lower": "SFC", "upper": "1200 ft AMSL"},
            ),
        ],
    )
    rows = ["name,kind,lat,lon,top_agl_ft"]
    for name, x_m, y_m, agl in (("in", 700, 700, 300), ("near", 0, 1500, 900)):
        lon, lat = lonlat(x_m, y_m)
        rows.append(f"{name},mast,{lat:.8f},{lon:.8f},{agl}")
    (folder / "obstacles.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    made.more(
        '[[source]]\nkind = "obstacles"\nfiles = ["obstacles.csv"]\nedition = "t"\ncovers = "all"\n'
    )
    made.none("structures", "congested", "assemblies", "noise-sensitive")
    return made.more(extra).project(
        planned=f'["{LOW_FT} ft AMSL", "{HIGH_FT} ft AMSL"]', rules=rules
    )


def words(gates: str = "", landmarks: bool = True) -> str:
    lon, lat = lonlat(-4000.0, 0.0)
    seen = f"landmarks = {list(LANDMARKS)!r}\n".replace("'", '"') if landmarks else ""
    return (
        f'{gates}\n[briefing]\naerodrome = {{ name = "Ostrel", lat = {lat!r}, lon = {lon!r} }}\n'
        f'{seen}frequencies = [\n  {{ station = "Ostrel Tower", frequency = "118.350", '
        'use = "class D", airspace = "OSTREL D" },\n  { station = "Plain area", '
        'frequency = "122.750", use = "calls" },\n]\n'
    )


def gate(name: str, use: str, x_m: float, y_m: float, altitude_ft: int, landmark: str = "") -> str:
    lon, lat = lonlat(x_m, y_m)
    seen = f'landmark = "{landmark}"\n' if landmark else ""
    return (
        f'[[gate]]\nname = "{name}"\nlat = {lat!r}\nlon = {lon!r}\n'
        f'altitude = "{altitude_ft} ft AMSL"\nuse = "{use}"\n{seen}'
    )


@cache
def scene(extra: str = "", *, is_dark: bool = False, rules: str = '["us"]'):
    """The plan of `mixed_path`."""
    folder = Path(mkdtemp())
    return evaluate(read_project(mixed_path(folder, extra, is_dark=is_dark, rules=rules)))
