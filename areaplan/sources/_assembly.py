"""From files to a layer: gather the features, convert each, keep the record of it all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import TypeVar

from attrs import evolve, frozen

from areaplan.errors import Fault, InputError
from areaplan.sources._features import Feature, FeatureTable
from areaplan.sources._files import raise_faults
from areaplan.sources._openstreetmap import is_openstreetmap_file, read_openstreetmap
from areaplan.sources._vector import LonLatBox, read_vector
from areaplan.sources.coverage import read_coverage
from areaplan.sources.layers import Layer, SourceRecord
from areaplan.sources.spec import SourceSpec

Row = TypeVar("Row")


@frozen(eq=False)
class Gathered:
    """What all the files of a source hold.

    Attributes
    ----------
    features : tuple of Feature
    sha256 : tuple of str
        One digest a file.
    rows_read, rows_rejected : int
    notes : tuple of str
    """

    features: tuple[Feature, ...]
    sha256: tuple[str, ...]
    rows_read: int
    rows_rejected: int
    notes: tuple[str, ...]


def clip_for(spec: SourceSpec, clip_lonlat: LonLatBox | None) -> LonLatBox | None:
    """Clip box to use: none where the extent of all rows says what the source covers."""
    return None if spec.covers == "extent" else clip_lonlat


def gather(
    spec: SourceSpec, dimensions: frozenset[int], clip_lonlat: LonLatBox | None = None
) -> Gathered:
    """Read every file of a source.

    Parameters
    ----------
    spec : SourceSpec
        What the project says about the source.
    dimensions : frozenset of int
        Kinds of geometry accepted: 0 points, 1 lines, 2 polygons.
    clip_lonlat : tuple of float, optional
        West, south, east, north; see `areaplan.sources._vector.read_vector`.

    Raises
    ------
    InputError
        A file is not usable.
    """
    tables = [
        _read_file(spec, index, dimensions, clip_for(spec, clip_lonlat))
        for index in range(len(spec.paths))
    ]
    features = [feature for table in tables for feature in table.features]
    if len(tables) > 1:
        features = [
            evolve(feature, origin=" ".join(filter(None, (feature.file, feature.origin))))
            for feature in features
        ]
    notes = [note for table in tables for note in table.notes]
    return Gathered(
        tuple(features),
        tuple(table.sha256 for table in tables),
        sum(table.rows_read for table in tables),
        sum(table.rows_rejected for table in tables),
        tuple(notes),
    )


def convert_all(features: Iterable[Feature], convert: Callable[[Feature], Row]) -> tuple[Row, ...]:
    """Make a row of each feature, collecting the faults of all of them.

    Raises
    ------
    InputError
        `convert` raised one for any feature.
    """
    rows: list[Row] = []
    faults: list[Fault] = []
    for feature in features:
        try:
            rows.append(convert(feature))
        except InputError as error:
            faults.extend(error.faults)
    raise_faults(faults)
    return tuple(rows)


def make_layer(
    spec: SourceSpec,
    gathered: Gathered,
    rows: Sequence[Row],
    notes: Iterable[str] = (),
    effective: date | None = None,
) -> Layer[Row]:
    """Put rows and record together.

    Parameters
    ----------
    spec : SourceSpec
    gathered : Gathered
    rows : sequence
        Rows of the layer.
    notes : iterable of str
        Remarks of the reader, after those of the files.
    effective : date, optional
        First day of validity read from the file, used where the project states none.

    Raises
    ------
    InputError
        The polygon file of `covers` is not usable.
    """
    covers, covers_sha256 = read_coverage(spec, rows)
    record = SourceRecord(
        kind=spec.kind,
        paths=spec.names + ((spec.covers,) if covers_sha256 else ()),
        sha256=gathered.sha256 + ((covers_sha256,) if covers_sha256 else ()),
        edition=spec.edition,
        effective=spec.effective or effective,
        expires=spec.expires,
        vertical_datum=spec.vertical_datum,
        rows_read=gathered.rows_read,
        rows_used=len(rows),
        rows_rejected=gathered.rows_rejected,
        notes=gathered.notes + tuple(notes),
    )
    return Layer(record, tuple(rows), covers)


def _read_file(
    spec: SourceSpec, index: int, dimensions: frozenset[int], clip_lonlat: LonLatBox | None
) -> FeatureTable:
    path, name = spec.paths[index], spec.names[index]
    if is_openstreetmap_file(path):
        return read_openstreetmap(path, name, spec.kind, clip_lonlat=clip_lonlat)
    return read_vector(path, name, dimensions=dimensions, layer=spec.layer, clip_lonlat=clip_lonlat)
