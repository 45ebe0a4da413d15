"""Airspace of the invented country, with the attribute names under which such files are published.

Circles are of typical size only; a planner reads the published boundary.
"""

from __future__ import annotations

from typing import Any, Final

import shapely
from shapely.geometry import LineString, Polygon

from making.frame import circle_lonlat, feet
from making.ground import height_m

VELMORY_AERODROME_M: Final = (-10_900.0, -8_200.0)
CORVASH_AERODROME_M: Final = (17_300.0, 15_400.0)
RANGE_M: Final = (9_000.0, 1_900.0)
Feature = tuple[dict[str, Any], shapely.Geometry]  # attributes, longitude/latitude


def _limits(lower: tuple[float, str], upper: tuple[float, str]) -> dict[str, Any]:
    return {
        "UPPER_DESC": "TI",
        "UPPER_VAL": upper[0],
        "UPPER_UOM": "FT",
        "UPPER_CODE": upper[1],
        "LOWER_DESC": "TI",
        "LOWER_VAL": lower[0],
        "LOWER_UOM": "FT",
        "LOWER_CODE": lower[1],
    }


def airspace_feature(
    name: str,
    letter: str,
    local_type: str,
    lower: tuple[float, str],
    upper: tuple[float, str],
    shape: Polygon,
) -> Feature:
    """One feature of a class airspace file; limits in feet with their published codes."""
    attributes = {
        "IDENT": name[:3],
        "NAME": f"{name} CLASS {letter}",
        "CLASS": letter,
        "LOCAL_TYPE": local_type,
        "TYPE_CODE": "CLASS",
        **_limits(lower, upper),
    }
    return attributes, shape


def class_airspace() -> list[Feature]:
    """A class D surface area, a class C with its shelf, and the class E floor between them."""
    top_ft = round(float(height_m(*VELMORY_AERODROME_M)) / feet(1.0) + 2500.0, -2)
    core, wide = (circle_lonlat(*CORVASH_AERODROME_M, radius) for radius in (5.0, 10.0))
    ring = Polygon(wide.exterior.coords, [core.exterior.coords[::-1]])
    return [
        airspace_feature(
            "VELMORY",
            "D",
            "CLASS_D",
            (0, "SFC"),
            (top_ft, "MSL"),
            circle_lonlat(*VELMORY_AERODROME_M, 4.1),
        ),
        airspace_feature("CORVASH", "C", "CLASS_C", (0, "SFC"), (5000, "MSL"), core),
        airspace_feature("CORVASH", "C", "CLASS_C", (2400, "MSL"), (5000, "MSL"), ring),
        airspace_feature(
            "OSTREL",
            "E",
            "CLASS_E5",
            (700, "AGL"),
            (17_999, "MSL"),
            circle_lonlat(0.0, 0.0, 12.0),
        ),
    ]


def special_use_airspace() -> list[Feature]:
    """A small restricted area east of the practice area, a military area high above."""
    common = {"CLASS": None, "CONT_AGENT": "INVENTED", "GMTOFFSET": "-6"}
    range_area = {
        "NAME": "R-0001",
        "TYPE_CODE": "R",
        **common,
        **_limits((0, "SFC"), (0, "MSL")),
        "UPPER_VAL": "4500",  # published as text
        "LOWER_VAL": "0",
        "TIMESOFUSE": "0800 - 1700, MON - FRI",
        "REMARKS": "invented; small arms",
    }
    high = {
        "NAME": "OSTREL MOA",
        "TYPE_CODE": "MOA",
        **common,
        **_limits((0, "MSL"), (0, "MSL")),
        "UPPER_DESC": "TNI",
        "UPPER_VAL": "18000",
        "LOWER_VAL": "8000",
        "TIMESOFUSE": "BY NOTAM",
        "REMARKS": "invented",
    }
    return [
        (range_area, circle_lonlat(*RANGE_M, 1.1)),
        (high, circle_lonlat(2_000.0, 3_000.0, 9.0)),
    ]


def airways() -> list[tuple[dict[str, Any], LineString]]:
    """One airway centreline north of the practice area, in local metres."""
    line = LineString([(-40_000.0, 14_000.0), (CORVASH_AERODROME_M[0], CORVASH_AERODROME_M[1])])
    return [({"name": "Airway V000", "kind": "airway"}, line)]
