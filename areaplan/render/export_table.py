"""A layer of an export: typed columns, rows and geometries, whatever the file format."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import shapely
from attrs import field, frozen
from shapely.geometry.base import BaseGeometry

Value = str | int | float | bool | None


@frozen(eq=False)
class Table:
    """One layer.

    Attributes
    ----------
    name : str
        Of the layer in files: lower case, digits and underscores.
    title : str
        In plain words.
    style : str
        Key into `export_styles.STYLES`.
    columns : mapping of str to type
        `str`, `int`, `float` or `bool`; "name" first. A column's last words are its unit.
    rows : tuple of tuple
        In the order of the columns; None where not known or not there.
    geometries : tuple of shapely geometry
        Longitude/latitude, one for each row.
    note : str
        What a reader must know about this layer.
    """

    name: str
    title: str
    style: str
    columns: Mapping[str, type]
    rows: tuple[tuple[Value, ...], ...]
    geometries: tuple[BaseGeometry, ...]
    note: str = ""
    styles: tuple[str, ...] = field(default=())  # of each row, where they differ

    @classmethod
    def of(
        cls,
        name: str,
        title: str,
        columns: Mapping[str, type],
        rows: Iterable[Sequence[Value]],
        geometries: Iterable[BaseGeometry],
        *,
        style: str = "",
        note: str = "",
        styles: Iterable[str] = (),
    ) -> Table:
        """Build a table, its rows checked against its columns.

        Raises
        ------
        TypeError
            A value is not of its column's type.
        ValueError
            Rows, columns and geometries don't go together.
        """
        kept, shapes = tuple(tuple(row) for row in rows), tuple(geometries)
        if len(kept) != len(shapes) or any(len(row) != len(columns) for row in kept):
            raise ValueError(f"{name}: {len(kept)} rows, {len(shapes)} geometries")
        for row in kept:
            for (column, kind), value in zip(columns.items(), row, strict=True):
                if value is not None and type(value) is not kind:
                    raise TypeError(f"{name}.{column}: {value!r} is no {kind.__name__}")
        flat = tuple(shapely.force_2d(shape) for shape in shapes)
        return cls(name, title, style or name, columns, kept, flat, note, tuple(styles))

    def records(self) -> Iterator[tuple[dict[str, Value], BaseGeometry]]:
        """Each row as a mapping of its columns, with its geometry."""
        for row, geometry in zip(self.rows, self.geometries, strict=True):
            yield dict(zip(self.columns, row, strict=True)), geometry

    def style_of(self, index: int) -> str:
        """Key of the style of a row."""
        return self.styles[index] if self.styles else self.style


def value_words(column: str, value: Value) -> str:
    """A column and its value as people read them, such as ``top agl ft: 320``; "" for none."""
    if value is None or value == "":
        return ""
    told = {True: "yes", False: "no"}[value] if isinstance(value, bool) else value
    if isinstance(value, float):
        told = f"{value:g}"
    return f"{column.replace('_', ' ')}: {told}"
