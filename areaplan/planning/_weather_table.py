"""The part of a project file that states the weather to judge by: `[weather]`."""

from __future__ import annotations

import math
from typing import Final

from areaplan.errors import QuantityError
from areaplan.planning.project import StatedWeather
from areaplan.toml_quantities import Bounds, read_parsed, read_quantity
from areaplan.toml_tables import Table
from areaplan.units import FOOT_M, Height, HeightReference, parse_height, parse_length

NO_CEILING: Final = "none"
_VISIBILITY: Final = Bounds(parse_length, "50 m", "200 km", "10 km")
_HIGHEST_M: Final = 60_000 * FOOT_M
_CEILING: Final = (
    'the height of the lowest broken or overcast cloud, such as "3200 ft AGL" or '
    f'"4500 ft AMSL", or "{NO_CEILING}"'
)


def read_weather(whole: Table) -> StatedWeather | None:
    """The weather that a project states; None where it states none.

    All of it or nothing: weather limits ask for both visibility and ceiling, and half an answer
    would leave each of them open.
    """
    if not whole.has("weather"):
        return None
    table = whole.section("weather")
    visibility_m = read_quantity(table, "visibility", _VISIBILITY)
    ceiling = read_parsed(table, "ceiling", _ceiling, "3200 ft AGL", expected=_CEILING)
    source = table.text("source", "where it comes from", "aerodrome forecast of 0600 UTC")
    table.refuse_unknown()
    if ceiling is None or math.isnan(visibility_m):
        return None
    return StatedWeather(
        visibility_m=visibility_m,
        visibility_text=str(table.values["visibility"]),
        ceiling=ceiling,
        ceiling_text=str(table.values["ceiling"]),
        source=source,
    )


def _ceiling(text: object) -> Height:
    if text == NO_CEILING:
        return Height(math.inf, HeightReference.UNL)
    try:
        height = parse_height(text)
    except QuantityError as error:
        raise QuantityError(text, _CEILING) from error
    is_measured = height.reference in (HeightReference.AGL, HeightReference.AMSL)
    if not is_measured or not 0.0 < height.value_m <= _HIGHEST_M:
        raise QuantityError(text, _CEILING)
    return height
