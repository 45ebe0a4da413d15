"""What a project may say of the sources that are only flown by."""

import pytest

from areaplan.errors import InputError
from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from areaplan.planning.things import collect
from areaplan.rules.model import Counted
from tests.planning.builder import plain_country
from tests.planning.covered_country import line

ROAD = [(line((-500, 0), (500, 0)), {"name": "Branch line"})]


def silent(_):
    pass


def written(country, kind, **keys):
    """A source without `covers` unless given."""
    country.write("lines.geojson", ROAD)
    said = "".join(f'{key} = "{value}"\n' for key, value in keys.items())
    return country.more(
        f'\n[[source]]\nkind = "{kind}"\nfiles = ["lines.geojson"]\nedition = "x"\n{said}'
    ).project()


@pytest.mark.parametrize("kind", ["rails", "fences", "section-lines", "canals"])
def test_they_need_no_coverage_and_count_for_nothing(tmp_path, kind):
    project = read_project(written(plain_country(tmp_path), kind))
    layers, ground = read_layers(project, silent)
    (layer,) = getattr(layers, kind.replace("-", "_"))
    assert layer.rows[0].name == "Branch line"
    assert layers.vehicles == layers.roads == ()
    assert not collect(layers, ground, [Counted.VEHICLE, Counted.WIRE]).names


def test_rails_may_count_as_vehicles(tmp_path):
    path = written(plain_country(tmp_path), "rails", count_as="vehicle", covers="all")
    layers, ground = read_layers(read_project(path), silent)
    assert layers.vehicles == layers.rails
    names = collect(layers, ground, [Counted.VEHICLE]).names
    assert set(names) == {"vehicle on Branch line"}


def test_rails_that_count_need_their_coverage(tmp_path):
    with pytest.raises(InputError, match="covers") as error:
        read_project(written(plain_country(tmp_path), "rails", count_as="vehicle"))
    assert len(error.value.faults) == 1


def test_a_fence_is_no_vehicle(tmp_path):
    with pytest.raises(InputError, match="only roads and rails"):
        read_project(written(plain_country(tmp_path), "fences", count_as="vehicle", covers="all"))


def test_roads_still_need_their_coverage(tmp_path):
    with pytest.raises(InputError, match="covers"):
        read_project(written(plain_country(tmp_path), "roads"))


def test_their_records_stand_in_the_plan(tmp_path):
    from areaplan.planning.evaluation import evaluate

    plan = evaluate(read_project(written(plain_country(tmp_path), "canals")))
    assert [row.counts for row in plan.sources if row.kind == "canals"] == ["1 of 1 rows used"]
