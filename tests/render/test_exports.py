"""Exports: every format opens in GDAL and gives back what the plan holds, with its cautions."""

import json
import sqlite3
from xml.etree import ElementTree as ET

import numpy as np
import pyogrio
import pytest
import shapely
from attrs import evolve

from areaplan.errors import InputError
from areaplan.planning.gates import Gate, Route, Use
from areaplan.render import kml
from areaplan.render.export_layers import plan_tables
from areaplan.render.export_styles import STYLES
from areaplan.render.exports import Format, export_files, write_export
from areaplan.render.gpx import NAMESPACE as GPX_NAMESPACE
from areaplan.render.map_classes import CLASS_STYLES
from tests.render.measured_fixture import measured_plan
from tests.render.plan_fixture import PLANNED_FT
from tests.render.schema_order import GPX, KML, order_faults

VECTORS = (Format.GEOJSON, Format.KML, Format.GPX, Format.GEOPACKAGE)
ONE_CENTIMETRE_DEG = 1e-7
SLD = "{http://www.opengis.net/sld}"


GATES = (
    Gate("Mill <bridge>", 45.48, -35.30, 2500, Use.BOTH, "bridge & mill"),
    Gate("Quarry", 45.53, -35.19, 2200, Use.IN),
)
ROUTES = (
    Route(
        "West way",
        ((-35.36, 45.47), (-35.30, 45.48), (-35.26, 45.49)),
        ("", "Mill <bridge>", ""),
        2500,
        remarks="call abeam",
    ),
)


@pytest.fixture(scope="module")
def plan():
    found = measured_plan()
    return evolve(found, project=evolve(found.project, gates=GATES, routes=ROUTES))


@pytest.fixture(scope="module")
def tables(plan):
    return {table.name: table for table in plan_tables(plan, PLANNED_FT)}


@pytest.fixture(scope="module")
def files(plan):
    return export_files(plan, "north", VECTORS)


@pytest.fixture(scope="module")
def folder(files, tmp_path_factory):
    found = tmp_path_factory.mktemp("export")
    write_export(files, found)
    return found


def same_shapes(found, expected):
    for one, other in zip(found, expected, strict=True):
        one, other = shapely.get_parts(one), shapely.get_parts(other)
        assert len(one) == len(other)
        for part, wanted in zip(one, other, strict=True):
            assert part.geom_type == wanted.geom_type
            assert shapely.hausdorff_distance(part, wanted) < 2 * ONE_CENTIMETRE_DEG


def test_layers_hold_a_row_for_everything_in_the_plan(plan, tables):
    layers = plan.layers
    counts = {name: len(table.rows) for name, table in tables.items()}
    for name in ("obstacles", "structures", "wires", "roads", "congested", "noise"):
        assert counts[name] == sum(len(layer.rows) for layer in getattr(layers, name))
    assert counts["airspace"] == len(plan.volumes)
    assert counts["findings"] == sum(row.lat is not None for row in plan.findings)
    drawn = [row for row in plan.measured if not row.is_candidate]
    assert counts["fields"] == sum(row.counts for row in drawn)
    assert counts["fields_not_counted"] == sum(not row.counts for row in drawn)
    assert counts["candidates"] == 2
    assert counts["strips"] == counts["fields"] + 1  # a candidate that counts has one too
    assert [name for name in counts if name.startswith("classes")] == [
        f"classes_{altitude}_ft_amsl" for altitude in PLANNED_FT
    ]
    assert set(counts) & {"woods", "classes_2100_ft_amsl"} == set()


def test_candidates_are_never_among_the_fields(tables):
    names = {row[0] for row in tables["candidates"].rows}
    assert names == {"Pasture 1", "Pasture 2"}
    assert not names & {row[0] for row in tables["fields"].rows}
    assert "nobody has confirmed" in tables["candidates"].note


def test_heights_are_rounded_up_and_unknown_stays_empty(tables):
    rows = {row["name"]: row for row, _ in tables["obstacles"].records()}
    mast, bare = rows["77-000001"], rows["77-000003"]
    assert (mast["top_agl_ft"], mast["top_amsl_ft"]) == (1050, 1838)  # 320 m, 560 m
    assert bare["top_agl_ft"] is None
    assert bare["top_amsl_ft"] is None


def test_geojson_is_as_rfc_7946_says(files, tables):
    for name, table in tables.items():
        told = json.loads(files[f"geojson/{name}.geojson"])
        assert "crs" not in told  # RFC 7946, 4
        assert told["type"] == "FeatureCollection"
        assert len(told["features"]) == len(table.rows)
        for one, (row, _) in zip(told["features"], table.records(), strict=True):
            assert one["properties"] == row
            for part in shapely.get_parts(shapely.from_geojson(json.dumps(one["geometry"]))):
                if part.geom_type == "Polygon":  # RFC 7946, 3.1.6: the right-hand rule
                    assert part.exterior.is_ccw
                    assert not any(hole.is_ccw for hole in part.interiors)


def test_geojson_comes_back_through_gdal(folder, tables):
    for name, table in tables.items():
        frame = pyogrio.read_dataframe(folder / "geojson" / f"{name}.geojson")
        assert frame.crs.to_epsg() == 4326
        assert list(frame["name"]) == [row[0] for row in table.rows]
        same_shapes(frame.geometry, table.geometries)


def test_geopackage_comes_back_through_gdal_value_for_value(folder, tables):
    path = folder / "north.gpkg"
    for name, table in tables.items():
        info, _, geometry, data = pyogrio.raw.read(path, layer=name)
        assert list(info["fields"]) == list(table.columns)
        shapes = shapely.from_wkb(geometry)
        assert all(map(shapely.equals, shapes, table.geometries)), name
        for place, (column, values) in enumerate(zip(table.columns, data, strict=True)):
            for value, row in zip(values.tolist(), table.rows, strict=True):
                is_null = value is None or value != value
                assert (None if is_null else value) == row[place], (name, column)


def test_geopackage_header_and_dates(folder, plan):
    # OGC 12-128r18, requirements 1 and 2; facts row 56.
    path = folder / "north.gpkg"
    assert path.read_bytes()[:16] == b"SQLite format 3\0"
    with sqlite3.connect(path) as base:
        assert base.execute("PRAGMA application_id").fetchone() == (1196444487,)
        assert base.execute("PRAGMA user_version").fetchone() == (10300,)
        assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert base.execute("PRAGMA foreign_key_check").fetchall() == []
        changes = {row[0] for row in base.execute("SELECT last_change FROM gpkg_contents")}
        systems = {row[0] for row in base.execute("SELECT srs_id FROM gpkg_spatial_ref_sys")}
        (blob,) = base.execute("SELECT geom FROM obstacles").fetchone()
    base.close()
    assert changes == {f"{plan.project.day}T00:00:00.000Z"}
    assert {4326, -1, 0} <= systems
    assert blob[:3] == b"GP\0"
    x, y = shapely.get_coordinates(shapely.from_wkb(blob[-21:]))[0]
    assert -36 < x < -35  # longitude first, whatever the system says
    assert 45 < y < 46


def test_geopackage_carries_a_style_for_every_layer(folder, tables):
    info, _, _, data = pyogrio.raw.read(folder / "north.gpkg", layer="layer_styles")
    styles = dict(zip(info["fields"], data, strict=True))
    assert set(styles["f_table_name"]) == set(tables)
    for name, text in zip(styles["f_table_name"], styles["styleSLD"], strict=True):
        root = ET.fromstring(text)
        assert root.get("version") == "1.0.0"
        rules = list(root.iter(f"{SLD}Rule"))
        used = set(tables[name].styles) or {tables[name].style}
        assert len(rules) == len(used)
        colours = {each.text for each in root.iter(f"{SLD}CssParameter")}
        for key in used:
            assert not STYLES[key].fill or STYLES[key].fill in colours


def test_class_styles_are_those_of_the_map():
    for style in CLASS_STYLES:
        assert STYLES[f"class_{int(style.cell_class)}"].fill == style.fill
    marks = [STYLES[f"class_{int(style.cell_class)}"].mark for style in CLASS_STYLES]
    assert marks[0] == ""  # plain is usable, every pattern is not
    assert len(set(marks)) == len(marks)


def test_kml_and_gpx_keep_their_schemas_order(files):
    assert order_faults(files["north.kml"], kml.NAMESPACE, KML) == []
    assert order_faults(files["north.gpx"], GPX_NAMESPACE, GPX) == []


def test_kml_comes_back_through_gdal(folder, tables):
    path = folder / "north.kml"
    layers = [name for name, _ in pyogrio.list_layers(path)]
    assert layers == [table.title for table in tables.values()]
    for table in tables.values():
        frame = pyogrio.read_dataframe(path, layer=table.title)
        assert len(frame) == len(table.rows)
        if table.name != "airspace":  # drawn as faces: below
            same_shapes(shapely.force_2d(frame.geometry.to_numpy()), table.geometries)


def test_kml_heights_are_drawn_only_where_true(plan, files):
    root = ET.fromstring(files["north.kml"])
    space = f"{{{kml.NAMESPACE}}}"
    folders = {each.find(f"{space}name").text: each for each in root.iter(f"{space}Folder")}
    for mark, volume in zip(
        folders["Airspace"].iter(f"{space}Placemark"), plan.volumes, strict=True
    ):
        modes = [each.text for each in mark.iter(f"{space}altitudeMode")]
        is_clamped = "flight level" in mark.find(f"{space}description").text
        fixed = volume.upper_text.endswith("AMSL")
        assert is_clamped == (not fixed)
        assert set(modes) == ({"absolute"} if fixed else {"clampToGround"})
        if fixed:
            heights = {
                float(row.split(",")[2])
                for each in mark.iter(f"{space}coordinates")
                for row in each.text.split()
            }
            texts = [volume.lower_text, volume.upper_text.removeprefix("below ")]
            wanted = {int(text.split()[0]) * 0.3048 for text in texts if text != "SFC"}
            assert sorted(heights) == pytest.approx(sorted(wanted), abs=0.01)


def test_gates_and_routes_stand_at_their_altitudes(folder, files):
    gates = pyogrio.read_dataframe(folder / "north.gpkg", layer="gates")
    assert gates["name"].tolist() == [one.name for one in GATES]
    assert gates["altitude_amsl_ft"].tolist() == [2500, 2200]
    drawn = pyogrio.read_dataframe(folder / "north.kml", layer="Routes in and out").geometry[0]
    assert shapely.get_coordinates(drawn, include_z=True)[:, 2] == pytest.approx(762.0)
    flown = pyogrio.read_dataframe(folder / "north.gpx", layer="routes")
    assert flown["name"].tolist() == ["West way"]
    same_shapes(flown.geometry, [shapely.LineString(ROUTES[0].points)])
    space = {"g": GPX_NAMESPACE}
    names = [
        each.findtext("g:name", "", space)
        for each in ET.fromstring(files["north.gpx"]).iterfind(".//g:rtept", space)
    ]
    assert names == ["", "Mill <bridge>", ""]


def test_gpx_has_every_point_and_outline_and_no_classes(folder, tables):
    points = pyogrio.read_dataframe(folder / "north.gpx", layer="waypoints")
    assert {"Obstacles", "Findings, each at the place of its smallest margin"} <= set(
        points["type"]
    )
    tracks = pyogrio.read_dataframe(folder / "north.gpx", layer="tracks")
    assert (tracks["type"] == tables["airspace"].title).sum() == len(tables["airspace"].rows)
    assert not any("Classes" in kind for kind in tracks["type"])
    area = tracks[tracks["type"] == "Practice area"].geometry.iloc[0].geoms[0]
    assert area.is_ring
    same_shapes([shapely.Polygon(area)], tables["area"].geometries)


def test_every_file_carries_cautions_editions_digests_and_rules(files, plan, tmp_path):
    (tmp_path / "n.gpkg").write_bytes(files["north.gpkg"])
    kept = pyogrio.read_info(tmp_path / "n.gpkg", layer="area")["dataset_metadata"]
    texts = {
        name: content.decode() for name, content in files.items() if not name.endswith(".gpkg")
    }
    texts["gpkg"] = " ".join(kept.values())
    for name, text in texts.items():
        assert plan.cautions[0] in text, name
        assert plan.project.sha256 in text, name
        assert "14 CFR part 91" in text, name
        for record in plan.sources:
            assert record.edition in text, name
            assert record.sha256[0] in text, name


def test_the_same_plan_gives_the_same_bytes(files, plan):
    again = export_files(plan, "north", VECTORS)
    assert {name for name in files if files[name] != again[name]} == set()
    assert list(files) == list(again)


def test_classes_stand_at_the_altitudes_asked_for(plan):
    made = export_files(plan, "x", [Format.GEOJSON], [1400])
    assert [name for name in made if "classes" in name] == ["geojson/classes_1400_ft_amsl.geojson"]
    told = json.loads(made["geojson/classes_1400_ft_amsl.geojson"])
    shares = [one["properties"]["share"] for one in told["features"]]
    assert sum(shares) == pytest.approx(1.0)
    classes = plan.cells.classes(1400)[plan.cells.is_in_area]
    found = {one["properties"]["cell_class"] for one in told["features"]}
    assert found == set(np.unique(classes).tolist())


def test_standoffs_hold_the_distance_all_round_and_no_more(plan):
    altitude_ft = 1000
    named = f"standoffs_{altitude_ft}_ft_amsl"
    tables = plan_tables(plan, [altitude_ft], has_standoffs=True)
    table = next(one for one in tables if one.name == named)
    told = iter(table.records())
    count = 0
    for one in plan.standoffs:
        for geometry, top_m in zip(one.geometries, one.top_amsl_m.tolist(), strict=True):
            spread_m = one.spread_m[0]
            above_m = altitude_ft * 0.3048 - top_m
            if one.profile == "level" or not above_m > 0:  # the level one's top is unknown
                expected_m = one.radius_m + spread_m
            elif above_m >= one.radius_m:
                continue
            else:
                expected_m = (one.radius_m**2 - above_m**2) ** 0.5 + spread_m
            row, shape = next(told)
            count += 1
            assert row["radius_m"] == pytest.approx(expected_m, abs=0.011)
            assert row["is_top_known"] == (top_m == top_m)
            core = plan.frame.geometry_to_local(geometry)
            ring = plan.frame.geometry_to_local(shape).exterior
            corners = shapely.points(shapely.get_coordinates(ring))
            assert shapely.distance(core, ring) >= expected_m - 0.02
            assert shapely.distance(core, corners).max() <= expected_m * 1.002 + 0.02
    assert count == len(table.rows) > 100
    assert next(told, None) is None


def test_files_are_not_overwritten_unasked(files, tmp_path):
    target = tmp_path / "out"
    written = write_export(files, target)
    assert sorted(path.relative_to(target).as_posix() for path in written) == sorted(files)
    kept = target / "north.kml"
    kept.write_text("mine", encoding="utf-8")
    (target / "north.gpx").unlink()
    with pytest.raises(InputError) as caught:
        write_export(files, target)
    assert len(caught.value.faults) == len(files) - 1
    assert kept.read_text(encoding="utf-8") == "mine"
    assert not (target / "north.gpx").exists()
    write_export(files, target, is_replacing=True)
    assert kept.read_bytes() == files["north.kml"]
    assert not list(target.rglob("*.part"))


def test_a_folder_that_cannot_be_made_is_bad_input(files, tmp_path):
    with pytest.raises(InputError, match="--to"):
        write_export(files, tmp_path / "no" / "where")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(InputError, match="cannot be made"):
        write_export(files, tmp_path / "file")
