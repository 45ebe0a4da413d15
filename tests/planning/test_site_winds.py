"""Which places serve which winds: two crossing roads, whose answer is plain."""

import pytest

from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.site_winds import places_by_wind
from areaplan.rules.figures_asked import builtin_figures
from areaplan.units import KNOT_MPS
from tests.planning.test_sites import CROSSROADS, HALF_M, _country

DIRECTIONS = [22.5 * i for i in range(16)]


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    country = _country(tmp_path_factory.mktemp("winds"), roads=CROSSROADS)
    plan = evaluate(read_project(country.project(half_m=HALF_M, cell="100 m")))
    figures = builtin_figures().named(["s-turns", "turns-around-a-point"])
    return places_by_wind(plan, 12.0 * KNOT_MPS, figures)


def test_a_road_serves_the_winds_across_it(found):
    lines = found[0]
    by_name = dict(zip(lines.places, lines.serves.tolist(), strict=True))
    for name, road_deg in (("East Road", 90.0), ("North Road", 0.0)):
        off = [90.0 - abs((deg - road_deg + 90.0) % 180.0 - 90.0) for deg in DIRECTIONS]
        assert by_name[name] == [value <= 30.0 for value in off]
    assert lines.unserved_deg_true == (45.0, 135.0, 225.0, 315.0)
    assert lines.verdict is Verdict.NOT_MET
    assert len(lines.fewest) == 2


def test_a_crossing_serves_all_winds(found):
    points = found[1]
    assert points.places == ("crossing of East Road and North Road",)
    assert points.serves.all()
    assert points.fewest == (0,)
    assert points.verdict is Verdict.MET
    assert points.speeds_mps == pytest.approx([0.0, 6.0 * KNOT_MPS, 12.0 * KNOT_MPS])


def test_refuses_calm():
    with pytest.raises(ValueError, match="above 0"):
        places_by_wind(None, 0.0, ())
