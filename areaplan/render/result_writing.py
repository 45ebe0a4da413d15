"""A result saved for a later comparison."""

from __future__ import annotations

from pathlib import Path

from areaplan.errors import InputError
from areaplan.planning.result import Result
from areaplan.planning.result_file import is_saved_result, result_bytes
from areaplan.render.whole_file import write_whole


def write_result(result: Result, path: Path) -> None:
    """Write a result whole or not at all; the same bytes for the same result.

    Only an older saved result is replaced: no slip of the keyboard costs a project file.

    Raises
    ------
    InputError
        The folder is missing or can't be written to, there is another kind of file, or the
        result is too large to be saved.
    """
    if path.exists() and not is_saved_result(path):
        raise InputError.single(
            str(path),
            "",
            found="there is a file that is no saved result",
            expected="a new name, or that of an older saved result",
            fix="name another file with --save",
        )
    write_whole(path, result_bytes(result), "the saved result", "--save")
