"""The two sides of a comparison: a project judged now, or a result that was saved before."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from areaplan import __version__
from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate, silent
from areaplan.planning.plan import Plan
from areaplan.planning.project_file import read_project
from areaplan.planning.result import Result, result_of
from areaplan.planning.result_file import is_saved_result, read_result

_SHOWN: Final = 16  # digits of a digest that are told where a person reads it


def side_at(path: Path, progress: Callable[[str], None] = silent) -> tuple[Result, Plan | None]:
    """Read a saved result, or judge a project file; which of them is told by the content.

    Parameters
    ----------
    path : Path
    progress : callable
        Told in a few words what is being done.

    Returns
    -------
    result : Result
    plan : Plan or None
        None for a saved result.

    Raises
    ------
    InputError
        A saved result that is damaged, or a project with unusable files.
    """
    if is_saved_result(path):
        progress("reading the saved result")
        return read_result(path), None
    plan = evaluate(read_project(path), progress)
    return result_of(plan), plan


def refuse_saved(path: Path, option: str) -> None:
    """Refuse a saved result where only a project will do: a map needs the project's files.

    Raises
    ------
    InputError
        With what to give instead.
    """
    if is_saved_result(path):
        raise InputError.single(
            str(path),
            "",
            found=f"a saved result, with {option}",
            expected="a project file: a saved result holds neither terrain nor directions to draw",
            fix=f"name the project's own file, or leave {option} out",
        )


def side_words(result: Result) -> str:
    """Where a side comes from, in one line."""
    project = f"{result.project.path} (SHA-256 {result.project.sha256[:_SHOWN]})"
    if result.saved is None:
        return project
    return (
        f"{result.saved.path} (SHA-256 {result.saved.sha256[:_SHOWN]}), a saved result, made with "
        f"areaplan {result.version} of {project}"
    )


def version_notes(old: Result, new: Result) -> tuple[str, ...]:
    """What to say of sides that were not made with this areaplan."""
    others = {"before": old.version, "now": new.version}
    told = tuple(
        f'"{name.capitalize()}" was saved by areaplan {version}; this is areaplan {__version__}.'
        for name, version in others.items()
        if version != __version__
    )
    if old.version == new.version:
        return told
    return (
        *told,
        "Between those versions built-in rules or the computing may have changed: what is told "
        "below shows that as well as what changed in the world. To tell the two "
        "apart, judge the old project files again with this one.",
    )
