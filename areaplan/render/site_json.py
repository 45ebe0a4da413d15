"""Sites for ground-reference figures as plain values for programs."""

from __future__ import annotations

from typing import Any

import numpy as np

from areaplan.planning.plan import UNKNOWN_FT, Plan
from areaplan.planning.site import FigureSites, Site, SiteAnswer
from areaplan.render.quantity_words import is_limited
from areaplan.render.site_text import ASSUMPTIONS
from areaplan.units import KNOT_MPS


def sites_as_json(answer: SiteAnswer, plan: Plan) -> dict[str, Any]:
    """All figures: whole feet, metres, degrees true, seconds; null where unknown or not limited."""
    return {
        "project": plan.project.name,
        "verdict": answer.verdict.value,
        "wind": {
            "from_deg_true": answer.wind.from_deg_true,
            "speed_kt": round(answer.wind.speed_mps / KNOT_MPS, 3),
        },
        "tas_kt": round(answer.tas_mps / KNOT_MPS, 1),
        "notes": list(answer.notes),
        "figures": [_figure(one) for one in answer.figures],
        "assumptions": list(ASSUMPTIONS),
        "cautions": list(plan.cautions),
    }


def _figure(one: FigureSites) -> dict[str, Any]:
    figure = one.figure
    return {
        "id": figure.id,
        "title": figure.title,
        "verdict": one.verdict.value,
        "references_found": one.references,
        "layouts_tried": one.tried,
        "sites": [site_values(site) for site in one.sites],
        "nearest_miss": None if one.nearest_miss is None else site_values(one.nearest_miss),
        "lacks": one.lacks,
        "quote": figure.quote,
        "document": figure.citation,
        "reading": figure.reading,
        "confirm": figure.confirm,
    }


def site_values(site: Site) -> dict[str, Any]:
    """One site without its track."""
    bank, heights = site.track.greatest_bank_index, site.margins.height_agl_ft
    is_height_known = not bool((heights == UNKNOWN_FT).any())
    layout, shape = site.layout, site.layout.shape
    return {
        "reference": layout.reference.name,
        "sources": list(layout.reference.sources),
        "verdict": site.verdict.value,
        "first_turn": shape.side.value,
        "radius_m": None if shape.radius_m is None else round(shape.radius_m, 1),
        "off_wind_deg": round(layout.off_wind_deg, 1),
        "entry": {
            **_place(site, 0),
            "altitude_amsl_ft": site.entry_amsl_ft,
            "track_deg_true": round(float(site.track.track_deg_true[0]), 1),
            "heading_deg_true": round(float(site.track.heading_deg_true[0]), 1),
        },
        "lowest_entry_amsl_ft": _bounded(site.lowest_entry_amsl_ft),
        "highest_entry_amsl_ft": _bounded(site.highest_entry_amsl_ft),
        "lowest_agl_ft": int(heights.min()) if is_height_known else None,
        "highest_agl_ft": int(heights.max()) if is_height_known else None,
        "greatest_bank": {
            **_place(site, bank),
            "bank_deg": round(site.track.greatest_bank_deg, 1),
            "limit_deg": site.figure.steepest_deg,
        },
        "duration_s": round(site.track.duration_s, 1),
        "margins": {
            "height_ft": _bounded(site.room_ft),
            "glide_ft": _bounded(site.glide_ft),
            "ceiling_ft": _bounded(site.ceiling_ft),
            "inside_area_m": float(np.floor(site.edge_m * 10.0) / 10.0),
            "smallest_ft": _bounded(site.smallest_margin_ft),
            "smallest_is": site.binding_margin,
        },
        "fields": [
            {"share_of_time": one.share, "field": one.field, "margin_ft": one.margin_ft}
            for one in site.fields
        ],
    }


def _place(site: Site, index: int) -> dict[str, float]:
    return {"lat": round(float(site.lat[index]), 6), "lon": round(float(site.lon[index]), 6)}


def _bounded(feet: int) -> int | None:
    return feet if is_limited(abs(feet)) else None
