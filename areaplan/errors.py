"""The error tree: every message says what, where, what was expected and how to fix it."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen


@frozen
class Fault:
    """One thing wrong with an input.

    Attributes
    ----------
    place : str
        The file (or command-line argument) that carries the fault.
    key : str
        Key path, feature, line or column inside it; empty when the whole file is meant.
    found : str
        What was read, or what happened.
    expected : str
        What would have been right.
    fix : str
        What to do about it.
    """

    place: str
    key: str
    found: str
    expected: str
    fix: str

    def __str__(self) -> str:
        """Two lines: the fault, and the fix."""
        where = f"{self.place}: {self.key}" if self.key else self.place
        return f"{where}: {self.found}; expected {self.expected}\n  fix: {self.fix}"


class AreaplanError(Exception):
    """Root of every error that areaplan raises on purpose."""


class InputError(AreaplanError):
    """Bad input, with every fault that was found, not only the first.

    Parameters
    ----------
    faults : iterable of Fault
        At least one.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    @classmethod
    def single(cls, place: str, key: str, *, found: str, expected: str, fix: str) -> InputError:
        """Build an error with a single fault; parameters as in `Fault`."""
        return cls([Fault(place, key, found, expected, fix)])


class QuantityError(AreaplanError, ValueError):
    """A text that should be a quantity with unit and reference is not one.

    Attributes
    ----------
    found : str
        The text as read.
    expected : str
        The forms that would have been accepted, with an example.
    """

    def __init__(self, found: object, expected: str) -> None:
        self.found = repr(found)
        self.expected = expected
        super().__init__(f"{self.found}; expected {expected}")


class OutsideDataError(AreaplanError):
    """A place lies outside the evaluated grid, so nothing is known about it."""
