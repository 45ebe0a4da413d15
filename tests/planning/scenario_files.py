"""The sample data read by other means than areaplan's own readers."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import geopandas as gpd

from areaplan.planning.starter import scenario_directory

SCENARIO = scenario_directory()
STARTER = SCENARIO.parent / "starter"
SAMPLES = SCENARIO.parent
HOSTILE = "Dell <script>alert(1)</script> farm"
FOOT_M = 0.3048  # NIST SP 811, appendix B.6
NAUTICAL_MILE_M = 1852.0  # BIPM SI brochure, 9th edition, table 8 note
UTM_14N = "EPSG:32614"  # an independent frame: its scale is 0.9996 here, good to 0.05 %

# Columns of the fixed-width obstacle layout, counted from 1, both ends included, as decoded from
# records of the published file (facts.md 4.1).
COLUMNS = {
    "oas": (1, 9, r"\d\d-\d{6}"),
    "verified": (11, 11, r"[OU]"),
    "country": (13, 14, r"[A-Z]{2}"),
    "state": (16, 17, r"[A-Z]{2}|  "),
    "city": (19, 34, r"[A-Z ]{16}"),
    "lat": (36, 47, r"\d\d \d\d \d\d\.\d\d[NS]"),
    "lon": (49, 61, r"\d{3} \d\d \d\d\.\d\d[EW]"),
    "type": (63, 80, r"[A-Z0-9 \-]{18}"),
    "quantity": (82, 82, r"\d"),
    "agl": (84, 88, r"\d{5}"),
    "amsl": (90, 94, r"[-\d]\d{4}"),
    "lighting": (96, 96, r"[RDHMSFCWLNU ]"),
    "horizontal": (98, 98, r"[1-9 ]"),
    "vertical": (100, 100, r"[A-I ]"),
    "marking": (102, 102, r"[PWMFSNU ]"),
    "study": (104, 117, r"[0-9A-Z ]{14}"),
    "action": (119, 119, r"[ACD]"),
    "julian": (121, 127, r"\d{7}"),
}
# Plus or minus feet by accuracy code: FAA Order 8260.19J, appendix C; unknown counts as 4D.
HORIZONTAL_FT = {"1": 20, "2": 50, "3": 100, "4": 250, "5": 500, " ": 250}
VERTICAL_FT = {"A": 3, "B": 10, "C": 20, "D": 50, "E": 125, " ": 50}


def features_of(path: Path) -> list[dict[str, Any]]:
    return json.loads(path.read_text(encoding="utf-8"))["features"]


def table(name: str) -> gpd.GeoDataFrame:
    return gpd.read_file(SCENARIO / f"{name}.geojson").to_crs(UTM_14N)


def records(path: Path) -> list[dict[str, str]]:
    lines = path.read_bytes().decode("ascii").split("\r\n")
    assert lines.pop() == ""
    return [decoded(line) for line in lines[4:]]


def decoded(line: str) -> dict[str, str]:
    assert len(line) == 128
    found = {name: line[first - 1 : last] for name, (first, last, _) in COLUMNS.items()}
    for name, (_, _, pattern) in COLUMNS.items():
        assert re.fullmatch(pattern, found[name]), (name, line)
    gaps = set(range(1, 129)) - {
        column for first, last, _ in COLUMNS.values() for column in range(first, last + 1)
    }
    assert {line[column - 1] for column in gaps} == {" "}
    return found


def degrees(text: str) -> float:
    parts = [float(part) for part in text[:-1].split()]
    size = parts[0] + parts[1] / 60 + parts[2] / 3600
    return -size if text[-1] in "SW" else size
