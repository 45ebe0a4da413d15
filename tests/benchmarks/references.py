"""Time to find the references of a county of some 20,000 km of road, against shapely.

    python -m tests.benchmarks.references

A grid of sections with wiggles, a vertex every 20 m, cut into features of 1 to 3 miles of which
half run backwards, in any order: some million vertices. Shapely's yardsticks in the same run:
line_merge (which looks at the ends of features alone, does not go through crossings and knows
nothing of straightness), noding by unary_union, and polygonize of what that gave. Asked for:
network and runs under 3 s once compiled.
"""

from __future__ import annotations

import sys
from time import process_time

import numpy as np
import shapely

from areaplan.engine.crossings import crossings
from areaplan.engine.line_network import LineNetwork
from areaplan.engine.rectangles import rectangular_blocks
from areaplan.engine.straight_runs import straight_runs
from tests.engine.line_scenes import section_grid

SIDES, MILE_M, STEP_M, WIGGLE_M = 78, 1609.344, 20.1168, 10.0
ASKED_S = 3.0


def county(sides: int = SIDES) -> list[shapely.LineString]:
    """Roads of a county, in features as a file would hold them."""
    stream = np.random.default_rng(11)
    per_mile = round(MILE_M / STEP_M)
    features = []
    for road in section_grid(sides, MILE_M, stream, WIGGLE_M, STEP_M):
        xy = shapely.get_coordinates(road)
        first = 0
        while first < len(xy) - 1:
            last = min(len(xy) - 1, first + per_mile * int(stream.integers(1, 4)))
            piece = xy[first : last + 1]
            features.append(shapely.LineString(piece[::-1] if stream.random() < 0.5 else piece))
            first = last
    stream.shuffle(features)
    return features


def timed(words, work):
    """Do some work, say how much of the processor it took, give both."""
    start = process_time()
    answer = work()
    taken_s = process_time() - start
    print(f"  {words:<46}{taken_s:8.2f} s")
    return answer, taken_s


def find(features):
    """All that is found, and the time of network and runs together."""
    network, network_s = timed("network", lambda: LineNetwork.from_lines(features))
    runs, runs_s = timed("straight runs of 1,200 m", lambda: straight_runs(network, 1200.0))
    places, places_s = timed("crossings", lambda: crossings(network, one_within_m=40.0))
    blocks, blocks_s = timed("blocks", lambda: rectangular_blocks(network, 350.0, 2400.0))
    found = (len(runs), len(places), len(blocks))
    return found, (network_s + runs_s, network_s + places_s, network_s + blocks_s)


def main() -> int:
    print("a small county, with what had to be compiled")
    find(county(3))
    features = county()
    km = shapely.length(features).sum() / 1000.0
    count = int(shapely.get_num_coordinates(features).sum())
    print(f"{km:,.0f} km in {len(features):,} features of {count:,} vertices")
    found, (runs_s, places_s, blocks_s) = find(features)
    print("  {:,} runs, {:,} crossings, {:,} blocks".format(*found))
    whole = shapely.MultiLineString(features)
    _, merge_s = timed("shapely.line_merge", lambda: shapely.line_merge(whole))
    noded, node_s = timed("shapely.unary_union (nodes)", lambda: shapely.unary_union(whole))
    _, faces_s = timed("shapely.polygonize", lambda: shapely.polygonize([noded]))
    print(f"  network and runs over line_merge              {runs_s / merge_s:8.2f}")
    print(f"  network and crossings over noding             {places_s / node_s:8.2f}")
    print(f"  network and blocks over noding and polygonize {blocks_s / (node_s + faces_s):8.2f}")
    expected = (2 * (SIDES + 1), (SIDES + 1) ** 2 - 4, SIDES**2)
    return 0 if runs_s < ASKED_S and found == expected else 1


if __name__ == "__main__":
    sys.exit(main())
