"""Lengths as a law prints them: one figure, "unlimited", or a pair such as "300 m (1,000 ft)"."""

from __future__ import annotations

import math
import re
from typing import Final

from areaplan.errors import QuantityError
from areaplan.fault_words import describe
from areaplan.toml_quantities import read_parsed
from areaplan.toml_tables import Table
from areaplan.units import parse_length

_PAIR: Final = re.compile(r"([^()]+?)\s*\(([^()]+)\)")
# The two figures of a printed pair are rounded, never by more than this share.
_PAIR_TOLERANCE: Final = 0.05


def read_printed_length(
    table: Table, key: str, binding_unit: str, *, may_be_unlimited: bool
) -> float | None:
    """Read a length, alone or as a printed pair of two units, in metres.

    Of a pair the figure in the binding unit counts. "unlimited" is positive infinity. None, and a
    fault noted, when missing or faulty.
    """
    text = table.values[key] if table.has(key) else None
    if may_be_unlimited and text == "unlimited":
        return math.inf
    pair = _PAIR.fullmatch(text.strip()) if isinstance(text, str) else None
    if pair is None:
        return read_parsed(table, key, parse_length, "...")
    parts = {re.sub("[^A-Za-z]", "", part): part for part in pair.groups()}
    if binding_unit not in parts:
        expected = f"the unit that binds: {' or '.join(parts)}"
        fix = f'write binding_unit = "{next(iter(parts))}"'
        if binding_unit:
            table.note("binding_unit", describe(binding_unit), expected, fix)
        else:
            table.note_missing("binding_unit", expected, fix)
        return None
    try:
        lengths = {unit: parse_length(part) for unit, part in parts.items()}
    except QuantityError as error:
        fix = "write both figures with their units, the second in brackets"
        table.note(key, describe(text), error.expected, fix)
        return None
    low, high = min(lengths.values()), max(lengths.values())
    if len(parts) != 2 or high - low > _PAIR_TOLERANCE * high:
        expected = "one length printed in two units"
        table.note(key, describe(text), expected, "compare with the document")
        return None
    return lengths[binding_unit]
