"""All drawings of a briefing, where matplotlib is installed."""

from __future__ import annotations

from importlib import util

from areaplan.planning.briefing import Briefing
from areaplan.render.briefing.document import Drawings
from areaplan.render.figures.maps import fields_map, overview, sites_map
from areaplan.render.figures.section import section_figures


def briefing_drawings(briefing: Briefing) -> Drawings | None:
    """Draw overview, section, sites and fields.

    Returns
    -------
    Drawings or None
        None without matplotlib, which the extra `pdf` brings: the briefing then says so.
    """
    if util.find_spec("matplotlib") is None:
        return None
    return Drawings(
        area=(overview(briefing),),
        profile=section_figures(briefing),
        sites=(sites_map(briefing),) if _has_sites(briefing) else (),
        heights=(fields_map(briefing),),
    )


def _has_sites(briefing: Briefing) -> bool:
    return briefing.sites is not None and any(one.sites for one in briefing.sites.figures)
