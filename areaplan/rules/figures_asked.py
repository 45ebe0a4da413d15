"""What handbook and test standards ask of each ground-reference figure, read from their file."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from enum import StrEnum
from importlib import resources
from typing import Any

from attrs import frozen

from areaplan.errors import InputError
from areaplan.fault_words import nearest_fix, one_of
from areaplan.rules._rule_reader import read_source_words
from areaplan.rules.sourced import Sourced
from areaplan.sources.layers import ReferenceKind
from areaplan.toml_quantities import read_parsed
from areaplan.toml_tables import Faults, Table, parse_toml
from areaplan.units import parse_angle, parse_duration, parse_length


class LiesTo(StrEnum):
    """How the reference lies to the wind."""

    ANY = "any"
    ACROSS = "across"
    ALONG = "along"
    EITHER = "across or along"

    def off_deg(self, direction_deg_true: float, wind_from_deg_true: float) -> float:
        """How far a direction is from lying so, degrees, from 0 up."""
        if self is LiesTo.ANY:
            return 0.0
        off_along = abs((direction_deg_true - wind_from_deg_true + 90.0) % 180.0 - 90.0)
        if self is LiesTo.ALONG:
            return off_along
        off_across = 90.0 - off_along
        return off_across if self is LiesTo.ACROSS else min(off_along, off_across)


@frozen
class Figure(Sourced):
    """One ground-reference figure as it is asked for.

    Attributes
    ----------
    id, title : str
    manoeuvre : str
        Identifier of the `Manoeuvre` whose heights hold.
    reference : ReferenceKind
        What it is flown by.
    wind : LiesTo
    off_wind_deg : float
        How far from that the reference may lie.
    steepest_deg : float
        Bank that is never exceeded.
    steepest_least_deg : float or None
        Bank that the steepest point has at least.
    planned_deg : float or None
        Bank of the steepest point that it is laid out for; None where the reference decides.
    distance_m : float or None
        Of the course from the sides of its rectangle, metres.
    straight_s, straight_least_s, straight_most_s : float or None
        Straight and level between the turns, seconds.
    tolerance_m : float
        Height kept free above and below, metres.
    count : int
        Circles, half circles, circuits or eights flown.
    """

    id: str
    title: str
    manoeuvre: str
    reference: ReferenceKind
    wind: LiesTo
    off_wind_deg: float
    steepest_deg: float
    steepest_least_deg: float | None
    planned_deg: float | None
    distance_m: float | None
    straight_s: float | None
    straight_least_s: float | None
    straight_most_s: float | None
    tolerance_m: float
    count: int


@frozen
class Figures:
    """All figures of the built-in file, and its digest."""

    title: str
    figures: tuple[Figure, ...]
    sha256: str

    def named(self, only: Sequence[str]) -> tuple[Figure, ...]:
        """Those asked for, in the order asked; all for none.

        Raises
        ------
        InputError
            An identifier that no figure has.
        """
        known = {figure.id: figure for figure in self.figures}
        for name in only:
            if name not in known:
                raise InputError.single(
                    "command line",
                    "--manoeuvre",
                    found=repr(name),
                    expected=one_of(list(known)),
                    fix=nearest_fix(name, list(known)),
                )
        return tuple(known[name] for name in only) if only else self.figures


def builtin_figures() -> Figures:
    """The figures that come with areaplan."""
    file = resources.files("areaplan.rules").joinpath("figures", "handbook.toml")
    content, place = file.read_bytes(), "built-in figures"
    values = parse_toml(place, content, expected="a TOML file in UTF-8", fix="quote every text")
    top = Table(values, "", Faults(place))
    top.prose("id")
    title = top.prose("title")
    rows = [_figure(table) for table in top.tables("figure")]
    top.refuse_unknown("a file of figures")
    if top.faults.noted:
        raise InputError(top.faults.noted)
    return Figures(
        title, tuple(row for row in rows if row is not None), hashlib.sha256(content).hexdigest()
    )


def _figure(table: Table) -> Figure | None:
    def optional(key: str, parse: Any) -> Any:
        return read_parsed(table, key, parse, "...") if table.has(key) else None

    fields: dict[str, Any] = {
        "id": table.prose("id"),
        "title": table.prose("title"),
        "manoeuvre": table.prose("manoeuvre"),
        "reference": table.choice("reference", ReferenceKind),
        "wind": table.choice("wind", LiesTo),
        "off_wind_deg": optional("off_wind", parse_angle) or 0.0,
        "steepest_deg": read_parsed(table, "steepest", parse_angle, "..."),
        "steepest_least_deg": optional("steepest_least", parse_angle),
        "planned_deg": optional("planned", parse_angle),
        "distance_m": optional("distance", parse_length),
        "straight_s": optional("straight", parse_duration),
        "straight_least_s": optional("straight_least", parse_duration),
        "straight_most_s": optional("straight_most", parse_duration),
        "tolerance_m": read_parsed(table, "tolerance", parse_length, "..."),
        "count": int(table.number("count", 1, 20, "how often it is flown", "2")),
        **read_source_words(table),
    }
    table.refuse_unknown("a figure")
    return None if table.faults.noted else Figure(**fields)
