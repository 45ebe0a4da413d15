"""`areaplan rules`."""

from __future__ import annotations

from pathlib import Path

import click

from areaplan.cli.common import json_option, print_json


@click.command("rules")
@click.option("--set", "name", help="Only this rule set: a built-in name or a policy file.")
@json_option
def command(name: str | None, as_json: bool) -> None:
    """Show the rule sets with their sentences, sections, editions and dates."""
    from areaplan.rules.loading import builtin_rule_sets, load_rule_set
    from areaplan.rules.text import describe_rule_set, rule_set_as_json

    names = builtin_rule_sets() if name is None else (name,)
    rule_sets = [
        load_rule_set(each, None if each in builtin_rule_sets() else Path(each)) for each in names
    ]
    if as_json:
        print_json({"rule_sets": [rule_set_as_json(each) for each in rule_sets]})
        return
    for each in rule_sets:
        click.echo("\n".join(describe_rule_set(each)))
