"""The invented plan with its fields measured: counting, failing, proposed; for the map alone."""

from functools import lru_cache

import attrs
import numpy as np

from areaplan.engine.strip_table import DIRECTIONS, Strips
from areaplan.planning.measured import FiveS, MeasuredField
from areaplan.sources.layers import LandingField, SourceKind
from areaplan.sources.spec import SourceSpec
from tests.render.plan_fixture import plan
from tests.render.scenery import FIELDS_M, HOSTILE_NAMES, box, lonlat

LOST_BEFORE_M, LOST_AFTER_M = 60.4, 12.0
TOO_SHORT = "too short: 118 m usable of 410 m needed, landing 090"


def axis(shape_m):
    """Ends of a rectangle's long middle line, south-west end first, and its bearing."""
    corners = np.array(shape_m.convex_hull.minimum_rotated_rectangle.exterior.coords)[:4]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    first = int(np.argmin(sides[:2]))
    ends = [(corners[first + 2 * i] + corners[(first + 1 + 2 * i) % 4]) / 2 for i in (0, 1)]
    start, end = sorted((tuple(one) for one in ends), key=lambda xy: xy[1])
    bearing = np.degrees(np.arctan2(end[0] - start[0], end[1] - start[1])) % 360
    return np.array(start), np.array(end), bearing


def strips(shape_m, *, is_reversed=False):
    """One usable pair of directions along the long middle line, nothing in any other."""
    start, end, bearing = axis(shape_m)
    if is_reversed:
        start, end, bearing = end, start, (bearing + 180) % 360
    index = round(bearing / 10) % DIRECTIONS
    ends = np.full((2, DIRECTIONS, 2), np.nan)
    ends[0, index], ends[1, index] = start, end
    length = np.zeros(DIRECTIONS)
    length[index] = np.hypot(*(end - start))
    zero = np.zeros(DIRECTIONS)
    before, after = zero.copy(), zero.copy()
    before[index], after[index] = LOST_BEFORE_M, LOST_AFTER_M
    usable = np.maximum(0.0, length - before - after)
    nobody = np.full(DIRECTIONS, -1, dtype=np.int32)
    return index, Strips(ends[0], ends[1], length, before, after, usable, zero, zero, zero, nobody)


def measured(name, shape_m, *, why_not=(), is_candidate=False, is_reversed=False, **more):
    index, table = strips(shape_m, is_reversed=is_reversed)
    is_fit = not why_not or is_candidate
    is_enough = tuple(is_fit and k == index for k in range(DIRECTIONS))
    return MeasuredField(
        field=LandingField(name, lonlat(shape_m), surface="grass", **more),
        is_candidate=is_candidate,
        counts=not why_not,
        why_not=tuple(why_not),
        strips=table,
        needed_m=(341.2,) * DIRECTIONS,
        crosswind_mps=(3.0,) * DIRECTIONS,
        is_enough=is_enough,
        best_direction_deg_true=10 * index if is_fit else None,
        area_m2=shape_m.area,
        density_altitude_m=300.0,
        across=(("road", "Mill lane"),),
        nearest_solid="Hill line",
        nearest_solid_m=85.4,
        five_s=FiveS(
            f"{shape_m.area / 1e4:.1f} ha", "oblong", "grass", "wood to the <west>", "1 % up"
        ),
    )


@lru_cache(maxsize=1)
def measured_plan():
    """The plan; never to be written into."""
    rows = [
        measured(name, shape, is_reversed=number % 2 == 1)
        for number, (name, shape) in enumerate(FIELDS_M)
    ]
    rows[0] = attrs.evolve(
        rows[0],
        field=attrs.evolve(rows[0].field, consent="owner asked 2026", remarks=HOSTILE_NAMES[1]),
    )
    rows.append(measured("Too short", box(-900, -2300, 60, 120), why_not=[TOO_SHORT]))
    unseen = "not confirmed: proposed by land cover, looked at by nobody"
    rows.append(measured("Pasture 2", box(-1500, 600, 150, 640, 100), is_candidate=True))
    proposed = measured(
        "Pasture 1", box(1900, -1700, 150, 640, 50), why_not=[unseen], is_candidate=True
    )
    project = attrs.evolve(
        plan().project,
        sources=(
            SourceSpec(
                kind=SourceKind.AIRSPACE,
                paths=(),
                names=(),
                none_because='nothing on the chart, "looked" <twice>',
            ),
        ),
    )
    layers = attrs.evolve(plan().layers, woods=())
    return attrs.evolve(
        plan(),
        project=project,
        layers=layers,
        measured=tuple(rows),
        candidates=(proposed,),
        fields=tuple(row.field for row in rows),
    )
