"""The rule sets that the tests of this room look at."""

from pathlib import Path

import pytest

from areaplan.rules.loading import builtin_rule_sets, load_rule_set, policy_template
from areaplan.rules.model import RuleSet

AUTHORITIES = Path(__file__).parents[1] / "authorities"


def switched_on(template: str) -> str:
    """A policy template with its switched-off rule switched on."""
    before, after = template.split("# [[rule]]\n")
    lines = [line.removeprefix("#").removeprefix(" ") for line in after.splitlines()]
    return before + "\n".join(["[[rule]]", *lines]) + "\n"


@pytest.fixture(scope="session")
def rule_sets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, RuleSet]:
    """Every rule set there is: the built-in ones, the template and a third authority's."""
    template = tmp_path_factory.mktemp("rules") / "policy.toml"
    template.write_text(switched_on(policy_template()), encoding="utf-8")
    sets = {name: load_rule_set(name) for name in builtin_rule_sets()}
    for path in (template, AUTHORITIES / "new_zealand_91_311.toml"):
        rule_set = load_rule_set(path.name, path)
        sets[rule_set.id] = rule_set
    return sets
