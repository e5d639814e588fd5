"""The standard atmosphere against published tables."""

import pytest

from gaugewright.physics import atmosphere
from gaugewright.physics.atmosphere import geopotential, height, pressure, pressure_at_altitude
from gaugewright.quantities.display import convert

FOOT_M = 0.3048


@pytest.mark.parametrize(
    ("height_m", "pressure_pa"),
    [
        # ISO 2533 / US Standard Atmosphere 1976, from memory (A1, A2); beside the read ones below
        (0, 101325.0),
        (500, 95460.8),
        (1000, 89874.6),
        (1500, 84556.0),
        (2000, 79495.2),
        (3000, 70108.5),
        (4000, 61640.2),
    ],
)
def test_pressure_at_geopotential_height(height_m, pressure_pa):
    assert pressure(height_m) == pytest.approx(pressure_pa, abs=0.5)


@pytest.mark.parametrize(
    ("altitude_m", "pressure_pa"),
    [(1000, 89876.3), (2000, 79501.4), (3000, 70121.1), (4000, 61660.4)],
)
def test_pressure_at_geometric_altitude(altitude_m, pressure_pa):
    """A3: two open packages (ambiance, fluids) agree on these within 0.03 Pa."""
    assert pressure_at_altitude(altitude_m) == pytest.approx(pressure_pa, abs=0.5)


def test_geometric_altitude_against_an_open_package():
    from ambiance import Atmosphere

    for altitude in (-1500.0, 0.0, 310.0, 1609.0, 5000.0, 10000.0):
        assert pressure_at_altitude(altitude) == pytest.approx(
            float(Atmosphere(altitude).pressure[0]), abs=0.5
        )


PUBLISHED_HEIGHTS = [(950, 540), (900, 988), (850, 1457), (800, 1949), (700, 3012)]
"""A4: "International Standard Atmosphere" page, ICAO 1964 table, hPa and whole metres."""


@pytest.mark.parametrize(("pressure_hpa", "height_m"), PUBLISHED_HEIGHTS)
def test_height_of_a_pressure(pressure_hpa, height_m):
    assert height(100.0 * pressure_hpa) == pytest.approx(height_m, abs=1)


@pytest.mark.parametrize(("feet", "psia"), [(5000, 12.228), (10000, 10.108)])
def test_psia_at_altitude_in_feet(feet, psia):
    """A5: engineering table of psia by altitude in feet (values match geometric altitude)."""
    shown = convert(pressure_at_altitude(feet * FOOT_M), "Pa", "psi")
    assert shown == pytest.approx(psia, abs=0.002)


@pytest.mark.parametrize(
    ("feet", "psia"),
    [(1000, 14.173), (2000, 13.664), (3000, 13.171), (6000, 11.777), (8000, 10.916)],
)
def test_psia_at_more_altitudes(feet, psia):
    """A6: engineering table, printed 14.175, 13.664, 13.173, 11.778, 10.914."""
    assert convert(pressure(feet * FOOT_M), "Pa", "psi") == pytest.approx(psia, abs=0.003)


@pytest.mark.parametrize(
    ("feet", "hpa", "inhg"), [(-1000, 1050.41, 31.018), (-2000, 1088.66, 32.148)]
)
def test_pressure_below_sea_level(feet, hpa, inhg):
    """A7: altitude-pressure table, US Standard Atmosphere 1976."""
    found = pressure(feet * FOOT_M)
    assert found / 100 == pytest.approx(hpa, abs=0.01)
    assert convert(found, "Pa", "inHg") == pytest.approx(inhg, abs=0.001)


def test_exponent_and_temperature():
    """A8: a university copy of the 1976 atmosphere prints 5.255876."""
    assert pytest.approx(5.255876, abs=1e-5) == atmosphere.EXPONENT
    assert atmosphere.temperature_k(1000.0) == pytest.approx(281.650, abs=1e-3)


@pytest.mark.parametrize(("feet", "lost"), [(1000, 1.066), (3000, 3.105), (5000, 5.025)])
def test_inches_of_mercury_lost(feet, lost):
    """A9: the rule "1 inHg for 1000 ft" (aviation handbook: 26.92 inHg left at 3000 ft)."""
    left = convert(pressure_at_altitude(feet * FOOT_M), "Pa", "inHg")
    assert 29.92125 - left == pytest.approx(lost, abs=0.003)


def test_height_is_the_inverse():
    for metres in (-2000.0, 0.0, 310.0, 10999.0):
        assert height(pressure(metres)) == pytest.approx(metres, abs=1e-6)


def test_geopotential_is_a_little_less():
    assert geopotential(1000.0) == pytest.approx(999.84, abs=0.005)


@pytest.mark.parametrize("metres", [-2001.0, 11001.0, float("nan")])
def test_beyond_the_layer(metres):
    with pytest.raises(ValueError, match="beyond -2000 to 11000 m"):
        pressure(metres)


@pytest.mark.parametrize("value", [0.0, -5.0, float("nan")])
def test_no_absolute_pressure(value):
    with pytest.raises(ValueError, match="is no absolute pressure"):
        height(value)
    with pytest.raises(ValueError, match="beyond"):
        height(1e6)


def test_a_wrong_lapse_rate_is_caught(monkeypatch):
    """The published heights refuse a lapse rate that is 1 % off."""
    monkeypatch.setattr(atmosphere, "LAPSE_K_PER_M", 0.0065 * 1.01)
    off = [height(100.0 * hpa) - metres for hpa, metres in PUBLISHED_HEIGHTS]
    assert max(abs(error) for error in off) > 1
