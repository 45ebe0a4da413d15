"""The map of a plan with the sites of ground-reference figures on it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
import shapely

from areaplan.planning.plan import Plan
from areaplan.planning.site import Site, SiteAnswer
from areaplan.render.map import map_html
from areaplan.render.map_foreword import Foreword, Part, other_wind
from areaplan.render.map_markup import bullets, entry_html, place_html, said
from areaplan.render.map_shape_table import Drawn
from areaplan.render.site_files import named_sites, track_words
from areaplan.render.site_text import ASSUMPTIONS, fields_words, margins_words
from areaplan.render.whole_file import write_whole
from areaplan.units import bearing_text, feet_text

_ARROW_M: Final = 400.0  # any length: the page draws the entry's arrow with one of its own


def write_site_map(answer: SiteAnswer, plan: Plan, path: Path) -> None:
    """Write the map as one HTML file: every site's reference, track, and entry with its number.

    Raises
    ------
    InputError
        As `map.map_html`; or the folder is missing or can't be written to.
    """
    html = map_html(plan, over=site_lines(answer, plan), first=_foreword(answer, plan))
    write_whole(path, html, "the map", "--map")


def _foreword(answer: SiteAnswer, plan: Plan) -> Foreword:
    found = sum(bool(one.sites) for one in answer.figures)
    return Foreword(
        subject=f"Ground-reference figures in wind {answer.wind}",
        short=f"Figures in wind {answer.wind}: {found} of {len(answer.figures)} have a place",
        verdict=answer.verdict,
        meaning=f"{found} of {len(answer.figures)} figures have a place.",
        grave=other_wind(answer.notes, plan),
        parts=(Part("sites", "Places to fly them", _places(answer)),),
    )


def _places(answer: SiteAnswer) -> str:
    """Every site with a button that shows its entry at its altitude, and what the others lack."""
    found = [
        entry_html(
            site.verdict,
            f"<strong>{said(name)}</strong>: {said(site.layout.reference.name)}",
            said(entry_words(site)),
            (f"Margins: {margins_words(site)}.", f"Field: {fields_words(site)}."),
            place_html(float(site.lat[0]), float(site.lon[0]), site.entry_amsl_ft),
        )
        for name, site in named_sites(answer)
    ]
    found += [
        entry_html(
            one.verdict, f"<strong>{said(one.figure.title)}</strong>", said(one.lacks), (), ""
        )
        for one in answer.figures
        if not one.sites
    ]
    return "".join(found) + bullets(ASSUMPTIONS)


def site_lines(answer: SiteAnswer, plan: Plan) -> dict[str, tuple[Drawn, ...]]:
    """What is drawn of the sites, by layer of the page; longitude and latitude."""
    named = tuple(named_sites(answer))
    return {
        "site_references": tuple(_references(named, plan)),
        "site_tracks": tuple(
            (
                shapely.LineString(np.column_stack([site.lon, site.lat])),
                name,
                f"In wind {answer.wind}. {track_words(site)}",
            )
            for name, site in named
        ),
        "site_entries": tuple(
            (_entry(site, plan), name, f"{entry_words(site)}, wind {answer.wind}")
            for name, site in named
        ),
    }


def entry_words(site: Site) -> str:
    """Altitude, track and side at the entry, short enough for the map."""
    return (
        f"{feet_text(site.entry_amsl_ft)}, track {bearing_text(site.track.track_deg_true[0])}, "
        f"{site.layout.shape.side.value}, {site.track.greatest_bank_deg:.0f} deg"
    )


def _references(named: tuple[tuple[str, Site], ...], plan: Plan) -> Iterator[Drawn]:
    """Each reference once, with all that is flown by it."""
    flown: dict[str, list[str]] = {}
    by_name = {site.layout.reference.name: site.layout.reference for _, site in named}
    for name, site in named:
        flown.setdefault(site.layout.reference.name, []).append(name)
    for name, reference in by_name.items():
        shape = shapely.transform(
            reference.geometry,
            lambda xy: np.column_stack(plan.frame.to_lonlat(xy[:, 0], xy[:, 1])),
        )
        yield shape, name, f"flown by: {', '.join(flown[name])}"


def _entry(site: Site, plan: Plan) -> shapely.LineString:
    """A line that ends at the entry, on its track."""
    angle = np.radians(site.track.track_deg_true[0])
    x_m, y_m = site.course.x_m[0], site.course.y_m[0]
    lon, lat = plan.frame.to_lonlat(
        np.array([x_m - _ARROW_M * np.sin(angle), x_m]),
        np.array([y_m - _ARROW_M * np.cos(angle), y_m]),
    )
    return shapely.LineString(np.column_stack([lon, lat]))
