"""Time to find the sites of a made county with some 20,000 km of road, in one wind.

    python -m tests.benchmarks.sites [figure]

The roads of `tests.benchmarks.references`, and in their middle the largest project area that is
allowed, a square of some 9,900 square kilometres in 100 m cells, flat, a field in every section.
Asked for: room, references and all sites of one manoeuvre in one wind in at most 10 s, once
compiled; the plan and the glides are told apart.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from time import perf_counter

import numpy as np
import shapely

from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from areaplan.planning.site_flying import site_scene
from areaplan.planning.site_room import figure_room
from areaplan.planning.sites import figure_sites, site_references
from areaplan.rules.figures_asked import builtin_figures
from areaplan.units import parse_wind
from tests.benchmarks.references import MILE_M, SIDES, county
from tests.planning.builder import FRAME, Country, box

ASKED_S = 10.0
LARGEST_HALF_M = 49_700.0


def made_county(folder: Path, sides: int) -> Path:
    """The project of a county of so many sections a side."""
    half_m = 0.5 * sides * MILE_M
    country = Country(folder).terrain(half_m=half_m + 9000.0, post_m=200.0)
    first = (np.arange(sides) + 0.5) * MILE_M - half_m
    fields = [
        (box(x - 750, y - 750, x + 750, y + 750), {"name": f"{i}-{j}"})
        for i, x in enumerate(first)
        for j, y in enumerate(first)
    ]
    country.features("fields", fields)
    rows = []
    for number, road in enumerate(county(sides)):
        xy = shapely.get_coordinates(road) - half_m
        lon, lat = FRAME.to_lonlat(xy[:, 0], xy[:, 1])
        pairs = np.round(np.column_stack([lon, lat]), 7).tolist()
        rows.append(({"type": "LineString", "coordinates": pairs}, {"name": f"Road {number}"}))
    country.features("roads", rows)
    country.none("obstacles", "structures", "airspace", "congested", "assemblies", "wires")
    area_half_m = min(half_m, LARGEST_HALF_M)
    return country.project(half_m=area_half_m, cell="100 m", around="0.5 NM")


def timed(words, work):
    """Do some work, say how long it took, give both."""
    start = perf_counter()
    answer = work()
    taken_s = perf_counter() - start
    print(f"  {words:<46}{taken_s:8.2f} s", flush=True)
    return answer, taken_s


def find(path: Path, names: list[str]) -> float:
    """Find the sites of some figures, one after the other; the most seconds of any of them."""
    plan, _ = timed("the plan", lambda: evaluate(read_project(path)))
    slowest_s = 0.0
    for figure in builtin_figures().named(names):
        print(f" {figure.id}")
        name = figure.manoeuvre
        room, room_s = timed("room between heights", lambda name=name: figure_room(plan, name))
        wind, rooms = parse_wind("350/14 kt"), {name: room}
        scene, _ = timed("glides", lambda wind=wind, rooms=rooms: site_scene(plan, wind, rooms))
        references, reference_s = timed(
            "references", lambda scene=scene, figure=figure: site_references(scene, [figure])
        )
        found, sites_s = timed(
            "sites",
            lambda scene=scene, figure=figure, references=references: figure_sites(
                scene, figure, references
            ),
        )
        taken_s = room_s + reference_s + sites_s
        print(
            f"  {found.references:,} references, {found.tried:,} layouts, {len(found.sites)} "
            f"sites: {taken_s:.1f} s of {ASKED_S:g}"
        )
        slowest_s = max(slowest_s, taken_s)
    return slowest_s


def main() -> int:
    names = sys.argv[1:]
    print("a small county, with what had to be compiled")
    with tempfile.TemporaryDirectory() as folder:
        find(made_county(Path(folder), 4), names)
    with tempfile.TemporaryDirectory() as folder:
        print("the county")
        slowest_s = find(made_county(Path(folder), SIDES), names)
    return 0 if slowest_s <= ASKED_S else 1


if __name__ == "__main__":
    sys.exit(main())
