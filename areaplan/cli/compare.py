"""`areaplan compare OLD NEW`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import Progress, json_option, leave_with, print_json


@click.command("compare")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@click.option(
    "--map",
    "page",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write everything with a map of the difference as one HTML page.",
)
@json_option
def command(old: Path, new: Path, page: Path | None, as_json: bool) -> None:
    """Tell what changed between OLD and NEW, for the periodic review.

    Each is a project file, judged with its own files, rules, wind and day, or a result that
    `areaplan check PROJECT --save FILE` saved. What was added, removed, moved or raised; whose
    verdict changed, by how many feet and where; shares of the area before and now.

    Exit status: 0 nothing that matters is worse, 1 something is, 2 bad input, 3 unknown.
    """
    with Progress() as progress:
        progress("loading the geometry libraries")
        from areaplan.planning.changes import compare_results
        from areaplan.planning.changes_sides import result_at

        before = result_at(old, lambda step: progress(f"old: {step}"))
        after = result_at(new, lambda step: progress(f"new: {step}"))
        progress("comparing")
        changes = compare_results(before, after)
    if page is not None:
        from areaplan.render.changes_paper import write_changes_page

        write_changes_page(changes, page)
    if as_json:
        from areaplan.render.changes_json import changes_as_json

        print_json({**changes_as_json(changes), "map": None if page is None else str(page)})
    else:
        from areaplan.render.changes_paper import changes_text

        click.echo(changes_text(changes))
        if page is not None:
            click.echo(f"\nMap: {page}")
    leave_with(changes.verdict)
