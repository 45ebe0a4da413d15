"""Polygons that a person draws: the practice area, zones with a reason, fields to land in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from attrs import evolve

from areaplan.errors import InputError
from areaplan.sources._assembly import Gathered, convert_all, gather, make_layer
from areaplan.sources._columns import text_of
from areaplan.sources._environment import load_pyproj
from areaplan.sources._features import Feature
from areaplan.sources._text import clean_name, clean_text, shown
from areaplan.sources._vector import LonLatBox
from areaplan.sources.layers import LandingField, Layer, PracticeArea, Zone
from areaplan.sources.spec import SourceSpec

_POLYGONS: Final = frozenset({2})
_KM2_M2: Final = 1e6
MIN_AREA_KM2: Final = 0.1
MAX_AREA_KM2: Final = 10_000.0
_MAX_LATITUDE_DEG: Final = 84.0  # the project's frame ends at 85
_NAMED_ROWS: Final = 10
_CONFIRMED: Final = "confirmed"
_YES: Final = ("true", "yes", "1", "1.0")
_NO: Final = ("false", "no", "0", "0.0", "", "nan")


def read_area(spec: SourceSpec) -> Layer[PracticeArea]:
    """Read the practice area: exactly one polygon or multipolygon.

    Parameters
    ----------
    spec : SourceSpec
        Of kind AREA; its `layer` chooses one layer of a file that has several.

    Returns
    -------
    Layer of PracticeArea
        With one row; its name is the feature's, else the layer's, else the file's.

    Raises
    ------
    InputError
        Not one feature, or one smaller than `MIN_AREA_KM2` or larger than `MAX_AREA_KM2` (on the
        WGS 84 ellipsoid; Karney, 2013, "Algorithms for geodesics", J. Geodesy 87, section 6).
    """
    gathered = gather(spec, _POLYGONS)
    if len(gathered.features) != 1:
        labels = ", ".join(feature.label for feature in gathered.features[:_NAMED_ROWS])
        raise InputError.single(
            ", ".join(spec.names),
            "",
            found=f"it holds {len(gathered.features)} features ({labels})",
            expected="exactly one: the practice area",
            fix='keep one, join them into one multipolygon, or add layer = "..." to choose one',
        )
    feature = gathered.features[0]
    _check_size(feature)
    name = feature.name or clean_name(feature.layer) or clean_name(spec.paths[0].stem)
    return make_layer(spec, gathered, [PracticeArea(name, feature.geometry)])


def read_zones(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[Zone]:
    """Read zones in which a rule applies: congested, sparse, assemblies, noise-sensitive places.

    Attributes read: `name`, and `reason`, which must not be empty: no law puts a number on these
    words, so a person decides and says why.

    Parameters
    ----------
    spec : SourceSpec
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: rows outside may be left unread in large files.

    Raises
    ------
    InputError
        A file or feature is not usable, or a feature has no reason.
    """
    gathered = gather(spec, _POLYGONS, clip_lonlat)

    def convert(feature: Feature) -> Zone:
        reason = text_of(feature, "reason")
        if not reason:
            raise feature.error(
                "it has no reason",
                "an attribute reason with the words of the person who drew it",
                'add, for instance, reason = "village of 40 houses, seen on 2026-10-02"',
            )
        return Zone(feature.name_or(f"{spec.kind} zone"), feature.geometry, reason)

    return make_layer(spec, gathered, convert_all(gathered.features, convert))


def read_fields(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[LandingField]:
    """Read fields to land in: polygons that a person drew or confirmed.

    Attributes read: `name`, `surface`, `consent`, `remarks`, and `confirmed`. A field without a
    name is called by its position ("field 3"), and one whose name is taken gets it added. In a
    file that has `confirmed` at all, as exported candidates do, only rows in which it is true are
    fields; the others are counted in a note.

    Parameters
    ----------
    spec : SourceSpec
    clip_lonlat : tuple of float, optional
        As in `read_zones`.

    Raises
    ------
    InputError
        A file or feature is not usable, or its `confirmed` is neither true nor false.
    """
    gathered, unconfirmed = _confirmed_only(gather(spec, _POLYGONS, clip_lonlat))
    rows = [
        LandingField(
            feature.name_or("field"),
            feature.geometry,
            text_of(feature, "surface"),
            text_of(feature, "consent"),
            text_of(feature, "remarks"),
        )
        for feature in gathered.features
    ]
    unique, notes = _unique(rows, gathered.features)
    return make_layer(spec, gathered, unique, [*unconfirmed, *notes])


def _confirmed_only(gathered: Gathered) -> tuple[Gathered, list[str]]:
    """Leave out the candidates that nobody has confirmed, and say how many they are."""
    # Formats with columns give every row of a file the attribute that one of them has.
    asked = {row.file for row in gathered.features if _CONFIRMED in row.attributes}
    is_field = dict(
        zip(
            gathered.features,
            convert_all(gathered.features, lambda row: row.file not in asked or _is_confirmed(row)),
            strict=True,
        )
    )
    notes = []
    for file in sorted(asked):
        left_out = sum(row.file == file and not is_field[row] for row in gathered.features)
        if left_out:
            notes.append(f"{file}: {left_out} candidates are not confirmed and are no fields")
    kept = tuple(row for row in gathered.features if is_field[row])
    return evolve(gathered, features=kept), notes


def _is_confirmed(feature: Feature) -> bool:
    value = feature.attributes.get(_CONFIRMED)
    word = clean_text(value).lower()  # true, 1, "Yes" and None (blank) all have words
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise feature.error(
        f"confirmed = {shown(value)}",
        "true for a field that a person has looked at, else false",
        "write confirmed as true or false",
    )


def _unique(
    rows: Sequence[LandingField], features: Sequence[Feature]
) -> tuple[list[LandingField], list[str]]:
    counts = Counter(row.name for row in rows)
    repeated = sorted(name for name, count in counts.items() if count > 1)
    taken = set(counts)
    unique: list[LandingField] = []
    for row, feature in zip(rows, features, strict=True):
        name = row.name
        if counts[name] > 1:
            stem = f"{name} ({evolve(feature, attributes={}).name_or('field')})"
            name, again = stem, 2
            while name in taken:
                name, again = f"{stem} #{again}", again + 1
            taken.add(name)
        unique.append(evolve(row, name=name))
    notes = [f"fields of the same name are told apart by position: {', '.join(repeated)}"]
    return unique, notes if repeated else []


def _check_size(feature: Feature) -> None:
    _, south, _, north = feature.geometry.bounds
    if max(abs(south), abs(north)) > _MAX_LATITUDE_DEG:
        raise feature.error(
            f"it reaches latitude {max(south, north, key=abs):.2f}",
            f"an area between {_MAX_LATITUDE_DEG:g} degrees south and north",
            "check the coordinates",
        )
    geod = load_pyproj().Geod(ellps="WGS84")
    area_km2 = abs(geod.geometry_area_perimeter(feature.geometry)[0]) / _KM2_M2
    if not MIN_AREA_KM2 <= area_km2 <= MAX_AREA_KM2:
        raise feature.error(
            f"it has {area_km2:,.3g} square kilometres",
            f"from {MIN_AREA_KM2:g} to {MAX_AREA_KM2:,.0f} square kilometres",
            "check the coordinates and the coordinate reference system",
        )
