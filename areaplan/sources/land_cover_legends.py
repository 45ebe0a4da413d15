"""Legends of land-cover maps: which code is what, and on which a field may lie. Data, not code."""

from __future__ import annotations

from collections import Counter
from functools import cache
from importlib import resources
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.errors import InputError
from areaplan.toml_tables import Faults, Table, parse_toml

_SUFFIX: Final = ".toml"
TAGS: Final = ("VERIFIED", "FROM MEMORY")
LAST_RANK: Final = 3
NOT_A_CANDIDATE: Final = 0
UNKNOWN_RANK: Final = -1
UNKNOWN_CLASS: Final = 255  # position of a pixel without a class; legends are shorter than this


@frozen
class LandClass:
    """One class of a legend.

    Attributes
    ----------
    code : int
        As published.
    also : int or None
        Another number for the same class in some editions' rasters.
    name : str
        A few plain words.
    rank : int
        1, 2 or 3 where a field may lie on such ground, the best first; 0 where none is sought.
    why : str
        What the rank rests on, where the name does not say it.
    source : str
        Where the code stands.
    tag : str
        "VERIFIED", or "FROM MEMORY" where nobody has checked the code against its document.
    """

    code: int
    also: int | None
    name: str
    rank: int
    why: str
    source: str
    tag: str


@frozen
class OtherLegend:
    """Codes that give away a file made with another legend."""

    title: str
    codes: tuple[int, ...]
    tag: str


@frozen
class Legend:
    """The legend of one product.

    Attributes
    ----------
    name : str
        Word of the project file.
    title, document : str
        What it is, and where its classes are defined.
    accuracy : str
        How far the product can be trusted.
    no_data : tuple of int
        Codes of pixels without a class, beside those that the file itself declares.
    classes : tuple of LandClass
    others : tuple of OtherLegend
    """

    name: str
    title: str
    document: str
    accuracy: str
    no_data: tuple[int, ...]
    classes: tuple[LandClass, ...]
    others: tuple[OtherLegend, ...]

    @property
    def codes(self) -> tuple[int, ...]:
        """Every number that stands for a class."""
        second = tuple(row.also for row in self.classes if row.also is not None)
        return tuple(row.code for row in self.classes) + second

    def positions(self, codes: NDArray[np.int64]) -> NDArray[np.uint8]:
        """Position in `classes` of each code; `UNKNOWN_CLASS` for all that are none."""
        known = {row.code: place for place, row in enumerate(self.classes)}
        known |= {row.also: place for place, row in enumerate(self.classes) if row.also is not None}
        return np.array(
            [known.get(int(code), UNKNOWN_CLASS) for code in codes], dtype=np.uint8
        ).reshape(codes.shape)


def legend_names() -> tuple[str, ...]:
    """Words that a project may give as `legend`, in alphabetical order."""
    files = resources.files("areaplan.sources").joinpath("legends").iterdir()
    names = (file.name for file in files)
    return tuple(sorted(name.removesuffix(_SUFFIX) for name in names if name.endswith(_SUFFIX)))


@cache
def load_legend(name: str) -> Legend:
    """Read a legend that comes with the package.

    Parameters
    ----------
    name : str
        One of `legend_names`.

    Raises
    ------
    InputError
        The data file breaks its own form.
    """
    place, fix = f"built-in legend {name}", "install areaplan again"
    file = resources.files("areaplan.sources").joinpath("legends", name + _SUFFIX)
    values = parse_toml(place, file.read_bytes(), expected="a legend in TOML", fix=fix)
    whole = Table(values, "", Faults(place))
    legend = Legend(
        name=whole.text("name", "the word of the project file", name),
        title=whole.text("title", "what it is", "..."),
        document=whole.text("document", "where the classes are defined", "..."),
        accuracy=whole.text("accuracy", "how far to trust it", "..."),
        no_data=_integers(whole, "no_data"),
        classes=tuple(_class(table) for table in whole.tables("class")),
        others=tuple(_other(table) for table in whole.tables("other")),
    )
    whole.refuse_unknown()
    twice = [code for code, count in Counter(legend.codes).items() if count > 1]
    clash = set(legend.codes) & {*legend.no_data, *(c for row in legend.others for c in row.codes)}
    for code in sorted({*twice, *clash}):
        whole.note("class", f"code {code} with two meanings", "each code once", fix)
    if whole.faults.noted:
        raise InputError(whole.faults.noted)
    return legend


def _class(table: Table) -> LandClass:
    row = LandClass(
        code=_integer(table, "code"),
        also=_integer(table, "also") if table.has("also") else None,
        name=table.text("name", "a few plain words", "grassland"),
        rank=_integer(table, "rank"),
        why=table.text("why", "what the rank rests on", "...", default=""),
        source=table.text("source", "where the code stands", "..."),
        tag=table.choice("tag", TAGS) or "",
    )
    if not NOT_A_CANDIDATE <= row.rank <= LAST_RANK:
        table.note("rank", str(row.rank), f"0 to {LAST_RANK}", "correct the rank")
    table.refuse_unknown("a class")
    return row


def _other(table: Table) -> OtherLegend:
    row = OtherLegend(
        title=table.text("title", "which legend", "the 1992 edition"),
        codes=_integers(table, "codes"),
        tag=table.choice("tag", TAGS) or "",
    )
    table.refuse_unknown("another legend")
    return row


def _integer(table: Table, key: str) -> int:
    value = table.get(key, "a whole number", "1")
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    table.note(key, repr(value), "a whole number", f"write {key} = 1")
    return 0


def _integers(table: Table, key: str) -> tuple[int, ...]:
    value = table.get(key, "a list of whole numbers", "[0]")
    if isinstance(value, list) and all(isinstance(item, int) for item in value):
        return tuple(value)
    table.note(key, repr(value), "a list of whole numbers", f"write {key} = [0]")
    return ()
