"""Arrays of a saved result: numpy's own open format, one member for each."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from attrs import fields
from numpy.typing import NDArray

from areaplan.grid import Grid
from areaplan.planning._result_faults import refuse
from areaplan.planning.ground import MOST_CELLS
from areaplan.planning.plan import NOBODY, JudgedCells

# Little-endian, whatever the machine: the same plan gives the same bytes.
_TYPES: Final = {
    "legal_floor_amsl_ft": "<i2",
    "legal_floor_binder": "<i4",
    "bands_amsl_ft": "<i2",
    "is_legal_unknown": "|b1",
    "glide_required_amsl_ft": "<i2",
    "glide_binder": "<i4",
    "is_in_area": "|b1",
}
_NAMES: Final = tuple(one.name for one in fields(JudgedCells))
_SUFFIX: Final = ".npy"
_VERSION: Final = (1, 0)  # of numpy's format; later ones are for headers that need them
_MOST_HEADER_BYTES: Final = 4096

ARRAY_MEMBERS: Final = tuple(name + _SUFFIX for name in _NAMES)


def array_bytes(cells: JudgedCells) -> dict[str, bytes]:
    """Content of each member."""
    return {name + _SUFFIX: _npy(getattr(cells, name), _TYPES[name]) for name in _NAMES}


def _npy(values: NDArray[Any], dtype: str) -> bytes:
    stream = io.BytesIO()
    array = np.ascontiguousarray(values.astype(dtype, casting="equiv"))
    np.lib.format.write_array(stream, array, version=_VERSION, allow_pickle=False)
    return stream.getvalue()


def read_cells(
    place: str, read: Callable[[str, int], bytes], grid: Grid, bands: int, binders: int
) -> JudgedCells:
    """Read the arrays of a grid.

    Parameters
    ----------
    place : str
        The file, for messages.
    read : callable
        Gives the content of a member, and raises where it has more bytes than told.
    grid : Grid
    bands : int
        Slots of `bands_amsl_ft`.
    binders : int
        How many there are to point at.

    Raises
    ------
    InputError
        The grid is larger than any that is judged; an array has another shape or type, or holds
        what it can't; no cell is in the area.
    """
    if grid.rows * grid.cols > MOST_CELLS:
        raise refuse(
            place,
            "result.json: result.grid",
            f"{grid.rows} rows of {grid.cols} cells",
            f"at most {MOST_CELLS / 1e6:.0f} million cells",
        )
    if bands < 1:
        raise refuse(place, "result.json: result.cells.bands", str(bands), "1 or more")
    shapes = dict.fromkeys(_NAMES, grid.shape) | {"bands_amsl_ft": (bands, 2, *grid.shape)}
    arrays = {name: _read_array(place, read, name, shapes[name]) for name in _NAMES}
    for name in ("legal_floor_binder", "glide_binder"):
        lowest, highest = int(arrays[name].min()), int(arrays[name].max())
        if lowest < NOBODY or highest >= binders:
            raise refuse(
                place,
                name + _SUFFIX,
                f"values from {lowest} to {highest}",
                f"{NOBODY}, or a place in the list of {binders} binders",
            )
    if not arrays["is_in_area"].any():
        raise refuse(place, "is_in_area" + _SUFFIX, "no cell is in the area", "one or more")
    return JudgedCells(**arrays)


def _read_array(
    place: str, read: Callable[[str, int], bytes], name: str, shape: tuple[int, ...]
) -> NDArray[Any]:
    member, dtype = name + _SUFFIX, np.dtype(_TYPES[name])
    size = math.prod(shape) * dtype.itemsize
    content = read(member, size + _MOST_HEADER_BYTES)
    expected = f"an array {dtype.str} of shape {shape}"
    stream = io.BytesIO(content)
    try:
        version = np.lib.format.read_magic(stream)
        if version != _VERSION:
            raise ValueError(f"version {version} of numpy's format")
        found = np.lib.format.read_array_header_1_0(stream)
    except ValueError as error:
        raise refuse(place, member, f"no array that can be read ({error})", expected) from error
    if found != (shape, False, dtype):
        is_turned = ", stored column by column" if found[1] else ""
        words = f"an array {found[2].str} of shape {found[0]}{is_turned}"
        raise refuse(place, member, words, expected)
    data = content[stream.tell() :]
    if len(data) != size:
        raise refuse(place, member, f"{len(data)} bytes of values", f"{size} bytes")
    if dtype.kind == "b" and data.strip(b"\x00\x01"):
        raise refuse(place, member, "a byte that is neither 0 nor 1", "false and true only")
    # A view of the bytes, which nobody can write into; turned only on a big-endian machine.
    return np.frombuffer(data, dtype).reshape(shape).astype(dtype.newbyteorder("="), copy=False)
