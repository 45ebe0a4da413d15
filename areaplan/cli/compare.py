"""`areaplan compare OLD NEW`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import Progress, file_option, json_option, leave_with, paper_option, tell


@click.command("compare")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@file_option(
    "--page",
    help="Also write everything, with drawings of the difference, to print: .html or .pdf.",
)
@paper_option
@file_option(
    "--map",
    "map_path",
    help="Also write NEW's map with the difference on it as one HTML file; NEW is a project.",
)
@json_option
def command(
    old: Path, new: Path, page: Path | None, paper: str, map_path: Path | None, as_json: bool
) -> None:
    """Tell what changed between OLD and NEW, for the periodic review.

    Each is a project file, judged with its own files, rules, wind and day, or a result that
    `areaplan check PROJECT --save FILE` saved. What was added, removed, moved or raised; whose
    verdict changed, by how many feet and where; shares of the area before and now.

    Exit status: 0 nothing that matters is worse, 1 something is, 2 bad input, 3 unknown.
    """
    written = []
    with Progress() as progress:
        progress("loading the geometry libraries")
        from areaplan.planning.changes import compare_results
        from areaplan.planning.changes_sides import refuse_saved, side_at

        if page is not None:
            from areaplan.render.document.writing import require_printer

            require_printer(page, "--page")
        if map_path is not None:
            refuse_saved(new, "--map")
        before, _ = side_at(old, lambda step: progress(f"old: {step}"))
        after, plan = side_at(new, lambda step: progress(f"new: {step}"))
        progress("comparing")
        changes = compare_results(before, after)
        if page is not None:
            from areaplan.render.changes_paper import write_changes_page

            progress("printing the page")
            write_changes_page(changes, page, paper)
            written.append(page)
        if map_path is not None and plan is not None:
            from areaplan.render.changes_overlay import write_changes_map

            progress("drawing the map")
            write_changes_map(changes, plan, map_path)
            written.append(map_path)
    from areaplan.render.changes_json import changes_as_json
    from areaplan.render.changes_paper import changes_text

    tell(as_json, lambda: changes_as_json(changes), lambda: changes_text(changes), written)
    leave_with(changes.verdict)
