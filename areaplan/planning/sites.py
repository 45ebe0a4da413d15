"""Where to fly ground-reference figures in a wind: every layout looked at, the best flown exactly.

Assumptions: the highest true airspeed of the altitudes considered (steepest banks, widest figures);
a steady wind; entered level at one altitude and kept there within the tolerance, but for figures
that change height themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final

import numpy as np

from areaplan.planning.evaluation import silent
from areaplan.planning.ground_reference import Reference, ReferenceLimits
from areaplan.planning.plan import Plan, Verdict
from areaplan.planning.reading import lay_ground
from areaplan.planning.references import find_references
from areaplan.planning.site import NEVER_FT, FigureSites, Site, SiteAnswer
from areaplan.planning.site_flying import SiteScene, fly_site, site_scene
from areaplan.planning.site_layouts import Layout, lay_out, pair_range_m, shortest_line_m
from areaplan.planning.site_looks import coarse_room_ft
from areaplan.planning.site_room import figure_room
from areaplan.rules.figures_asked import Figure
from areaplan.units import Wind, feet_text

MOST_SITES: Final = 10
FLOWN_EXACTLY: Final = 80  # of the best layouts of a figure


def find_sites(
    plan: Plan,
    wind: Wind,
    figures: Sequence[Figure],
    progress: Callable[[str], None] = silent,
) -> SiteAnswer:
    """Find the places where figures can be flown in a wind, the best first.

    Parameters
    ----------
    plan : Plan
    wind : Wind
        The same at all heights; it takes the place of the project's.
    figures : sequence of Figure
    progress : callable
        Told in a few words what is being done.

    Returns
    -------
    SiteAnswer
        Up to `MOST_SITES` a figure, ranked by the smallest margin, then by how the reference lies
        to the wind.

    Raises
    ------
    InputError
        A source or rule file has become unusable since the plan was made, or a wind as fast as the
        aircraft.
    """
    rooms = {name: figure_room(plan, name) for name in {one.manoeuvre for one in figures}}
    scene = site_scene(plan, wind, rooms, progress)
    progress("lines, points, rectangles and pylons")
    references = site_references(scene, figures)
    rows = []
    for figure in figures:
        progress(f"sites for {figure.title.lower()}")
        rows.append(figure_sites(scene, figure, references))
    return SiteAnswer(wind, scene.flight.tas_mps, tuple(rows), scene.flown.notes)


def site_references(scene: SiteScene, figures: Sequence[Figure]) -> tuple[Reference, ...]:
    """All references that some figures can use in a scene's wind."""
    plan, usual = scene.plan, ReferenceLimits()
    near_m, far_m = pair_range_m(figures, scene.flight)
    limits = ReferenceLimits(
        least_line_m=min(shortest_line_m(figures, scene.flight), usual.least_line_m),
        pair_nearest_m=min(near_m, usual.pair_nearest_m),
        pair_farthest_m=max(far_m, usual.pair_farthest_m),
    )
    ground = lay_ground(plan.layers.terrain, plan.frame, plan.grid)
    kinds = {figure.reference for figure in figures}
    return find_references(plan.layers, ground, kinds, limits=limits)


def figure_sites(scene: SiteScene, figure: Figure, references: Sequence[Reference]) -> FigureSites:
    """The sites of one figure in a scene's wind."""
    of_kind = sum(one.kind is figure.reference for one in references)
    layouts = list(lay_out(figure, references, scene.flight))
    if not layouts:
        return FigureSites(figure, (), None, of_kind, 0, _no_layout(figure, of_kind))
    flown = [fly_site(scene, one) for one in most_promising(scene, layouts)]
    flown.sort(key=rank)
    sites = _one_for_each_place([one for one in flown if one.verdict is Verdict.MET])[:MOST_SITES]
    miss = None if sites else next((one for one in flown if not one.is_unknown), flown[0])
    lacks = "" if miss is None else what_it_lacks(miss)
    return FigureSites(figure, tuple(sites), miss, of_kind, len(layouts), lacks)


def most_promising(scene: SiteScene, layouts: Sequence[Layout]) -> Iterable[Layout]:
    """The layouts worth flying exactly, by their coarse look."""
    order = np.argsort(-coarse_room_ft(scene, layouts), kind="stable")
    return [layouts[i] for i in order[:FLOWN_EXACTLY].tolist()]


def rank(site: Site) -> tuple[int, float]:
    """The greatest smallest margin first, then the reference that lies best to the wind."""
    return -site.smallest_margin_ft, site.layout.off_wind_deg


def _no_layout(figure: Figure, of_kind: int) -> str:
    kind = figure.reference.value
    if not of_kind:
        return f"no {kind} is known in the area: draw one, or name roads, landmarks or fields"
    wind = "" if figure.wind.value == "any" else f" and lies {figure.wind.value} the wind"
    return f"of {of_kind} known in the area no {kind} has a size that fits{wind}"


def _one_for_each_place(sites: Sequence[Site]) -> list[Site]:
    """The best of each reference; along a line more of them, where they do not share any of it."""
    kept: list[Site] = []
    for site in sites:
        here, along_m = site.layout, site.layout.shape.along_m
        is_new = all(
            here.reference is not other.layout.reference
            or (
                along_m > 0.0
                and np.hypot(here.x_m - other.layout.x_m, here.y_m - other.layout.y_m) >= along_m
            )
            for other in kept
        )
        if is_new:
            kept.append(site)
    return kept


def what_it_lacks(site: Site) -> str:
    """What keeps a site from fitting, in words."""
    if site.is_unknown:
        return "whether it fits can't be told: the data do not speak everywhere under it"
    missing = -site.smallest_margin_ft
    by = site.binding_margin
    if missing >= -NEVER_FT:
        reasons = {"glide": "no field is in reach from part of it at any altitude looked at"}
        return reasons.get(by, "no altitude is open over part of it")
    low, high = site.lowest_entry_amsl_ft, site.highest_entry_amsl_ft
    asks = "a field in reach" if site.glide_ft < site.room_ft else "what stands below, or a rule,"
    if site.layout.shape.entry_above_m is None and low > high and missing <= low - high:
        return (
            f"the nearest miss lacks {feet_text(low - high)} of height: {asks} asks for an entry "
            f"at {feet_text(low)} AMSL or above, the standard or the airspace above it for "
            f"{feet_text(high)} or below"
        )
    words = {
        "height": f"{feet_text(missing)} of height above what stands below and the rules ask for",
        "ceiling": f"{feet_text(missing)} of height below what closes the air above",
        "glide": f"{feet_text(missing)} of height to reach a field from every point of it",
        "edge of the area": f"{feet_text(missing)} of room inside the edge of the area",
    }
    return f"the nearest miss lacks {words[by]}"
