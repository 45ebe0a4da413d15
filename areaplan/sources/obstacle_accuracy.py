"""Accuracy codes of obstacle tables, once, with their source."""

from __future__ import annotations

from typing import Final

from attrs import frozen

from areaplan.units import FOOT_M, NAUTICAL_MILE_M

# FAA OE/AAA, "Survey Accuracy", from FAA Order 8260.19J, appendix C. None: the code says unknown.
_HORIZONTAL_M: Final[dict[str, float | None]] = {
    "1": 20.0 * FOOT_M,
    "2": 50.0 * FOOT_M,
    "3": 100.0 * FOOT_M,
    "4": 250.0 * FOOT_M,
    "5": 500.0 * FOOT_M,
    "6": 1000.0 * FOOT_M,
    "7": 0.5 * NAUTICAL_MILE_M,
    "8": 1.0 * NAUTICAL_MILE_M,
    "9": None,
    "": None,
}
_VERTICAL_M: Final[dict[str, float | None]] = {
    "A": 3.0 * FOOT_M,
    "B": 10.0 * FOOT_M,
    "C": 20.0 * FOOT_M,
    "D": 50.0 * FOOT_M,
    "E": 125.0 * FOOT_M,
    "F": 250.0 * FOOT_M,
    "G": 500.0 * FOOT_M,
    "H": 1000.0 * FOOT_M,
    "I": None,
    "": None,
}
# The same page on an unverified survey: "typically require a 4D adjustment of 250 feet
# horizontally and 50 feet vertically to be applied in the most critical direction."
DEFAULT_HORIZONTAL_M: Final = 250.0 * FOOT_M
DEFAULT_VERTICAL_M: Final = 50.0 * FOOT_M


@frozen
class Accuracy:
    """Plus-or-minus of a position and a height, metres.

    `is_known` is False when either is the cautious default, 250 ft and 50 ft.
    """

    horizontal_m: float
    vertical_m: float
    is_known: bool


def accuracy_of_codes(horizontal_code: str, vertical_code: str) -> Accuracy:
    """Accuracy of a pair of published codes.

    Parameters
    ----------
    horizontal_code : str
        "1" to "8"; "9" and "" are unknown.
    vertical_code : str
        "A" to "H"; "I" and "" are unknown.

    Returns
    -------
    Accuracy
        The cautious default takes the place of an unknown code.

    Raises
    ------
    KeyError
        A code that the table does not have; the message is the code.
    """
    return accuracy_of_metres(
        _HORIZONTAL_M[horizontal_code.strip()], _VERTICAL_M[vertical_code.strip().upper()]
    )


def accuracy_of_metres(horizontal_m: float | None, vertical_m: float | None) -> Accuracy:
    """Accuracy of stated figures in metres; the cautious default stands in for None."""
    return Accuracy(
        DEFAULT_HORIZONTAL_M if horizontal_m is None else horizontal_m,
        DEFAULT_VERTICAL_M if vertical_m is None else vertical_m,
        horizontal_m is not None and vertical_m is not None,
    )
