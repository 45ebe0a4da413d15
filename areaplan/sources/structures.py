"""What stands or lies on the ground: structures and persons, wires, woods, roads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, TypeVar

from shapely.geometry.base import BaseGeometry

from areaplan.errors import InputError
from areaplan.sources._assembly import convert_all, gather, make_layer
from areaplan.sources._columns import number_of, stated_top_m, text_of
from areaplan.sources._features import Feature
from areaplan.sources._text import shown
from areaplan.sources._vector import LonLatBox
from areaplan.sources.layers import Layer, Presence, Road, SourceKind, Structure, Wire, Wood
from areaplan.sources.spec import SourceSpec
from areaplan.units import FOOT_M

Topped = TypeVar("Topped", Wire, Wood)

_POINTS_LINES_POLYGONS: Final = frozenset({0, 1, 2})
_LINES: Final = frozenset({1})
_POLYGONS: Final = frozenset({2})
# Height taken for each mapped storey. Common practice (from memory) is 3 m; 4 m and one storey more
# keep roofs and tall ground floors inside.
_STOREY_M: Final = 4.0
_NAMED_ROWS: Final = 5
_LINE_WORDS: Final = {
    SourceKind.ROADS: "road",
    SourceKind.AIRWAYS: "airway",
    SourceKind.RAILS: "railway",
    SourceKind.FENCES: "fence",
    SourceKind.SECTION_LINES: "section line",
    SourceKind.CANALS: "canal",
}
_NO_TUNNEL: Final = ("", "no", "false", "0", "0.0", "nan")
_KIND_ATTRIBUTES: Final = ("kind", "highway", "railway", "waterway", "barrier", "natural", "type")


def read_structures(
    spec: SourceSpec, presence: Presence, clip_lonlat: LonLatBox | None = None
) -> Layer[Structure]:
    """Read structures, or places where persons, vessels or vehicles are.

    Attributes read: `name`; `presence` (structure, person, vessel or vehicle: overrides the
    argument); the height as `height_ft`, `height_m` or text in `height`.

    Parameters
    ----------
    spec : SourceSpec
        Its `default_height_m` is taken for rows without a height; for mapped buildings with a
        count of storeys, the storeys if they are higher.
    presence : Presence
        What the rows are, where they do not say.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: rows outside may be left unread in large files.

    Returns
    -------
    Layer of Structure
        Points, lines and footprints, in file order.

    Raises
    ------
    InputError
        A file or feature is not usable, or a height is missing and no default is declared.
    """
    gathered = gather(spec, _POINTS_LINES_POLYGONS, clip_lonlat)
    tops, notes = _tops(spec, gathered.features)
    presences = convert_all(gathered.features, lambda feature: _presence_of(feature, presence))
    rows = [
        Structure(feature.name_or(str(what)), what, feature.geometry, *top)
        for feature, what, top in zip(gathered.features, presences, tops, strict=True)
    ]
    return make_layer(spec, gathered, rows, notes)


def read_wires(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[Wire]:
    """Read spans of wires: lines, with the height of the highest wire above the ground below.

    Attributes, parameters and errors as in `read_structures`.
    """
    return _read_topped(spec, _LINES, clip_lonlat, "wire", Wire)


def read_woods(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[Wood]:
    """Read woods: polygons, with the height of the highest tree above the ground below it.

    Attributes, parameters and errors as in `read_structures`.
    """
    return _read_topped(spec, _POLYGONS, clip_lonlat, "wood", Wood)


def read_roads(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[Road]:
    """Read centrelines of roads, railways or airways, fences, section lines or canals.

    Attributes read: `name` (or `ref`); the kind as `kind`, `highway`, `railway`, `waterway`,
    `barrier`, `natural` or `type`, else a word for the kind of source, such as "road"; and
    `tunnel`, where anything but "no", "false" or 0 says that it runs under ground.

    Parameters
    ----------
    spec : SourceSpec
        Of kind ROADS, RAILS, FENCES, SECTION_LINES, CANALS or AIRWAYS.
    clip_lonlat : tuple of float, optional
        As in `read_structures`.

    Raises
    ------
    InputError
        A file or feature is not usable.
    """
    gathered = gather(spec, _LINES, clip_lonlat)
    word = _LINE_WORDS[spec.kind]
    rows = [
        Road(
            feature.name or text_of(feature, "ref", max_chars=40) or feature.name_or(word),
            text_of(feature, *_KIND_ATTRIBUTES, max_chars=40) or word,
            feature.geometry,
            text_of(feature, "tunnel", max_chars=40).lower() not in _NO_TUNNEL,
        )
        for feature in gathered.features
    ]
    return make_layer(spec, gathered, rows)


def _presence_of(feature: Feature, default: Presence) -> Presence:
    word = text_of(feature, "presence", max_chars=40).lower()
    if not word:
        return default
    try:
        return Presence(word)
    except ValueError:
        raise feature.error(
            f"presence = {shown(word)}",
            f"one of {', '.join(Presence)}",
            "correct the word, or leave the attribute empty",
        ) from None


def _read_topped(
    spec: SourceSpec,
    dimensions: frozenset[int],
    clip_lonlat: LonLatBox | None,
    unnamed: str,
    make: Callable[[str, BaseGeometry, float, bool], Topped],
) -> Layer[Topped]:
    """Rows that are a name, a geometry and a height; what has no name is called `unnamed`."""
    gathered = gather(spec, dimensions, clip_lonlat)
    tops, notes = _tops(spec, gathered.features)
    rows = [
        make(feature.name_or(unnamed), feature.geometry, *top)
        for feature, top in zip(gathered.features, tops, strict=True)
    ]
    return make_layer(spec, gathered, rows, notes)


def _tops(
    spec: SourceSpec, features: Sequence[Feature]
) -> tuple[list[tuple[float, bool]], list[str]]:
    """Height above ground of each feature and whether it is assumed, and notes about that."""
    stated = convert_all(features, stated_top_m)
    without = [feature for feature, top_m in zip(features, stated, strict=True) if top_m is None]
    if not without:
        return [(top_m, False) for top_m in stated if top_m is not None], []
    default_m = spec.default_height_m
    if default_m is None:
        labels = ", ".join(feature.label for feature in without[:_NAMED_ROWS])
        raise InputError.single(
            without[0].file,
            f"{spec.key}.default_height",
            found=f"{len(without)} of {len(features)} features state no height ({labels})",
            expected="a height for each, or a default height for the source",
            fix=f'add default_height = "30 ft" (or what fits) to {spec.key or "the source"}, or '
            "give each feature a height_ft",
        )
    tops = [
        (max(default_m, _storeys_m(feature)), True) if top_m is None else (top_m, False)
        for feature, top_m in zip(features, stated, strict=True)
    ]
    note = (
        f"{len(without)} of {len(features)} rows state no height: "
        f"{default_m / FOOT_M:.0f} ft above ground assumed"
    )
    if any(top_m > default_m for top_m, is_assumed in tops if is_assumed):
        note += f", or {_STOREY_M:g} m for each mapped storey and one more, where that is higher"
    return tops, [note]


def _storeys_m(feature: Feature) -> float:
    """Height that the mapped storeys of a building suggest; 0 where none are mapped."""
    if not feature.is_openstreetmap:
        return 0.0
    levels = number_of(feature.attributes.get("building:levels")) or 0.0
    roof = number_of(feature.attributes.get("roof:levels")) or 0.0
    return (levels + roof + 1.0) * _STOREY_M if 0.0 < levels < 200.0 else 0.0
