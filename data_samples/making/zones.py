"""What people decided and drew: the practice area, and where which rule applies, with reasons."""

from __future__ import annotations

from functools import cache
from typing import Any

import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from making.frame import box_at
from making.ground import lake, marsh, nethrow_woods
from making.town import fairground, hospital_grounds, outline

Drawn = tuple[dict[str, Any], BaseGeometry]  # attributes, local metres


@cache
def practice_area() -> Polygon:
    """About 11 km by 9 km, its sides near section roads."""
    return Polygon(
        [
            (-5_600.0, -4_800.0),
            (300.0, -4_760.0),
            (5_600.0, -4_800.0),
            (5_700.0, -250.0),
            (5_480.0, 4_080.0),
            (0.0, 4_220.0),
            (-5_700.0, 3_950.0),
            (-5_480.0, -650.0),
        ]
    )


def congested() -> list[Drawn]:
    """Built-up ground; no law gives it a number, so a person decides and says why."""
    estate = box_at(8_300.0, -6_100.0, 900.0, 600.0, 70.0)
    return [
        (
            {
                "name": "Velmory",
                "reason": "Closely built town, about 400 buildings; drawn to the last houses by "
                "the chief instructor, 2026-10-02",
            },
            outline(),
        ),
        (
            {
                "name": "Tarn estate",
                "reason": "Holiday homes, full in summer; counted as a settlement to be careful",
            },
            estate,
        ),
    ]


def sparse() -> list[Drawn]:
    """Open water, and range land with next to nobody on it."""
    west = Polygon(
        [
            (-6_350.0, 500.0),
            (-3_300.0, 420.0),
            (-3_300.0, 1_500.0),
            (-4_750.0, 2_350.0),
            (-6_350.0, 2_250.0),
        ]
    )
    return [
        (
            {
                "name": "West range",
                "reason": "Range land, one farmstead in two square miles; drawn by the chief "
                "instructor, 2026-10-02",
            },
            west,
        ),
        ({"name": "Lake Corvash", "reason": "Open water"}, lake()),
    ]


def assemblies() -> list[Drawn]:
    """Where a crowd stands in the open on some days."""
    return [
        (
            {
                "name": "Velmory fairground",
                "reason": "Shows most week-ends from May to October; counted all year",
            },
            fairground(),
        )
    ]


def noise_sensitive() -> list[Drawn]:
    """Places that ask for quiet."""
    return [
        ({"name": "Velmory hospital", "reason": "Hospital"}, hospital_grounds()),
        (
            {
                "name": "Corvash wildlife refuge",
                "reason": "National refuge: waterfowl; 2,000 ft above the surface is requested",
            },
            shapely.union(lake(), marsh()).buffer(90.0, 4).simplify(10.0),
        ),
        (
            {"name": "Ostrel horse ranch", "reason": "Young horses; the owner wrote on 2026-05-12"},
            box_at(-4_900.0, 2_950.0, 640.0, 420.0, 80.0),
        ),
    ]


def persons() -> list[Drawn]:
    """Places where people and boats are found on an ordinary day."""
    west_shore = shapely.get_coordinates(lake())[10]
    return [
        (
            {"name": "Lake Corvash bathing beach", "presence": "person"},
            Point(west_shore).buffer(60.0, 3),
        ),
        (
            {"name": "Lake Corvash boats", "presence": "vessel"},
            lake().buffer(-150.0).simplify(15.0),
        ),
        (
            {"name": "Gravel pit", "presence": "vehicle", "height": "20 ft"},
            box_at(-4_400.0, 1_150.0, 260.0, 170.0, 20.0),
        ),
        (
            {"name": "River footpath", "presence": "person"},
            LineString([(-4_300.0, 1_350.0), (-3_900.0, 1_100.0), (-3_500.0, 800.0)]),
        ),
    ]


def surveyed() -> list[Drawn]:
    """How far out the wires were looked for, on the ground and from the air."""
    return [
        (
            {"name": "Driven and flown round"},
            shapely.union(practice_area().buffer(6_500.0, 4), nethrow_woods()),
        )
    ]
