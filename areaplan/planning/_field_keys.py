"""What the school asks of a field to land in: `[fields]`, and the aircraft's landing figures."""

from __future__ import annotations

from typing import Final

from areaplan.planning.project import FieldLimits
from areaplan.toml_quantities import Bounds, read_quantity
from areaplan.toml_tables import Table
from areaplan.units import parse_length, parse_slope, parse_speed

LANDING_DISTANCE: Final = Bounds(
    parse_length,
    "100 ft",
    "10,000 ft",
    "1300 ft",
    "over a 50 ft obstacle, hard, level, dry and calm, at sea level on a standard day",
)
CROSSWIND_LIMIT: Final = Bounds(
    parse_speed, "3 kt", "40 kt", "12 kt", "left out, no direction fails for its crosswind"
)
_FIELDS: Final = {
    "width": Bounds(parse_length, "5 m", "200 m", "30 m", "never less than the wings and the ruts"),
    "least_length": Bounds(parse_length, "50 m", "5 km", "300 m"),
    "approach_slope": Bounds(
        parse_slope, "1:50", "1:3", "1:10", "steeper than 1:3 is no approach, flatter none needed"
    ),
    "steepest": Bounds(parse_slope, "0.5 %", "20 %", "4 %"),
    "roughest": Bounds(parse_length, "0.05 m", "10 m", "0.5 m"),
    "wire_clearance": Bounds(
        parse_length, "1 m", "500 m", "30 m", "never zero, because nobody sees a wire in time"
    ),
}
_KEY: Final = "key"
_ARRIVALS: Final = ("height", _KEY)


def read_field_limits(whole: Table) -> FieldLimits:
    """Read `[fields]`; every key has a default, and faults are noted."""
    table = whole.section("fields", required=False)
    values = {
        key: read_quantity(table, key, bounds, default=True) for key, bounds in _FIELDS.items()
    }
    counted = table.has("count_candidates") and table.flag("count_candidates")
    is_key_asked = table.has("arrival") and table.choice("arrival", _ARRIVALS) == _KEY
    table.refuse_unknown()
    return FieldLimits(
        width_m=values["width"],
        least_length_m=values["least_length"],
        approach_slope=values["approach_slope"],
        steepest=values["steepest"],
        roughest_m=values["roughest"],
        wire_clearance_m=values["wire_clearance"],
        is_candidate_counted=counted,
        is_key_asked=is_key_asked,
    )
