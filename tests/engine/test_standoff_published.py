"""Standoffs as the published rules word them, on a single cell so that the distance is plain.

Sources, as quoted in the project's notes on the rules:

- 14 CFR 91.119(b): "an altitude of 1,000 feet above the highest obstacle within a horizontal
  radius of 2,000 feet of the aircraft"; (c): "may not be operated closer than 500 feet to any
  person, vessel, vehicle, or structure" (Amdt. 91-311, 75 FR 5223, Feb. 1, 2010).
- 14 CFR 91.303(d): no aerobatic flight "Within 4 nautical miles of the center line of any Federal
  airway" (Amdt. 91-227).
- SERA.5005(f)(2), Reg. (EU) 923/2012: "150 m (500 ft) above the ground or water, or 150 m (500 ft)
  above the highest obstacle within a radius of 150 m (500 ft) from the aircraft".
- CAR Part 91 (New Zealand) 91.311(a)(2): 500 feet above the surface, or above any obstacle "within
  a horizontal radius of 150 metres from the point immediately below the aircraft".
"""

from __future__ import annotations

import math

import pytest
import shapely

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import standoff_floor
from areaplan.grid import Grid
from areaplan.units import FOOT_M, NAUTICAL_MILE_M

ONE_FOOT_M = FOOT_M
ROUNDING_M = 1e-9
CELL = Grid(x_min_m=-25.0, y_max_m=0.0, cell_m=25.0, rows=1, cols=1)  # its east edge at x = 0


def floor_m(
    geometry: shapely.Geometry, top_m: float, spread_m: float = 0.0, **rule: object
) -> float:
    features = FeatureSet.from_geometries([geometry], top_m, spread_m)
    return float(standoff_floor(CELL, features, **rule).amsl_m[0, 0])  # type: ignore[arg-type]


def building(away_m: float) -> shapely.Polygon:
    """A house whose west wall stands this far east of the cell."""
    return shapely.box(away_m, -20.0, away_m + 12.0, -10.0)


@pytest.mark.parametrize("away_ft", [0.0, 1.0, 1999.0, 2000.0])
def test_91_119_b_building_of_100_ft_within_2000_ft(away_ft: float) -> None:
    # The worked example of the rule: a 100 ft building on ground at sea level asks for 1,100 ft.
    floor = floor_m(
        building(away_ft * FOOT_M), 100 * FOOT_M,
        radius_m=2000 * FOOT_M, height_m=1000 * FOOT_M, profile="level",
    )  # fmt: skip
    assert floor == pytest.approx(1100 * FOOT_M, abs=ROUNDING_M)


def test_91_119_b_building_at_2001_ft_does_not_count() -> None:
    floor = floor_m(
        building(2001 * FOOT_M), 100 * FOOT_M,
        radius_m=2000 * FOOT_M, height_m=1000 * FOOT_M, profile="level",
    )  # fmt: skip
    assert floor == -math.inf


def test_91_119_b_building_at_2001_ft_with_a_spread_of_20_ft_counts() -> None:
    # Accuracy code 1A: 20 ft horizontally (FAA Order 8260.19J, app. C).
    floor = floor_m(
        building(2001 * FOOT_M), 100 * FOOT_M, 20 * FOOT_M,
        radius_m=2000 * FOOT_M, height_m=1000 * FOOT_M, profile="level",
    )  # fmt: skip
    assert floor == pytest.approx(1100 * FOOT_M, abs=ROUNDING_M)


def test_91_119_c_300_ft_above_at_400_ft_is_not_closer_than_500_ft() -> None:
    # 3-4-5 triangle: at 400 ft from the wall the lowest altitude is 300 ft above the roof.
    floor = floor_m(building(400 * FOOT_M), 30 * FOOT_M, radius_m=500 * FOOT_M, profile="slant")
    assert floor == pytest.approx(330 * FOOT_M, abs=ROUNDING_M)


def test_91_119_c_overhead_and_at_500_ft() -> None:
    overhead = floor_m(
        shapely.box(-30, -30, 5, 5), 30 * FOOT_M, radius_m=500 * FOOT_M, profile="slant"
    )
    assert overhead == pytest.approx(530 * FOOT_M, abs=ROUNDING_M)
    at_500 = floor_m(building(500 * FOOT_M), 30 * FOOT_M, radius_m=500 * FOOT_M, profile="slant")
    assert at_500 == -math.inf


def test_91_303_d_four_miles_from_the_centre_line_are_within() -> None:
    def closed(away_m: float) -> float:
        airway = shapely.LineString([(away_m, -90_000.0), (away_m, 60_000.0)])
        return floor_m(
            airway, 0.0, radius_m=4 * NAUTICAL_MILE_M, height_m=math.inf, profile="level"
        )

    assert closed(4 * NAUTICAL_MILE_M) == math.inf
    assert closed(4 * NAUTICAL_MILE_M + ONE_FOOT_M) == -math.inf


def test_sera_5005_f_2_mast_of_120_m() -> None:
    def floor(away_m: float) -> float:
        over_mast = floor_m(
            shapely.Point(away_m, -10.0), 120.0, radius_m=150.0, height_m=150.0, profile="level"
        )
        return max(0.0 + 150.0, over_mast)  # 150 m above ground at sea level in any case

    assert floor(149.0) == 270.0
    assert floor(150.0) == 270.0
    assert floor(151.0) == 150.0


def test_new_zealand_barn_of_8_m() -> None:
    over_barn = floor_m(
        building(149.0), 8.0, radius_m=150.0, height_m=500 * FOOT_M, profile="level"
    )
    assert max(500 * FOOT_M, over_barn) == pytest.approx(8.0 + 152.4)


def test_exclusive_radius_leaves_the_radius_itself_out() -> None:
    rule = {"radius_m": 150.0, "height_m": 150.0, "profile": "level", "is_radius_inclusive": False}
    assert floor_m(building(150.0), 8.0, **rule) == -math.inf
    assert floor_m(building(149.875), 8.0, **rule) == 158.0
    assert floor_m(shapely.box(-30, -30, 5, 5), 8.0, **rule) == 158.0
    assert floor_m(shapely.box(-30, -30, 5, 5), 8.0, **{**rule, "radius_m": 0.0}) == -math.inf
