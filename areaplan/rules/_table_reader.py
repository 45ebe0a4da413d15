"""Reads one TOML table key by key, and collects every fault instead of stopping at the first."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, Final, TypeVar

from areaplan.errors import Fault, QuantityError
from areaplan.units import parse_length

Word = TypeVar("Word", bound=StrEnum)
Value = TypeVar("Value")

_PAIR: Final = re.compile(r"([^()]+?)\s*\(([^()]+)\)")
# The two figures of a printed pair are rounded, never by more than this share.
_PAIR_TOLERANCE: Final = 0.05


class TableReader:
    """One table of a rule file.

    Every method answers a harmless filler when it finds a fault; the caller looks at `faults`
    before it uses anything.

    Parameters
    ----------
    place : str
        The file, for messages.
    key : str
        Key path of the table, "" for the file's top level.
    table : mapping
        As `tomllib` read it.
    faults : list of Fault
        Shared by all tables of a file; faults are appended.
    """

    def __init__(self, place: str, key: str, table: Mapping[str, Any], faults: list[Fault]) -> None:
        self.place = place
        self.key = key
        self.table = table
        self.faults = faults

    def fault(self, key: str, *, found: str, expected: str, fix: str) -> None:
        """Note a fault at a key of this table."""
        path = f"{self.key}.{key}" if self.key and key else self.key or key
        self.faults.append(Fault(self.place, path, found, expected, fix))

    def missing(self, key: str, expected: str) -> None:
        """Note that a required key is not there."""
        self.fault(key, found="not given", expected=expected, fix=f"add {key} = ...")

    def refuse_other_keys(self, allowed: Iterable[str], of_what: str) -> None:
        """Note every key that does not belong here, with the nearest that does."""
        words = list(allowed)
        for key in self.table:
            if key not in words:
                expected = f"only the keys of {of_what}: {', '.join(words)}"
                self.fault(key, found="unknown key", expected=expected, fix=_nearest(key, words))

    def text(self, key: str, default: str | None = None) -> str:
        """Text on one line; required, and not empty, unless a default is given."""
        if key not in self.table and default is not None:
            return default
        expected = "text in quotes, not empty"
        if key not in self.table:
            self.missing(key, expected)
            return ""
        value = self.table[key]
        line = _line(value)
        if line is None or (not line and default is None):
            fix = "write it in quotes, without control characters"
            self.fault(key, found=repr(value), expected=expected, fix=fix)
        return line or ""

    def texts(self, key: str) -> tuple[str, ...]:
        """Optional list of texts, each on one line and not empty."""
        value = self.table.get(key, [])
        lines = [_line(item) for item in value] if isinstance(value, list) else [None]
        if not all(lines):
            fix = 'write a list such as ["...", "..."]'
            self.fault(key, found=repr(value), expected="a list of texts", fix=fix)
        return tuple(line for line in lines if line)

    def word(self, key: str, words: type[Word], default: Word | None = None) -> Word:
        """One of the words of an enumeration."""
        first = default if default is not None else next(iter(words))
        if key not in self.table:
            if default is None:
                self.missing(key, _one_of(words))
            return first
        return self._as_word(key, self.table[key], list(words), first)

    def words(self, key: str, allowed: Iterable[Word]) -> tuple[Word, ...]:
        """Required list of one or more different words."""
        choices = list(allowed)
        value = self.table.get(key)
        if not isinstance(value, list) or not value:
            expected = f"a list of {_one_of(choices)}"
            found = "not given" if key not in self.table else repr(value)
            self.fault(key, found=found, expected=expected, fix=f'write {key} = ["{choices[0]}"]')
            return ()
        found_words = tuple(self._as_word(key, item, choices, choices[0]) for item in value)
        if len(set(map(str, value))) != len(value):
            self.fault(key, found=repr(value), expected="each word once", fix="take one out")
        return found_words

    def flag(self, key: str) -> bool:
        """Required true or false."""
        value = self.table.get(key)
        if not isinstance(value, bool):
            found = "not given" if key not in self.table else repr(value)
            self.fault(key, found=found, expected="true or false", fix=f"write {key} = true")
            return False
        return value

    def day(self, key: str) -> date:
        """Required date."""
        value = self.table.get(key)
        if not isinstance(value, date) or isinstance(value, datetime):
            found = "not given" if key not in self.table else repr(value)
            fix = f"write {key} = 2026-11-25, without quotes"
            self.fault(key, found=found, expected="a date", fix=fix)
            return date.min
        return value

    def quantity(self, key: str, parse: Callable[[object], Value], filler: Value) -> Value:
        """Required value that a parser of `areaplan.units` reads."""
        if key not in self.table:
            self.missing(key, "a number with its unit, in quotes")
            return filler
        try:
            return parse(self.table[key])
        except QuantityError as error:
            fix = "write the number with its unit, in quotes"
            self.fault(key, found=error.found, expected=error.expected, fix=fix)
            return filler

    def printed_length_m(self, key: str, binding_unit: str, *, may_be_unlimited: bool) -> float:
        """Required length, alone or as a printed pair, metric and (imperial), in metres.

        Of a pair the figure in the binding unit counts. "unlimited" is positive infinity.
        """
        text = self.table.get(key)
        if may_be_unlimited and text == "unlimited":
            return math.inf
        pair = _PAIR.fullmatch(text.strip()) if isinstance(text, str) else None
        if pair is None:
            return self.quantity(key, parse_length, 1.0)
        parts = {re.sub("[^A-Za-z]", "", part): part for part in pair.groups()}
        if binding_unit not in parts:
            expected = f"the unit that binds: {' or '.join(parts)}"
            fix = f'write binding_unit = "{next(iter(parts))}"'
            found = repr(binding_unit) if binding_unit else "not given"
            self.fault("binding_unit", found=found, expected=expected, fix=fix)
            return 1.0
        try:
            lengths = {unit: parse_length(part) for unit, part in parts.items()}
        except QuantityError as error:
            fix = "write both figures with their units, the second in brackets"
            self.fault(key, found=repr(text), expected=error.expected, fix=fix)
            return 1.0
        low, high = min(lengths.values()), max(lengths.values())
        if len(parts) != 2 or high - low > _PAIR_TOLERANCE * high:
            expected = "one length printed in two units"
            self.fault(key, found=repr(text), expected=expected, fix="compare with the document")
        return lengths[binding_unit]

    def tables(self, key: str, name: str) -> list[TableReader]:
        """Array of tables, each with a reader of its own; none where the key is missing."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.fault(key, found=repr(value), expected=f"[[{key}]] tables", fix=f"write [[{key}]]")
            return []
        prefix = f"{self.key}." if self.key else ""
        return [
            TableReader(self.place, f"{prefix}{name}[{number}]", item, self.faults)
            for number, item in enumerate(value, 1)
        ]

    def _as_word(self, key: str, value: object, choices: list[Word], filler: Word) -> Word:
        for choice in choices:
            if value == choice.value:
                return choice
        fix = _nearest(str(value), [choice.value for choice in choices])
        self.fault(key, found=repr(value), expected=_one_of(choices), fix=fix)
        return filler


def _line(value: object) -> str | None:
    """Text on one line; None where it is no text, or holds what can't be printed."""
    line = " ".join(value.split()) if isinstance(value, str) else None
    return line if line is not None and line.isprintable() else None


def _one_of(words: Iterable[StrEnum]) -> str:
    return "one of " + ", ".join(f'"{word.value}"' for word in words)


def _nearest(found: str, words: list[str]) -> str:
    close = get_close_matches(found.lower(), words, n=1, cutoff=0.5)
    return f'did you mean "{close[0]}"?' if close else "take it out or choose one of these"
