"""Compiled loops of `strips.py`. No checks: the public function has made them.

All of it happens in a turned frame: u runs along the landing direction, v to its left. A strip
is the band from v to v + width between two places u; the longest is the widest gap, over all
v, between what the boundary and the things standing near block of the u axis.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from areaplan.compiled import compiled

EDGE_M = 1e-6  # strips may touch the boundary: so much of their width is not looked at
BETTER = 5e-3  # a strip is better when it is longer by more than this share
SHORTEST_M = 1.0  # shorter gaps are no strips
NARROWEST_STEP_M = 1e-4  # sideways, below which the search stops
LEAST_FALL = 1e-3  # approach slope plus slope of the ground, below which the two never meet
SEEDS = 16
STACK = 128


# Columns of a thing's segment after its two ends. In a turned scene the fourth is how far from
# the origin, for a thing at the origin, a path over its top comes down.
SPREAD, REACH, IS_AREA, TOP, DOWN = 4, 5, 6, 7, 7
COLUMNS = 8


class Scene(NamedTuple):
    """Segments of the field's rings, and those of the things near it with what they ask for.

    IS_AREA marks the rings of polygons in which some of the field may lie. The ground is the plane
    of height, slope east and slope north in `plane`, everywhere at or below the real one.
    """

    rings: Any
    things: Any
    plane: Any
    approach_slope: float
    width: float


class Turned(NamedTuple):
    """The scene along one direction, with those of the things' segments that matter in it.

    A path over a thing at u, v comes down at ku u + kv v + DOWN. `segment` are the things' places
    in the scene; `room` is for intervals.
    """

    rings: Any
    things: Any
    segment: Any
    ku: float
    kv: float
    room: Any


@compiled
def turn(segments: Any, sine: float, cosine: float) -> Any:
    """Segments x0, y0, x1, y1 as u0, v0, u1, v1."""
    turned = segments.copy()
    for i in range(segments.shape[0]):
        for j in (0, 2):
            x, y = segments[i, j], segments[i, j + 1]
            turned[i, j] = x * sine + y * cosine
            turned[i, j + 1] = y * sine - x * cosine
    return turned


@compiled
def extent(rings: Any, j: int) -> tuple[float, float]:
    """Least and greatest of a coordinate."""
    low = high = rings[0, j]
    for i in range(1, rings.shape[0]):
        low, high = min(low, rings[i, j]), max(high, rings[i, j])
    return low, high


@compiled
def turn_scene(scene: Scene, sine: float, cosine: float) -> Turned:
    """Turn everything, and say where a path over each thing's top comes down."""
    rings, things = turn(scene.rings, sine, cosine), turn(scene.things, sine, cosine)
    first_u, last_u = extent(rings, 0)
    low_v, high_v = extent(rings, 1)
    along = scene.plane[1] * sine + scene.plane[2] * cosine
    across = scene.plane[2] * sine - scene.plane[1] * cosine
    fall = scene.approach_slope + along
    has_fall = fall > LEAST_FALL  # false where the ground is unknown
    ku = scene.approach_slope / fall if has_fall else 0.0
    kv = -across / fall if has_fall else 0.0
    segment = np.empty(things.shape[0], np.int64)
    count = 0
    for i in range(things.shape[0]):
        u0, v0, u1, v1 = things[i, 0], things[i, 1], things[i, 2], things[i, 3]
        reach = things[i, REACH]
        if min(v0, v1) - reach >= high_v or max(v0, v1) + reach <= low_v:
            continue
        over = np.inf
        if has_fall:
            # It may stand nearer by its spread; the path may lie to its side by its reach.
            raised = scene.approach_slope * things[i, SPREAD] + abs(across) * reach
            value = (things[i, TOP] + raised - scene.plane[0]) / fall
            over = value if value < np.inf else np.inf  # infinite where the top is unknown
        down = max(ku * u0 + kv * v0, ku * u1 + kv * v1) + over
        is_behind = max(max(u0, u1) + reach, down) <= first_u
        is_beyond = min(u0, u1) - reach >= last_u
        if (is_behind or is_beyond) and things[i, IS_AREA] == 0.0:
            continue
        for j in range(DOWN):
            things[count, j] = things[i, j]
        things[count, DOWN], segment[count] = over, i
        count += 1
    room = np.empty((2, rings.shape[0] + count))
    return Turned(rings, things[:count], segment[:count], ku, kv, room)


@compiled
def clip(
    segments: Any, i: int, low_v: float, high_v: float
) -> tuple[bool, float, float, float, float]:
    """The part of a segment in the open band: whether there is any, and its two ends."""
    u0, v0, u1, v1 = segments[i, 0], segments[i, 1], segments[i, 2], segments[i, 3]
    if max(v0, v1) <= low_v or min(v0, v1) >= high_v:
        return False, u0, v0, u1, v1
    if v0 > v1:
        u0, v0, u1, v1 = u1, v1, u0, v0
    rise = v1 - v0
    if v0 < low_v:
        u0, v0 = u0 + (u1 - u0) * ((low_v - v0) / rise), low_v
    if v1 > high_v:
        u1, v1 = u1 - (u1 - u0) * ((v1 - high_v) / (v1 - v0)), high_v
    return True, u0, v0, u1, v1


@compiled
def blocked(
    scene: Turned, i: int, low_v: float, high_v: float, losses: bool
) -> tuple[bool, float, float]:
    """What a thing blocks of the band: from where to where, with or without what it costs."""
    reach = scene.things[i, REACH]
    is_in, u0, v0, u1, v1 = clip(scene.things, i, low_v - reach, high_v + reach)
    first, last = min(u0, u1), max(u0, u1)
    if not losses:
        return is_in, first - scene.things[i, SPREAD], last + scene.things[i, SPREAD]
    down = max(scene.ku * u0 + scene.kv * v0, scene.ku * u1 + scene.kv * v1)
    return is_in, first - reach, max(last + reach, down + scene.things[i, DOWN])


@compiled
def winding(segments: Any, u: float, v: float, i: int) -> int:
    """What segment i adds to the winding number of a place (Sunday's crossing rule)."""
    u0, v0, u1, v1 = segments[i, 0], segments[i, 1], segments[i, 2], segments[i, 3]
    side = (u1 - u0) * (v - v0) - (u - u0) * (v1 - v0)
    if v0 <= v:
        return 1 if v1 > v and side > 0.0 else 0
    return -1 if v1 <= v and side < 0.0 else 0


@compiled
def is_open(scene: Turned, u: float, v: float) -> bool:
    """Whether a place lies in the field and in no thing."""
    turns = 0
    for i in range(scene.rings.shape[0]):
        turns += winding(scene.rings, u, v, i)
    if turns == 0:
        return False
    turns = 0
    for i in range(scene.things.shape[0]):
        if scene.things[i, IS_AREA] != 0.0:
            turns += winding(scene.things, u, v, i)
    return turns == 0


@compiled
def widest_gap(
    scene: Turned, low_v: float, high_v: float, least: float, losses: bool
) -> tuple[float, float]:
    """Start and end of the longest open gap longer than `least`; the same place twice if none."""
    low_v, high_v = low_v + EDGE_M, high_v - EDGE_M
    starts, ends, count = scene.room[0], scene.room[1], 0
    for i in range(scene.rings.shape[0] + scene.things.shape[0]):
        if i < scene.rings.shape[0]:
            is_in, u0, _, u1, _ = clip(scene.rings, i, low_v, high_v)
            start, end = min(u0, u1), max(u0, u1)
        else:
            is_in, start, end = blocked(scene, i - scene.rings.shape[0], low_v, high_v, losses)
        if not is_in:
            continue
        place = count
        while place > 0 and starts[place - 1] > start:
            starts[place], ends[place] = starts[place - 1], ends[place - 1]
            place -= 1
        starts[place], ends[place] = start, end
        count += 1
    best, best_start, best_end = least, 0.0, 0.0
    reached = ends[0] if count else 0.0
    for place in range(1, count):
        gap = starts[place] - reached
        if gap > best and is_open(scene, 0.5 * (starts[place] + reached), 0.5 * (low_v + high_v)):
            best, best_start, best_end = gap, reached, starts[place]
        reached = max(reached, ends[place])
    return best_start, best_end


@compiled
def offsets(scene: Turned, width: float) -> Any:
    """Where the answer can jump: the band's sides at a vertex, or at what a thing reaches to."""
    low, high = extent(scene.rings, 1)
    high -= width
    if high < low - EDGE_M:
        return np.empty(0)
    high = max(high, low)
    found = np.empty(2 + 2 * scene.rings.shape[0] + 4 * scene.things.shape[0])
    found[0], found[1] = low, high
    count = 2
    for i in range(scene.rings.shape[0]):
        found[count], found[count + 1] = scene.rings[i, 1], scene.rings[i, 1] - width
        count += 2
    for i in range(scene.things.shape[0]):
        for j in (1, 3):
            found[count] = scene.things[i, j] + scene.things[i, REACH]
            found[count + 1] = scene.things[i, j] - scene.things[i, REACH] - width
            count += 2
    kept = 0
    for i in range(count):
        value = found[i]
        if value < low or value > high:
            continue
        place = kept
        while place > 0 and found[place - 1] > value:
            found[place] = found[place - 1]
            place -= 1
        found[place] = value
        kept += 1
    return found[:kept]


@compiled
def longest(scene: Turned, width: float, losses: bool) -> tuple[float, float, float]:
    """Offset, start and end of the longest strip along u; start = end if there is none.

    Branch and bound over the offset: whatever the offset between a and b, the strip holds the
    narrower band from b to a + width, and is no longer than the longest gap in that.
    """
    places = offsets(scene, width)
    count = places.size
    best_v = best_start = best_end = 0.0
    if count == 0:
        return best_v, best_start, best_end
    least = SHORTEST_M
    for seed in range(-1, SEEDS):  # the middle first: where nothing is better it stays
        if seed < 0:
            v = 0.5 * (places[0] + places[-1])
        else:
            v = places[seed * (count - 1) // (SEEDS - 1)]
        start, end = widest_gap(scene, v, v + width, least, losses)
        if end > start:
            best_v, best_start, best_end = v, start, end
            least = (end - start) * (1.0 + BETTER)
    low, high = np.empty(STACK), np.empty(STACK)
    first, last = np.empty(STACK, np.int64), np.empty(STACK, np.int64)
    low[0], high[0], first[0], last[0] = places[0], places[-1], 0, count - 1
    depth = 1
    while depth > 0:
        depth -= 1
        a, b, i, j = low[depth], high[depth], first[depth], last[depth]
        if b - a < NARROWEST_STEP_M and j - i <= 1:
            continue
        if b - a < width - 4.0 * EDGE_M:
            start, end = widest_gap(scene, b, a + width, least, losses)
            if end <= start:
                continue
        if j - i > 1:
            middle = (i + j) // 2
            v = places[middle]
            first[depth], last[depth], first[depth + 1], last[depth + 1] = i, middle, middle, j
        else:
            v = 0.5 * (a + b)
            first[depth], last[depth], first[depth + 1], last[depth + 1] = 0, 0, 0, 0
        low[depth], high[depth], low[depth + 1], high[depth + 1] = a, v, v, b
        depth += 2
        start, end = widest_gap(scene, v, v + width, least, losses)
        if end > start:
            best_v, best_start, best_end = v, start, end
            least = (end - start) * (1.0 + BETTER)
    return best_v, best_start, best_end


@compiled
def best_strips(scene: Scene, sines: Any, cosines: Any, strips: Any, costly: Any) -> None:
    """For each direction: offset, start and end of the whole strip, start and end of its use.

    A direction without a strip gets a whole strip of no length. `costly` is the segment of the
    things that costs most at the end landed over, -1 where none costs anything.
    """
    modes = np.array([True, False])  # with what things cost, and without
    for direction in range(sines.size):
        turned = turn_scene(scene, sines[direction], cosines[direction])
        costly[direction] = -1
        v = start = end = 0.0
        has_use = False
        # Not two calls with constants: each would be compiled anew.
        for losses in modes:
            v, start, end = longest(turned, scene.width, losses)
            has_use = losses and end > start
            if has_use:
                break
        low_v, high_v = v + EDGE_M, v + scene.width - EDGE_M
        middle = 0.5 * (start + end)
        whole_start, whole_end, down = -np.inf, np.inf, -np.inf
        for i in range(turned.rings.shape[0] + turned.things.shape[0] if end > start else 0):
            thing = i - turned.rings.shape[0]
            if thing < 0:
                is_in, u0, _, u1, _ = clip(turned.rings, i, low_v, high_v)
                near, far = min(u0, u1), max(u0, u1)
            else:
                is_in, near, far = blocked(turned, thing, low_v, high_v, modes[1])
            if not is_in:
                continue
            if far <= middle:
                whole_start = max(whole_start, far)
            else:
                whole_end = min(whole_end, near)
            if thing >= 0 and far <= middle:
                _, _, over = blocked(turned, thing, low_v, high_v, modes[0])
                if over > down:
                    down, costly[direction] = over, turned.segment[thing]
        if not has_use:
            start, end = whole_end, whole_end
        if costly[direction] >= 0 and down <= whole_start:
            costly[direction] = -1
        if end < start or math.isinf(whole_start) or math.isinf(whole_end):
            whole_start = whole_end = start = end = 0.0
        strips[direction, 0], strips[direction, 1], strips[direction, 2] = v, whole_start, whole_end
        strips[direction, 3], strips[direction, 4] = start, end
