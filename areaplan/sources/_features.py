"""The common form of a row read from a vector file, before it becomes a row of a kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.errors import InputError
from areaplan.sources._text import MAX_NAME_CHARS, clean_name

_NAMED_ROWS: Final = 5


@frozen(eq=False)
class Feature:
    """One checked feature.

    Attributes
    ----------
    file : str
        The file as the project writes it.
    layer : str
        Layer inside the file, "" when the file has only one.
    number : int
        Position in its layer, from 1.
    attributes : mapping of str to object
        Attribute name in lower case to value; None where the file has none.
    geometry : shapely geometry
        Valid, not empty, WGS 84 longitude/latitude, two-dimensional.
    is_openstreetmap : bool
        The attributes are OpenStreetMap tags, whose bare heights are metres.
    reference : str
        Published identifier, for instance "way/127125424"; "" when only the position tells.
    origin : str
        What tells it from a feature of the same position in the same source; "" when none is.
    vertex_heights_m : tuple of float or None
        Lowest and highest height that its vertices carry, metres above what its file says; None
        where they carry none, and for all formats but KML.
    """

    file: str
    layer: str
    number: int
    attributes: Mapping[str, object]
    geometry: BaseGeometry
    is_openstreetmap: bool = False
    reference: str = ""
    origin: str = ""
    vertex_heights_m: tuple[float, float] | None = None

    @property
    def name(self) -> str:
        """Name as written, cleaned and cut to a bearable length; "" when it has none."""
        return clean_name(self.attributes.get("name"))

    @property
    def label(self) -> str:
        """Words that find the feature again in its file."""
        return feature_label(self.layer, self.reference or f"feature {self.number}", self.name)

    def name_or(self, word: str) -> str:
        """Name, or the word and the position where it has none, such as "field 3"."""
        if self.name:
            return self.name
        suffix = f" ({self.origin})" if self.origin else ""
        return f"{word} {self.reference or self.number}{suffix}"

    def error(self, found: str, expected: str, fix: str) -> InputError:
        """Build the error for something wrong with this feature."""
        return InputError.single(self.file, self.label, found=found, expected=expected, fix=fix)


def feature_label(layer: str, which: str, name: str) -> str:
    """Words that find a feature again in its file."""
    prefix = f"layer {clean_name(layer)}, " if layer else ""
    suffix = f' "{name}"' if name else ""
    return f"{prefix}{which}{suffix}"


def cut_names_note(file: str, features: Sequence[Feature]) -> list[str]:
    """Say which names are too long to be shown whole; nothing when none is."""
    cut = [
        feature.reference or f"feature {feature.number}"
        for feature in features
        if len(str(feature.attributes.get("name") or "")) > MAX_NAME_CHARS
    ]
    if not cut:
        return []
    more = " and more" if len(cut) > _NAMED_ROWS else ""
    places = ", ".join(cut[:_NAMED_ROWS])
    return [f"{file}: {len(cut)} names are cut to {MAX_NAME_CHARS} characters: {places}{more}"]


@frozen(eq=False)
class FeatureTable:
    """Every feature of one file that is kept, and what there was to say about the file.

    Attributes
    ----------
    features : tuple of Feature
        In file order.
    sha256 : str
        Digest of the file, or of all parts of a shapefile in the order of their names.
    rows_read : int
        Features in the layers read, whether kept or outside a clip box.
    notes : tuple of str
        Remarks for the source record.
    rows_rejected : int
        Features that could not be used; each is named in `notes`.
    """

    features: tuple[Feature, ...]
    sha256: str
    rows_read: int
    notes: tuple[str, ...] = ()
    rows_rejected: int = 0
