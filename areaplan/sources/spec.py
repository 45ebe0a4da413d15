"""What a project says about one source, before the source is read."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from attrs import frozen

from areaplan.sources.layers import SourceKind


@frozen
class SourceSpec:
    """One `[[source]]` table of the project file.

    Attributes
    ----------
    kind : SourceKind
        What the files tell about.
    paths : tuple of Path
        Files, resolved against the folder of the project file; empty with `none_because`.
    names : tuple of str
        The same as written in the project file, for outputs.
    layer : str
        Layer inside the file (GeoPackage, KML); "" for the only or first one.
    edition : str
        Edition or cycle.
    effective, expires : date or None
        Validity as published.
    vertical_datum : str
        "" when the data carry no heights.
    covers : str
        "all" (the source speaks for the whole evaluated region), "extent" (for the bounding box
        of its rows) or the path of a polygon file.
    covers_path : Path or None
        That polygon file, resolved.
    default_height_m : float or None
        Height above ground taken where a structure, wire or wood has none.
    presence : str
        For roads: "vehicle" when they count as vehicles, "" when not.
    none_because : str
        "There are none here", with who looked and when; "" when files are given.
    day : date or None
        The project's day, on which time slices must hold; None: the latest ones.
    key : str
        Key path in the project file, for messages, such as "source[3]".
    legend : str
        For land cover: which legend its codes are of, such as "nlcd"; "" for every other kind.
    """

    kind: SourceKind
    paths: tuple[Path, ...]
    names: tuple[str, ...]
    layer: str = ""
    edition: str = ""
    effective: date | None = None
    expires: date | None = None
    vertical_datum: str = ""
    covers: str = "all"
    covers_path: Path | None = None
    default_height_m: float | None = None
    presence: str = ""
    none_because: str = ""
    day: date | None = None
    key: str = ""
    legend: str = ""
