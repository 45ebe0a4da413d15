"""What was added, removed, moved, raised or reworded between the data of two results.

Things of a kind are matched by what they are before where they are: the same place and name; the
same place under another name; the same published name, the nearest first; and last, outlines that
nowhere part by more than `SAME_PLACE_M`. What finds no partner was added or removed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from enum import StrEnum
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.planning.result import Result
from areaplan.planning.things_told import Thing
from areaplan.units import feet_up

# Nearer than this and of one kind, two things without a common name are taken for one that was
# surveyed or drawn again: a convention of areaplan, of the order of a building.
SAME_PLACE_M: Final = 30.0
STILL_M: Final = 0.5  # a coordinate printed with one digit less is no move
_NOISE_M: Final = 0.01  # coordinates are not printed finer


class Change(StrEnum):
    """What happened to a thing."""

    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


@frozen
class ThingChange:
    """One thing that is not as it was.

    Attributes
    ----------
    kind : str
        Such as "obstacles".
    name : str
        Its present name; the old one where it was removed.
    change : Change
    lat, lon : float
        A point of it, as it is now; as it was where it was removed.
    moved_m : int or None
        Farthest that any part of its outline lies from the other outline, whole metres rounded up;
        None where it did not move.
    taller_ft : int or None
        Rise of its top, negative where it fell, whole feet rounded away from 0; None where the top
        did not change or is not told both times.
    words : tuple of str
        What else changed, each as "what: old -> new".
    """

    kind: str
    name: str
    change: Change
    lat: float
    lon: float
    moved_m: int | None
    taller_ft: int | None
    words: tuple[str, ...]


def compare_things(old: Result, new: Result) -> tuple[ThingChange, ...]:
    """Compare the rows of every layer of two results.

    Returns
    -------
    tuple of ThingChange
        By kind; removed, added, then changed ones, each in the order of names.
    """
    found: list[ThingChange] = []
    for kind in dict.fromkeys([*old.things, *new.things]):
        before, after = old.things.get(kind, ()), new.things.get(kind, ())
        rows = _compare_kind(kind, before, after, new.frame)
        found += sorted(rows, key=lambda row: (_ORDER[row.change], row.name))
    return tuple(found)


_ORDER: Final = {Change.REMOVED: 0, Change.ADDED: 1, Change.CHANGED: 2}


def _compare_kind(
    kind: str, before: Sequence[Thing], after: Sequence[Thing], frame: LocalFrame
) -> list[ThingChange]:
    pairs, gone, come = _match(before, after, frame)
    found = [
        *(_change(kind, one, Change.REMOVED, frame) for one in gone),
        *(_change(kind, one, Change.ADDED, frame) for one in come),
    ]
    for old, new in pairs:
        change = _change(kind, new, Change.CHANGED, frame, old)
        if change.moved_m is not None or change.taller_ft is not None or change.words:
            found.append(change)
    return found


def _match(
    before: Sequence[Thing], after: Sequence[Thing], frame: LocalFrame
) -> tuple[list[tuple[Thing, Thing]], list[Thing], list[Thing]]:
    """Pairs, what is left of the old ones, and what is left of the new ones."""
    pairs: list[tuple[Thing, Thing]] = []
    keys: tuple[Callable[[Thing], object], ...] = (
        lambda one: (one.name, one.geometry.wkb),
        lambda one: one.geometry.wkb,
    )
    for key in keys:
        waiting: dict[object, list[Thing]] = defaultdict(list)
        for one in after:
            waiting[key(one)].append(one)
        left = []
        for old in before:
            same = waiting[key(old)]
            if same:
                pairs.append((old, same.pop(0)))
            else:
                left.append(old)
        before, after = left, [one for rows in waiting.values() for one in rows]
    by_name = _nearest(before, after, frame, np.inf, is_name_asked=True)
    before, after = _without(before, after, by_name)
    near = _nearest(before, after, frame, SAME_PLACE_M, is_name_asked=False)
    left_before, left_after = _without(before, after, near)
    return [*pairs, *by_name, *near], left_before, left_after


def _nearest(
    before: Sequence[Thing],
    after: Sequence[Thing],
    frame: LocalFrame,
    within_m: float,
    *,
    is_name_asked: bool,
) -> list[tuple[Thing, Thing]]:
    """Greedy pairs, the nearest first, each thing once."""
    if not before or not after:
        return []
    old_m = [frame.geometry_to_local(one.geometry) for one in before]
    new_m = [frame.geometry_to_local(one.geometry) for one in after]
    if is_name_asked:
        places: dict[str, list[int]] = defaultdict(list)
        for j, one in enumerate(after):
            places[one.name].append(j)
        candidates = [(i, j) for i, one in enumerate(before) for j in places.get(one.name, ())]
    else:
        tree = shapely.STRtree(new_m)
        hits = tree.query(old_m, predicate="dwithin", distance=within_m)
        candidates = [(int(i), int(j)) for i, j in hits.T]
    apart = [(float(shapely.hausdorff_distance(old_m[i], new_m[j])), i, j) for i, j in candidates]
    ranked = sorted(row for row in apart if row[0] <= within_m)
    taken_old: set[int] = set()
    taken_new: set[int] = set()
    pairs = []
    for _, i, j in ranked:
        if i not in taken_old and j not in taken_new:
            taken_old.add(i)
            taken_new.add(j)
            pairs.append((before[i], after[j]))
    return pairs


def _without(
    before: Sequence[Thing], after: Sequence[Thing], pairs: list[tuple[Thing, Thing]]
) -> tuple[list[Thing], list[Thing]]:
    paired = {id(one) for pair in pairs for one in pair}
    return (
        [one for one in before if id(one) not in paired],
        [one for one in after if id(one) not in paired],
    )


def _change(
    kind: str, thing: Thing, change: Change, frame: LocalFrame, old: Thing | None = None
) -> ThingChange:
    place = shapely.point_on_surface(thing.geometry)
    return ThingChange(
        kind=kind,
        name=thing.name,
        change=change,
        lat=float(place.y),
        lon=float(place.x),
        moved_m=None if old is None else _moved_m(old.geometry, thing.geometry, frame),
        taller_ft=None if old is None else _taller_ft(old, thing),
        words=() if old is None else tuple(_reworded(old, thing)),
    )


def _moved_m(old: BaseGeometry, new: BaseGeometry, frame: LocalFrame) -> int | None:
    if old.wkb == new.wkb:
        return None
    apart_m = float(
        shapely.hausdorff_distance(frame.geometry_to_local(old), frame.geometry_to_local(new))
    )
    return None if apart_m < STILL_M else int(np.ceil(apart_m - _NOISE_M))


def _taller_ft(old: Thing, new: Thing) -> int | None:
    """By the first reference in which both tops are told."""
    after = dict(new.tops_m)
    for reference, old_m in old.tops_m:
        new_m = after[reference]
        if old_m is None or new_m is None:
            continue
        if new_m == old_m:
            return None
        feet = feet_up(abs(new_m - old_m))
        return feet if new_m > old_m else -feet
    return None


def _reworded(old: Thing, new: Thing) -> Iterator[str]:
    after = dict(new.told)
    for label, was in old.told:
        if was != after[label]:
            yield f"{label}: {was or 'nothing'} -> {after[label] or 'nothing'}"
    for (reference, old_m), (_, new_m) in zip(old.tops_m, new.tops_m, strict=True):
        if (old_m is None) is not (new_m is None):
            yield f"top {reference}: {'not told' if old_m is None else 'told'} -> " + (
                "not told" if new_m is None else "told"
            )
    if old.name != new.name:
        yield f"name: {old.name} -> {new.name}"
