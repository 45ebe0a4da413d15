"""The day sheet as JSON: the keys that other programs may rely on."""

from __future__ import annotations

from typing import Any, Final

from cattrs.preconf.json import make_converter

from areaplan.planning.day import DaySheet
from areaplan.render.as_json import plan_as_json
from areaplan.render.site_json import sites_as_json
from areaplan.units import CELSIUS_ZERO_K, HPA_PA, KNOT_MPS, Wind

_PLAIN: Final = make_converter()


def day_as_json(sheet: DaySheet) -> dict[str, Any]:
    """The sheet as plain values: heights in whole feet, directions in degrees, shares from 0 to 1.

    What is unknown is null; `plan` holds what `areaplan check --json` gives for the day.
    """
    sun, conditions = sheet.sun, sheet.conditions
    return {
        "project": sheet.plan.project.name,
        "verdict": sheet.plan.verdict.value,
        "time": conditions.time.isoformat(),
        "wind": _wind(conditions.wind),
        "winds_aloft": [
            {"height_amsl_m": row.height_amsl_m, **_wind(row.wind)}
            for row in conditions.winds_aloft
        ],
        "altimeter_setting_hpa": conditions.altimeter_setting_pa / HPA_PA,
        "temperature_c": round(conditions.temperature_k - CELSIUS_ZERO_K, 2),
        "isa_deviation_k": sheet.plan.project.isa_deviation_k,
        "station": _PLAIN.unstructure(sheet.station),
        "air": _PLAIN.unstructure(sheet.air),
        "glide": [{**_PLAIN.unstructure(row), "wind": _wind(row.wind)} for row in sheet.glide],
        "fields": _PLAIN.unstructure(sheet.fields),
        "weather": _PLAIN.unstructure(sheet.weather),
        "weather_from_amsl_ft": sheet.low_ft,
        "weather_to_amsl_ft": sheet.high_ft,
        "sun": {
            "azimuth_deg_true": sun.azimuth_deg_true,
            "elevation_deg": sun.elevation_deg,
            "light": sun.light.value,
            "headings_to_avoid_deg_true": sun.headings_to_avoid_deg_true,
            "events": [
                {"event": event.value, "time": when.isoformat()} for event, when in sun.events
            ],
            "next_sunset": sun.next_sunset.isoformat() if sun.next_sunset else None,
            "night_begins": sun.night_begins.isoformat() if sun.night_begins else None,
        },
        "magnetic_variation_deg_east": sheet.variation.deg_east,
        "magnetic_variation": sheet.variation.words,
        "notes": list(sheet.notes),
        "sites": None if sheet.sites is None else sites_as_json(sheet.sites, sheet.plan),
        "plan": plan_as_json(sheet.plan),
    }


def _wind(wind: Wind) -> dict[str, float]:
    return {
        "from_deg_true": wind.from_deg_true,
        "speed_kt": round(wind.speed_mps / KNOT_MPS, 3),
    }
