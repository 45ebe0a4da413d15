"""The demo teaches what its README says, and the starter passes."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely

from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import Finding, Plan, Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.starter import write_starter
from tests.planning.scenario_files import (
    FOOT_M,
    HORIZONTAL_FT,
    HOSTILE,
    NAUTICAL_MILE_M,
    SCENARIO,
    UTM_14N,
    VERTICAL_FT,
    degrees,
    records,
    table,
)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return evaluate(read_project(SCENARIO / "project.toml"))


def finding(plan: Plan, rule: str, altitude_ft: int) -> Finding:
    (found,) = [
        row
        for row in plan.findings
        if (row.limit.rule, row.altitude_amsl_ft) == (rule, altitude_ft)
    ]
    return found


def share_of_area(shapes: gpd.GeoSeries) -> float:
    (area,) = table("area").geometry
    return float(shapely.union_all(shapes).intersection(area).area / area.area)


def test_every_row_of_every_source_is_used(plan: Plan) -> None:
    assert len(plan.sources) == len(plan.project.sources)
    for record in plan.sources:
        assert record.rows_rejected == 0, record
        assert record.rows_used == record.rows_read > 0, record
    assert not [text for text in plan.warnings if "does not count" in text]


def test_the_hostile_name_arrives_as_plain_letters(plan: Plan) -> None:
    names = [row.name for layer in plan.layers.structures for row in layer.rows]
    assert f"{HOSTILE} house" in names


def test_the_demo_teaches_what_its_readme_says(plan: Plan) -> None:
    assert plan.verdict is Verdict.NOT_MET
    assert plan.block is None
    low, high = plan.planned
    assert (low.altitude_amsl_ft, high.altitude_amsl_ft) == (2100, 2800)
    assert low.unknown_share == high.unknown_share == 0.0
    assert 0.9 < low.legal_share < 0.98
    assert 0.7 < low.safe_share < 0.75
    assert 0.9 < high.legal_share < 0.95
    assert high.safe_share == 1.0
    assert plan.best.legal_and_safe_share > 0.92
    classes = {int(value) for value in np.unique(plan.cells.classes(2100))}
    assert classes == {0, 1, 2, 3, 4}  # the map shows every kind of cell


def test_the_shelf_takes_what_its_polygon_takes(plan: Plan) -> None:
    """Share by polygon overlay in UTM, with the lateral margin of 0.25 NM."""
    volumes = table("airspace_class")
    shelf = volumes[volumes["LOWER_VAL"] == 2400].buffer(0.25 * NAUTICAL_MILE_M)
    assert finding(plan, "velmory-class-c", 2100).verdict is Verdict.MET
    high = finding(plan, "velmory-class-c", 2800)
    assert high.verdict is Verdict.NOT_MET
    assert high.feature == "CORVASH CLASS C"
    # A cell that the shelf touches counts whole: 25 m along the edge, some 5 km long.
    assert 0.0 <= (1 - high.share_met) - share_of_area(shelf) < 0.003


def test_masts_and_turbines_take_what_their_circles_take(plan: Plan) -> None:
    """Circles of 2,000 ft, widened by the accuracy codes, round what comes within 500 ft."""
    near = [
        row
        for row in records(SCENARIO / "obstacles.dat")
        if int(row["amsl"]) + VERTICAL_FT[row["vertical"]] + 500 > 2100
    ]
    assert len(near) == 10  # the tall mast and the turbines
    places = gpd.GeoSeries.from_xy(
        [degrees(row["lon"]) for row in near], [degrees(row["lat"]) for row in near], crs=4326
    ).to_crs(UTM_14N)
    radii = np.array([2000 + HORIZONTAL_FT[row["horizontal"]] for row in near]) * FOOT_M
    low = finding(plan, "velmory-tall-things", 2100)
    assert low.feature == "tower 99-000001"
    assert 0.0 <= (1 - low.share_met) - share_of_area(places.buffer(radii)) < 0.003
    assert finding(plan, "velmory-tall-things", 2800).verdict is Verdict.MET


def test_the_town_asks_for_a_thousand_feet_above_its_elevator(plan: Plan) -> None:
    (elevator,) = [row for row in records(SCENARIO / "obstacles.dat") if "GRAIN" in row["type"]]
    # 14 CFR 91.119(b): 1,000 ft above the highest obstacle; its top raised by its accuracy code.
    floor_ft = int(elevator["amsl"]) + VERTICAL_FT[elevator["vertical"]] + 1000
    low = finding(plan, "us-91.119-b", 2100)
    assert low.verdict is Verdict.NOT_MET
    assert "99-000009" in low.feature
    # The ground in the elevator's cells, a little higher than at its foot, may add some feet.
    assert low.margin_ft is not None
    assert -5 <= low.margin_ft - (2100 - floor_ft) <= 0


def test_the_woods_are_where_no_field_is_near(plan: Plan) -> None:
    woods = gpd.read_file(SCENARIO / "woods.geojson").set_index("name").geometry["Nethrow Woods"]
    worst = finding(plan, "velmory-field", 2100)
    assert worst.verdict is Verdict.NOT_MET
    assert woods.buffer(0.008).contains(shapely.Point(worst.lon, worst.lat))
    assert finding(plan, "velmory-field", 2800).verdict is Verdict.MET


def test_the_permission_opens_the_surface_area(plan: Plan) -> None:
    (volume,) = [row for row in plan.volumes if row.name == "VELMORY CLASS D"]
    assert not volume.is_blocking
    assert "Letter of agreement" in volume.reason


def test_an_expired_copy_is_warned_of_loudly(tmp_path: Path) -> None:
    path = write_starter(tmp_path / "north")[0]
    text = path.read_text(encoding="utf-8")
    for commented, plain in [
        ("# day = 2026-11-25  ", "day = 2026-11-27  "),
        ("# effective = 2026-10-01", "effective = 2026-10-01"),
        ("# expires = 2026-11-26 ", "expires = 2026-11-26 "),
    ]:
        assert commented in text
        text = text.replace(commented, plain)
    path.write_text(text, encoding="utf-8")
    (warning,) = [
        line for line in evaluate(read_project(path)).warnings if line.startswith("EXPIRED")
    ]
    assert "obstacles.dat" in warning


def test_the_starter_is_met(tmp_path: Path) -> None:
    plan = evaluate(read_project(write_starter(tmp_path / "north")[0]))
    assert plan.verdict is Verdict.MET
    assert plan.block is not None
    assert plan.block.floor_amsl_ft + 200 < 2600  # not by the skin of its teeth
    assert all(row.verdict is Verdict.MET for row in plan.findings)
    assert not [text for text in plan.warnings if "does not count" in text or "EXPIRED" in text]
