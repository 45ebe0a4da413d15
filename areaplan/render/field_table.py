"""One field in full: its five looks, and the strip of every landing direction in a table."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from areaplan.engine.strip_table import DIRECTIONS
from areaplan.errors import InputError
from areaplan.fault_words import nearest_fix
from areaplan.planning.field_list import FieldList
from areaplan.planning.field_words import direction_words
from areaplan.planning.measured import MeasuredField
from areaplan.render.field_text import field_lines
from areaplan.render.landing_words import needed_length_words
from areaplan.render.text import bullets
from areaplan.units import KNOT_MPS

_HEAD = (
    f"{'landing':>9}{'strip':>7}{'lost':>11}{'usable':>8}{'needed':>8}{'cross':>7}{'slope':>8}"
    f"{'steepest':>10}{'rough':>7}  enough"
)


def one_field_text(found: FieldList, name: str) -> str:
    """A field, or every field of that name, with all 36 landing directions.

    Lengths in metres, usable ones rounded down and needed ones up; crosswinds in knots, rounded up;
    slopes in per cent, uphill positive.

    Parameters
    ----------
    found : FieldList
    name : str
        As drawn, or as proposed.

    Raises
    ------
    InputError
        No field and no candidate has that name.
    """
    rows = [row for row in (*found.fields, *found.candidates) if row.field.name == name]
    if not rows:
        names = [row.field.name for row in (*found.fields, *found.candidates)]
        raise InputError.single(
            str(found.project.path),
            "--field",
            found=repr(name),
            expected=f"one of its {len(names)} fields and candidates",
            fix=nearest_fix(name, names),
        )
    lines = [f"{found.project.name}: with wind {found.project.wind}"]
    for number, row in enumerate(rows, 1):
        lines += ["", *field_lines(number, row), "", _HEAD, *_strips(row)]
    told = [*needed_length_words(found.project), *found.cautions]
    return "\n".join([*lines, "", *bullets(told)])


def _strips(row: MeasuredField) -> list[str]:
    return [_strip(row, index) for index in range(DIRECTIONS)]


def _strip(row: MeasuredField, i: int) -> str:
    strips = row.strips
    best = row.best_direction_deg_true == 10 * i
    enough = "best" if best else "yes" if row.is_enough[i] else "no"
    lost = f"{math.ceil(strips.lost_before_m[i])}+{math.ceil(strips.lost_after_m[i])}"
    crosswind_kt = math.ceil(row.crosswind_mps[i] / KNOT_MPS - 1e-6)
    cells: Sequence[str] = (
        f"{direction_words(i):>9}{math.floor(strips.length_m[i]):>7}{lost:>11}"
        f"{math.floor(strips.usable_m[i]):>8}{math.ceil(row.needed_m[i]):>8}{crosswind_kt:>7}",
        f"{_share(strips.slope[i], '+.1%'):>8}",
        f"{_share(strips.steepest[i], '.1%'):>10}",
        f"{_share(strips.roughness_m[i], '.1f'):>7}",
        f"  {enough}",
    )
    return "".join(cells)


def _share(value: float, form: str) -> str:
    return "?" if np.isnan(value) else format(round(float(value), 3) + 0.0, form)
