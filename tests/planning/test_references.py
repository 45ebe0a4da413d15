"""Ground references of small invented countries: what is found, how it is called, what is cut."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from areaplan.errors import InputError
from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from areaplan.planning.references import ReferenceKind, ReferenceLimits, find_references
from tests.planning.builder import box, lonlat, plain_country, point
from tests.planning.covered_country import line

LINE, POINT, RECTANGLE, PAIR = ReferenceKind


def outline(geometry):
    return {"type": "Polygon", "coordinates": [[lonlat(*xy) for xy in geometry]]}


def references_in(country, kinds=tuple(ReferenceKind), *, half_m=1000.0, **how):
    project = read_project(country.project(half_m=half_m))
    return find_references(*read_layers(project, lambda _: None), kinds, **how)


def named(references):
    return {one.name: one for one in references}


def test_a_road_in_pieces_is_one_line_cut_at_the_reach(tmp_path):
    pieces = [(line((x, 300), (x + 500, 300)), {"name": "County Road 12"})
              for x in range(-3000, 3000, 500)]  # fmt: skip
    country = plain_country(tmp_path).features("roads", pieces)
    (road,) = references_in(country, [LINE])
    assert road.name == "County Road 12"
    assert road.sources == ("roads-8.geojson",)
    assert road.length_m == pytest.approx(2000.0, abs=1.0)
    assert road.direction_deg_true == pytest.approx(90.0, abs=0.1)
    assert road.width_m == 0.0
    assert road.off_straight_m < 0.5
    assert not road.is_drawn
    (longer,) = references_in(country, [LINE], reach_m=700.0)
    assert longer.length_m == pytest.approx(3400.0, abs=1.0)
    assert references_in(country, [LINE], limits=ReferenceLimits(least_line_m=2100.0)) == ()


def test_roads_and_fences_do_not_run_on_into_one_another(tmp_path):
    country = plain_country(tmp_path)
    country.features("roads", [(line((-900, 0), (0, 0)), {"name": "Lane"})])
    country.features("fences", [(line((0, 0), (900, 0)), {"name": "Fence"})])
    limits = ReferenceLimits(least_line_m=700.0)
    assert set(named(references_in(country, [LINE], limits=limits))) == {"Lane", "Fence"}


def test_what_is_not_seen_from_the_air_is_no_line(tmp_path):
    country = plain_country(tmp_path)
    rows = [
        (line((-900, y), (900, y)), {"name": kind, "highway": kind, "tunnel": tunnel})
        for y, kind, tunnel in [(0, "primary", ""), (200, "path", ""), (400, "trunk", "yes")]
    ]
    country.features("roads", rows)
    assert list(named(references_in(country, [LINE]))) == ["primary"]


def test_crossings_are_points_and_two_of_them_a_pair(tmp_path):
    country = plain_country(tmp_path)
    rows = [(line((-900, 0), (900, 0)), {"name": "Main"}),
            (line((-400, -900), (-400, 900)), {"name": "West"}),
            (line((400, -900), (400, 900)), {"name": "East"})]  # fmt: skip
    country.features("roads", rows)
    points = references_in(country, [POINT])
    assert [one.name for one in points] == [
        "crossing of Main and West",
        "crossing of Main and East",
    ]
    np.testing.assert_allclose(
        [one.geometry.coords[0] for one in points], [(-400, 0), (400, 0)], atol=0.5
    )
    assert all(one.direction_deg_true is None and one.length_m == 0.0 for one in points)
    (pair,) = references_in(country, [PAIR])
    assert pair.name == "crossing of Main and West and crossing of Main and East"
    assert pair.geometry.geom_type == "MultiPoint"
    assert pair.length_m == pytest.approx(800.0, abs=1.0)
    assert pair.direction_deg_true == pytest.approx(90.0, abs=0.1)


def test_a_gate_in_a_fence_is_no_crossing(tmp_path):
    country = plain_country(tmp_path)
    country.features("roads", [(line((-900, 0), (900, 0)), {"name": "Main"})])
    country.features("fences", [(line((100, 0), (100, 900)), {"name": "Fence"})])
    assert references_in(country, [POINT]) == ()


def test_only_what_stands_alone_is_a_point(tmp_path):
    country = plain_country(tmp_path)
    trees = [
        (point(x, y), {"name": name, "kind": "tree"})
        for name, x, y in [("Lone", 0, 0), ("One of two", 600, 600), ("Two", 700, 700)]
    ]
    country.features("landmarks", trees)
    assert list(named(references_in(country, [POINT]))) == ["Lone"]
    near = ReferenceLimits(alone_m=100.0)
    assert list(named(references_in(country, [POINT], limits=near))) == [
        "Lone",
        "One of two",
        "Two",
    ]


def test_the_same_thing_in_two_files_is_one_point(tmp_path):
    country = plain_country(tmp_path)
    country.features("landmarks", [(point(0, 0), {"name": "Silo"})])
    country.features(
        "structures",
        [(box(-10, -10, 10, 10), {"name": "Silo"}), (box(500, 0, 520, 20), {"name": "Barn"}),
         (box(-900, 0, -800, 90), {"name": "Works"})],  # the last is larger than a point
        default_height="30 ft",
    )  # fmt: skip
    found = references_in(country, [POINT])
    assert [one.name for one in found] == ["Silo", "Barn"]
    assert found[0].sources == ("landmarks-8.geojson",)


def test_fields_and_blocks_are_rectangles(tmp_path):
    country = plain_country(tmp_path)
    country.features("fields", [(box(-900, -900, -300, -500), {"name": "Low field"}),
                                (box(-900, -900, -800, -500), {"name": "Strip"})])  # fmt: skip
    rows = [(line(*xy), {"name": name}) for name, xy in {
        "North": ((-100, 700), (900, 700)), "South": ((-100, 0), (900, 0)),
        "West": ((0, -100), (0, 800)), "East": ((800, -100), (800, 800))}.items()]  # fmt: skip
    country.features("roads", rows)
    field, block = references_in(country, [RECTANGLE])
    assert (field.name, field.sources) == ("Low field", ("fields-8.geojson",))
    assert (field.length_m, field.width_m) == pytest.approx((600.0, 400.0), abs=0.5)
    assert field.direction_deg_true == pytest.approx(90.0, abs=0.1)
    assert block.name == "block between North, South, West and East"
    assert (block.length_m, block.width_m) == pytest.approx((800.0, 700.0), abs=0.5)
    assert shapely.get_num_coordinates(block.geometry) == 5


def test_a_rectangle_must_lie_within_reach(tmp_path):
    country = plain_country(tmp_path)
    country.features("fields", [(box(700, 0, 1300, 500), {"name": "Astride"})])
    assert references_in(country, [RECTANGLE]) == ()
    assert len(references_in(country, [RECTANGLE], reach_m=400.0)) == 1


def test_drawn_references_come_first_whatever_their_size(tmp_path):
    country = plain_country(tmp_path)
    country.features("roads", [(line((-900, 0), (900, 0)), {"name": "Main"})])
    two = {"type": "MultiPoint", "coordinates": [lonlat(0, 0), lonlat(0, 300)]}
    drawn = [(line((0, 50), (90, 50)), {"name": "Short"}), (point(10, 10), {"name": "Post"}),
             (box(0, 0, 60, 40), {"name": "Yard"}), (two, {"name": "Posts"}),
             (line((-300, 20), (0, 20)), {"name": "Trees", "use": "pair"}),
             (point(5000, 0), {"name": "Far"})]  # fmt: skip
    country.features("references", drawn)
    found = references_in(country)
    assert [(one.name, one.kind, one.is_drawn) for one in found] == [
        ("Short", LINE, True),
        ("Main", LINE, False),
        ("Post", POINT, True),
        ("Yard", RECTANGLE, True),
        ("Posts", PAIR, True),
        ("Trees", PAIR, True),
    ]
    assert found[3].length_m == pytest.approx(60.0, abs=0.1)
    assert found[4].direction_deg_true == pytest.approx(0.0, abs=0.1) or found[
        4
    ].direction_deg_true == pytest.approx(180.0, abs=0.1)


def test_drawn_shapes_that_are_not_what_they_say_are_all_named(tmp_path):
    country = plain_country(tmp_path)
    triangle = outline([(0, 0), (500, 0), (0, 500), (0, 0)])
    country.features(
        "references",
        [(line((0, 0), (500, 0), (500, 500)), {"name": "Bent"}), (triangle, {"name": "Gore"})],
    )
    with pytest.raises(InputError) as error:
        references_in(country)
    bent, gore = error.value.faults
    assert bent.key == "Bent"
    assert "strays" in bent.found
    assert "references-8.geojson" in bent.place
    assert gore.key == "Gore"
    assert "fills 50%" in gore.found


def test_names_are_told_apart_and_the_answer_repeats(tmp_path):
    country = plain_country(tmp_path)
    rows = [(line((-900, y), (900, y)), {"name": "Mill Road"}) for y in (0, 300)]
    rows.append((line((-900, 600), (900, 600)), {"name": "Mill Road #2"}))
    country.features("roads", rows)
    found = references_in(country)
    assert len({one.name for one in found}) == len(found) == 3
    again = references_in(country)
    assert [one.name for one in again] == [one.name for one in found]
    assert [one.geometry.wkb for one in again] == [one.geometry.wkb for one in found]


def test_a_country_without_any(tmp_path):
    country = plain_country(tmp_path)
    found = references_in(country)
    assert found == ()  # the one great field is too large


def test_a_negative_reach_is_refused(tmp_path):
    with pytest.raises(ValueError, match="reach_m"):
        references_in(plain_country(tmp_path), reach_m=-1.0)
