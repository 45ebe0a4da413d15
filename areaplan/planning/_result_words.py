"""Words and numbers of a saved result: JSON whose keys are the attributes of `Result`."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from typing import Any, Final, NoReturn

import shapely
from attrs import frozen
from cattrs import transform_error
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override
from cattrs.preconf.json import JsonConverter, make_converter
from shapely.geometry.base import BaseGeometry

from areaplan.errors import Fault, InputError
from areaplan.fault_words import describe
from areaplan.grid import Grid
from areaplan.planning._result_faults import SAVE_AGAIN, refuse
from areaplan.planning.plan import JudgedCells, Limit
from areaplan.planning.result import Result

FORMAT: Final = 1  # raised whenever an older areaplan could not read what a newer one writes
_ABOUT: Final = (
    "An areaplan result, saved to be compared with a later one: areaplan compare FILE PROJECT. "
    "Planning aid only, not for navigation. Geometries are well-known binary (OGC 06-103r4) in "
    "hexadecimal digits, longitude before latitude. A limit is its place in limit_table, from 0."
)
_MOST_FAULTS: Final = 20  # many more have one cause
_KEYS: Final = ("about", "format", "limit_table", "result")


@frozen
class _Slots:
    bands: int


@frozen
class _Size:
    """What must be known before the arrays can be read."""

    grid: Grid
    cells: _Slots
    binders: tuple[Any, ...]


def words_of(result: Result) -> str:
    """The JSON text of all but the arrays and the file that it was read from."""
    return json.dumps(_document(result), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _document(result: Result) -> dict[str, Any]:
    numbers = {limit: number for number, limit in enumerate(_limits(result))}
    plain = _writer(numbers).unstructure(result)
    table = make_converter().unstructure(tuple(numbers))
    return dict(zip(_KEYS, (_ABOUT, FORMAT, table, plain), strict=True))


def _limits(result: Result) -> dict[Limit, None]:
    """Every limit once: those in force, then what else findings and binders name."""
    judged, binding = ([row.limit for row in rows] for rows in (result.findings, result.binders))
    return dict.fromkeys((*result.limits, *judged, *binding))


def parse_words(place: str, content: bytes) -> dict[str, Any]:
    """Read the JSON and check that it is of a format that this areaplan knows.

    Raises
    ------
    InputError
        Not UTF-8, not JSON, no result, or of a newer format.
    """
    expected = "JSON as areaplan writes it"
    try:
        document = json.loads(
            content.decode("utf-8"), parse_constant=_refuse_constant, parse_float=_finite
        )
    except json.JSONDecodeError as error:
        key = f"result.json, line {error.lineno}"
        raise refuse(place, key, f"not JSON: {error.msg}", expected) from error
    except (ValueError, RecursionError) as error:
        raise refuse(place, "result.json", f"not JSON: {error}", expected) from error
    if not isinstance(document, dict):
        raise refuse(place, "result.json", f"{describe(document)}", "an object with keys")
    number = document.get("format")
    if isinstance(number, bool) or not isinstance(number, int) or number < 1:
        raise refuse(place, "result.json: format", describe(number), f"a number, such as {FORMAT}")
    if number > FORMAT:
        raise refuse(
            place,
            "result.json: format",
            f"{number}, which a newer areaplan wrote",
            f"at most {FORMAT}",
            "compare with that newer areaplan, or save the result again with this one",
        )
    return document


def _refuse_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number of JSON")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text} is too large a number")
    return value


def read_words(
    place: str, document: Mapping[str, Any], read: Callable[[Grid, int, int], JudgedCells]
) -> Result:
    """Make the result of its JSON document and its arrays.

    Parameters
    ----------
    place : str
        The file, for messages.
    document : mapping
        As `parse_words` gives it.
    read : callable
        Gives the arrays for a grid, a number of bands and a number of binders.

    Raises
    ------
    InputError
        A key is missing, unknown, or does not hold what it must.
    """
    plain = _part(place, document, "result", dict)
    limits = _part(place, document, "limit_table", list)
    size = _structured(place, "result", _Size, plain, make_converter())
    table = _structured(place, "limit_table", tuple[Limit, ...], limits, make_converter())
    cells = read(size.grid, size.cells.bands, len(size.binders))
    result: Result = _structured(place, "result", Result, plain, _reader(table, cells))
    _check_altitudes(place, result)
    _check_area(place, result)
    # What was read must be what would be written: no key beside, no text where a list belongs.
    # Only the sentence for whoever opens the file may be another version's.
    written = json.loads(json.dumps({**_document(result), "about": document.get("about")}))
    key = _first_difference(document, written, "")
    if key is not None:
        raise refuse(
            place, f"result.json: {key[1:]}", "not as areaplan writes it", "its own writing"
        )
    return result


def _part(place: str, document: Mapping[str, Any], key: str, kind: type) -> Any:
    plain = document.get(key)
    if not isinstance(plain, kind):
        found = "not given" if plain is None else describe(plain)
        expected = "a list" if kind is list else "an object with keys"
        raise refuse(place, f"result.json: {key}", found, expected)
    return plain


def _structured(place: str, key: str, kind: Any, plain: Any, converter: JsonConverter) -> Any:
    try:
        return converter.structure(plain, kind)
    except Exception as error:  # cattrs gathers whatever the values of the file have raised
        told = transform_error(error, path=key, format_exception=_found)
        words = [one.rsplit(" @ ", 1) for one in told]
        raise InputError(
            Fault(
                place, f"result.json: {one[-1]}", one[0], "what areaplan writes there", SAVE_AGAIN
            )
            for one in words[:_MOST_FAULTS]
        ) from error


def _found(error: BaseException, _: type | None) -> str:
    """What a value is not, as the reader of its type said it, in one line."""
    if isinstance(error, KeyError):
        return "not given"
    return " ".join(str(error).split()) or type(error).__name__


def _check_altitudes(place: str, result: Result) -> None:
    planned = result.project.planned_altitudes_amsl_ft
    if not planned or min(planned) < -(2**15) or max(planned) >= 2**15:
        raise refuse(
            place,
            "result.json: result.project.planned_altitudes_amsl_ft",
            f"{planned}",
            "one or more altitudes in whole feet",
        )


def _check_area(place: str, result: Result) -> None:
    kind = result.area.geom_type
    if kind not in ("Polygon", "MultiPolygon"):
        raise refuse(place, "result.json: result.area", f"a {kind}", "one or more polygons")


def _first_difference(read: Any, written: Any, key: str) -> str | None:
    """Key path of the first value that is not the same; None where all are."""
    if isinstance(read, dict) and isinstance(written, dict):
        for name in sorted(read.keys() ^ written.keys()):
            return f"{key}.{name}"
        inner = [(read[name], written[name], f"{key}.{name}") for name in written]
    elif isinstance(read, list) and isinstance(written, list) and len(read) == len(written):
        pairs = enumerate(zip(read, written, strict=True))
        inner = [(old, new, f"{key}[{number}]") for number, (old, new) in pairs]
    else:
        return None if read == written else key
    found = (_first_difference(*pair) for pair in inner)
    return next((one for one in found if one is not None), None)


def _writer(numbers: Mapping[Limit, int]) -> JsonConverter:
    converter = make_converter()
    converter.register_unstructure_hook(Limit, numbers.__getitem__)
    converter.register_unstructure_hook(
        BaseGeometry, lambda one: shapely.to_wkb(one, hex=True, byte_order=1)
    )
    converter.register_unstructure_hook(
        JudgedCells, lambda cells: {"bands": cells.bands_amsl_ft.shape[0]}
    )
    converter.register_unstructure_hook(
        Result, make_dict_unstructure_fn(Result, converter, saved=override(omit=True))
    )
    return converter


def _reader(limits: tuple[Limit, ...], cells: JudgedCells) -> JsonConverter:
    converter = make_converter()

    def limit(number: Any, _: object) -> Limit:
        if not isinstance(number, int) or not 0 <= number < len(limits):
            raise ValueError(f"{number!r} is no place in limit_table")
        return limits[number]

    converter.register_structure_hook(Limit, limit)
    converter.register_structure_hook(BaseGeometry, lambda text, _: _geometry(text))
    converter.register_structure_hook(JudgedCells, lambda _, __: cells)
    converter.register_structure_hook(
        Result, make_dict_structure_fn(Result, converter, saved=override(omit=True))
    )
    return converter


def _geometry(text: Any) -> BaseGeometry:
    geometry = shapely.from_wkb(bytes.fromhex(text))
    west, south, east, north = geometry.bounds
    # Of an empty geometry these are NaN, and fail.
    if not (-360.0 <= west <= east <= 360.0 and -90.0 <= south <= north <= 90.0):
        raise ValueError("a geometry that lies nowhere on Earth")
    return geometry
