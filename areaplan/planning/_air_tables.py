"""The parts of a project file that describe the air above the ground."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from areaplan.fault_words import describe
from areaplan.planning.project import WindAloft
from areaplan.toml_quantities import Bounds, read_parsed, read_quantity
from areaplan.toml_tables import Table
from areaplan.units import (
    FOOT_M,
    KNOT_MPS,
    parse_altitude_amsl,
    parse_temperature_deviation,
    parse_wind,
)

_CLOSEST_M: Final = 100.0 * FOOT_M
_ISA_DEVIATION: Final = Bounds(parse_temperature_deviation, "-60 degC", "+60 degC", "+10 degC")
_HEIGHT: Final = "3000 ft AMSL"


def read_isa_deviation(whole: Table) -> float:
    """Kelvins above the standard temperature, from `[atmosphere]`; 0 where it is not stated."""
    if not whole.has("atmosphere"):
        return 0.0
    table = whole.section("atmosphere")
    stated = table.has("isa_deviation")
    deviation_k = read_quantity(table, "isa_deviation", _ISA_DEVIATION) if stated else 0.0
    table.refuse_unknown()
    return deviation_k


def read_winds_aloft(
    whole: Table, best_glide_speed_mps: float, highest_planned_amsl_ft: int
) -> tuple[WindAloft, ...]:
    """Rows of `[[wind_aloft]]`, ascending; none where the wind is the same at all heights."""
    tables = whole.tables("wind_aloft")
    rows = [row for row in (_row(table, best_glide_speed_mps) for table in tables) if row]
    rows.sort(key=lambda row: row.height_amsl_m)
    for below, above in pairwise(rows):
        if above.height_amsl_m - below.height_amsl_m < _CLOSEST_M - 1e-6:
            found = f"rows at {_feet(below.height_amsl_m)} and {_feet(above.height_amsl_m)} ft AMSL"
            whole.note("wind_aloft", found, "heights at least 100 ft apart", "keep one of them")
    if rows and rows[-1].height_amsl_m < highest_planned_amsl_ft * FOOT_M - 1e-6:
        whole.note(
            "wind_aloft",
            f"no row above {_feet(rows[-1].height_amsl_m)} ft AMSL",
            f"a row at or above the highest planned altitude, {highest_planned_amsl_ft} ft AMSL",
            "add the forecast wind there: the wind above the highest row is not known",
        )
    return tuple(rows)


def _row(table: Table, best_glide_speed_mps: float) -> WindAloft | None:
    height_m = read_parsed(table, "height", parse_altitude_amsl, _HEIGHT)
    wind = read_parsed(table, "value", parse_wind, "240/22 kt")
    source = table.text("source", "where the figure comes from", "forecast of 0600 UTC")
    table.refuse_unknown()
    if height_m is None or wind is None:
        return None
    if wind.speed_mps >= best_glide_speed_mps:
        expected = f"less than the best glide speed, {best_glide_speed_mps / KNOT_MPS:.0f} kt"
        fix = "check the unit; against such a wind no glide makes headway"
        table.note("value", describe(table.values["value"]), expected, fix)
    return WindAloft(height_m, wind, source)


def _feet(height_m: float) -> int:
    return round(height_m / FOOT_M)
