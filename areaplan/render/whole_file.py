"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from areaplan.errors import InputError


def write_whole(path: Path, content: str | bytes, what: str, option: str) -> None:
    """Write a text or bytes beside the place and move them into it.

    Nobody ever meets half of it, and an older file survives a failure.

    Parameters
    ----------
    path : Path
        Where to write; an existing file is replaced.
    content : str or bytes
        A text is written as UTF-8 with line feeds.
    what : str
        What it is, for the message, such as "the map".
    option : str
        The command-line option that names the file.

    Raises
    ------
    InputError
        The folder is missing or can't be written to.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise _unwritable(path, what, option, error) from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
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
