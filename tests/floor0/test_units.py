"""Quantities as text: what is read, what is refused, and which way whole feet are rounded."""

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from areaplan.errors import QuantityError
from areaplan.units import (
    FLIGHT_LEVEL_M,
    FOOT_M,
    FPM_MPS,
    INHG_PA,
    KMH_MPS,
    KNOT_MPS,
    MPH_MPS,
    NAUTICAL_MILE_M,
    STATUTE_MILE_M,
    Height,
    HeightReference,
    Wind,
    bearing_text,
    feet_down,
    feet_text,
    feet_up,
    parse_altitude_amsl,
    parse_angle,
    parse_duration,
    parse_height,
    parse_length,
    parse_pressure,
    parse_share,
    parse_speed,
    parse_temperature_deviation,
    parse_wind,
    signed_feet_text,
)

MICROMETRE_M = 1e-6
TENTH_OF_A_FOOT_M = 0.1 * FOOT_M
PARSERS = (
    *(parse_length, parse_speed, parse_pressure, parse_duration, parse_angle, parse_share),
    *(parse_height, parse_altitude_amsl, parse_wind),
)

# ------------------------------------------------------------------ published conversion factors


@pytest.mark.parametrize(
    ("factor", "published", "digits"),
    [
        # NIST SP 811 (2008), appendix B.8, values as printed there.
        (FOOT_M, 3.048e-01, 1e-12),
        (STATUTE_MILE_M, 1.609344e03, 1e-12),
        (NAUTICAL_MILE_M, 1.852e03, 1e-12),
        (KNOT_MPS, 5.144444e-01, 1e-6),
        (MPH_MPS, 4.4704e-01, 1e-12),
        (KMH_MPS, 2.777778e-01, 1e-6),
        (FPM_MPS, 5.08e-03, 1e-12),
        (INHG_PA, 3.386389e03, 1e-12),
    ],
)
def test_factor_as_published(factor: float, published: float, digits: float) -> None:
    assert factor == pytest.approx(published, rel=digits)


def test_the_standard_pressure_in_both_units() -> None:
    """ICAO standard atmosphere (Doc 7488): 1013.25 hPa, which altimeters show as 29.92 inHg."""
    assert parse_pressure("1013.25 hPa") == pytest.approx(101325.0)
    assert parse_pressure("29.92 inHg") == pytest.approx(101325.0, abs=0.005 * INHG_PA)


# ------------------------------------------------------------------ what is read


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        *((parse_length, "500 ft", 152.4), (parse_length, "500ft", 152.4)),
        *((parse_length, "0.5 NM", 926.0), (parse_length, " 4 nm ", 7408.0)),
        *((parse_length, "600 m", 600.0), (parse_length, "1.5 km", 1500.0)),
        *((parse_length, "1 SM", 1609.344), (parse_length, "1,000 ft", 304.8)),
        *((parse_length, "12,345.5 m", 12345.5), (parse_length, ".5 km", 500.0)),
        *((parse_length, "+3 m", 3.0), (parse_length, "0 ft", 0.0)),
        *((parse_speed, "65 kt", 33.438889), (parse_speed, "100 mph", 44.704)),
        *((parse_speed, "36 km/h", 10.0), (parse_speed, "7 m/s", 7.0)),
        *((parse_speed, "500 ft/min", 2.54), (parse_speed, "65 KT", 33.438889)),
        *((parse_pressure, "1013 hPa", 101300.0), (parse_pressure, "30.00 inHg", 101591.67)),
        *((parse_duration, "4 s", 4.0), (parse_duration, "1.5 min", 90.0)),
        *((parse_angle, "45 deg", 45.0), (parse_angle, "45°", 45.0), (parse_angle, "360 deg", 360)),
        *(
            (parse_temperature_deviation, "+10 degC", 10.0),
            (parse_temperature_deviation, "-5.5 °C", -5.5),
        ),
        *((parse_share, "20 %", 0.2), (parse_share, "100%", 1.0), (parse_share, "0 %", 0.0)),
        *(
            (parse_altitude_amsl, "2500 ft AMSL", 762.0),
            (parse_altitude_amsl, "-17 ft MSL", -5.1816),
        ),
    ],
)
def test_a_quantity_is_read(parse, text: str, value: float) -> None:
    assert parse(text) == pytest.approx(value, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "value_m", "reference"),
    [
        ("1500 ft AMSL", 457.2, HeightReference.AMSL),
        ("1,500 ft MSL", 457.2, HeightReference.AMSL),
        ("500 ft agl", 152.4, HeightReference.AGL),
        ("300 m AMSL", 300.0, HeightReference.AMSL),
        ("-100 ft AMSL", -30.48, HeightReference.AMSL),
        ("  500   ft   AGL ", 152.4, HeightReference.AGL),
        ("FL 65", 1981.2, HeightReference.FL),
        ("FL065", 1981.2, HeightReference.FL),
        ("SFC", 0.0, HeightReference.SFC),
        ("gnd", 0.0, HeightReference.SFC),
        ("UNL", math.inf, HeightReference.UNL),
        ("UNLTD", math.inf, HeightReference.UNL),
        # FAA special-use airspace: UPPER_VAL "4500", UPPER_UOM "FT", UPPER_CODE "MSL" (area A-220).
        ("4500 FT MSL", 1371.6, HeightReference.AMSL),
    ],
)
def test_a_height_is_read(text: str, value_m: float, reference: HeightReference) -> None:
    height = parse_height(text)
    assert height.reference is reference
    assert height.value_m == pytest.approx(value_m)


@pytest.mark.parametrize(
    ("text", "wind"),
    [
        ("210/14 kt", Wind(210.0, 14 * KNOT_MPS)),
        ("5/7 m/s", Wind(5.0, 7.0)),
        ("360/10 kt", Wind(0.0, 10 * KNOT_MPS)),
        ("000/10 kt", Wind(0.0, 10 * KNOT_MPS)),
        (" Calm ", Wind(0.0, 0.0)),
        ("250 / 20 mph", Wind(250.0, 20 * MPH_MPS)),
    ],
)
def test_a_wind_is_read(text: str, wind: Wind) -> None:
    read = parse_wind(text)
    assert read.from_deg_true == wind.from_deg_true
    assert read.speed_mps == pytest.approx(wind.speed_mps)


# ------------------------------------------------------------------ what is refused

NO_LENGTH = [
    *("500", "", " ", "ft", "500 feet", "500 ft AGL", "500 ftt", "5 00 ft", "1,50 ft", "1_000 ft"),
    *("1e3 ft", "0x10 ft", "nan ft", "inf ft", "-1 ft", "- 1 ft", "1.2.3 ft", "1. ft", "--1 ft"),
    *("500 kt", "500 ft 200 m", "ft 500", "five ft", "½ NM", "1/2 NM", "<b>5</b> ft", "5 ft\n6 ft"),
    *("٥٠٠ ft", "５００ ft", "9" * 400 + " ft", "1,000,00 ft", "500 ft;", "$500 ft", "\x00500 ft"),
]
NO_TEXT = [500, 500.0, None, True, math.nan, ["500 ft"], {"ft": 500}, b"500 ft"]


@pytest.mark.parametrize("text", [*NO_LENGTH, *NO_TEXT], ids=lambda text: repr(text)[:20])
def test_what_is_no_length_is_refused(text: object) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_length(text)
    assert caught.value.found == repr(text)
    assert "such as" in caught.value.expected


@pytest.mark.parametrize("parse", PARSERS, ids=lambda parse: parse.__name__)
@pytest.mark.parametrize("value", NO_TEXT, ids=repr)
def test_only_text_is_a_quantity(parse, value: object) -> None:
    with pytest.raises(QuantityError):
        parse(value)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        *(
            (parse_speed, "65"),
            (parse_speed, "-5 kt"),
            (parse_speed, "65 ft"),
            (parse_speed, "65 k"),
        ),
        *((parse_pressure, "1013"), (parse_pressure, "29.92"), (parse_pressure, "2992 inHg")),
        *((parse_pressure, "849 hPa"), (parse_pressure, "1101 hPa"), (parse_pressure, "-1013 hPa")),
        *((parse_duration, "4"), (parse_duration, "-1 s"), (parse_duration, "4 h")),
        *((parse_angle, "45"), (parse_angle, "361 deg"), (parse_angle, "-1 deg")),
        *((parse_share, "20"), (parse_share, "0.2"), (parse_share, "101 %"), (parse_share, "-1 %")),
        *((parse_height, "1500"), (parse_height, "1500 ft"), (parse_height, "1500 AMSL")),
        *((parse_height, "FL"), (parse_height, "FL 6500"), (parse_height, "FL -5")),
        *((parse_height, "FL 65 AMSL"), (parse_height, "SFC 0"), (parse_height, "65 FL")),
        *((parse_height, "9" * 400 + " ft AMSL"), (parse_height, "-1 ft AGL")),
        *((parse_height, "1500 ft AMSL AGL"), (parse_height, "1500 NM AMSL")),
        # FAA class airspace: -9998 stands for "no value", in number or text; it is no height.
        *((parse_height, "-9998"), (parse_height, "4500")),
        *((parse_altitude_amsl, "500 ft AGL"), (parse_altitude_amsl, "FL 65")),
        *(
            (parse_altitude_amsl, "SFC"),
            (parse_altitude_amsl, "UNL"),
            (parse_altitude_amsl, "2500"),
        ),
        *((parse_wind, "210"), (parse_wind, "210/14"), (parse_wind, "361/10 kt")),
        *((parse_wind, "-10/10 kt"), (parse_wind, "210/-5 kt"), (parse_wind, "210/14 kt/3")),
        *((parse_wind, "SW/14 kt"), (parse_wind, "210.5/14 kt"), (parse_wind, "/14 kt")),
        *((parse_wind, "２１０/14 kt"), (parse_wind, ""), (parse_wind, "0210/14 kt")),
    ],
)
def test_the_other_quantities_are_refused_too(parse, text: str) -> None:
    with pytest.raises(QuantityError, match="expected"):
        parse(text)


@settings(deadline=None)
@given(text=st.text(max_size=30) | st.from_regex(r"[-+0-9.,e ]{1,12}[a-zA-Z/% ]{0,8}"))
@example("9" * 400 + " m")
def test_any_text_is_a_finite_quantity_or_refused(text: str) -> None:
    for parse in PARSERS:
        try:
            read = parse(text)
        except QuantityError:
            continue
        value = {Height: "value_m", Wind: "speed_mps"}.get(type(read))
        number = getattr(read, value) if value else read
        is_unlimited = isinstance(read, Height) and read.reference is HeightReference.UNL
        assert math.isfinite(number) or is_unlimited


def test_a_wind_is_checked_when_made() -> None:
    with pytest.raises(ValueError, match="from_deg_true"):
        Wind(360.0, 1.0)
    with pytest.raises(ValueError, match="from_deg_true"):
        Wind(-1.0, 1.0)
    with pytest.raises(ValueError, match="speed_mps"):
        Wind(0.0, -1.0)
    with pytest.raises(ValueError, match="from_deg_true"):
        Wind(math.nan, 1.0)


# ------------------------------------------------------------------ round trips


@pytest.mark.parametrize(
    "text", ["1500 ft AMSL", "500 ft AGL", "-17 ft AMSL", "FL 65", "FL 5", "SFC", "UNL", "0 ft AGL"]
)
def test_a_height_prints_as_it_was_read(text: str) -> None:
    assert str(parse_height(text)) == text


@settings(deadline=None)
@given(
    value_m=st.floats(0.0, 30000.0),
    reference=st.sampled_from([HeightReference.AMSL, HeightReference.AGL]),
)
def test_a_height_survives_printing_to_a_tenth_of_a_foot(
    value_m: float, reference: HeightReference
) -> None:
    again = parse_height(str(Height(value_m, reference)))
    assert again.reference is reference
    assert abs(again.value_m - value_m) <= 0.5 * TENTH_OF_A_FOOT_M + MICROMETRE_M


@settings(deadline=None)
@given(level=st.integers(0, 999))
def test_a_flight_level_survives_printing(level: int) -> None:
    height = parse_height(f"FL {level}")
    assert height.value_m == level * FLIGHT_LEVEL_M
    assert parse_height(str(height)) == height


@settings(deadline=None)
@given(direction=st.integers(0, 360), knots=st.integers(1, 200))
def test_a_wind_survives_printing(direction: int, knots: int) -> None:
    wind = parse_wind(f"{direction}/{knots} kt")
    assert parse_wind(str(wind)) == wind
    assert str(wind) == f"{direction % 360 or 360:03d}/{knots} kt"


def test_a_wind_just_west_of_north_prints_as_360() -> None:
    assert str(Wind(359.7, 10 * KNOT_MPS)) == "360/10 kt"
    assert str(Wind(0.0, 0.0)) == "calm"
    assert parse_wind("calm") == Wind(0.0, 0.0)


@settings(deadline=None)
@given(number=st.integers(0, 10**6), unit=st.sampled_from(["ft", "m", "km", "NM", "SM"]))
def test_thousands_may_be_marked(number: int, unit: str) -> None:
    assert parse_length(f"{number:,} {unit}") == parse_length(f"{number} {unit}")


# ------------------------------------------------------------------ whole feet


@settings(deadline=None)
@given(feet=st.integers(-2000, 100000))
def test_whole_feet_stay_what_they_are(feet: int) -> None:
    value_m = parse_altitude_amsl(f"{feet} ft AMSL")
    assert feet_up(value_m) == feet_down(value_m) == feet


@settings(deadline=None)
@given(value_m=st.floats(-1000.0, 40000.0))
@example(150.0)
@example(300.0)
def test_whole_feet_are_on_the_cautious_side(value_m: float) -> None:
    up, down = feet_up(value_m), feet_down(value_m)
    assert up * FOOT_M >= value_m - MICROMETRE_M
    assert down * FOOT_M <= value_m + MICROMETRE_M
    assert (up - 1) * FOOT_M < value_m < (down + 1) * FOOT_M
    assert 0 <= up - down <= 1


def test_a_hundredth_of_an_inch_is_not_forgiven() -> None:
    assert feet_up(1500.001 * FOOT_M) == feet_up(1500.00001 * FOOT_M) == 1501
    assert feet_down(1499.999 * FOOT_M) == feet_down(1499.99999 * FOOT_M) == 1499


def test_150_m_is_above_492_ft_and_below_493_ft() -> None:
    """The metric figure of the ICAO pair 150 m (500 ft): 492.13 ft."""
    assert (feet_up(150.0), feet_down(150.0)) == (493, 492)


@pytest.mark.parametrize("rounding", [feet_up, feet_down])
def test_unknown_and_unlimited_have_no_feet(rounding) -> None:
    with pytest.raises(ValueError, match="NaN"):
        rounding(math.nan)
    with pytest.raises(OverflowError):
        rounding(math.inf)


@pytest.mark.parametrize(
    ("feet", "plain", "signed"),
    [
        (0, "0 ft", "0 ft"),
        (1, "1 ft", "+1 ft"),
        (-80, "-80 ft", "-80 ft"),
        (999, "999 ft", "+999 ft"),
        (1954, "1 954 ft", "+1 954 ft"),
        (-12345, "-12 345 ft", "-12 345 ft"),
        (1234567, "1 234 567 ft", "+1 234 567 ft"),
    ],
)
def test_feet_are_told_in_groups_of_three(feet, plain, signed) -> None:
    """Digits in groups of three, set apart by a space: BIPM SI brochure, 9th ed., 5.4.4."""
    assert (feet_text(feet), signed_feet_text(feet)) == (plain, signed)


@pytest.mark.parametrize(
    ("degrees", "words"),
    [(0.0, "360"), (359.6, "360"), (360.0, "360"), (0.6, "001"), (-90.0, "270"), (725.0, "005")],
)
def test_north_is_said_360(degrees, words) -> None:
    """FAA Order JO 7110.65, 2-4-17 (from memory): three digits, 360 for a heading of north."""
    assert bearing_text(degrees) == words
