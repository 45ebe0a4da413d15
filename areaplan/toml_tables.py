"""TOML tables read key by key: faults are noted, not raised, so that all are told at once."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Final, TypeVar, cast

from attrs import Factory, define, field

from areaplan.errors import Fault, InputError
from areaplan.fault_words import describe, nearest_fix, one_of

Word = TypeVar("Word", bound=str)

_LONGEST_TEXT: Final = 400


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

    A getter that meets a fault notes it and returns a stand-in: NaN, "", False, None or an empty
    tuple. Stand-ins never reach anyone: who reads the file must raise when a fault was noted.
    Every key asked for is a known key; `refuse_unknown` notes the others. Where a getter takes
    them, `expected` says what the value is, and `example` is one that would be right.

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
    _asked: dict[str, None] = field(init=False, factory=dict)

    def path(self, key: str) -> str:
        """Key path of one of its keys."""
        return f"{self.key}.{key}" if self.key else key

    def note(self, key: str, found: str, expected: str, fix: str) -> None:
        """Note a fault at a key."""
        self.faults.note(self.path(key), found, expected, fix)

    def note_missing(self, key: str, expected: str, fix: str) -> None:
        """Note that a key is not there, though it must be."""
        self.note(key, "not given", expected, fix)

    def has(self, key: str) -> bool:
        """Whether the key is there; it counts as asked for."""
        self._asked[key] = None
        return key in self.values

    def get(self, key: str, expected: str, example: str) -> object | None:
        """Any value, for a reader that checks it; None when missing. `example` is TOML."""
        if not self.has(key):
            self.note_missing(key, expected, f"add the missing key: {key} = {example}")
            return None
        return self.values[key]

    def text(self, key: str, expected: str, example: str, *, default: str | None = None) -> str:
        """One line of words, not too long for a heading."""
        if default is not None and not self.has(key):
            return default
        value = self.get(key, expected, f'"{example}"')
        if value is None or self._is_line(key, value, expected, example):
            return cast(str, value or "")
        return ""

    def texts(self, key: str, expected: str, example: str) -> tuple[str, ...]:
        """A list of one or more lines of words, none of them twice."""
        value = self._full_list(key, expected, example)
        fine = [
            cast(str, item)
            for number, item in enumerate(value, 1)
            if self._is_line(f"{key}[{number}]", item, "a text in quotes", "...")
        ]
        self._refuse_twice(key, fine, "each text once")
        return tuple(fine)

    def prose(self, key: str, *, default: str | None = None) -> str:
        """Words of any length, line breaks turned into spaces; empty only with a default."""
        if default is not None and not self.has(key):
            return default
        expected = "text in quotes, not empty"
        value = self.get(key, expected, '"..."')
        if value is None:
            return ""
        words = _joined(value)
        if words is None or (not words and default is None):
            fix = "write it in quotes, without control characters"
            self.note(key, describe(value), expected, fix)
        return words or ""

    def passages(self, key: str) -> tuple[str, ...]:
        """A list of prose, none of it empty; no passage when the key is absent."""
        value = self.values[key] if self.has(key) else []
        found = [_joined(item) for item in value] if isinstance(value, list) else [None]
        if not all(found):
            self.note(key, describe(value), "a list of texts", f'write {key} = ["...", "..."]')
        return tuple(words for words in found if words)

    def choice(
        self, key: str, words: Iterable[Word], *, default: Word | None = None
    ) -> Word | None:
        """One of a few words, or members of a `StrEnum`."""
        known = tuple(words)
        if default is not None and not self.has(key):
            return default
        value = self.get(key, one_of(known), '"..."')
        return None if value is None else self._as_word(key, value, known)

    def choices(self, key: str, words: Iterable[Word]) -> tuple[Word, ...]:
        """A list of one or more of a few words, none of them twice."""
        known = tuple(words)
        value = self._full_list(key, f"a list, each {one_of(known)}", '["..."]')
        found = [self._as_word(key, item, known) for item in value]
        fine = [word for word in found if word is not None]
        self._refuse_twice(key, fine, "each word once")
        return tuple(fine)

    def flag(self, key: str) -> bool:
        """Either true or false."""
        expected = "true or false"
        value = self.get(key, expected, "true")
        if value is not None and not isinstance(value, bool):
            self.note(key, describe(value), expected, f"write {key} = true")
        return value is True

    def number(self, key: str, low: float, high: float, expected: str, example: str) -> float:
        """A bare number inside limits, for figures that have no unit."""
        value = self.get(key, expected, example)
        if value is None:
            return math.nan
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        if is_number and low <= cast(float, value) <= high:
            return float(cast(float, value))
        self.note(key, describe(value), expected, f"write {key} = {example}")
        return math.nan

    def day(self, key: str, *, required: bool = False) -> date | None:
        """A date without time; None when the key is absent."""
        if not required and not self.has(key):
            return None
        value = self.get(key, "a date", "2027-03-31")
        if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
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
            fix = f"add the missing line [{key}] and its keys"
            self.note_missing(key, f"a table headed [{key}]", fix)
        else:
            return Table(cast(dict[str, object], value), self.path(key), self.faults)
        return Table({}, self.path(key), Faults(self.faults.place))

    def inner(self, key: str, example: str) -> Table | None:
        """The table in braces at a key."""
        expected = f"a table such as {example}"
        value = self.get(key, expected, example)
        if value is None:
            return None
        if isinstance(value, dict):
            return Table(value, self.path(key), self.faults)
        self.note(key, describe(value), expected, f"write {key} = {example}")
        return None

    def tables(self, key: str, *, each: str = "") -> tuple[Table, ...]:
        """The `[[key]]` tables, counted from 1 in key paths, as `each` where that is given."""
        value = self.values[key] if self.has(key) else []
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            fix = f"begin each with a line [[{key}]]"
            self.note(key, describe(value), f"tables headed [[{key}]]", fix)
            return ()
        return tuple(
            Table(item, f"{self.path(each or key)}[{number}]", self.faults)
            for number, item in enumerate(value, 1)
        )

    def refuse_unknown(self, what: str = "") -> None:
        """Note every key that was never asked for; `what` names this kind of table."""
        known = sorted(self._asked)
        expected = f"only the keys of {what}: " if what else "one of "
        for key in self.values:
            if key not in self._asked:
                fix = nearest_fix(key, known)
                self.note(key, "unknown key", expected + ", ".join(known), fix)

    def _full_list(self, key: str, expected: str, example: str) -> list[object]:
        value = self.get(key, expected, example)
        if value is None or (isinstance(value, list) and value):
            return cast(list[object], value or [])
        self.note(key, describe(value), expected, f"write {key} = {example}")
        return []

    def _is_line(self, key: str, value: object, expected: str, example: str) -> bool:
        if isinstance(value, str) and value.strip():
            if value.isprintable() and len(value) <= _LONGEST_TEXT:
                return True
            limit = f"one line of at most {_LONGEST_TEXT} printable characters"
            self.note(key, describe(value), limit, "shorten it; take out line breaks")
            return False
        self.note(key, describe(value), expected, f'write a text in quotes, such as "{example}"')
        return False

    def _as_word(self, key: str, value: object, known: Sequence[Word]) -> Word | None:
        for word in known:
            if value == word:
                return word
        fix = nearest_fix(value if isinstance(value, str) else "", known)
        self.note(key, describe(value), one_of(known), fix)
        return None

    def _refuse_twice(self, key: str, texts: Sequence[str], expected: str) -> None:
        for twice in sorted({text for text in texts if texts.count(text) > 1}):
            self.note(key, f"{str(twice)!r} more than once", expected, "delete the repetition")


_ZIP: Final = b"PK\x03\x04"  # first bytes of an archive with a member


def parse_toml(place: str, data: bytes, *, expected: str, fix: str) -> dict[str, object]:
    """Turn the bytes of a file into the table that `tomllib` reads.

    Parameters
    ----------
    place : str
        The file, for messages.
    data : bytes
        UTF-8, with or without a byte order mark.
    expected, fix : str
        What to say of a text that is not TOML.

    Raises
    ------
    InputError
        Not UTF-8, or not TOML, or nested too deep to be read.
    """
    if data.startswith(_ZIP):
        raise InputError.single(
            place,
            "",
            found="a zip archive, such as a saved result is",
            expected="a TOML file in UTF-8",
            fix="name the TOML file; a saved result is for areaplan compare alone",
        )
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        text = error.object  # without the byte order mark, if there was one
        line = text.count(b"\n", 0, error.start) + 1
        raise InputError.single(
            place,
            f"line {line}",
            found=f"byte {text[error.start]:#04x}, which is not UTF-8",
            expected="a TOML file in UTF-8",
            fix="save the file again with encoding UTF-8",
        ) from error
    except (ValueError, RecursionError) as error:  # TOMLDecodeError is a ValueError
        found = str(error) if isinstance(error, ValueError) else "brackets inside brackets for ever"
        raise InputError.single(
            place, "", found=f"not TOML: {found}", expected=expected, fix=fix
        ) from error


def _joined(value: object) -> str | None:
    """Text on one line; None where it is no text, or holds what can't be printed."""
    line = " ".join(value.split()) if isinstance(value, str) else None
    return line if line is not None and line.isprintable() else None
