"""The rule sets that the tests of this room look at."""

import pytest

from areaplan.rules.loading import builtin_rule_sets, load_rule_set, policy_template
from areaplan.rules.model import RuleSet


def switched_on(template: str) -> str:
    """A policy template with its switched-off rule switched on."""
    before, after = template.split("# [[rule]]\n")
    lines = [line.removeprefix("#").removeprefix(" ") for line in after.splitlines()]
    return before + "\n".join(["[[rule]]", *lines]) + "\n"


@pytest.fixture(scope="session")
def rule_sets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, RuleSet]:
    """Every rule set there is: the built-in ones and the template."""
    template = tmp_path_factory.mktemp("rules") / "policy.toml"
    template.write_text(switched_on(policy_template()), encoding="utf-8")
    sets = {name: load_rule_set(name) for name in builtin_rule_sets()}
    school = load_rule_set(template.name, template)
    return {**sets, school.id: school}
