"""The standard atmosphere against published tables and worked problems."""

import pytest

from areaplan.atmosphere import (
    altimeter_offset_m,
    density_ratio,
    pressure_ratio,
    temperature_ratio,
    true_airspeed,
)
from areaplan.units import FOOT_M, INHG_PA, KNOT_MPS

# U.S. Standard Atmosphere 1976: altitude ft, temperature degC, pressure inHg, sigma.
USSA_76_ROWS = [
    (0, 15.000, 29.921, 1.00000),
    (5_000, 5.094, 24.896, 0.86167),
    (10_000, -4.812, 20.577, 0.73848),
]

# Published altitude / psia rows (an engineering table of the same atmosphere; its 4,000 ft row is
# misprinted and left out).
PSIA_ROWS = [(1_000, 14.175), (2_000, 13.664), (8_000, 10.914), (10_000, 10.108)]
PSI_PA = 6894.757


@pytest.mark.parametrize(("feet", "celsius", "inhg", "sigma"), USSA_76_ROWS)
def test_standard_atmosphere_rows(feet, celsius, inhg, sigma):
    altitude_m = feet * FOOT_M
    assert 288.15 * temperature_ratio(altitude_m) - 273.15 == pytest.approx(celsius, abs=0.01)
    assert pressure_ratio(altitude_m) * 101325 / INHG_PA == pytest.approx(inhg, abs=0.002)
    assert density_ratio(altitude_m) == pytest.approx(sigma, abs=2e-5)


@pytest.mark.parametrize(("feet", "psia"), PSIA_ROWS)
def test_published_psia_rows(feet, psia):
    assert pressure_ratio(feet * FOOT_M) * 101325 / PSI_PA == pytest.approx(psia, abs=0.003)


# FAA-H-8083-25 (PHAK), altitude correction figure and its sample problem: 30.10 -> -165 ft,
# 29.70 -> +205 ft of pressure altitude.
@pytest.mark.parametrize(("inhg", "pressure_altitude_change_ft"), [(30.10, -165), (29.70, 205)])
def test_altimeter_settings(inhg, pressure_altitude_change_ft):
    offset_ft = altimeter_offset_m(inhg * INHG_PA) / FOOT_M
    assert -offset_ft == pytest.approx(pressure_altitude_change_ft, abs=1)


def test_true_airspeed_grows_with_the_root_of_density():
    tas_kt = true_airspeed(100 * KNOT_MPS, 10_000 * FOOT_M) / KNOT_MPS
    assert tas_kt == pytest.approx(116.37, abs=0.01)  # USSA-76: 1/sqrt(0.73848)


@pytest.mark.parametrize("altitude_m", [11_000.0, float("inf"), float("nan")])
def test_outside_the_layer_is_refused(altitude_m):
    with pytest.raises(ValueError, match="outside the layer"):
        temperature_ratio(altitude_m)


@pytest.mark.parametrize("setting_pa", [0.0, -1.0, float("nan")])
def test_no_altimeter_setting_at_or_below_zero(setting_pa):
    with pytest.raises(ValueError, match="not above 0"):
        altimeter_offset_m(setting_pa)
