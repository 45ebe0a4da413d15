"""Findings stand in the order in which a person has to read them."""

import random

import pytest

from areaplan.planning.evaluation import evaluate
from areaplan.planning.findings import gravest_first
from areaplan.planning.plan import Finding, Limit, Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.starter import scenario_directory
from areaplan.rules.model import Severity


def finding(verdict, severity=Severity.LAW, altitude_ft=2000, margin_ft=None):
    limit = Limit("rule", "Rule", severity, "Sentence.", "Document")
    return Finding(limit, verdict, altitude_ft, margin_ft, None, None, "", 1.0, ())


IN_ORDER = (
    finding(Verdict.NOT_MET, margin_ft=None),  # no altitude is enough
    finding(Verdict.NOT_MET, margin_ft=-90),
    finding(Verdict.NOT_MET, margin_ft=-10),
    finding(Verdict.NOT_MET, altitude_ft=2500, margin_ft=-700),
    finding(Verdict.NOT_MET, Severity.POLICY, margin_ft=-900),
    finding(Verdict.NOT_MET, Severity.ADVISORY, margin_ft=-2000),
    finding(Verdict.UNKNOWN),
    finding(Verdict.UNKNOWN, Severity.POLICY),
    finding(Verdict.MET, margin_ft=0),
    finding(Verdict.MET, margin_ft=300),
    finding(Verdict.MET, margin_ft=None),  # nothing to be short of
    finding(Verdict.MET, Severity.ADVISORY, margin_ft=1),
)


@pytest.mark.parametrize("seed", range(20))
def test_the_gravest_first(seed):
    mixed = list(IN_ORDER)
    random.Random(seed).shuffle(mixed)
    assert gravest_first(mixed) == IN_ORDER


def test_a_plan_begins_with_what_is_not_met():
    found = evaluate(read_project(scenario_directory() / "project.toml")).findings
    order = [Verdict.NOT_MET, Verdict.UNKNOWN, Verdict.MET]
    ranks = [order.index(row.verdict) for row in found]
    assert ranks == sorted(ranks)
    assert ranks[0] == 0
    assert ranks[-1] == 2
