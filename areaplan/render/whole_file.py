"""Text files that are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from areaplan.errors import InputError


def write_whole(path: Path, text: str, what: str, option: str) -> None:
    """Write a text beside its place and move it into it.

    Nobody ever meets half of it, and an older file survives a failure.

    Parameters
    ----------
    path : Path
        Where to write; an existing file is replaced.
    text : str
        Written as UTF-8 with line feeds.
    what : str
        What it is, for the message, such as "the map".
    option : str
        The command-line option that names the file.

    Raises
    ------
    InputError
        The folder is missing or can't be written to.
    """
    try:
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise _unwritable(path, what, option, error) from error
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.chmod(beside, 0o644)  # mkstemp makes files that only their owner can read
        os.replace(beside, path)
    except OSError as error:
        Path(beside).unlink(missing_ok=True)
        raise _unwritable(path, what, option, error) from error
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _unwritable(path: Path, what: str, option: str, error: OSError) -> InputError:
    return InputError.single(
        str(path),
        "",
        found=f"{what} cannot be written: {error.strerror or error}",
        expected="a folder that exists and can be written to",
        fix=f"make the folder, or name another file with {option}",
    )
