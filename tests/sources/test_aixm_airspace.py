"""AIXM airspace: limits, classes, borrowed geometry, time slices, counts."""

import math

import pytest
from shapely.geometry import Point

from areaplan.errors import InputError
from areaplan.sources.layers import CLASS_NOT_GIVEN
from areaplan.units import FOOT_M, Height, HeightReference
from tests.sources.aixm_writing import (
    SQUARE,
    airspace,
    borrowed,
    classes,
    component,
    curve,
    element,
    feature,
    limits,
    plain,
    read,
    ring,
    slice_of,
    square,
    string,
    surface,
    valid,
)  # fmt: skip
from tests.sources.making import faults_of

SFC = Height(0.0, HeightReference.SFC)
UNL = Height(math.inf, HeightReference.UNL)


def amsl(feet):
    return Height(feet * FOOT_M, HeightReference.AMSL)


def agl(feet):
    return Height(feet * FOOT_M, HeightReference.AGL)


def fl(level):
    return Height(level * 100 * FOOT_M, HeightReference.FL)


def same(found, meant):
    if found is None or meant is None:
        return found is meant
    return found.reference is meant.reference and found.value_m == pytest.approx(meant.value_m)


def test_row_67_flight_level_135_over_1000_ft_above_the_surface(tmp_path):
    """facts.md row 67, after the published fictitious sample: FL 135 STD, 1000 FT SFC."""
    both = limits(("1000", "FT", "SFC"), ("135", "FL", "STD"))
    layer = read(tmp_path, plain(both, type_code="OTHER:MOA", designator="XMOA1", name="MOOR"))
    (row,) = layer.rows
    assert same(row.upper, fl(135))
    assert row.upper.value_m == pytest.approx(13_500 * FOOT_M)
    assert same(row.lower, agl(1000))
    assert (row.name, row.type_code) == ("OTHER:MOA XMOA1 MOOR", "OTHER:MOA")
    assert row.airspace_class == ""
    assert row.upper_is_inclusive
    counts = layer.record.rows_read, layer.record.rows_used, layer.record.rows_rejected
    assert counts == (1, 1, 0)
    assert layer.record.notes == ()


@pytest.mark.parametrize(
    ("side", "given", "meant"),
    [
        ("lower", ("GND", "FT", ""), SFC), ("lower", ("0", "FT", "SFC"), SFC),
        ("upper", ("UNL", "FT", ""), UNL), ("upper", ("1525", "M", "SFC"), agl(1525 / FOOT_M)),
        ("upper", ("3000", "FT", "MSL"), amsl(3000)), ("upper", ("6500", "FT", "STD"), fl(65)),
        ("upper", ("65", "FL", ""), fl(65)),
        # Refused: each is unknown, never a guess.
        ("upper", ("3000", "FT", "W84"), None), ("upper", ("65", "FL", "SFC"), None),
        ("upper", ("150", "", "STD"), None), ("upper", ("3000", "FT", ""), None),
        ("upper", ("30", "SM", "STD"), None), ("upper", ("GND", "FT", ""), None),
        ("lower", ("UNL", "FT", ""), None), ("upper", ("CEILING", "FT", ""), None),
        ("lower", ("FLOOR", "FT", ""), None), ("upper", ("high", "FT", "MSL"), None),
        ("upper", ("nan", "FT", "MSL"), None), ("upper", ("999999", "FT", "MSL"), None),
        ("lower", ("-100", "FT", "SFC"), None), ("upper", ("0", "FT", "SFC"), None),
        ("upper", None, None), ("lower", None, None),
    ],
)  # fmt: skip
def test_limits(tmp_path, side, given, meant):
    wide = {"lower": ("0", "FT", "SFC"), "upper": ("UNL", "FT", "")}
    layer = read(tmp_path, plain(limits(**{**wide, side: given})))
    (row,) = layer.rows
    assert same(getattr(row, side), meant)
    other = "lower" if side == "upper" else "upper"
    assert getattr(row, other) is not None
    if meant is None:
        (note,) = layer.record.notes
        assert "R XR1" in note
        assert f"{side}Limit" in note
        assert layer.record.rows_rejected == 1


def test_a_floor_above_its_ceiling_makes_both_unknown(tmp_path):
    layer = read(tmp_path, plain(limits(("4000", "FT", "MSL"), ("3000", "FT", "MSL"))))
    assert (layer.rows[0].lower, layer.rows[0].upper) == (None, None)
    assert "lies above its ceiling" in layer.record.notes[0]


def test_of_two_upper_limits_none_is_left_out(tmp_path):
    both = limits(upper=("65", "FL", "STD")) + element("maximumLimit", "3000", uom="FT")
    layer = read(tmp_path, plain(both + element("maximumLimitReference", "SFC")))
    found = {str(row.upper) for row in layer.rows}
    assert found == {"FL 65", "3000 ft AGL"}


def test_the_stated_accuracy_of_the_boundary_is_kept(tmp_path):
    shape = square(accuracy=element("horizontalAccuracy", "2.0", uom="KM"))
    nil = square(accuracy='<aixm:horizontalAccuracy xsi:nil="true" nilReason="unknown"/>')
    first, second = read(
        tmp_path,
        airspace(component(limits() + shape)),
        airspace(component(limits() + nil), uuid="a2", designator="XR2"),
    ).rows
    assert first.boundary_accuracy_m == 2000.0
    assert second.boundary_accuracy_m is None


def layer_of(lower, upper):
    return limits(lower, upper)


def bands(layer):
    return [(row.airspace_class, str(row.lower), str(row.upper)) for row in layer.rows]


def test_class_layers_make_volumes_of_their_own_and_what_no_layer_names_has_a_class_not_given(
    tmp_path,
):
    zone = airspace(
        classes("G", layer_of(("FLOOR", "FT", ""), ("3500", "FT", "MSL"))),
        classes("D", layer_of(("3500", "FT", "MSL"), ("150", "FL", "STD"))),
        classes("A", layer_of(("195", "FL", "STD"), None)),
        component(limits(("GND", "FT", ""), ("UNL", "FT", "")) + square()),
        type_code="FIR",
    )
    assert bands(read(tmp_path, zone)) == [
        ("G", "SFC", "3500 ft AMSL"),
        ("D", "3500 ft AMSL", "FL 150"),
        ("A", "FL 195", "UNL"),
        (CLASS_NOT_GIVEN, "FL 150", "FL 195"),
    ]


def test_two_classes_without_levels_both_count(tmp_path):
    zone = airspace(classes("E"), classes("C"), component(limits() + square()), type_code="CTA")
    assert [row.airspace_class for row in read(tmp_path, zone).rows] == ["E", "C"]


def test_a_whole_of_published_parts_takes_their_geometry_limits_and_class(tmp_path):
    east = ((42.0, 1.5), (42.0, 2.0), (42.5, 2.0), (42.5, 1.5), (42.0, 1.5))
    whole = airspace(
        component(borrowed("p1"), "BASE", "1"), component(borrowed("p2"), "UNION", "2"),
        uuid="w", type_code="TMA", designator="XT",
    )  # fmt: skip
    parts = [
        airspace(classes("C"), component(limits(("2000", "FT", "MSL"), ("195", "FL", "STD")) + at),
                 uuid=uuid, type_code="TMA_P", designator=uuid)
        for uuid, at in (("p1", square()), ("p2", square(corners=east)))
    ]  # fmt: skip
    rows = [row for row in read(tmp_path, whole, *parts).rows if row.name == "TMA XT"]
    assert [row.airspace_class for row in rows] == ["C", "C"]
    assert [str(row.lower) for row in rows] == ["2000 ft AMSL"] * 2
    assert rows[0].geometry.covers(Point(1.2, 42.2))
    assert rows[1].geometry.covers(Point(1.7, 42.2))


INNER = ((42.1, 1.1), (42.1, 1.2), (42.2, 1.2), (42.2, 1.1), (42.1, 1.1))


def taken_from(operation, inner_limits, own_limits="", dependency="HORZ_PROJECTION"):
    outer = airspace(
        component(limits(("0", "FT", "SFC"), ("5000", "FT", "MSL")) + square(), "BASE", "1"),
        component(own_limits + borrowed("in", dependency), operation, "2"),
        uuid="out", designator="XOUT",
    )  # fmt: skip
    inner = airspace(component(inner_limits + square(corners=INNER)), uuid="in", designator="XIN")
    return outer, inner


def outer_row(layer):
    return next(row for row in layer.rows if row.name == "R XOUT")


def test_what_is_taken_away_over_all_heights_is_gone(tmp_path):
    over_all = limits(("GND", "FT", ""), ("UNL", "FT", ""))
    layer = read(tmp_path, *taken_from("SUBTR", limits(), own_limits=over_all))
    row = outer_row(layer)
    assert not row.geometry.covers(Point(1.15, 42.15))
    assert row.geometry.covers(Point(1.3, 42.3))
    assert layer.record.notes == ()


def test_what_is_not_surely_taken_away_at_every_height_stays(tmp_path):
    """A cut of 0 to 3,000 ft out of 0 to 5,000 ft: the airspace stays whole, and it is said."""
    layer = read(tmp_path, *taken_from("SUBTR", limits(upper=("3000", "FT", "MSL")),
                                       dependency="FULL_GEOMETRY"))  # fmt: skip
    assert outer_row(layer).geometry.covers(Point(1.15, 42.15))
    assert any("nothing is taken away" in note for note in layer.record.notes)


def test_an_unsound_outline_is_never_taken_away(tmp_path):
    bow = ((42.0, 1.0), (42.5, 1.5), (42.5, 1.0), (42.0, 1.5), (42.0, 1.0))
    outer, _ = taken_from("SUBTR", "", own_limits=limits(("GND", "FT", ""), ("UNL", "FT", "")))
    inner = airspace(component(limits() + square(corners=bow)), uuid="in", designator="XIN")
    assert outer_row(read(tmp_path, outer, inner)).geometry.covers(Point(1.25, 42.4))


def test_what_two_have_in_common_keeps_the_limits_of_the_base(tmp_path):
    layer = read(tmp_path, *taken_from("INTERS", limits(upper=("3000", "FT", "MSL"))))
    row = outer_row(layer)
    assert row.geometry.bounds == pytest.approx((1.1, 42.1, 1.2, 42.2))
    assert same(row.upper, amsl(5000))


@pytest.mark.parametrize(
    ("features", "words"),
    [
        ([airspace(component(borrowed("b")), uuid="a"),
          airspace(component(borrowed("a")), uuid="b")], "circle"),
        ([airspace(component(borrowed("a")), uuid="a")], "circle"),
        ([airspace(component(borrowed("nobody")))], "nobody"),
        ([airspace(component(borrowed("a1", "SHAPE")))], "SHAPE"),
        ([airspace(component(limits()))], "no outline"),
        ([airspace()], "no geometry"),
        ([feature("Airspace", "a1")], "no time slice"),
        ([airspace(component(limits() + square(), "XOR", "1"))], "XOR"),
        ([airspace(component(limits() + square(), "SUBTR", "1"))], "no base"),
        ([airspace(*(component(limits() + square(), one) for one in ("BASE", "SUBTR")))],
         "numbered"),
    ],
)  # fmt: skip
def test_an_airspace_without_a_place_is_an_error_that_names_it(tmp_path, features, words):
    with pytest.raises(InputError, match=words) as error:
        read(tmp_path, *features)
    assert all(fault.key.startswith("Airspace uuid.") for fault in faults_of(error))


def test_a_tower_of_references_is_refused_before_it_doubles_without_end(tmp_path):
    floors = [
        airspace(component(borrowed(f"f{i + 1}"), "BASE", "1"),
                 component(borrowed(f"f{i + 1}"), "UNION", "2"), uuid=f"f{i}")
        for i in range(18)
    ]  # fmt: skip
    with pytest.raises(InputError, match="more than 1000 parts"):
        read(tmp_path, *floors, plain(uuid="f18"))


def sliced(*slices):
    return feature("Airspace", "a1", *slices)


def body(upper_ft, name="XR1"):
    inside = element("type", "R") + element("designator", name)
    return inside + component(limits(upper=(str(upper_ft), "FT", "MSL")) + square())


def test_the_baseline_of_the_day_counts(tmp_path):
    zone = sliced(
        slice_of("Airspace", body(1000), valid("2020-01-01T00:00:00Z", "2026-01-22T00:00:00Z")),
        slice_of("Airspace", body(2000), valid("2026-01-22T00:00:00Z"), sequence=2),
        slice_of("Airspace", body(3000), valid("2027-01-22T00:00:00Z"), sequence=3),
    )
    (row,) = read(tmp_path, zone).rows
    assert same(row.upper, amsl(2000))


def test_of_corrections_the_last_counts(tmp_path):
    corrected = element("correctionNumber", 1)
    zone = sliced(slice_of("Airspace", corrected + body(3000)), slice_of("Airspace", body(2000)))
    assert same(read(tmp_path, zone).rows[0].upper, amsl(3000))


def test_an_airspace_that_has_ended_is_left_out_and_named(tmp_path):
    ended = plain(when=valid("2020-01-01T00:00:00Z", "2026-10-01T00:00:00Z"))
    layer = read(tmp_path, ended, plain(uuid="a2", designator="XR2"))
    assert [row.name for row in layer.rows] == ["R XR2"]
    counts = layer.record.rows_read, layer.record.rows_used, layer.record.rows_rejected
    assert counts == (2, 1, 1)
    assert any("R XR1: left out" in note for note in layer.record.notes)


@pytest.mark.parametrize(
    ("interpretation", "when", "is_known"),
    [
        ("TEMPDELTA", valid("2026-11-25T06:00:00Z", "2026-11-25T18:00:00Z"), False),
        ("TEMPDELTA", valid("2026-11-01T06:00:00Z", "2026-11-02T18:00:00Z"), True),
        ("PERMDELTA", valid("2026-09-01T00:00:00Z"), False),
        ("PERMDELTA", valid("2019-09-01T00:00:00Z"), True),
    ],
)
def test_a_change_in_force_that_is_not_merged_makes_it_unknown(
    tmp_path, interpretation, when, is_known
):
    zone = sliced(
        slice_of("Airspace", body(2000)),
        slice_of("Airspace", element("designatorICAO", "NO"), when, interpretation, 2),
    )
    layer = read(tmp_path, zone)
    assert (layer.rows[0].upper is not None) is is_known
    assert any("change" in note for note in layer.record.notes) is not is_known


def test_a_feature_without_a_baseline_or_not_begun_is_unknown(tmp_path):
    snapshot = feature(
        "Airspace", "a1", slice_of("Airspace", body(2000), interpretation="SNAPSHOT")
    )
    later = plain(uuid="a2", designator="XR2", when=valid("2027-01-01T00:00:00Z"))
    layer = read(tmp_path, snapshot, later)
    assert [row.upper for row in layer.rows] == [None, None]
    assert len(layer.record.notes) == 2


def test_an_ended_baseline_with_a_change_still_in_force_is_unknown_not_gone(tmp_path):
    zone = sliced(
        slice_of("Airspace", body(2000), valid("2020-01-01T00:00:00Z", "2026-10-01T00:00:00Z")),
        slice_of("Airspace", "", valid("2026-09-01T00:00:00Z"), "PERMDELTA", 2),
    )
    (row,) = read(tmp_path, zone).rows
    assert (row.lower, row.upper) == (None, None)


def test_slices_of_one_feature_in_several_members_belong_together(tmp_path):
    """As digital notices carry them: the same identifier, only the change inside."""
    change = slice_of("Airspace", "", valid("2026-11-24T00:00:00Z"), "TEMPDELTA", 2)
    layer = read(tmp_path, plain(), feature("Airspace", "a1", change))
    assert layer.record.rows_read == 1
    assert layer.rows[0].upper is None


def test_what_only_touches_leaves_nothing_and_is_told(tmp_path):
    outer, _ = taken_from("INTERS", "")
    beside = ((42.0, 1.5), (42.0, 2.0), (42.5, 2.0), (42.5, 1.5), (42.0, 1.5))
    inner = airspace(component(limits() + square(corners=beside)), uuid="in", designator="XIN")
    layer = read(tmp_path, outer, inner)
    assert [row.name for row in layer.rows] == ["R XIN"]
    assert any("R XOUT" in note and "nothing is left" in note for note in layer.record.notes)
    assert layer.record.rows_rejected == 1


def test_an_accuracy_that_is_not_understood_is_told(tmp_path):
    odd = square(accuracy=element("horizontalAccuracy", "2", uom="LEAGUE"))
    layer = read(tmp_path, airspace(component(limits() + odd)))
    assert layer.rows[0].boundary_accuracy_m is None
    assert any("horizontalAccuracy" in note for note in layer.record.notes)


def test_what_lies_outside_the_region_is_left_out_and_counted(tmp_path):
    far = ((10.0, 1.0), (10.0, 1.5), (10.5, 1.5), (10.5, 1.0), (10.0, 1.0))
    layer = read(
        tmp_path,
        plain(),
        airspace(component(square(corners=far)), uuid="a2", designator="XR2"),
        clip=(0.9, 41.9, 1.6, 42.6),
    )
    assert [row.name for row in layer.rows] == ["R XR1"]
    assert layer.record.rows_read == 2
    assert "1 of 2 airspaces lie outside" in layer.record.notes[0]


def test_with_covers_extent_nothing_is_left_out(tmp_path):
    layer = read(tmp_path, plain(), clip=(10.0, 10.0, 11.0, 11.0), covers="extent")
    assert len(layer.rows) == 1
    assert layer.covers.bounds == (1.0, 42.0, 1.5, 42.5)


def test_a_ring_of_straight_edges_is_read_too(tmp_path):
    inside = " ".join(f"{lat} {lon}" for lat, lon in SQUARE)
    shape = surface(f"<gml:LinearRing><gml:posList>{inside}</gml:posList></gml:LinearRing>")
    (row,) = read(tmp_path, airspace(component(limits() + shape))).rows
    assert row.geometry.bounds == (1.0, 42.0, 1.5, 42.5)
    same_shape = surface(ring(curve(string(SQUARE, "LineStringSegment"))))
    (again,) = read(tmp_path, airspace(component(limits() + same_shape))).rows
    assert again.geometry.equals(row.geometry)
