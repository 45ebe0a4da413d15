"""A TOML table read key by key: faults are noted, not raised, so that all are told at once."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, time
from typing import Final, cast

from attrs import Factory, define, frozen

from areaplan.errors import Fault, QuantityError

_LONGEST_TEXT: Final = 400
_LONGEST_SHOWN: Final = 60
_LENGTH_SLACK: Final = 1e-9  # "0.25 NM" parsed twice must equal itself; forgives float64 noise


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
        try:
            self.parse(None)
        except QuantityError as error:
            return f"{error.expected}, from {self.low} to {self.high}"
        raise TypeError(f"{self.parse} takes None for a quantity")

    def hold(self, value: float) -> bool:
        """Whether a parsed value lies inside."""
        low, high = self.parse(self.low), self.parse(self.high)
        return low * (1 - _LENGTH_SLACK) <= value <= high * (1 + _LENGTH_SLACK)


@define
class Faults:
    """The faults noted so far, all in one file."""

    place: str
    noted: list[Fault] = Factory(list)

    def note(self, key: str, found: str, expected: str, fix: str) -> None:
        """Add one."""
        self.noted.append(Fault(self.place, key, found, expected, fix))


@define
class Table:
    """One table of the file.

    A getter that meets a fault notes it and returns a stand-in of its type (NaN, "", None or an
    empty tuple). Stand-ins never reach anyone: who reads the file must raise when a fault was
    noted. Every key asked for is a known key; `refuse_unknown` notes the others.

    Attributes
    ----------
    values : mapping
        As read by `tomllib`.
    key : str
        Key path of the table, "" for the whole file.
    faults : Faults
        Shared by all tables of the file.
    """

    values: Mapping[str, object]
    key: str
    faults: Faults
    _asked: dict[str, None] = Factory(dict)

    def path(self, key: str) -> str:
        """Key path of one of its keys."""
        return f"{self.key}.{key}" if self.key else key

    def note(self, key: str, found: str, expected: str, fix: str) -> None:
        """Note a fault at a key."""
        self.faults.note(self.path(key), found, expected, fix)

    def has(self, key: str) -> bool:
        """Whether the key is there; it counts as asked for."""
        self._asked[key] = None
        return key in self.values

    def _get(self, key: str, expected: str, example: str) -> object | None:
        if not self.has(key):
            self.note(key, "missing", expected, f"add {key} = {example}")
            return None
        return self.values[key]

    def text(self, key: str, expected: str, example: str, *, default: str | None = None) -> str:
        """One line of words."""
        if default is not None and not self.has(key):
            return default
        value = self._get(key, expected, f'"{example}"')
        if value is None or self._is_line(key, value, expected, example):
            return cast(str, value or "")
        return ""

    def texts(self, key: str, expected: str, example: str) -> tuple[str, ...]:
        """A list of one or more lines of words, none of them twice."""
        value = self._get(key, expected, example)
        if value is None:
            return ()
        if not isinstance(value, list) or not value:
            self.note(key, describe(value), expected, f"write {key} = {example}")
            return ()
        fine = [
            item
            for number, item in enumerate(value, 1)
            if self._is_line(f"{key}[{number}]", item, "a text in quotes", "...")
        ]
        for twice in sorted({item for item in fine if fine.count(item) > 1}):
            self.note(key, f"{twice!r} more than once", "each once", "delete the repetition")
        return tuple(fine)

    def _is_line(self, key: str, value: object, expected: str, example: str) -> bool:
        if isinstance(value, str) and value.strip():
            if value.isprintable() and len(value) <= _LONGEST_TEXT:
                return True
            limit = f"one line of at most {_LONGEST_TEXT} printable characters"
            self.note(key, describe(value), limit, "shorten it; take out line breaks")
            return False
        self.note(key, describe(value), expected, f'write a text in quotes, such as "{example}"')
        return False

    def choice(self, key: str, words: Iterable[str], *, default: str | None = None) -> str:
        """One of a few words."""
        known = tuple(words)
        expected = f"one of {', '.join(known)}"
        word = self.text(key, expected, known[0], default=default)
        if word and word != default and word not in known:
            self.note(key, repr(word), expected, nearest_fix(word, known))
            return ""
        return word

    def quantity(self, key: str, bounds: Bounds, *, default: bool = False) -> float:
        """A text with number and unit; NaN when missing or faulty.

        With `default`, a missing key takes the value of `bounds.example`.
        """
        if default and not self.has(key):
            return bounds.parse(bounds.example)
        value = self._get(key, bounds.expected, f'"{bounds.example}"')
        if value is None:
            return math.nan
        fix = f'write {key} = "{bounds.example}"'
        try:
            parsed = bounds.parse(value)
        except QuantityError as error:
            self.note(key, describe(value), error.expected, fix)
            return math.nan
        if bounds.hold(parsed):
            return parsed
        reason = f": {bounds.why}" if bounds.why else ""
        self.note(key, describe(value), f"{bounds.low} to {bounds.high}{reason}", fix)
        return math.nan

    def number(self, key: str, low: float, high: float, expected: str, example: str) -> float:
        """A bare number inside limits, for figures that have no unit; NaN when faulty."""
        value = self._get(key, expected, example)
        if value is None:
            return math.nan
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if is_number and low <= cast(float, value) <= high:
            return float(cast(float, value))
        self.note(key, describe(value), expected, f"write {key} = {example}")
        return math.nan

    def day(self, key: str) -> date | None:
        """A date without time, or None when the key is absent."""
        if not self.has(key):
            return None
        value = self.values[key]
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        fix = f"write {key} = 2027-03-31, without quotes and time"
        self.note(key, describe(value), "a date", fix)
        return None

    def section(self, key: str, *, required: bool = True) -> Table:
        """The table under the heading `[key]`.

        A required one that is missing is one fault, not one for each key that it should hold:
        the empty stand-in keeps its faults to itself.
        """
        value = self.values.get(key, {})
        if self.has(key) and not isinstance(value, dict):
            fix = f"begin it with a line [{key}]"
            self.note(key, describe(value), f"a table headed [{key}]", fix)
        elif required and key not in self.values:
            self.note(key, "missing", f"a table headed [{key}]", f"add a line [{key}] and its keys")
        else:
            return Table(cast(dict[str, object], value), self.path(key), self.faults)
        return Table({}, self.path(key), Faults(self.faults.place))

    def inner(self, key: str, example: str) -> Table | None:
        """The table in braces at a key; None when missing or faulty."""
        expected = f"a table such as {example}"
        value = self._get(key, expected, example)
        if value is None:
            return None
        if isinstance(value, dict):
            return Table(value, self.path(key), self.faults)
        self.note(key, describe(value), expected, f"write {key} = {example}")
        return None

    def tables(self, key: str) -> tuple[Table, ...]:
        """The `[[key]]` tables below this one, counted from 1 in key paths."""
        if not self.has(key):
            return ()
        value = self.values[key]
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            fix = f"begin each with a line [[{key}]]"
            self.note(key, describe(value), f"tables headed [[{key}]]", fix)
            return ()
        return tuple(
            Table(item, f"{self.path(key)}[{number}]", self.faults)
            for number, item in enumerate(value, 1)
        )

    def refuse_unknown(self) -> None:
        """Note every key that was never asked for."""
        known = tuple(self._asked)
        for key in self.values:
            if key not in self._asked:
                expected = f"one of {', '.join(sorted(known))}"
                self.note(key, "unknown key", expected, nearest_fix(key, known))


def nearest_fix(word: str, known: Iterable[str]) -> str:
    """Advice for a word that is not known: the nearest one that is."""
    nearest = difflib.get_close_matches(word, list(known), n=1)
    return f'did you mean "{nearest[0]}"?' if nearest else "delete it, or write one of those"


def describe(value: object) -> str:
    """A TOML value as a person would call it, cut to a readable length."""
    try:
        shown = repr(value)
    except (ValueError, RecursionError):  # thousands of digits, or of tables inside each other
        shown = "too long to show"
    if len(shown) > _LONGEST_SHOWN:
        shown = shown[: _LONGEST_SHOWN - 3] + "..."
    if isinstance(value, bool):
        return f"the truth value {str(value).lower()}"
    if isinstance(value, int | float):
        return f"the bare number {shown}"
    if isinstance(value, str):
        return shown if value.strip() else "an empty text"
    if isinstance(value, date | time):
        return f"the date or time {value.isoformat()}"
    if isinstance(value, list):
        return f"the list {shown}" if value else "an empty list"
    return f"the table {shown}"
