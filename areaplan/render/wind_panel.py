"""The wind limits as a part of the map's sheet: the rose and a short table."""

from __future__ import annotations

from html import escape

from areaplan.planning.limits_by_wind import WindLimits
from areaplan.render.map_markup import bullets, said, table, verdict_badge
from areaplan.render.wind_rose import wind_rose_svg
from areaplan.render.wind_text import (
    ASSUMPTIONS,
    COMPASS,
    limit_words,
    place_words,
    rules_words,
    year_words,
)


def wind_limits_html(limits: WindLimits) -> str:
    """Rose, table and assumptions as HTML.

    Parameters
    ----------
    limits : WindLimits
        Only shown; nothing is judged here.
    """
    rows = [
        [name, escape(limit_words(one, limits.highest_kt)), said(place_words(one) or "nowhere")]
        for name, one in zip(COMPASS, limits.directions, strict=True)
    ]
    year = f"<p>{said(year_words(limits.year))}</p>" if limits.year else ""
    return (
        f"<p>{verdict_badge(limits.verdict)} in the project's wind, "
        f"{escape(str(limits.own_wind))}.</p>{year}{wind_rose_svg(limits)}"
        f"{table('Limits by direction', ('From', 'Limit', 'Lost first'), rows)}"
        f"{bullets((rules_words(limits), *ASSUMPTIONS))}"
    )
