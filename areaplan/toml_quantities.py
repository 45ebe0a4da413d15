"""Values with a unit in a TOML table: lengths, speeds, winds, and limits to what they may be."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, TypeVar

from attrs import frozen

from areaplan.errors import QuantityError
from areaplan.fault_words import describe
from areaplan.toml_tables import Table

Value = TypeVar("Value")

_SLACK: Final = 1e-9  # "0.25 NM" parsed twice must equal itself; forgives float64 noise


@frozen
class Bounds:
    """What a quantity may be, in the trade's own words.

    Attributes
    ----------
    parse : callable
        Reader of `areaplan.units` for the quantity's text.
    low, high : str
        Smallest and greatest value, both allowed.
    example : str
        A text that would be right; the default, for keys that have one.
    why : str
        Why the limits are there, "" when they only catch slips of the pen.
    """

    parse: Callable[[object], float]
    low: str
    high: str
    example: str
    why: str = ""

    @property
    def expected(self) -> str:
        """The form, as the parser states it, and the limits."""
        return f"{_form(self.parse)}, from {self.low} to {self.high}"

    def hold(self, value: float) -> bool:
        """Whether a parsed value lies inside."""
        low, high = self.parse(self.low), self.parse(self.high)
        return low * (1 - _SLACK) <= value <= high * (1 + _SLACK)


def read_parsed(
    table: Table, key: str, parse: Callable[[object], Value], example: str, *, expected: str = ""
) -> Value | None:
    """Read a text with a parser of `areaplan.units`.

    Parameters
    ----------
    table, key
        Where it stands.
    parse : callable
        Raises `QuantityError` for what it can't read.
    example : str
        A text that would be right, for the advice.
    expected : str
        What to ask for where there is no text at all; the form that the parser states by default.

    Returns
    -------
    Value or None
        As parsed; None, and a fault noted, when missing or faulty.
    """
    form = expected or _form(parse)
    value = table.get(key, form, f'"{example}"')
    if value is None:
        return None
    fix = f'write {key} = "{example}"'
    if not isinstance(value, str):
        table.note(key, describe(value), form, fix)
        return None
    try:
        return parse(value)
    except QuantityError as error:
        table.note(key, describe(value), error.expected, fix)
        return None


def read_quantity(table: Table, key: str, bounds: Bounds, *, default: bool = False) -> float:
    """Read a quantity inside limits.

    Parameters
    ----------
    table, key
        Where it stands.
    bounds : Bounds
        How to parse it, and its limits.
    default : bool
        Whether a missing key takes the value of `bounds.example`.

    Returns
    -------
    float
        In the SI unit of the parser; NaN, and a fault noted, when missing, faulty or outside.
    """
    if default and not table.has(key):
        return bounds.parse(bounds.example)
    value = read_parsed(table, key, bounds.parse, bounds.example, expected=bounds.expected)
    if value is None:
        return math.nan
    if bounds.hold(value):
        return value
    reason = f": {bounds.why}" if bounds.why else ""
    fix = f'write {key} = "{bounds.example}"'
    table.note(key, describe(table.values[key]), f"{bounds.low} to {bounds.high}{reason}", fix)
    return math.nan


def _form(parse: Callable[[object], object]) -> str:
    """What a parser accepts, in its own words."""
    try:
        parse(None)
    except QuantityError as error:
        return error.expected
    raise TypeError(f"{parse} takes None for a quantity")
