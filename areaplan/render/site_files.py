"""Sites with their tracks as GeoJSON, KML or GPX, by the ending of the file's name."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
import shapely

from areaplan.errors import InputError
from areaplan.planning.plan import Plan
from areaplan.planning.site import Site, SiteAnswer
from areaplan.render.export_notes import ExportNotes, export_notes
from areaplan.render.geojson import feature, geojson_bytes
from areaplan.render.gpx import GpxPoint, GpxTrack, gpx_bytes
from areaplan.render.kml import AltitudeMode, Folder, KmlStyle, Placemark, Shape, kml_bytes
from areaplan.render.site_json import site_values
from areaplan.render.site_text import ASSUMPTIONS, fields_words, margins_words
from areaplan.render.whole_file import write_whole
from areaplan.units import bearing_text, feet_text

ENDINGS: Final = (".geojson", ".kml", ".gpx")
_STYLE: Final = KmlStyle(line="#1C2326", width=2.5)


def write_sites(answer: SiteAnswer, plan: Plan, path: Path) -> None:
    """Write every site found, with its track at its altitude.

    Raises
    ------
    InputError
        An ending that is none of `ENDINGS`; or the folder is missing or can't be written to.
    """
    writers = dict(zip(ENDINGS, (_geojson, _kml, _gpx), strict=True))
    if path.suffix.lower() not in writers:
        raise InputError.single(
            str(path),
            "--export",
            found=f"the ending {path.suffix!r}",
            expected="one of " + ", ".join(ENDINGS),
            fix="name the file sites.geojson, sites.kml or sites.gpx",
        )
    content = writers[path.suffix.lower()](answer, export_notes(plan))
    write_whole(path, content, "the sites", "--export")


def track_words(site: Site) -> str:
    """What a pilot has to know of a site, in a sentence or two."""
    return (
        f"{site.figure.title} by {site.layout.reference.name}: enter at "
        f"{feet_text(site.entry_amsl_ft)} AMSL on track "
        f"{bearing_text(site.track.track_deg_true[0])}, first turn "
        f"{site.layout.shape.side.value}, steepest bank "
        f"{site.track.greatest_bank_deg:.0f} deg. Margins: {margins_words(site)}. "
        f"Field: {fields_words(site)}."
    )


def named_sites(answer: SiteAnswer) -> Iterator[tuple[str, Site]]:
    """Every site with its name: the figure, and its place among the best."""
    for one in answer.figures:
        for number, site in enumerate(one.sites, 1):
            yield f"{one.figure.title} {number}", site


def _line(site: Site, *, has_height: bool) -> shapely.LineString:
    columns = [site.lon, site.lat] + [site.course.altitude_amsl_m] * has_height
    return shapely.LineString(np.column_stack(columns))


def _about(answer: SiteAnswer, notes: ExportNotes) -> tuple[str, ...]:
    return (f"Sites in wind {answer.wind}", *ASSUMPTIONS, *notes.lines())


def _geojson(answer: SiteAnswer, notes: ExportNotes) -> bytes:
    features = [
        feature(
            _line(site, has_height=False),
            {"name": name, "figure": site.figure.id, **site_values(site)},
        )
        for name, site in named_sites(answer)
    ]
    return geojson_bytes(
        features, {**notes.as_json(), "wind": str(answer.wind), "assumptions": list(ASSUMPTIONS)}
    )


def _kml(answer: SiteAnswer, notes: ExportNotes) -> bytes:
    folders = []
    for one in answer.figures:
        marks = tuple(
            Placemark(
                f"{one.figure.title} {number}",
                (Shape(_line(site, has_height=True), AltitudeMode.ABOVE_SEA),),
                "track",
                (track_words(site),),
            )
            for number, site in enumerate(one.sites, 1)
        )
        if marks:
            folders.append(Folder(one.figure.title, marks))
    title = f"{notes.title}: sites in wind {answer.wind}"
    return kml_bytes(folders, title=title, lines=_about(answer, notes), styles={"track": _STYLE})


def _gpx(answer: SiteAnswer, notes: ExportNotes) -> bytes:
    tracks = []
    for name, site in named_sites(answer):
        places = zip(
            site.lat.tolist(), site.lon.tolist(), site.course.altitude_amsl_m.tolist(), strict=True
        )
        points = tuple(GpxPoint(lat, lon, altitude) for lat, lon, altitude in places)
        tracks.append(GpxTrack(name, (points,), track_words(site), site.figure.id))
    return gpx_bytes(
        title=f"{notes.title}: sites in wind {answer.wind}",
        description=" ".join(_about(answer, notes)),
        made=notes.made,
        tracks=tracks,
    )
