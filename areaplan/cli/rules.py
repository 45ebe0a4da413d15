"""`areaplan rules`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areaplan.cli.common import Progress, file_option, json_option, paper_option, print_json

if TYPE_CHECKING:
    from areaplan.rules.model import RuleSet


@click.command("rules")
@click.argument("names", nargs=-1, metavar="[SET]...")
@click.option("--set", "name", help="Only this rule set: a built-in name or a policy file.")
@click.option(
    "--compare", "is_compared", is_flag=True, help="Put the sets SET SET... side by side."
)
@click.option(
    "--at",
    "place",
    nargs=3,
    type=(click.Path(path_type=Path), click.FloatRange(-90, 90), click.FloatRange(-180, 180)),
    metavar="PROJECT LAT LON",
    help="With --compare: the legal floor at a place of a project, under each set alone.",
)
@file_option(
    "--document",
    help="Write all rules with their sentences and examples into this file, .html, .pdf or .md.",
)
@paper_option
@json_option
def command(
    names: tuple[str, ...],
    name: str | None,
    is_compared: bool,
    place: tuple[Path, float, float] | None,
    document: Path | None,
    paper: str,
    as_json: bool,
) -> None:
    """Show the rule sets with their sentences, sections, editions and dates.

    A SET is a built-in name or a policy file. All built-in ones when none is named.
    """
    _check_use(names, name, is_compared, place, document)
    from areaplan.rules.loading import builtin_manoeuvres, builtin_rule_sets, load_rule_set
    from areaplan.rules.text import describe_rule_set, rule_set_as_json

    wanted = names or (builtin_rule_sets() if name is None else (name,))
    rule_sets = [load_rule_set(each, _path_of(each, builtin_rule_sets())) for each in wanted]
    if is_compared:
        _compare(rule_sets, place, as_json)
        return
    if not names and name is None:
        rule_sets.append(builtin_manoeuvres())
    if document is not None:
        _write(rule_sets, document, paper, as_json)
        return
    if as_json:
        print_json({"rule_sets": [rule_set_as_json(each) for each in rule_sets]})
        return
    click.echo("\n\n".join("\n".join(describe_rule_set(each)) for each in rule_sets))


def _write(rule_sets: list[RuleSet], document: Path, paper: str, as_json: bool) -> None:
    with Progress() as progress:
        progress("printing the rules")
        from areaplan.render.rules_document import write_rules_document

        write_rules_document(rule_sets, document, paper)
    if as_json:
        print_json({"document": str(document), "rule_sets": [one.id for one in rule_sets]})
    else:
        click.echo(str(document))


def _path_of(name: str, built_in: tuple[str, ...]) -> Path | None:
    """The file of a policy, None for a built-in set; a word that is neither is named."""
    if name in built_in:
        return None
    if not name.endswith(".toml"):
        from areaplan.errors import InputError
        from areaplan.fault_words import nearest_fix

        raise InputError.single(
            "--set",
            "",
            found=repr(name),
            expected=f"one of {', '.join(built_in)}, or a policy file in TOML",
            fix=nearest_fix(name, built_in),
        )
    return Path(name)


def _check_use(
    names: tuple[str, ...],
    name: str | None,
    is_compared: bool,
    place: object,
    document: Path | None,
) -> None:
    if names and name is not None:
        raise click.UsageError("name the sets either with --set or by themselves, not both")
    if is_compared and not 2 <= len(names) <= 4:
        raise click.UsageError("--compare takes two to four sets, such as: --compare us canada")
    if is_compared and len(set(names)) < len(names):
        raise click.UsageError("--compare takes each set once")
    if is_compared and document is not None:
        raise click.UsageError("--document lists rules one by one: leave --compare out")
    if place is not None and not is_compared:
        raise click.UsageError("--at goes with --compare")


def _compare(
    rule_sets: list[RuleSet], place: tuple[Path, float, float] | None, as_json: bool
) -> None:
    from areaplan.rules.comparing import comparison_as_json, comparison_text

    told: dict[str, Any] = comparison_as_json(rule_sets)
    lines = [comparison_text(rule_sets)]
    if place is not None:
        path, lat, lon = place
        with Progress() as progress:
            progress("loading the geometry libraries")
            from areaplan.planning.comparing import compare_at
            from areaplan.planning.project_file import read_project
            from areaplan.render.comparing import places_as_json, places_text

            rows = compare_at(read_project(path), rule_sets, lat, lon, progress)
        told["at"] = places_as_json(rows)
        lines += ["", places_text(rows)]
    if as_json:
        print_json(told)
    else:
        click.echo("\n".join(lines))
