"""Altitudes in a project file: whole feet above mean sea level."""

from __future__ import annotations

from typing import Final

from areaplan.errors import QuantityError
from areaplan.toml_tables import Table
from areaplan.units import FOOT_M, parse_altitude_amsl

ALTITUDES_AMSL_FT: Final = (-1000, 18000)  # lowest dry ground to where altitudes become levels

_WHOLE_FOOT_SLACK_FT: Final = 1e-6


def whole_feet_amsl(table: Table, key: str, text: str) -> int | None:
    """Read an altitude such as ``"2500 ft AMSL"``; None, and a fault noted, where it is none."""
    low, high = ALTITUDES_AMSL_FT
    fix = 'write it as "2500 ft AMSL"'
    try:
        value_ft = parse_altitude_amsl(text) / FOOT_M
    except QuantityError as error:
        table.note(key, error.found, error.expected, fix)
        return None
    whole_ft = round(value_ft)
    if abs(value_ft - whole_ft) > _WHOLE_FOOT_SLACK_FT:
        table.note(key, f"{text!r}, which is {value_ft:.2f} ft", "whole feet", fix)
    elif not low <= whole_ft <= high:
        table.note(key, repr(text), f"{low} ft AMSL to {high} ft AMSL", fix)
    else:
        return whole_ft
    return None
