"""Airspace of AIXM 5.1 and 5.1.1 messages: each feature to one or more volumes.

What is not understood about a volume whose place is known makes it UNKNOWN there: its limits are
None. A volume without a place is an error, because the unknown would be everywhere.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import Element

import shapely
from attrs import evolve, frozen

from areaplan.errors import Fault, InputError
from areaplan.sources._aixm_activity import Activity, activity_of
from areaplan.sources._aixm_curves import PlacelessError
from areaplan.sources._aixm_limits import NOTHING_KNOWN, Limits, is_at_or_below, layer_limits
from areaplan.sources._aixm_slices import Holds, slice_on
from areaplan.sources._aixm_volumes import Piece, Reading, pieces_of
from areaplan.sources._aixm_xml import is_aixm_file, label_of, read_message, text_at
from areaplan.sources._assembly import Gathered, clip_for, make_layer
from areaplan.sources._files import raise_faults, sha256_of
from areaplan.sources._text import clean_name, clean_text
from areaplan.sources._vector import LonLatBox
from areaplan.sources.layers import CLASS_NOT_GIVEN, AirspaceVolume, Layer
from areaplan.sources.spec import SourceSpec
from areaplan.units import Height, HeightReference

_WANTED: Final = frozenset({"Airspace", "GeoBorder"})
_ORDER: Final = {HeightReference.SFC: 0, HeightReference.UNL: 2}


@frozen(eq=False)
class _Read:
    """What one feature gave: its volumes, or why it gave none, and what was not understood."""

    name: str
    rows: tuple[AirspaceVolume, ...]
    said: tuple[str, ...]
    is_rejected: bool


def read_aixm_airspace(
    spec: SourceSpec, clip_lonlat: LonLatBox | None = None
) -> Layer[AirspaceVolume]:
    """Read the Airspace features of AIXM messages.

    A feature is named by its type, designator and name, such as "R EAR1 BRAVO". It gives a volume
    for each part of its geometry, for each layer of its class, and for each gap between these
    layers, the class of which is then `CLASS_NOT_GIVEN`.

    Parameters
    ----------
    spec : SourceSpec
        Its `day` decides which time slices hold.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: volumes wholly outside are left out and counted.

    Returns
    -------
    Layer of AirspaceVolume
        The record counts features. `rows_rejected` counts those that could not be read as
        published: each is named in the notes, and is either UNKNOWN where it lies (limits None) or
        ended before the day.

    Raises
    ------
    InputError
        A file is not a sound message, holds no airspace, or a feature has no place: a reference
        that leads nowhere or in a circle, a position, radius or kind of curve that is not read. All
        such features are named.
    """
    digests: list[str] = []
    reads: list[_Read] = []
    for path, name in zip(spec.paths, spec.names, strict=True):
        reads += _read_file(spec, path, name)
        digests.append(sha256_of([path]))
    box = clip_for(spec, clip_lonlat)
    kept = [read for read in reads if _is_near(read, box)]
    notes: list[str] = []
    if len(kept) < len(reads):
        notes.append(
            f"{len(reads) - len(kept)} of {len(reads)} airspaces lie outside the evaluated region"
        )
    notes += [f"{read.name}: {'; '.join(read.said)}" for read in kept if read.said]
    gathered = Gathered(
        features=(),
        sha256=tuple(digests),
        rows_read=len(reads),
        rows_rejected=sum(read.is_rejected for read in kept),
        notes=tuple(notes),
    )
    layer = make_layer(spec, gathered, [row for read in kept for row in read.rows])
    used = sum(not read.is_rejected for read in kept)
    return evolve(layer, record=evolve(layer.record, rows_used=used))


def _read_file(spec: SourceSpec, path: Path, name: str) -> list[_Read]:
    if not is_aixm_file(path):
        raise InputError.single(
            name,
            "",
            found="it is listed beside AIXM files but is none",
            expected="AIXM files (.xml) only",
            fix="give files of another format a [[source]] of their own",
        )
    message = read_message(path, name, _WANTED)
    features = [feature for feature in message.features if feature.tag == "Airspace"]
    if not features:
        raise InputError.single(
            name,
            "",
            found="it holds no airspace",
            expected="an AIXM message with Airspace features",
            fix="give the right file; where there is none, write none_because instead of files",
        )
    reads: list[_Read] = []
    faults: list[Fault] = []
    for feature in features:
        try:
            reads.append(_read_feature(feature, Reading(message, spec.day)))
        except PlacelessError as error:
            faults.append(
                Fault(
                    name,
                    f"{label_of(feature)} ({_name_of_any(feature)})",
                    found=str(error),
                    expected="an airspace whose place can be told from this file",
                    fix="get a complete file from the publisher, or take this airspace out of "
                    "the file and draw it in a source of its own",
                )
            )
    raise_faults(faults)
    return reads


def _read_feature(feature: Element, reading: Reading) -> _Read:
    chosen = slice_on(feature, reading.day)
    if chosen is None:
        raise PlacelessError("it has no time slice")
    airspace, name = chosen.element, _name(chosen.element)
    if chosen.holds is Holds.ENDED:
        return _Read(name, (), (f"left out: {chosen.holds}",), is_rejected=True)
    said: list[str] = []
    pieces = pieces_of(feature, airspace, reading, said)
    if chosen.holds is not Holds.YES:
        said.append(f"{chosen.holds}: UNKNOWN where it lies")
        pieces = [evolve(piece, limits=NOTHING_KNOWN) for piece in pieces]
    activity = activity_of(airspace)
    if chosen.holds is not Holds.YES:
        activity = evolve(activity, times=None)  # the change may be one of hours
    rows = [row for piece in pieces for row in _rows(name, airspace, piece, activity, said)]
    if not rows:
        said.append("nothing is left of it after what is taken away")
    is_unknown = not rows or any(row.lower is None or row.upper is None for row in rows)
    if is_unknown and not said:
        said.append("its limits are not known")
    return _Read(name, tuple(rows), tuple(dict.fromkeys(said)), is_rejected=is_unknown)


def _rows(
    name: str, airspace: Element, piece: Piece, activity: Activity, said: list[str]
) -> list[AirspaceVolume]:
    return [
        AirspaceVolume(
            name=name,
            airspace_class=letter,
            type_code=clean_text(text_at(airspace, "type"), 80),
            geometry=piece.geometry,
            lower=limits.lower,
            upper=limits.upper,
            upper_is_inclusive=True,
            hours=activity.words,
            boundary_accuracy_m=piece.accuracy_m,
            active=activity.times,
        )
        for letter, limits in _classes(airspace, piece, said)
    ]


def _classes(airspace: Element, piece: Piece, said: list[str]) -> list[tuple[str, Limits]]:
    """Class letter and limits of every layer of a piece, and of what no layer names."""
    classes = airspace.findall("class/AirspaceLayerClass")
    if not classes:
        return [(_class_of_part(airspace, piece), piece.limits)]
    found: list[tuple[str, Limits]] = []
    layered: list[Limits] = []
    is_layered = True
    for one in classes:
        letter = text_at(one, "classification").upper() or CLASS_NOT_GIVEN
        if letter == CLASS_NOT_GIVEN:
            said.append("a class of it is not given")
        layers = one.findall("associatedLevels/AirspaceLayer")
        is_layered &= bool(layers)
        if piece.limits == NOTHING_KNOWN or not layers:
            found.append((letter, piece.limits))
            continue
        here = [layer_limits(layer, piece.limits, said) for layer in layers]
        layered += here
        found += [(letter, limits) for limits in here]
    if is_layered and layered:
        found += [(CLASS_NOT_GIVEN, gap) for gap in _gaps(piece.limits, layered)]
    return found


def _class_of_part(airspace: Element, piece: Piece) -> str:
    """Class of a part, where a whole without one is made of such parts (TMA of TMA_P).

    AIXM's type with "_P" is the publisher's own word for a part of that type.
    """
    chosen = slice_on(piece.owner, None)
    if chosen is None or text_at(chosen.element, "type") != text_at(airspace, "type") + "_P":
        return ""
    letters = {
        text_at(one, "classification").upper()
        for one in chosen.element.findall("class/AirspaceLayerClass")
    }
    return letters.pop() if len(letters) == 1 else ""


def _gaps(volume: Limits, layers: Sequence[Limits]) -> list[Limits]:
    """What lies inside a volume but in none of its layers, or may."""
    if volume.lower is None or volume.upper is None:
        return []
    if any(layer.lower is None or layer.upper is None for layer in layers):
        return []  # already unknown wherever it lies
    gaps: list[Limits] = []
    reached: Height = volume.lower
    ordered = sorted(layers, key=_nominal)
    for layer in ordered:
        if layer.lower is None or layer.upper is None:
            continue
        if is_at_or_below(layer.lower, reached) is not True:
            gaps.append(Limits(reached, layer.lower))
        if is_at_or_below(layer.upper, reached) is not True:
            reached = layer.upper
    if is_at_or_below(volume.upper, reached) is not True:
        gaps.append(Limits(reached, volume.upper))
    return gaps


def _nominal(limits: Limits) -> tuple[int, float]:
    lower = limits.lower
    return (1, 0.0) if lower is None else (_ORDER.get(lower.reference, 1), lower.value_m)


def _is_near(read: _Read, box: LonLatBox | None) -> bool:
    """Whether any volume of it may reach into the box; a feature without volumes always counts."""
    if box is None or not read.rows:
        return True
    window = shapely.box(*box)
    return any(
        window.buffer((row.boundary_accuracy_m or 0.0) / 30_000.0).intersects(row.geometry)
        for row in read.rows
    )


def _name(airspace: Element) -> str:
    words: Iterable[str] = (text_at(airspace, path) for path in ("type", "designator", "name"))
    return clean_name(" ".join(dict.fromkeys(filter(None, words)))) or "airspace without a name"


def _name_of_any(feature: Element) -> str:
    chosen = slice_on(feature, None)
    return _name(chosen.element) if chosen else "without a name"
