"""Files before they are opened by a format library: there, readable, not absurdly large, hashed."""

from __future__ import annotations

import hashlib
import stat
import warnings
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from areaplan.errors import Fault, InputError
from areaplan.sources._text import one_line

MAX_TABLE_BYTES: Final = 512 * 1024**2
MAX_TERRAIN_BYTES: Final = 16 * 1024**3
MAX_ROWS: Final = 2_000_000
_MAX_FAULTS: Final = 20
_CHUNK_BYTES: Final = 1 << 20


def require_file(path: Path, name: str, max_bytes: int = MAX_TABLE_BYTES) -> int:
    """Check that a path is a readable file with something in it, and not too much.

    Parameters
    ----------
    path : Path
        Resolved path.
    name : str
        The path as the project file writes it, for messages.
    max_bytes : int
        Largest size accepted.

    Returns
    -------
    int
        Size in bytes.

    Raises
    ------
    InputError
        Missing, a folder or device, unreadable, empty or larger than `max_bytes`.
    """
    expected = "a readable file"
    try:
        status = path.stat()
        if stat.S_ISREG(status.st_mode):
            with path.open("rb"):
                pass
    except FileNotFoundError:
        fix = "correct the name; one in a project file is looked up from the folder of that file"
        raise InputError.single(
            name, "", found="there is no such file", expected=expected, fix=fix
        ) from None
    except (OSError, ValueError) as error:  # loops of links, no permission, NUL in the name
        found = f"cannot be opened ({one_line(error)})"
        fix = "give the path of a file that this user may read"
        raise InputError.single(name, "", found=found, expected=expected, fix=fix) from None
    if not stat.S_ISREG(status.st_mode):
        what = "is a folder" if stat.S_ISDIR(status.st_mode) else "is not a regular file"
        fix = "give the path of the file itself"
        raise InputError.single(name, "", found=what, expected=expected, fix=fix)
    if status.st_size == 0:
        fix = "get the file again"
        raise InputError.single(
            name, "", found="the file is empty", expected="a file with data in it", fix=fix
        )
    if status.st_size > max_bytes:
        raise InputError.single(
            name,
            "",
            found=f"the file has {status.st_size / 1024**2:,.0f} MB",
            expected=f"at most {max_bytes / 1024**2:,.0f} MB",
            fix="clip the file to the country around the practice area",
        )
    return status.st_size


def sha256_of(paths: Iterable[Path]) -> str:
    """Hexadecimal SHA-256 over the bytes of files, in the order given."""
    digest = hashlib.sha256()
    for path in paths:
        with path.open("rb") as stream:
            while chunk := stream.read(_CHUNK_BYTES):
                digest.update(chunk)
    return digest.hexdigest()


@contextmanager
def library_faults(name: str, path: Path, *, expected: str, fix: str) -> Iterator[list[str]]:
    """Turn what a format library raises into an `InputError`, and what it warns into notes.

    Parameters
    ----------
    name : str
        The file as the project writes it.
    path : Path
        Its resolved path, replaced by `name` in the library's messages.
    expected, fix : str
        For the error.

    Yields
    ------
    list of str
        Filled with the library's warnings when the block ends.

    Raises
    ------
    InputError
        The library could not read the file.
    """
    notes: list[str] = []
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            yield notes
        # pyogrio and rasterio raise their own subclasses of the first three; pyogrio 0.13 raises
        # the last on a coordinate system whose name is not UTF-8.
        except (RuntimeError, OSError, ValueError, UnboundLocalError) as error:
            found = f"cannot be read ({one_line(error).replace(str(path), name)})"
            raise InputError.single(name, "", found=found, expected=expected, fix=fix) from error
    notes.extend(
        dict.fromkeys(
            f"{name}: {one_line(warning.message).replace(str(path), name)}"
            for warning in caught
            if not issubclass(warning.category, ResourceWarning)
        )
    )


def raise_faults(faults: list[Fault]) -> None:
    """Raise every fault that was collected, the tail of a long list as a count.

    Raises
    ------
    InputError
        `faults` is not empty.
    """
    if not faults:
        return
    shown = faults[:_MAX_FAULTS]
    if len(faults) > len(shown):
        shown.append(
            Fault(
                shown[-1].place,
                "",
                found=f"{len(faults) - len(shown)} more faults of this kind",
                expected="none",
                fix="correct the faults above first",
            )
        )
    raise InputError(shown)
