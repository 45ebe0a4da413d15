"""Plans as geopandas frames: areas against counts of cells, and round trips through a file."""

import geopandas as gpd
import numpy as np
import pytest

from areaplan.planning.plan import CellClass
from areaplan.render.frames import class_frame, fields_frame, findings_frame
from tests.render.plan_fixture import plan as make_plan


@pytest.fixture(scope="module")
def plan():
    return make_plan()


@pytest.mark.parametrize("altitude_ft", [1200, 2000, 3000])
def test_class_polygons_cover_their_cells(plan, altitude_ft):
    frame = class_frame(plan, altitude_ft)
    inside = plan.cells.is_in_area
    classes = plan.cells.classes(altitude_ft)[inside]
    assert frame["share"].sum() == pytest.approx(1.0)
    local = frame.to_crs(plan.frame.crs_text)
    for row, geometry in zip(frame.itertuples(), local.geometry, strict=True):
        cells = int((classes == row.cell_class).sum())
        # Cell edges are straight in local metres and nearly so in degrees: a thousandth covers it.
        assert geometry.area == pytest.approx(cells * plan.grid.cell_m**2, rel=1e-3)
    assert local.union_all().area == pytest.approx(inside.sum() * plan.grid.cell_m**2, rel=1e-3)


def test_a_cell_lies_in_the_polygon_of_its_class(plan):
    frame = class_frame(plan, 2000).to_crs(plan.frame.crs_text).set_index("cell_class")
    rows, cols = np.nonzero(plan.cells.is_in_area)
    classes = plan.cells.classes(2000)
    for place in np.linspace(0, rows.size - 1, 60).astype(int):
        row, col = rows[place], cols[place]
        x_m, y_m = plan.grid.centre_x_m()[col], plan.grid.centre_y_m()[row]
        point = gpd.points_from_xy([x_m], [y_m])[0]
        assert frame.geometry[classes[row, col]].contains(point)


def test_findings_and_fields_come_back_from_a_geopackage(plan, tmp_path):
    path = tmp_path / "plan.gpkg"
    findings_frame(plan).to_file(path, layer="findings")
    fields_frame(plan).to_file(path, layer="fields")
    findings = gpd.read_file(path, layer="findings")
    assert list(findings["rule"]) == [r.limit.rule for r in plan.findings if r.lat is not None]
    fields = gpd.read_file(path, layer="fields")
    assert list(fields["name"]) == [row.name for row in plan.fields]
    assert 0.0 < fields["share_served"].sum() <= 1.0


def test_every_class_has_words(plan):
    words = set(class_frame(plan, 2000)["meaning"])
    assert len(words) > 1
    assert len(CellClass) == 5
