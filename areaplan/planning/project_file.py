"""From a TOML file to a `Project`: everything checked, every fault told at once."""

from __future__ import annotations

import hashlib
import math
from datetime import date
from pathlib import Path
from typing import Final

from attrs import evolve

from areaplan.errors import InputError
from areaplan.fault_words import describe, nearest_fix
from areaplan.planning._activity_tables import read_inactive, read_planned_time
from areaplan.planning._air_tables import read_isa_deviation, read_winds_aloft
from areaplan.planning._altitude_keys import whole_feet_amsl
from areaplan.planning._briefing_tables import read_briefing
from areaplan.planning._field_keys import CROSSWIND_LIMIT, LANDING_DISTANCE, read_field_limits
from areaplan.planning._route_tables import read_gates_and_routes
from areaplan.planning._source_tables import read_area, read_sources, resolve_file
from areaplan.planning._weather_table import read_weather
from areaplan.planning.project import Aircraft, Climatology, Margins, Permission, Project
from areaplan.planning.section_line import read_section_line
from areaplan.rules.asking import Flight
from areaplan.rules.loading import builtin_rule_sets
from areaplan.toml_quantities import Bounds, read_parsed, read_quantity
from areaplan.toml_tables import Faults, Table, parse_toml
from areaplan.units import (
    KNOT_MPS,
    Wind,
    parse_angle,
    parse_duration,
    parse_length,
    parse_pressure,
    parse_share,
    parse_speed,
    parse_wind,
)

_LARGEST_FILE_BYTES: Final = 1_000_000  # a project file holds words, not data
_MOST_ALTITUDES: Final = 12
_ACTIVITIES: Final = ("training", "aerobatic")

_SPEED: Final = Bounds(parse_speed, "15 kt", "250 kt", "65 kt")
_DERATING: Final = Bounds(
    parse_share, "0 %", "95 %", "20 %", "with all of it taken off there is no glide left"
)
_FIGURE: Final = '{{ value = {value}, source = "handbook, page 3-4" }}'

_NEVER_ZERO_AIRSPACE: Final = (
    "never zero, because published airspace lines and altimeters are themselves in error"
)
_MARGINS: Final = {
    "airspace_lateral": Bounds(parse_length, "1 m", "10 NM", "0.25 NM", _NEVER_ZERO_AIRSPACE),
    "airspace_vertical": Bounds(parse_length, "1 ft", "5000 ft", "100 ft", _NEVER_ZERO_AIRSPACE),
    "glide_clearance": Bounds(
        parse_length,
        "1 ft",
        "2000 ft",
        "100 ft",
        "never zero, because a glide at the height of the trees ends in them",
    ),
    "arrival_height": Bounds(
        parse_length,
        "1 ft",
        "5000 ft",
        "300 ft",
        "never zero, because a glide that arrives on the ground leaves no height to line up "
        "with the field",
    ),
    "reaction_time": Bounds(
        parse_duration, "1 s", "60 s", "4 s", "never zero, because nobody turns at once"
    ),
    "turn_bank": Bounds(parse_angle, "5 deg", "60 deg", "30 deg"),
    "qnh_lowest": Bounds(parse_pressure, "870 hPa", "1090 hPa", "980 hPa"),
    "qnh_highest": Bounds(parse_pressure, "870 hPa", "1090 hPa", "1040 hPa"),
}
_CELL: Final = Bounds(parse_length, "5 m", "250 m", "25 m")
AROUND: Final = Bounds(
    parse_length,
    "0.5 NM",
    "20 NM",
    "2.5 NM",
    "rules look at obstacles well beyond the aircraft, and a glide may end outside",
)


def read_project(path: Path, today: date | None = None) -> Project:
    """Read and check a project file.

    Files that it names are looked for, not opened: their readers check what is in them.

    Parameters
    ----------
    path : Path
        The TOML file; relative paths inside it are taken from its folder.
    today : date, optional
        The day taken when the file states no `day`; the computer's own date by default.

    Returns
    -------
    Project
        In metres, metres per second, pascals; altitudes in whole feet AMSL, ascending.

    Raises
    ------
    InputError
        The file cannot be read, is not TOML, or holds faults: all of them, each with key path
        (tables under one heading counted from 1), what was read, what was expected and a fix.
    """
    data = _read_bytes(path)
    values = parse_toml(
        str(path),
        data,
        expected='lines such as name = "North practice area" under headings such as [project]',
        fix="correct that line: texts go in quotes, every bracket is closed",
    )
    whole = Table(values, "", Faults(str(path)))
    project = _project(path, hashlib.sha256(data).hexdigest(), whole, today or date.today())
    whole.refuse_unknown()
    if whole.faults.noted:
        raise InputError(whole.faults.noted)
    return project


def _read_bytes(path: Path) -> bytes:
    expected = "a project file in TOML"
    try:
        if path.is_dir():
            fix = f"name the file inside it, such as {path / 'project.toml'}"
            raise InputError.single(str(path), "", found="a folder", expected=expected, fix=fix)
        if not path.is_file():
            fix = "correct the path, or make a project with: areaplan new DIR"
            raise InputError.single(str(path), "", found="no such file", expected=expected, fix=fix)
        with path.open("rb") as file:
            data = file.read(_LARGEST_FILE_BYTES + 1)
    except OSError as error:
        found, fix = f"cannot be read ({error.strerror})", "check the path and its permissions"
        raise InputError.single(str(path), "", found=found, expected=expected, fix=fix) from error
    if len(data) > _LARGEST_FILE_BYTES:
        raise InputError.single(
            str(path),
            "",
            found=f"more than {_LARGEST_FILE_BYTES:,} bytes",
            expected="a project file of a few kilobytes",
            fix="name the project file, not one of its data files",
        )
    return data


def _project(path: Path, sha256: str, whole: Table, today: date) -> Project:
    folder = path.parent
    head = whole.section("project")
    name = head.text("name", "the name of the area", "North practice area")
    school = head.text("school", "the name of the school", "...")
    area = read_area(head, folder)
    planned = _planned_altitudes(head)
    rule_sets, rule_paths = _rules(head, folder)
    activities = _activities(head)
    flight = head.choice("flight", Flight, default=Flight.BOTH) or Flight.BOTH
    stated_day = head.day("day")
    planned_time = read_planned_time(whole, stated_day)
    day = stated_day or (planned_time.date() if planned_time else today)
    head.refuse_unknown()
    aircraft = _aircraft(whole)
    wind, wind_source = _wind(whole, aircraft)
    margins = _margins(whole)
    cell_m, around_m = _grid(whole)
    gates, routes = read_gates_and_routes(whole)
    return Project(
        path=path,
        sha256=sha256,
        name=name,
        school=school,
        day=day,
        planned_altitudes_amsl_ft=planned,
        rule_sets=rule_sets,
        rule_paths=rule_paths,
        activities=activities,
        aircraft=aircraft,
        wind=wind,
        wind_source=wind_source,
        margins=margins,
        fields=read_field_limits(whole),
        cell_m=cell_m,
        around_m=around_m,
        sources=tuple(evolve(spec, day=day) for spec in (area, *read_sources(whole, folder))),
        permissions=_permissions(whole),
        planned_time=planned_time,
        inactive=read_inactive(whole),
        flight=flight,
        winds_aloft=read_winds_aloft(whole, aircraft.best_glide_speed_mps, max(planned, default=0)),
        isa_deviation_k=read_isa_deviation(whole),
        climatology=_climatology(whole, folder),
        briefing=read_briefing(whole),
        gates=gates,
        routes=routes,
        weather=read_weather(whole),
        section=read_section_line(whole),
    )


def _grid(whole: Table) -> tuple[float, float]:
    table = whole.section("grid", required=False)
    cell_m = read_quantity(table, "cell", _CELL, default=True)
    around_m = read_quantity(table, "around", AROUND, default=True)
    table.refuse_unknown()
    return cell_m, around_m


def _planned_altitudes(head: Table) -> tuple[int, ...]:
    expected = f'a list of 1 to {_MOST_ALTITUDES} altitudes such as "2500 ft AMSL"'
    texts = head.texts("planned_altitudes", expected, '["2000 ft AMSL"]')
    if len(texts) > _MOST_ALTITUDES:
        found = f"{len(texts)} altitudes"
        head.note("planned_altitudes", found, expected, "keep those that are flown")
    found_ft = [
        whole_feet_amsl(head, f"planned_altitudes[{number}]", text)
        for number, text in enumerate(texts, 1)
    ]
    altitudes = sorted(altitude for altitude in found_ft if altitude is not None)
    for twice in sorted({altitude for altitude in altitudes if altitudes.count(altitude) > 1}):
        found = f"{twice} ft AMSL more than once"
        head.note("planned_altitudes", found, "each once", "delete the repetition")
    return tuple(altitudes)


def _rules(head: Table, folder: Path) -> tuple[tuple[str, ...], tuple[Path | None, ...]]:
    built_in = builtin_rule_sets()
    expected = f"a list of rule sets: {', '.join(built_in)}, or a policy file in TOML"
    names = head.texts("rules", expected, '["us"]')
    paths: list[Path | None] = []
    for number, name in enumerate(names, 1):
        key = f"rules[{number}]"
        if name in built_in:
            paths.append(None)
        elif name.endswith(".toml"):
            paths.append(resolve_file(head, key, name, folder))
        else:
            head.note(key, repr(name), expected, nearest_fix(name, built_in))
    return names, tuple(paths)


def _activities(head: Table) -> tuple[str, ...]:
    if not head.has("activities"):
        return ("training",)
    words = head.choices("activities", _ACTIVITIES)
    if words and "training" not in words:
        expected = f'a list of {" and ".join(_ACTIVITIES)}; "training" always'
        head.note("activities", describe(list(words)), expected, 'add "training"')
    return words


def _aircraft(whole: Table) -> Aircraft:
    sources: dict[str, str] = {}
    table = whole.section("aircraft")
    aircraft = Aircraft(
        name=table.text("name", "the type, in the school's words", "two-seat trainer"),
        best_glide_speed_mps=_figure(table, "best_glide_speed", _SPEED, sources),
        best_glide_ratio=_glide_ratio(table, sources),
        glide_derating=_figure(table, "glide_derating", _DERATING, sources),
        manoeuvre_speed_mps=_figure(table, "manoeuvre_speed", _SPEED, sources),
        stall_speed_mps=_figure(table, "stall_speed", _SPEED, sources),
        figure_sources=sources,
        landing_distance_m=_stated(table, "landing_distance", LANDING_DISTANCE, sources),
        crosswind_limit_mps=_stated(table, "crosswind_limit", CROSSWIND_LIMIT, sources),
    )
    table.refuse_unknown()
    for key in ("best_glide_speed", "manoeuvre_speed"):
        other_mps = getattr(aircraft, f"{key}_mps")
        if aircraft.stall_speed_mps >= other_mps:
            found = f"{aircraft.stall_speed_mps / KNOT_MPS:.0f} kt"
            expected = f"less than {key}, {other_mps / KNOT_MPS:.0f} kt"
            table.note("stall_speed", found, expected, "check both figures, and their units")
    return aircraft


def _stated(table: Table, key: str, bounds: Bounds, sources: dict[str, str]) -> float | None:
    """A figure that may be left out."""
    return _figure(table, key, bounds, sources) if table.has(key) else None


def _figure(table: Table, key: str, bounds: Bounds, sources: dict[str, str]) -> float:
    figure = _figure_table(table, key, f'"{bounds.example}"')
    if figure is None:
        return math.nan
    sources[key] = _source_words(figure)
    value = read_quantity(figure, "value", bounds)
    figure.refuse_unknown()
    return value


def _glide_ratio(table: Table, sources: dict[str, str]) -> float:
    figure = _figure_table(table, "best_glide_ratio", "9.0")
    if figure is None:
        return math.nan
    sources["best_glide_ratio"] = _source_words(figure)
    expected = "distance over height lost, a bare number from 3 to 60"
    value = figure.number("value", 3.0, 60.0, expected, "9.0")
    figure.refuse_unknown()
    return value


def _figure_table(table: Table, key: str, value: str) -> Table | None:
    return table.inner(key, _FIGURE.format(value=value))


def _source_words(table: Table) -> str:
    return table.text("source", "where the figure comes from", "handbook, page 3-4")


def _wind(whole: Table, aircraft: Aircraft) -> tuple[Wind, str]:
    table = whole.section("wind")
    source = _source_words(table)
    wind = read_parsed(table, "value", parse_wind, "210/14 kt")
    table.refuse_unknown()
    if wind is None:
        return Wind(0.0, 0.0), source
    if wind.speed_mps >= aircraft.best_glide_speed_mps:
        glide_kt = aircraft.best_glide_speed_mps / KNOT_MPS
        expected = (
            f"less than the best glide speed, {glide_kt:.0f} kt: against a wind as strong as "
            "that no glide makes headway"
        )
        table.note(
            "value",
            describe(table.values["value"]),
            expected,
            "check the unit; in such a wind nobody trains",
        )
    return wind, source


def _margins(whole: Table) -> Margins:
    table = whole.section("margins", required=False)
    values = {
        key: read_quantity(table, key, bounds, default=True) for key, bounds in _MARGINS.items()
    }
    table.refuse_unknown()
    if values["qnh_lowest"] >= values["qnh_highest"]:
        table.note(
            "qnh_lowest",
            f"{values['qnh_lowest'] / 100:.0f} hPa",
            f"less than qnh_highest, {values['qnh_highest'] / 100:.0f} hPa",
            "swap them, or check the units",
        )
    return Margins(
        airspace_lateral_m=values["airspace_lateral"],
        airspace_vertical_m=values["airspace_vertical"],
        glide_clearance_m=values["glide_clearance"],
        arrival_height_m=values["arrival_height"],
        reaction_time_s=values["reaction_time"],
        turn_bank_deg=values["turn_bank"],
        qnh_lowest_pa=values["qnh_lowest"],
        qnh_highest_pa=values["qnh_highest"],
    )


def _permissions(whole: Table) -> tuple[Permission, ...]:
    permissions: list[Permission] = []
    for table in whole.tables("permission"):
        permission = Permission(
            table.text("airspace", "the published name of the volume", "R-0001"),
            table.text("reason", "who gave the permission, how and when", "letter of 2026-09-14"),
            table.day("expires"),
        )
        table.refuse_unknown()
        if permission.airspace and permission.airspace in {item.airspace for item in permissions}:
            found = f"{permission.airspace!r}, declared already"
            table.note("airspace", found, "each volume once", "keep the permission in force")
        permissions.append(permission)
    return tuple(permissions)


def _climatology(whole: Table, folder: Path) -> Climatology | None:
    if not whole.has("climatology"):
        return None
    table = whole.section("climatology")
    source = _source_words(table)
    name = table.text("file", "a CSV file", "wind.csv")
    path = resolve_file(table, "file", name, folder)
    table.refuse_unknown()
    return None if path is None else Climatology(path, source)
