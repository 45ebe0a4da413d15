"""Tall things, as an obstacle file lists them: masts, turbines, the town's tank and elevator."""

from __future__ import annotations

from functools import cache
from typing import Final

from attrs import frozen

from making.frame import between, chance, feet
from making.ground import height_m
from making.lines import CROSSING_TOWER_FT, CROSSING_WIRE_FT, river_crossing, towers
from making.town import ELEVATOR_M, WATER_TOWER_M

_TURBINES: Final = 9
_FIRST_TURBINE_M: Final = (-9_450.0, 6_350.0)
_LAST_TURBINE_M: Final = (-4_750.0, 3_550.0)


@frozen
class Tall:
    """One line of the obstacle file; heights in whole feet, place in local metres."""

    city: str
    kind: str
    x_m: float
    y_m: float
    agl_ft: int
    lighting: str
    accuracy: str
    marking: str
    is_verified: bool = True

    @property
    def amsl_ft(self) -> int:
        """Top above mean sea level."""
        return round(float(height_m(self.x_m, self.y_m)) / feet(1.0)) + self.agl_ft


@cache
def tall_things() -> tuple[Tall, ...]:
    """All of them, in the order of the file."""
    masts = [
        Tall("VELMORY", "TOWER", 1_250.0, 2_420.0, 1100, "H", "1A", "P"),
        Tall("VELMORY", "TOWER", -3_980.0, -950.0, 320, "R", "2C", "P"),
        Tall("VELMORY", "TOWER", 3_560.0, -540.0, 245, "R", "4D", "N"),
        Tall("TARN OSTREL", "TOWER", -1_640.0, 3_520.0, 210, "N", "4D", "N", is_verified=False),
        Tall("TARN OSTREL", "TOWER", 8_240.0, 1_380.0, 380, "D", "1A", "N"),
        Tall("TARN OSTREL", "TOWER", -7_720.0, 1_120.0, 290, "R", "5E", "P"),
        Tall("VELMORY", "TOWER", 7_150.0, -6_480.0, 262, "", "", "", is_verified=False),
        Tall("VELMORY", "TANK", *WATER_TOWER_M, 155, "L", "1A", "N"),
        Tall("VELMORY", "GRAIN ELEVATOR", *ELEVATOR_M, 190, "N", "2C", "N"),
    ]
    crossing = river_crossing().centroid
    power = [
        Tall("VELMORY", "T-L TWR", x, y, round(height_ft), "R", "1A", "P")
        for x, y, height_ft in towers()
        if height_ft == CROSSING_TOWER_FT
    ]
    power.append(
        Tall("VELMORY", "CATENARY", crossing.x, crossing.y, round(CROSSING_WIRE_FT), "N", "2C", "S")
    )
    return (*masts, *power, *_turbines())


def _turbines() -> list[Tall]:
    stream = chance("turbines")
    found = []
    for number in range(_TURBINES):
        share = number / (_TURBINES - 1)
        x = _FIRST_TURBINE_M[0] + share * (_LAST_TURBINE_M[0] - _FIRST_TURBINE_M[0])
        y = _FIRST_TURBINE_M[1] + share * (_LAST_TURBINE_M[1] - _FIRST_TURBINE_M[1])
        off = between(stream, -70.0, 70.0)
        found.append(Tall("TARN OSTREL", "WINDMILL", x, y + off, 490, "R", "1A", "W"))
    return found
