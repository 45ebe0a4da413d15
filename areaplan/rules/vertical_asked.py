"""How the figures that use height are laid out, read from their file."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from importlib import resources
from typing import Any, Final

from attrs import frozen

from areaplan.errors import InputError
from areaplan.rules._rule_reader import read_source_words
from areaplan.rules.sourced import Sourced
from areaplan.toml_quantities import read_parsed
from areaplan.toml_tables import Faults, Table, parse_toml
from areaplan.units import parse_angle, parse_duration, parse_speed

_MOST_TURNS: Final = 20


class VerticalKind(StrEnum):
    """What is flown."""

    STEEP_TURNS = "steep turns"
    STALL = "stall"
    CHANDELLE = "chandelle"
    LAZY_EIGHT = "lazy eight"
    STEEP_SPIRAL = "steep spiral"


class EntryBy(StrEnum):
    """Heading at the entry, by the wind."""

    INTO = "into"
    ACROSS = "across"
    WITH = "with"
    ANY = "any"

    @property
    def off_wind_deg(self) -> tuple[float, ...]:
        """Headings, degrees clockwise from where the wind blows from."""
        return {
            EntryBy.INTO: (0.0,),
            EntryBy.ACROSS: (90.0, 270.0),
            EntryBy.WITH: (180.0,),
            EntryBy.ANY: (0.0, 90.0, 180.0, 270.0),
        }[self]


@frozen
class VerticalAsked(Sourced):
    """How one figure is laid out.

    Attributes
    ----------
    id : str
        Identifier of its `Manoeuvre`, whose heights hold.
    kind : VerticalKind
    entry : EntryBy
    bank_deg : float
        Steepest bank.
    turns : int
        Full turns flown; 1 where the figure has no number of them.
    slowest_over_stall : float
        Airspeed at its slowest point over the stalling speed; NaN where it keeps its speed.
    slowing_mps2, recovery_s : float
        Of a stall; NaN for all others.
    """

    id: str
    kind: VerticalKind
    entry: EntryBy
    bank_deg: float
    turns: int
    slowest_over_stall: float
    slowing_mps2: float
    recovery_s: float


def builtin_vertical() -> dict[str, VerticalAsked]:
    """The figures that come with areaplan, by identifier.

    Raises
    ------
    InputError
        The file is not as it should be.
    """
    file = resources.files("areaplan.rules").joinpath("figures", "vertical.toml")
    place = "built-in figures that use height"
    values = parse_toml(
        place, file.read_bytes(), expected="a TOML file in UTF-8", fix="quote every text"
    )
    top = Table(values, "", Faults(place))
    top.prose("id")
    top.prose("title")
    rows = [_figure(table) for table in top.tables("figure")]
    top.refuse_unknown("a file of figures")
    if top.faults.noted:
        raise InputError(top.faults.noted)
    return {row.id: row for row in rows if row is not None}


def _figure(table: Table) -> VerticalAsked | None:
    kind = table.choice("figure", VerticalKind)
    keeps_speed = kind in (VerticalKind.STEEP_TURNS, VerticalKind.STEEP_SPIRAL)
    fields: dict[str, Any] = {
        "id": table.prose("id"),
        "kind": kind,
        "entry": table.choice("entry", EntryBy),
        "bank_deg": read_parsed(table, "bank", parse_angle, "45 deg"),
        "turns": 1,
        "slowest_over_stall": float("nan"),
        "slowing_mps2": float("nan"),
        "recovery_s": float("nan"),
    }
    if keeps_speed:
        fields["turns"] = int(table.number("turns", 1, _MOST_TURNS, "full turns", "2"))
    else:
        expected = "a multiple of the stalling speed"
        fields["slowest_over_stall"] = table.number("slowest_over_stall", 1.0, 2.0, expected, "1.2")
    if kind is VerticalKind.STALL:
        fields["slowing_mps2"] = _parsed(table, "slowing", parse_speed, "1 kt")
        fields["recovery_s"] = _parsed(table, "recovery", parse_duration, "10 s")
    fields |= read_source_words(table)
    table.refuse_unknown("a figure that uses height")
    return None if table.faults.noted else VerticalAsked(**fields)


def _parsed(table: Table, key: str, parse: Callable[[object], float], example: str) -> float:
    value = read_parsed(table, key, parse, example)
    return float("nan") if value is None else value
