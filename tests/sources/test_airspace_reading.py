"""Airspace volumes in the published column names and in plain words."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box

from areaplan.errors import InputError
from areaplan.sources._features import Feature
from areaplan.sources.airspace import _volume, read_airspace
from areaplan.units import FOOT_M, Height, HeightReference
from tests.sources.making import faults_of, feature, spec_of, write_features, write_geojson

SHELF = box(1.0, 42.0, 1.5, 42.5)

# As published (FAA open data, class airspace and special-use airspace; the attribute names and the
# values of A-220 were seen in fixtures of several public repositories).
A_220 = {
    "NAME": "A-220", "TYPE_CODE": "A", "CLASS": None, "UPPER_DESC": "TI", "UPPER_VAL": "4500",
    "UPPER_UOM": "FT", "UPPER_CODE": "MSL", "LOWER_DESC": None, "LOWER_VAL": "0",
    "LOWER_UOM": "FT", "LOWER_CODE": "SFC", "LEVEL_CODE": "L", "TIMESOFUSE": "0800 - 2200, DAILY",
    "GMTOFFSET": "-5",
}  # fmt: skip
CLASS_C = {
    "NAME": "SOMEWHERE CLASS C", "CLASS": "C", "LOCAL_TYPE": "CLASS_C", "TYPE_CODE": "CLASS",
    "UPPER_DESC": "TI", "UPPER_VAL": 4100, "UPPER_UOM": "FT", "UPPER_CODE": "MSL",
    "LOWER_VAL": 1200, "LOWER_UOM": "FT", "LOWER_CODE": "MSL",
}  # fmt: skip


def amsl(feet):
    return Height(feet * FOOT_M, HeightReference.AMSL)


def agl(feet):
    return Height(feet * FOOT_M, HeightReference.AGL)


SFC = Height(0.0, HeightReference.SFC)
UNL = Height(math.inf, HeightReference.UNL)


def read_one(tmp_path, **attributes):
    path = write_geojson(tmp_path / "a.geojson", feature(SHELF, **attributes))
    layer = read_airspace(spec_of("airspace", path))
    return layer.rows[0]


def test_special_use_airspace_as_published(tmp_path):
    """UPPER_VAL "4500" as text, TI: 4,500 ft above mean sea level, inclusive."""
    volume = read_one(tmp_path, **A_220)
    assert volume.name == "A-220"
    assert (volume.airspace_class, volume.type_code) == ("", "A")
    assert volume.upper == amsl(4500)
    assert volume.upper_is_inclusive
    assert volume.lower == SFC
    assert volume.hours == "0800 - 2200, DAILY"
    assert volume.geometry.equals(SHELF)


def test_class_airspace_as_published(tmp_path):
    volume = read_one(tmp_path, **CLASS_C)
    assert (volume.airspace_class, volume.type_code) == ("C", "CLASS_C")
    assert (volume.lower, volume.upper) == (amsl(1200), amsl(4100))
    assert volume.hours == ""


@pytest.mark.parametrize("missing", [-9998, "-9998", -9998.0, None, "", "  "])
def test_no_value_is_unknown_and_not_a_height(tmp_path, missing):
    path = write_geojson(
        tmp_path / "a.geojson", feature(SHELF, **{**CLASS_C, "UPPER_VAL": missing})
    )
    layer = read_airspace(spec_of("airspace", path))
    assert layer.rows[0].upper is None
    assert any("SOMEWHERE CLASS C" in note for note in layer.record.notes)


@pytest.mark.parametrize(
    ("side", "columns", "meant"),
    [
        ("UPPER", {"CODE": "UNLTD", "VAL": None, "UOM": None}, UNL),
        ("UPPER", {"CODE": "UNLTD", "VAL": -9998, "UOM": "-9998"}, UNL),
        ("UPPER", {"CODE": "STD", "VAL": 65, "UOM": "FL"},
         Height(6500 * FOOT_M, HeightReference.FL)),
        ("UPPER", {"CODE": "MSL", "VAL": "180", "UOM": "FL"},
         Height(18_000 * FOOT_M, HeightReference.FL)),
        ("UPPER", {"CODE": "STD", "VAL": 6500, "UOM": "FT"},
         Height(6500 * FOOT_M, HeightReference.FL)),
        ("UPPER", {"CODE": "AGL", "VAL": 2500, "UOM": "FT"}, agl(2500)),
        ("UPPER", {"CODE": "MSL", "VAL": 1000, "UOM": "M"}, Height(1000.0, HeightReference.AMSL)),
        ("UPPER", {"CODE": "SFC", "VAL": None, "UOM": "FT"}, None),
        ("LOWER", {"CODE": "SFC", "VAL": 0, "UOM": "FT"}, SFC),
        ("LOWER", {"CODE": "SFC", "VAL": "0", "UOM": None}, SFC),
        ("LOWER", {"CODE": "SFC", "VAL": -9998, "UOM": None}, SFC),
        ("LOWER", {"CODE": "SFC", "VAL": 700, "UOM": "FT"}, agl(700)),
        ("LOWER", {"CODE": "AGL", "VAL": 1200, "UOM": "ft"}, agl(1200)),
        ("LOWER", {"CODE": "msl", "VAL": -200, "UOM": "FT"}, amsl(-200)),
        ("LOWER", {"CODE": None, "VAL": None, "UOM": None}, None),
    ],
)  # fmt: skip
def test_limits(tmp_path, side, columns, meant):
    wide = {**CLASS_C, "UPPER_VAL": 60_000, "LOWER_VAL": -1000}
    limits = {f"{side}_{key}": value for key, value in columns.items()}
    volume = read_one(tmp_path, **{**wide, **limits})
    found = volume.upper if side == "UPPER" else volume.lower
    if meant is None:
        assert found is None
    else:
        assert found.reference is meant.reference
        assert found.value_m == pytest.approx(meant.value_m)


@pytest.mark.parametrize(
    ("description", "is_inclusive"), [("TI", True), ("TNI", False), (None, True), ("", True)]
)
def test_to_and_including(tmp_path, description, is_inclusive):
    volume = read_one(tmp_path, **{**CLASS_C, "UPPER_DESC": description})
    assert volume.upper_is_inclusive is is_inclusive


def test_an_unknown_description_is_taken_as_inclusive_and_noted(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(SHELF, **{**CLASS_C, "UPPER_DESC": "ANG"}))
    layer = read_airspace(spec_of("airspace", path))
    assert layer.rows[0].upper_is_inclusive
    assert any("neither TI nor TNI" in note for note in layer.record.notes)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"UPPER_CODE": "QFE"}, 'UPPER_CODE = "QFE"'),
        ({"UPPER_UOM": "YD"}, 'UPPER_UOM = "YD"'),
        ({"UPPER_UOM": None}, "without unit"),
        ({"LOWER_CODE": None}, "without unit or reference"),
        ({"UPPER_VAL": "high"}, 'UPPER_VAL = "high"'),
        ({"UPPER_VAL": True}, "UPPER_VAL = True"),
        ({"UPPER_VAL": 999_999}, "UPPER_VAL = 999999"),
        ({"LOWER_CODE": "UNLTD"}, "LOWER_CODE"),
        ({"LOWER_VAL": 4200}, "lies above its ceiling"),
        ({"CLASS": "H"}, 'class "H"'),
        ({"CLASS": "CLASS D"}, "class"),
        ({"CLASS": None, "LOCAL_TYPE": None, "TYPE_CODE": None}, "neither a class nor a type"),
    ],
)
def test_bad_limits_and_classes_name_the_feature(tmp_path, change, words):
    with pytest.raises(InputError) as error:
        read_one(tmp_path, **{**CLASS_C, **change})
    (fault,) = faults_of(error)
    assert fault.key == 'feature 1 "SOMEWHERE CLASS C"'
    assert words in fault.found


def test_every_bad_volume_is_named(tmp_path):
    bad = {**CLASS_C, "UPPER_CODE": "X"}
    path = write_geojson(tmp_path / "a.geojson", *[feature(SHELF, **bad) for _ in range(3)])
    with pytest.raises(InputError) as error:
        read_airspace(spec_of("airspace", path))
    assert len(faults_of(error)) == 3


PLAIN = {"name": "Valley zone", "class": "d", "type": "", "lower": "SFC", "upper": "2,500 ft AMSL"}


def test_the_plain_form(tmp_path):
    volume = read_one(tmp_path, **PLAIN, hours="SR-SS")
    assert (volume.name, volume.airspace_class, volume.type_code) == ("Valley zone", "D", "")
    assert (volume.lower, volume.upper) == (SFC, amsl(2500))
    assert volume.upper_is_inclusive
    assert volume.hours == "SR-SS"
    assert read_one(tmp_path, **{**PLAIN, "class": "", "type": "R"}).type_code == "R"
    assert read_one(tmp_path, **{**PLAIN, "upper": "UNL"}).upper == UNL
    assert read_one(tmp_path, **{**PLAIN, "upper": "FL 65"}).upper.reference is HeightReference.FL
    assert read_one(tmp_path, **{**PLAIN, "upper": None}).upper is None


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"upper": "2500"}, "2500"),
        ({"upper": "2500 ft"}, "2500 ft"),
        ({"upper": 2500}, "2500"),
        ({"lower": "UNL"}, "UNL"),
        ({"lower": "3000 ft AMSL"}, "lies above its ceiling"),
        ({"lower": "500 ft AGL", "upper": "400 ft AGL"}, "lies above its ceiling"),
        ({"class": ""}, "neither a class nor a type"),
        ({"lower": None, "upper": None, "class": None, "type": None}, "neither a class"),
    ],
)
def test_bad_plain_forms(tmp_path, change, words):
    with pytest.raises(InputError) as error:
        read_one(tmp_path, **{**PLAIN, **change})
    assert words in faults_of(error)[0].found


def test_a_volume_without_limits_is_an_error(tmp_path):
    with pytest.raises(InputError, match="it has no limits") as error:
        read_one(tmp_path, name="Zone", **{"class": "D"})
    faults_of(error)


def test_limits_of_different_references_are_not_compared(tmp_path):
    volume = read_one(tmp_path, **{**PLAIN, "lower": "3000 ft AGL", "upper": "2500 ft AMSL"})
    assert volume.lower == agl(3000)


@pytest.mark.parametrize("ending", [".gpkg", ".shp", ".geojson"])
def test_every_format_carries_it(tmp_path, ending):
    path = write_features(tmp_path / f"a{ending}", [(SHELF, A_220), (SHELF, CLASS_C)])
    first, second = read_airspace(spec_of("airspace", path)).rows
    assert (first.upper, first.lower) == (amsl(4500), SFC)
    assert (second.upper, second.lower) == (amsl(4100), amsl(1200))


def test_points_are_no_volumes(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(Point(1, 42), **CLASS_C))
    with pytest.raises(InputError, match="it holds points") as error:
        read_airspace(spec_of("airspace", path))
    faults_of(error)


VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-10_000, 99_999), st.floats(), st.text(max_size=6),
    st.sampled_from(["-9998", "4500", "FT", "FL", "M", "MSL", "SFC", "AGL", "UNLTD", "TI", "TNI"]),
)  # fmt: skip


@settings(deadline=None, max_examples=300)
@given(st.fixed_dictionaries({key.lower(): VALUES for key in CLASS_C}))
def test_whatever_the_table_holds_no_limit_is_invented(attributes):
    """Either an InputError, or limits that are unknown, or a floor at or below its ceiling."""
    try:
        volume = _volume(Feature("a.geojson", "", 1, attributes, SHELF))
    except InputError:
        return
    for limit, side in ((volume.lower, "lower"), (volume.upper, "upper")):
        value = attributes[f"{side}_val"]
        if limit is None or limit.reference in (HeightReference.SFC, HeightReference.UNL):
            continue
        factor = {"FT": FOOT_M, "M": 1.0, "FL": 100 * FOOT_M}[
            attributes[f"{side}_uom"].strip().upper()
        ]
        assert limit.value_m == pytest.approx(float(value) * factor)
        assert float(value) != -9998
    json.dumps([volume.name, volume.type_code, volume.hours])


def test_a_file_may_mix_published_and_plain_features_and_reads_each_in_its_own_form(tmp_path):
    plain = {"name": "Drawn", "class": "D", "lower": "SFC", "upper": "2500 ft AMSL"}
    published = {key.lower(): value for key, value in CLASS_C.items() if key != "CLASS"}
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(SHELF, **plain),
        feature(SHELF, **published, **{"class": "C"}),
    )
    drawn, shelf = read_airspace(spec_of("airspace", path)).rows
    assert (drawn.lower, drawn.upper) == (SFC, amsl(2500))
    assert (shelf.lower, shelf.upper) == (amsl(1200), amsl(4100))


@pytest.mark.parametrize("upper", ["2500", "2500 ft", "2500 fathoms AMSL"])
def test_a_faulty_plain_limit_is_named_beside_published_features_too(tmp_path, upper):
    published = {key.lower(): value for key, value in CLASS_C.items()}
    bad = {"name": "Drawn", "class": "D", "lower": "SFC", "upper": upper}
    path = write_geojson(tmp_path / "a.geojson", feature(SHELF, **bad), feature(SHELF, **published))
    with pytest.raises(InputError) as caught:
        read_airspace(spec_of("airspace", path))
    (fault,) = faults_of(caught)
    assert "Drawn" in fault.key
    assert upper in fault.found


def test_limits_in_both_forms_are_refused_whichever_they_are(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(SHELF, **CLASS_C, upper="2500 ft AMSL"))
    with pytest.raises(InputError) as caught:
        read_airspace(spec_of("airspace", path))
    (fault,) = faults_of(caught)
    assert "twice" in fault.found
