"""The files that come with areaplan: the demo scenario, and a starter to make one's own from."""

from __future__ import annotations

import os
import secrets
import shutil
from pathlib import Path
from typing import Final

import areaplan
from areaplan.errors import InputError
from areaplan.rules.loading import policy_template

_PROJECT: Final = "project.toml"
_POLICY: Final = "policy.toml"


def scenario_directory() -> Path:
    """Folder of the demo scenario; its project file is `project.toml`.

    Raises
    ------
    InputError
        The installation lacks the sample data.
    """
    return _sample_directory("scenario")


def write_starter(directory: Path) -> tuple[Path, ...]:
    """Write a small project that runs as it stands, to be replaced file by file.

    All files are written or none: they are made in a hidden folder and moved when complete.

    Parameters
    ----------
    directory : Path
        A folder that is empty or does not exist yet; its parent must exist.

    Returns
    -------
    tuple of Path
        The files written, the project file first.

    Raises
    ------
    InputError
        The folder holds something, or cannot be written.
    """
    source = _sample_directory("starter")
    is_there = _check_target(directory)
    staging = (directory if is_there else directory.parent) / f".areaplan-{secrets.token_hex(4)}"
    try:
        staging.mkdir()
        try:
            names = _fill(staging, source)
            _move(staging, directory, names, is_there=is_there)
        finally:
            shutil.rmtree(staging, ignore_errors=True)
    except OSError as error:
        raise InputError.single(
            str(directory),
            "",
            found=f"cannot be written ({error.strerror or error})",
            expected="a folder that this user may write",
            fix="choose another folder",
        ) from error
    return tuple(directory / name for name in names)


def _check_target(directory: Path) -> bool:
    """Whether the folder is there already, empty."""
    try:
        if directory.is_dir():
            first = next(directory.iterdir(), None)
            found = None if first is None else f"it holds {first.name}, among others perhaps"
            is_there = True
        elif directory.exists():
            found, is_there = "it is a file", False
        else:
            is_there = False
            found = None if directory.parent.is_dir() else f"there is no folder {directory.parent}"
    except OSError as error:
        found, is_there = f"cannot be looked into ({error.strerror})", False
    if found is not None:
        raise InputError.single(
            str(directory),
            "",
            found=found,
            expected="an empty folder, or the name of a new one",
            fix="choose another name; nothing was written",
        )
    return is_there


def _fill(staging: Path, source: Path) -> tuple[str, ...]:
    """Copy the starter's files and add the policy template; the project file's name comes first."""
    for file in source.iterdir():
        if file.is_file():
            shutil.copyfile(file, staging / file.name)
    (staging / _POLICY).write_text(policy_template(), encoding="utf-8")
    names = sorted(file.name for file in staging.iterdir())
    return (_PROJECT, *(name for name in names if name != _PROJECT))


def _move(staging: Path, directory: Path, names: tuple[str, ...], *, is_there: bool) -> None:
    if not is_there:
        staging.rename(directory)
        return
    # The folder may be somebody's current one: it is filled, not replaced.
    moved: list[Path] = []
    try:
        for name in names:
            os.replace(staging / name, directory / name)
            moved.append(directory / name)
    except OSError:
        for path in moved:
            path.unlink()
        raise


def _sample_directory(name: str) -> Path:
    """A folder of the sample data, in an installation or in a source checkout."""
    package = Path(areaplan.__file__).resolve().parent
    for parent in (package, package.parent):
        directory = parent / "data_samples" / name
        if (directory / _PROJECT).is_file():
            return directory
    raise InputError.single(
        str(package / "data_samples" / name),
        "",
        found="no such folder",
        expected="the sample data that come with areaplan",
        fix="install areaplan again, from a complete package or checkout",
    )
