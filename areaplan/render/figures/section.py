"""The vertical section of the briefing: ground, legal floor, closed air, glide, along one line."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from areaplan.grid import Float64Array
from areaplan.planning.briefing import Briefing
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    CellClass,
)
from areaplan.planning.vertical_section import VerticalSection, vertical_section
from areaplan.render.briefing.places import bearing, degrees_minutes
from areaplan.render.document.model import Figure
from areaplan.render.figures.paper import INK, SOFT, as_svg, canvas, cased
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.text import feet_text
from areaplan.units import NAUTICAL_MILE_M

WIDTH_MM: Final = 186.0
_HEIGHT_MM: Final = 92.0
_ABOVE_FT: Final = 800  # shown above the highest planned altitude
_BELOW_FT: Final = 150  # shown below the lowest ground
_STYLE: Final = {style.cell_class: style for style in CLASS_STYLES}


def section_figure(briefing: Briefing) -> Figure:
    """Draw the section along the longest axis of the area, half a mile beyond it at either end."""
    plan, name = briefing.plan, "section"
    cut = vertical_section(plan, beyond_m=0.5 * NAUTICAL_MILE_M)
    along_nm = cut.along_m / NAUTICAL_MILE_M
    terrain = _known(cut.terrain_amsl_ft)
    planned = plan.project.planned_altitudes_amsl_ft
    top_ft = planned[-1] + _ABOVE_FT
    lowest = 0.0 if np.isnan(terrain).all() else float(np.nanmin(terrain))
    bottom_ft = lowest - _BELOW_FT
    with canvas(name, WIDTH_MM, _HEIGHT_MM) as sheet:
        axes = sheet.add_axes((0.075, 0.27, 0.815, 0.70))
        axes.set_xlim(0.0, float(along_nm[-1]))
        axes.set_ylim(bottom_ft, top_ft)
        _closed(axes, cut, along_nm, terrain, bottom_ft, top_ft)
        axes.fill_between(
            along_nm, bottom_ft, terrain, step="mid", facecolor="#B9B4A3", edgecolor=INK,
            linewidth=0.8, zorder=4, label="ground, the highest of each cell",
        )  # fmt: skip
        glide = _known(cut.glide_required_amsl_ft)
        glide[cut.glide_required_amsl_ft == UNREACHABLE_FT] = top_ft + 1
        axes.plot(
            along_nm, glide, drawstyle="steps-mid", color=INK, linewidth=1.4, zorder=6,
            path_effects=cased(2.8), label="lowest with a field in reach, whatever the heading",
        )  # fmt: skip
        for altitude in planned:
            axes.axhline(altitude, color=INK, linewidth=0.9, linestyle=(0, (6, 3)), zorder=7)
            axes.annotate(
                f"{feet_text(altitude)} planned", (float(along_nm[-1]), altitude), xytext=(4, 0),
                textcoords="offset points", ha="left", va="center", fontsize=6, zorder=8,
                annotation_clip=False,
            )  # fmt: skip
        _ends(axes, cut, along_nm, top_ft)
        axes.set_xlabel("nautical miles from the first end", labelpad=1)
        axes.set_ylabel("feet above mean sea level", labelpad=2)
        axes.tick_params(labelsize=6, length=2.5, width=0.6, pad=1.5)
        _legend(sheet, axes)
        svg = as_svg(sheet, name)
    (lon1, lat1), (lon2, lat2) = cut.ends_lonlat
    return Figure(
        name,
        svg,
        f"Vertical section from {degrees_minutes(lat1, lon1)} on {bearing(cut.bearing_deg_true)} "
        f"true to {degrees_minutes(lat2, lon2)}",
        "Heights are drawn steeper than they are. Every pattern means do not fly there.",
        WIDTH_MM,
    )


def _known(values_ft: Any) -> Float64Array:
    return np.where(values_ft == UNKNOWN_FT, np.nan, values_ft).astype(np.float64)


def _closed(
    axes: Any,
    cut: VerticalSection,
    along_nm: Float64Array,
    terrain: Float64Array,
    bottom_ft: float,
    top_ft: float,
) -> None:
    """Everything that no open band holds: below the floor, and in airspace with its margins."""
    style = _STYLE[CellClass.FIELD_NOT_LEGAL]
    look: dict[str, Any] = {
        "facecolor": style.fill,
        "edgecolor": style.ink,
        "hatch": "\\\\\\\\",
        "linewidth": 0.0,
    }
    ground = np.where(np.isnan(terrain), bottom_ft, terrain)
    is_known = ~cut.is_legal_unknown
    below = ground
    for floor_ft, ceiling_ft in cut.bands_amsl_ft.astype(np.float64):
        is_band = is_known & (floor_ft != NO_BAND_FT)
        top = np.where(is_band, floor_ft, below)
        axes.fill_between(along_nm, below, top, where=is_band, step="mid", **look, zorder=2)
        below = np.where(is_band, ceiling_ft, below)
    is_open_above = below >= NO_LIMIT_FT
    axes.fill_between(
        along_nm, below, top_ft, where=is_known & ~is_open_above, step="mid", **look, zorder=2,
        label="not legal: too low, or closed airspace with its margins",
    )  # fmt: skip
    is_dark = ~is_known | (cut.glide_required_amsl_ft == UNKNOWN_FT)
    dark = _STYLE[CellClass.UNKNOWN]
    axes.fill_between(
        along_nm, bottom_ft, top_ft, where=is_dark, step="mid", facecolor=dark.fill,
        edgecolor=dark.ink, hatch="...", linewidth=0.0, zorder=3, label="unknown",
    )  # fmt: skip


def _ends(axes: Any, cut: VerticalSection, along_nm: Float64Array, top_ft: float) -> None:
    """Where the line enters and leaves the area."""
    changes = np.flatnonzero(np.diff(cut.is_in_area.astype(np.int8)))
    for index in changes:
        at = float(along_nm[index] + along_nm[index + 1]) / 2.0
        axes.axvline(at, color=INK, linewidth=1.8, zorder=7)
        is_entry = bool(cut.is_in_area[index + 1])
        axes.annotate(
            "area", (at, top_ft), xytext=(3 if is_entry else -3, -8),
            ha="left" if is_entry else "right", textcoords="offset points", fontsize=6.5,
            weight="bold", path_effects=cased(), zorder=8,
        )  # fmt: skip


def _legend(sheet: Any, axes: Any) -> None:
    handles, labels = axes.get_legend_handles_labels()
    sheet.legend(
        handles, labels, loc="lower left", ncols=2, frameon=False, fontsize=6, handlelength=3.4,
        handleheight=1.6, borderaxespad=0.2, labelcolor=SOFT,
    )  # fmt: skip
