"""Magnetic variation against the test values that NOAA publishes with the model."""

import csv
from datetime import date
from pathlib import Path

import pytest

from areaplan.planning.declination import (
    decimal_year,
    magnetic_field,
    variation_at,
    variation_words,
)

TABLE = Path(__file__).parent.parent / "authorities" / "wmm2025_test_values.csv"
ROWS = list(
    csv.DictReader(
        line for line in TABLE.read_text(encoding="utf-8").splitlines() if line[0] != "#"
    )
)
ANGLE_DEG = 0.01
INTENSITY_NT = 0.1


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['year']} {row['lat']} {row['lon']}")
def test_published_rows(row):
    value = {key: float(text) for key, text in row.items()}
    got = magnetic_field(value["lat"], value["lon"], value["height_km"], value["year"])
    assert got.declination_deg_east == pytest.approx(value["D"], abs=ANGLE_DEG)
    assert got.inclination_deg == pytest.approx(value["I"], abs=ANGLE_DEG)
    found = (got.horizontal_nt, got.north_nt, got.east_nt, got.down_nt, got.total_nt)
    assert found == pytest.approx([value[key] for key in "HXYZF"], abs=INTENSITY_NT)


def test_there_are_seven_rows():
    assert len(ROWS) == 7


def test_variation_of_a_published_row():
    """2025.5, 33 N 118 W, 44 km: 11.10 E; the day is the middle of the year."""
    got = variation_at(33.0, -118.0, 44_000.0, date(2025, 7, 2))
    assert got.deg_east == pytest.approx(11.10, abs=ANGLE_DEG)
    assert got.words.startswith("11.1 E (World Magnetic Model 2025)")
    assert not got.is_caution


@pytest.mark.parametrize("day", [date(2024, 12, 31), date(2030, 1, 2), date(2031, 6, 1)])
def test_outside_the_years_of_the_model_it_is_unknown(day):
    got = variation_at(40.0, -100.0, 300.0, day)
    assert got.deg_east is None
    assert got.magnetic(90.0) is None
    assert "unknown" in got.words
    assert "2025-2030" in got.words
    with pytest.raises(ValueError, match="outside"):
        magnetic_field(40.0, -100.0, 0.3, decimal_year(day))


def test_near_the_pole_a_compass_is_no_guide():
    """Row 1 of the table has H = 1,504 nT, row 7 5,027 nT: below 2,000 and below 6,000."""
    assert variation_at(89.0, -121.0, 28_000.0, date(2025, 1, 1)).deg_east is None
    weak = variation_at(72.0, -115.0, 67_000.0, date(2027, 1, 1))
    assert weak.deg_east == pytest.approx(13.73, abs=ANGLE_DEG)
    assert weak.is_caution


def test_magnetic_from_true():
    """FAA private-pilot test preparation: true heading 011, variation 7 E: magnetic 004."""
    east = variation_at(33.0, -118.0, 44_000.0, date(2025, 7, 2))
    assert east.magnetic(18.10) == pytest.approx(7.0, abs=ANGLE_DEG)
    assert east.magnetic(5.0) == pytest.approx(353.9, abs=ANGLE_DEG)
    west = variation_at(-33.0, 109.0, 51_000.0, date(2025, 1, 1))
    assert west.magnetic(0.0) == pytest.approx(5.49, abs=ANGLE_DEG)


@pytest.mark.parametrize(
    ("deg_east", "words"), [(7.04, "7.0 E"), (-3.26, "3.3 W"), (0.04, "0.0"), (-0.04, "0.0")]
)
def test_words(deg_east, words):
    assert variation_words(deg_east) == words


def test_decimal_year():
    assert decimal_year(date(2026, 1, 1)) == 2026.0
    assert decimal_year(date(2028, 7, 1)) == pytest.approx(2028.4973, abs=1e-4)  # a leap year
