"""The school's settings in the words of the project file's keys, with units.

`FieldLimits.least_length_m` of 250 is told as ``fields, least length`` and ``250 m``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any, Final, cast

from attrs import frozen

from areaplan.planning.gates import Gate, Route
from areaplan.planning.project import Inactive, Permission, Project, WindAloft
from areaplan.planning.rules_told import NOTHING, Told, exact_words
from areaplan.units import FOOT_M, HPA_PA, KNOT_MPS, NAUTICAL_MILE_M

_OF: Final = "aircraft"  # whose figures have sources
_DECIMALS: Final = 9


@frozen
class _Setting:
    """A key of the project file and how its value is written there.

    Attributes
    ----------
    key : str
        In plain words.
    unit : str
        Of a figure; "" for a bare number and for what is no figure.
    per_unit : float
        Metres, metres per second, pascals or the like in one of that unit.
    write : callable or None
        For what is no figure.
    """

    key: str
    unit: str = ""
    per_unit: float = 1.0
    write: Callable[[Any], str] | None = None


def settings_told(project: Project) -> tuple[Told, ...]:
    """What the school asks and assumes, each value under its key and in the unit it is given in.

    Values too near to each other for six digits share their words, and are told apart all the
    same by `Told.exact`.
    """
    found: list[Told] = []
    for (group, name), setting in SETTINGS.items():
        holder = getattr(project, group) if group else project
        value = getattr(holder, name)
        before = f"{group}, " if group else ""
        if isinstance(value, Mapping):
            found += _each_source(f"{before}{setting.key}", value)
        else:
            words = _written(setting, value)
            found.append(Told(f"{before}{setting.key}", words, exact_words(value)))
    return tuple(found)


def _each_source(label: str, sources: Mapping[str, str]) -> Iterator[Told]:
    """The source of each figure of the aircraft, those without one too."""
    figures = [one.key.replace(" ", "_") for (group, _), one in SETTINGS.items() if group == _OF]
    for key in dict.fromkeys([*figures, *sorted(sources)]):
        words = sources.get(key) or NOTHING
        yield Told(f"{label} of {key.replace('_', ' ')}", words, exact_words(words))


def _written(setting: _Setting, value: object) -> str:
    if value is None or value == "" or value == ():
        return NOTHING
    if setting.write is not None:
        return setting.write(value)
    figure = cast(float, value) / setting.per_unit
    if math.isfinite(figure):
        figure = round(figure, _DECIMALS)  # what unit factors leave behind is no digit
    return f"{figure:.6g} {setting.unit}".rstrip()


def _each(write: Callable[[Any], str]) -> Callable[[Iterable[Any]], str]:
    return lambda values: "; ".join(map(write, values))


def _slope(value: float) -> str:
    """A gradient as it is asked for, such as ``1:10``."""
    return f"1:{1.0 / value:.6g}" if value else "flat"


def _aloft(row: WindAloft) -> str:
    return f"{row.wind} at {row.height_amsl_m / FOOT_M:.6g} ft AMSL ({row.source})"


def _permission(row: Permission) -> str:
    until = f", until {row.expires}" if row.expires else ""
    return f"{row.airspace} ({row.reason}{until})"


def _inactive(row: Inactive) -> str:
    return f"{row.airspace} from {_moment(row.begins)} to {_moment(row.ends)} ({row.reason})"


def _moment(when: datetime) -> str:
    return when.isoformat(" ", "minutes")


def _gate(row: Gate) -> str:
    seen = f", {row.landmark}" if row.landmark else ""
    at = f"{row.lat:.6f} {row.lon:.6f}, {row.altitude_amsl_ft} ft AMSL"
    return f"{row.name} at {at}, {row.use}{seen}"


def _route(row: Route) -> str:
    return f"{row.name} {' '.join(_points(row))}, {row.altitude_amsl_ft} ft AMSL, {row.use}" + (
        f", {row.remarks}" if row.remarks else ""
    )


def _points(row: Route) -> Iterator[str]:
    for (lon, lat), name in zip(row.points, row.point_names, strict=True):
        yield f"[{name}]" if name else f"[{lat:.6f} {lon:.6f}]"


# Attribute of the project to key of the file. Units are those in which people give each value.
SETTINGS: Final[Mapping[tuple[str, str], _Setting]] = {
    ("aircraft", "name"): _Setting("name", write=str),
    ("aircraft", "best_glide_speed_mps"): _Setting("best glide speed", "kt", KNOT_MPS),
    ("aircraft", "best_glide_ratio"): _Setting("best glide ratio"),
    ("aircraft", "glide_derating"): _Setting("glide derating", "%", 0.01),
    ("aircraft", "manoeuvre_speed_mps"): _Setting("manoeuvre speed", "kt", KNOT_MPS),
    ("aircraft", "stall_speed_mps"): _Setting("stall speed", "kt", KNOT_MPS),
    ("aircraft", "figure_sources"): _Setting("source"),
    ("aircraft", "landing_distance_m"): _Setting("landing distance", "ft", FOOT_M),
    ("aircraft", "crosswind_limit_mps"): _Setting("crosswind limit", "kt", KNOT_MPS),
    ("margins", "airspace_lateral_m"): _Setting("airspace lateral", "NM", NAUTICAL_MILE_M),
    ("margins", "airspace_vertical_m"): _Setting("airspace vertical", "ft", FOOT_M),
    ("margins", "glide_clearance_m"): _Setting("glide clearance", "ft", FOOT_M),
    ("margins", "arrival_height_m"): _Setting("arrival height", "ft", FOOT_M),
    ("margins", "reaction_time_s"): _Setting("reaction time", "s"),
    ("margins", "turn_bank_deg"): _Setting("turn bank", "deg"),
    ("margins", "qnh_lowest_pa"): _Setting("qnh lowest", "hPa", HPA_PA),
    ("margins", "qnh_highest_pa"): _Setting("qnh highest", "hPa", HPA_PA),
    ("fields", "width_m"): _Setting("width", "m"),
    ("fields", "least_length_m"): _Setting("least length", "m"),
    ("fields", "approach_slope"): _Setting("approach slope", write=_slope),
    ("fields", "steepest"): _Setting("steepest", "%", 0.01),
    ("fields", "roughest_m"): _Setting("roughest", "m"),
    ("fields", "wire_clearance_m"): _Setting("wire clearance", "m"),
    ("fields", "is_candidate_counted"): _Setting(
        "count candidates", write=lambda is_so: "true" if is_so else "false"
    ),
    ("fields", "is_key_asked"): _Setting(
        "arrival", write=lambda is_so: "key" if is_so else "height"
    ),
    ("", "planned_altitudes_amsl_ft"): _Setting(
        "planned altitudes", write=_each(lambda feet: f"{feet} ft AMSL")
    ),
    ("", "rule_sets"): _Setting("rules", write=_each(str)),
    ("", "activities"): _Setting("activities", write=_each(str)),
    ("", "flight"): _Setting("flight", write=str),
    ("", "wind"): _Setting("wind", write=str),
    ("", "winds_aloft"): _Setting("winds aloft", write=_each(_aloft)),
    ("", "isa_deviation_k"): _Setting("isa deviation", "degC"),
    ("", "weather"): _Setting("weather", write=lambda one: f"{one} ({one.source})"),
    ("", "planned_time"): _Setting("planned time", write=_moment),
    ("", "permissions"): _Setting("permissions", write=_each(_permission)),
    ("", "inactive"): _Setting("inactive airspace", write=_each(_inactive)),
    ("", "gates"): _Setting("gates", write=_each(_gate)),
    ("", "routes"): _Setting("routes", write=_each(_route)),
    ("", "cell_m"): _Setting("grid, cell", "m"),
    ("", "around_m"): _Setting("grid, around", "NM", NAUTICAL_MILE_M),
}
