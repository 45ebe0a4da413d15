"""The slow, plain count of what is in reach: one cell at a time, altitude by altitude."""

import math


def in_reach(sectors_m, labels, altitude_m):
    """How many sectors are in reach, and how many different labels they have."""
    reached = [
        label
        for height_m, label in zip(sectors_m, labels, strict=True)
        if not math.isnan(height_m) and height_m <= altitude_m and not math.isinf(height_m)
    ]
    return len(reached), len({label for label in reached if label != -1})


def enough_from(sectors_m, labels, count, which):
    """Lowest altitude with `count` sectors (which 0) or labels (which 1) in reach.

    Infinity where no altitude is enough; NaN where it would be, if unknown sectors were in reach
    and led each to a label of its own.
    """
    finite = sorted({h for h in sectors_m if math.isfinite(h)})
    for altitude_m in finite:
        if in_reach(sectors_m, labels, altitude_m)[which] >= count:
            return altitude_m
    best = in_reach(sectors_m, labels, finite[-1])[which] if finite else 0
    unknown = sum(math.isnan(h) for h in sectors_m)
    return math.nan if best + unknown >= count else math.inf
