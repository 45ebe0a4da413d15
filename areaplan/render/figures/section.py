"""The vertical sections of the briefing: ground, legal floor, closed air, glide on two lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
import shapely

from areaplan.grid import Float64Array
from areaplan.planning.briefing import Briefing, wind_altitude_ft
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    CellClass,
    Verdict,
)
from areaplan.planning.vertical_section import SectionKind, VerticalSection, vertical_sections
from areaplan.render.briefing.places import degrees_minutes
from areaplan.render.document.model import Figure
from areaplan.render.figures.labels import Labels, Spot
from areaplan.render.figures.paper import INK, SOFT, as_svg, canvas, cased
from areaplan.render.figures.section_marks import (
    CLOSED,
    NEAR_NM,
    OPEN,
    TALL_FT,
    draw_airspace,
    draw_obstacles,
)
from areaplan.render.finding_words import cause_words
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.units import NAUTICAL_MILE_M, bearing_text, feet_text

WIDTH_MM: Final = 186.0
_HEIGHT_MM: Final = 92.0
_FRAME: Final = (0.075, 0.27, 0.815, 0.67)
_ABOVE_FT: Final = 800  # shown above the highest planned altitude
_BELOW_FT: Final = 150  # shown below the lowest ground
_STYLE: Final = {style.cell_class: style for style in CLASS_STYLES}
_BEYOND_M: Final = 0.5 * NAUTICAL_MILE_M


def section_figures(briefing: Briefing) -> tuple[Figure, ...]:
    """Draw the sections: along the area, or along the school's own line, and across it.

    Parameters
    ----------
    briefing : Briefing

    Raises
    ------
    InputError
        An end of the school's line lies off the grid.
    """
    plan = briefing.plan
    cuts = vertical_sections(plan, wind_altitude_ft(plan), beyond_m=_BEYOND_M)
    return tuple(_figure(briefing, cut, cuts) for cut in cuts)


def _figure(briefing: Briefing, cut: VerticalSection, cuts: Sequence[VerticalSection]) -> Figure:
    name = f"section-{cut.kind}"
    along_nm = cut.along_m / NAUTICAL_MILE_M
    terrain = _known(cut.terrain_amsl_ft)
    planned = briefing.plan.project.planned_altitudes_amsl_ft
    top_ft = planned[-1] + _ABOVE_FT
    lowest = 0.0 if np.isnan(terrain).all() else float(np.nanmin(terrain))
    bottom_ft = lowest - _BELOW_FT
    with canvas(name, WIDTH_MM, _HEIGHT_MM) as sheet:
        axes = sheet.add_axes(_FRAME)
        axes.set_xlim(0.0, float(along_nm[-1]))
        axes.set_ylim(bottom_ft, top_ft)
        labels = Labels(axes)
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
        labels.keep_free_line(along_nm, np.clip(glide, bottom_ft, top_ft))
        _planned(axes, labels, planned, along_nm)
        _ends(axes, labels, cut, along_nm, top_ft)
        _crossings(axes, cut, cuts, top_ft)
        _compass(axes, cut)
        left = draw_airspace(axes, labels, cut)
        unnamed = draw_obstacles(axes, labels, cut, briefing.plan.frame, briefing.obstacles)
        axes.set_xlabel("nautical miles from the first end", labelpad=1)
        axes.set_ylabel("feet above mean sea level", labelpad=2)
        axes.tick_params(labelsize=6, length=2.5, width=0.6, pad=1.5)
        _legend(sheet, axes)
        svg = as_svg(sheet, name)
    return Figure(name, svg, _caption(cut), _described(cut, left, unnamed), WIDTH_MM)


def _caption(cut: VerticalSection) -> str:
    (lon1, lat1), (lon2, lat2) = cut.ends_lonlat
    return (
        f"Vertical section {_WAYS[cut.kind]}, from {degrees_minutes(lat1, lon1)} on "
        f"{bearing_text(cut.bearing_deg_true)} true to {degrees_minutes(lat2, lon2)}"
    )


_WAYS: Final = {
    SectionKind.ALONG: "along the area",
    SectionKind.ACROSS: "across the area",
    SectionKind.CHOSEN: "on the line that the school chose",
}


def _described(cut: VerticalSection, left: Sequence[str], unnamed: int) -> str:
    """Why the line lies there, and what the drawing has no room to name."""
    words = [_why(cut), "Heights are drawn steeper than they are."]
    words.append("Every pattern means do not fly there.")
    if left:
        words.append(f"Also cut, but outside the heights drawn or too small: {'; '.join(left)}.")
    if unnamed:
        words.append(f"{unnamed} more of the obstacles drawn are not named, for lack of room.")
    return " ".join(words)


def _why(cut: VerticalSection) -> str:
    if cut.kind is SectionKind.CHOSEN:
        return "The line is that of the project's [briefing] section."
    if cut.kind is SectionKind.ALONG:
        return "The line is the area's longest axis, through its middle."
    through = cut.through
    if through is None:
        return (
            "The line is square to the longest axis, through the area's middle: everything that "
            "binds is met there."
        )
    finding = through.finding
    where = degrees_minutes(through.lat, through.lon)
    if through.is_middle_of_volume:
        where = f"the middle of what {finding.feature} covers of the area"
    if finding.verdict is Verdict.UNKNOWN:
        margin = "unknown"
    elif finding.margin_ft is None:
        margin = "met at no altitude"
    else:
        margin = f"short by {feet_text(-finding.margin_ft)}, the most of all that binds"
    cause = cause_words(finding)
    return (
        f"The line is square to the longest axis, through {where}: there, at "
        f'{feet_text(finding.altitude_amsl_ft)} AMSL, "{finding.limit.title}" is {margin}'
        f"{f' ({cause})' if cause else ''}."
    )


def _known(values_ft: Any) -> Float64Array:
    return np.where(values_ft == UNKNOWN_FT, np.nan, values_ft).astype(np.float64)


def _planned(axes: Any, labels: Labels, planned: Sequence[int], along_nm: Float64Array) -> None:
    for altitude in planned:
        labels.keep_free_line(along_nm, np.full(along_nm.shape, float(altitude)))
        axes.axhline(altitude, color=INK, linewidth=0.9, linestyle=(0, (14, 4)), zorder=7)
        axes.annotate(
            f"{feet_text(altitude)} planned", (float(along_nm[-1]), altitude), xytext=(4, 0),
            textcoords="offset points", ha="left", va="center", fontsize=6, zorder=8,
            annotation_clip=False,
        )  # fmt: skip


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


def _ends(
    axes: Any, labels: Labels, cut: VerticalSection, along_nm: Float64Array, top_ft: float
) -> None:
    """Where the line enters and leaves the area."""
    changes = np.flatnonzero(np.diff(cut.is_in_area.astype(np.int8)))
    for index in changes:
        at = float(along_nm[index] + along_nm[index + 1]) / 2.0
        axes.axvline(at, color=INK, linewidth=1.8, zorder=7)
        side = (3.0, "left") if cut.is_in_area[index + 1] else (-3.0, "right")
        spots = [Spot(at, top_ft, side[0], -3.0 - down, side[1], "top") for down in (0.0, 8.0)]
        labels.place("area", spots, size=6.5, weight="bold", path_effects=cased())


def _crossings(
    axes: Any, cut: VerticalSection, cuts: Sequence[VerticalSection], top_ft: float
) -> None:
    """Where the other section crosses this one, told above the frame."""
    here = shapely.LineString(cut.ends_m)
    for other in cuts:
        if other is cut:
            continue
        point = here.intersection(shapely.LineString(other.ends_m))
        if isinstance(point, shapely.Point) and not point.is_empty:
            at = float(here.project(point)) / NAUTICAL_MILE_M
            axes.annotate(
                f"section {other.kind}" if other.kind != "chosen" else "chosen section",
                (at, top_ft), xytext=(0, 6), textcoords="offset points", ha="center",
                va="bottom", fontsize=6, annotation_clip=False,
                arrowprops={"arrowstyle": "-|>", "color": INK, "linewidth": 0.8, "shrinkA": 0},
            )  # fmt: skip


def _compass(axes: Any, cut: VerticalSection) -> None:
    """Which way lies at either end, over the corners of the frame."""
    for x, deg, ha in (
        (0.0, cut.bearing_deg_true + 180.0, "left"),
        (1.0, cut.bearing_deg_true, "right"),
    ):
        axes.annotate(
            _POINTS[round(deg / 45.0) % len(_POINTS)], (x, 1.0), xycoords="axes fraction",
            xytext=(0, 3), textcoords="offset points", ha=ha, va="bottom", fontsize=8,
            weight="bold", annotation_clip=False,
        )  # fmt: skip


_POINTS: Final = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def _legend(sheet: Any, axes: Any) -> None:
    from matplotlib.lines import Line2D

    handles, names = axes.get_legend_handles_labels()
    marks = (
        ("airspace closed to the flight, as published", CLOSED),
        ("airspace open to it", OPEN),
        (
            f"obstacle of {TALL_FT} ft or more within {NEAR_NM:g} NM",
            {"linewidth": 1.6, "marker": "^", "markersize": 4},
        ),
    )
    handles += [Line2D([], [], color=INK, **style) for _, style in marks]
    names += [words for words, _ in marks]
    sheet.legend(
        handles, names, loc="lower left", ncols=2, frameon=False, fontsize=6, handlelength=3.4,
        handleheight=1.6, borderaxespad=0.2, labelcolor=SOFT,
    )  # fmt: skip
