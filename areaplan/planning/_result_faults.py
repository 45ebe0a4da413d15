"""What is said of a saved result that can't be used."""

from __future__ import annotations

from typing import Final

from areaplan.errors import InputError

SAVE_AGAIN: Final = "take an undamaged copy, or save it again: areaplan check PROJECT --save FILE"


def refuse(place: str, key: str, found: str, expected: str, fix: str = SAVE_AGAIN) -> InputError:
    """Make the error, in a file and at a member or a key of one."""
    return InputError.single(place, key, found=found, expected=expected, fix=fix)
