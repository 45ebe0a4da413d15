"""What becomes of candidates: counted or not, shown apart, exported, confirmed, ranked."""

import json

import numpy as np
import pytest
import shapely

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.field_list import list_fields, rank_fields, usable_over_needed
from areaplan.planning.plan import Verdict
from areaplan.planning.project_file import read_project
from areaplan.render.field_json import write_candidates
from areaplan.render.field_text import fields_text
from areaplan.render.map import map_html
from areaplan.render.text import plan_text, point_text
from tests.planning.builder import Country, box, lonlat
from tests.planning.candidate_scenes import (
    GRAVEST,
    one_meadow,
    silent,
)
from tests.planning.covered_country import (
    GRASS,
    bare_country,
    patches,
    with_cover,
    write,
)


def test_they_do_not_count_unless_the_project_says_so(tmp_path):
    (tmp_path / "with").mkdir()
    (tmp_path / "without").mkdir()
    plan = evaluate(read_project(write(one_meadow(tmp_path / "with"))))
    bare = evaluate(read_project(write(bare_country(tmp_path / "without"))))
    assert plan.fields == ()
    assert plan.measured == ()
    (row,) = plan.candidates
    assert row.is_candidate
    assert not row.counts
    assert row.why_not[-1].startswith(GRAVEST)
    assert row.best_direction_deg_true is not None
    assert not any("UNCONFIRMED" in words for words in (*plan.cautions, *plan.warnings))
    for name in ("glide_required_amsl_ft", "sector_amsl_ft", "sector_field", "field"):
        np.testing.assert_array_equal(getattr(plan.cells, name), getattr(bare.cells, name))
    assert '"candidate 1"' in map_html(plan)


def test_where_they_count_every_output_says_so_loudly(tmp_path):
    path = write(one_meadow(tmp_path), "count_candidates = true")
    plan = evaluate(read_project(path))
    assert [field.name for field in plan.fields] == ["candidate 1"]
    assert [row.counts for row in plan.measured] == [True]
    assert plan.measured[0].is_candidate
    assert plan.candidates == ()
    loud = "1 UNCONFIRMED FIELDS COUNT"
    assert loud in plan.cautions[0]
    assert "one pixel in four" in plan.cautions[0]
    assert plan.cells.is_safe(6000).any()
    from areaplan.planning.point import answer_point

    lon, lat = lonlat(0, 0)
    answer = answer_point(plan, lat, lon, 3000)
    assert answer.field == "candidate 1"
    for text in (plan_text(plan), point_text(answer, plan), map_html(plan)):
        assert loud in text
    found = list_fields(read_project(path), silent)
    assert found.verdict is Verdict.MET
    assert loud in found.cautions[0]
    assert "COUNTS, UNCONFIRMED" in fields_text(found)
    assert loud in fields_text(found, has_candidates=False)


def test_one_that_fails_its_measures_is_shown_apart_even_then(tmp_path):
    # 120 ft of trees all round at 1:30 take 1,100 m of a meadow of 430 m.
    country = Country(tmp_path).terrain()
    country.features(
        "woods",
        [
            (box(-600, 260, 600, 600), {"height": "120 ft"}),
            (box(-600, -600, 600, -260), {"height": "120 ft"}),
            (box(-600, -260, -180, 260), {"height": "120 ft"}),
            (box(180, -260, 600, 260), {"height": "120 ft"}),
        ],
    )
    for kind in ("obstacles", "structures", "wires", "roads", "airspace", "fields"):
        country.none(kind)
    with_cover(country, patches((GRASS, -180, -300, 180, 300)))
    path = write(
        country, 'count_candidates = true\napproach_slope = "1:30"\nleast_length = "330 m"'
    )
    plan = evaluate(read_project(path))
    assert plan.fields == ()
    (row,) = plan.candidates
    assert not row.counts
    assert not row.why_not[0].startswith(GRAVEST)
    assert not any("UNCONFIRMED" in words for words in plan.cautions)


# --- to a person and back -------------------------------------------------------------------------
def test_exported_confirmed_and_read_again_it_is_a_field(tmp_path):
    country = one_meadow(tmp_path)
    path = write(country)
    found = list_fields(read_project(path), silent)
    assert found.verdict is Verdict.NOT_MET
    (candidate,) = found.candidates
    export = tmp_path / "confirm.geojson"
    write_candidates(found, export)
    content = json.loads(export.read_text(encoding="utf-8"))
    (feature,) = content["features"]
    told = feature["properties"]
    assert told["name"] == "candidate 1"
    assert (told["status"], told["confirmed"], told["rank"]) == ("to confirm", False, 1)
    assert told["class"] == "pasture or hay 100%"
    assert told["best_direction_deg_true"] == candidate.best_direction_deg_true
    assert told["usable_length_m"] > 300
    assert told["why_not"].startswith(GRAVEST)
    ring = shapely.LinearRing(feature["geometry"]["coordinates"][0])
    assert ring.is_ccw  # RFC 7946, 3.1.6
    assert [item.name for item in tmp_path.iterdir() if "part" in item.name] == []

    text = path.read_text(encoding="utf-8")
    source = '[[source]]\nkind = "fields"\nfiles = ["confirm.geojson"]\nedition = "x"\n'
    none = '[[source]]\nkind = "fields"\nnone_because = "looked, none"\n'
    assert none in text
    path.write_text(text.replace(none, source + 'covers = "all"\n'), encoding="utf-8")
    as_it_is = list_fields(read_project(path), silent)
    assert as_it_is.fields == ()
    assert any("1 candidates are not confirmed" in words for words in as_it_is.warnings)

    told |= {"confirmed": True, "name": "Long meadow", "surface": "hay", "consent": "owner agreed"}
    export.write_text(json.dumps(content), encoding="utf-8")
    confirmed = list_fields(read_project(path), silent)
    (field,) = confirmed.fields
    assert (field.field.name, field.field.surface) == ("Long meadow", "hay")
    assert field.field.consent == "owner agreed"
    assert field.counts
    assert not field.is_candidate
    assert confirmed.verdict is Verdict.MET
    assert confirmed.candidates == ()  # its ground is spoken for
    assert field.strips.usable_m == pytest.approx(candidate.strips.usable_m, abs=0.5)


def test_fields_are_ranked_by_usable_over_needed(tmp_path):
    country = Country(tmp_path).terrain().none("airspace", "obstacles", "structures")
    country.features(
        "fields",
        [
            (box(-900, -900, -870, -850), {"name": "far too small"}),
            (box(0, 0, 900, 60), {"name": "long"}),
            (box(0, 200, 500, 260), {"name": "middling"}),
            (box(0, 400, 250, 460), {"name": "short"}),
        ],
    )
    found = list_fields(read_project(country.project()), silent)
    names = [row.field.name for row in found.fields]
    assert names == ["long", "middling", "short", "far too small"]
    counts = [row.counts for row in found.fields]
    assert counts == sorted(counts, reverse=True)
    assert rank_fields(found.fields[::-1]) == found.fields
    shares = [usable_over_needed(row) for row in found.fields]
    assert shares == sorted(shares, reverse=True)


# --- the keys of the project file -----------------------------------------------------------------
@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('legend = "nlcd"', "", "legend: not given"),
        ('legend = "nlcd"', 'legend = "nlcb"', "nlcd"),
        ('legend = "nlcd"', 'legend = "nlcd"\ncovers = "all"', "covers"),
        ('legend = "nlcd"', 'legend = "nlcd"\nlayer = "a"', "layer"),
        ('legend = "nlcd"', 'legend = "nlcd"\ndefault_height = "3 m"', "default_height"),
        ('vertical_datum = "EGM96"', 'vertical_datum = "EGM96"\nlegend = "nlcd"', "legend"),
    ],
)
def test_legend_belongs_to_land_cover_and_land_cover_needs_it(tmp_path, old, new, words):
    path = write(one_meadow(tmp_path))
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError, match=words) as error:
        read_project(path)
    assert len(error.value.faults) == 1


def test_land_cover_cannot_be_declared_absent(tmp_path):
    country = bare_country(tmp_path)
    country.more('\n[[source]]\nkind = "land-cover"\nnone_because = "none"\nlegend = "nlcd"\n')
    with pytest.raises(InputError, match="delete this table"):
        read_project(write(country))
