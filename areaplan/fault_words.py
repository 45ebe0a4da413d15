"""The words of a fault: what was read, what would have been right, and the nearest valid word."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, time
from difflib import get_close_matches
from typing import Final

_LONGEST_SHOWN: Final = 60
_LIKENESS: Final = 0.5  # share of letters in common from which a known word is offered


def one_of(words: Iterable[str]) -> str:
    """A choice of words, each in quotes as it is written in a file."""
    return "one of " + ", ".join(f'"{word}"' for word in words)


def nearest_fix(
    word: str, known: Iterable[str], otherwise: str = "delete it, or write one of those"
) -> str:
    """Advice for a word that is not known: one that it is a part of, or else the nearest."""
    words = [str(one) for one in known]
    wanted = word.strip().lower()[:_LONGEST_SHOWN]
    whole = [one for one in words if len(wanted) > 1 and wanted in one]
    nearest = get_close_matches(wanted, whole, n=1, cutoff=0.0)
    nearest = nearest or get_close_matches(wanted, words, n=1, cutoff=_LIKENESS)
    return f'did you mean "{nearest[0]}"?' if nearest else otherwise


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
