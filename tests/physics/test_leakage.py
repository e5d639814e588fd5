"""Oil through gaps and holes, against the bearing's published flow and other forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import leakage


def test_two_annuli_are_a_pressure_fed_bearing():
    """B14: machine-design textbook, section 12-11: 300 kPa, r 25, c 0.030, l' 9 mm and 10 mPa s
    give 0.14137 L/min through both half-bearings."""
    half = leakage.annulus_conductance(0.025, 30e-6, 0.009)
    assert 2 * half * 300e3 / 0.010 * 60e3 == pytest.approx(0.14137, rel=1e-4)


@pytest.mark.parametrize(("eccentricity", "litres"), [(0.6, 0.21771), (1.0, 0.35343)])
def test_eccentric_annulus(eccentricity, litres):
    """B15: the same bearing off its centre."""
    half = leakage.annulus_conductance(0.025, 30e-6, 0.009, eccentricity)
    assert 2 * half * 300e3 / 0.010 * 60e3 == pytest.approx(litres, rel=1e-4)


@given(st.floats(0.0, 1.0))
def test_eccentric_annulus_by_its_own_shape(eccentricity):
    """The mean of (1 + e cos)^3 round the shaft is 1 + 1.5 e^2."""
    around = np.linspace(0, 2 * math.pi, 360, endpoint=False)
    gaps = 30e-6 * (1 + eccentricity * np.cos(around))
    pieces = leakage.slot_conductance(2 * math.pi * 0.025 / 360, gaps, 0.009)
    whole = leakage.annulus_conductance(0.025, 30e-6, 0.009, eccentricity)
    assert pieces.sum() == pytest.approx(whole, rel=1e-9)


def test_slot_by_its_velocity_profile():
    """The parabola u = dp (h^2/4 - y^2)/(2 mu l), summed across the gap."""
    width, gap, length, difference, viscosity = 0.010, 50e-6, 0.005, 300e3, 0.010
    y = np.linspace(-gap / 2, gap / 2, 20001)
    speed = difference * (gap**2 / 4 - y**2) / (2 * viscosity * length)
    found = leakage.slot_flow(width, gap, length, difference, viscosity)
    assert found == pytest.approx(width * np.trapezoid(speed, y), rel=1e-6)
    mean_speed, across = found / (width * gap), 2 * gap
    reynolds = leakage.slot_reynolds(found, width, 850.0, viscosity)
    assert reynolds == pytest.approx(850.0 * mean_speed * across / viscosity, rel=1e-12)
    assert reynolds < leakage.LAMINAR_REYNOLDS


def test_wear_goes_with_the_cube():
    """B16: half as wide again leaks 3.375 times."""
    assert leakage.wear_factor(1.5) == 3.375
    new, worn = (leakage.slot_flow(0.01, gap, 0.005, 3e5, 0.01) for gap in (40e-6, 60e-6))
    assert worn / new == pytest.approx(3.375, rel=1e-12)


def test_sharp_edge():
    """F14: free-streamline theory, pi/(pi + 2) = 0.61102; F13: measured 0.603 to 0.620."""
    assert pytest.approx(0.61102, abs=1e-5) == leakage.SHARP_EDGE
    assert 0.60 < leakage.SHARP_EDGE < 0.62
    assert leakage.effective_area(0.002) == pytest.approx(0.61102 * math.pi * 1e-6, rel=1e-5)


@given(st.floats(4e3, 1e6), st.floats(700.0, 1000.0))
def test_orifice_is_bernoullis(difference, density):
    """Within 0.1 % of A sqrt(2 dp / rho) from 4 kPa on, in both directions."""
    plain = 1e-6 * math.sqrt(2 * difference / density)
    assert leakage.orifice_flow(1e-6, difference, density) == pytest.approx(plain, rel=1e-3)
    assert leakage.orifice_flow(1e-6, -difference, density) == pytest.approx(-plain, rel=1e-3)


def test_orifice_by_torricelli():
    """From a tank 10 m high the jet leaves as fast as a stone falls: sqrt(2 g h) = 14.005 m/s."""
    speed = leakage.orifice_flow(1.0, 850.0 * 9.80665 * 10.0, 850.0)
    assert speed == pytest.approx(14.005, abs=5e-4)


def test_orifice_near_zero():
    """Rising throughout, straight through nothing at nothing, its slope nowhere infinite."""
    differences = np.linspace(-1000.0, 1000.0, 4001)
    flows = leakage.orifice_flow(1e-6, differences, 850.0)
    slopes = np.diff(flows) / np.diff(differences)
    assert leakage.orifice_flow(1e-6, 0.0, 850.0) == 0.0
    assert np.all(slopes > 0)
    steepest = 1e-6 * math.sqrt(2 / 850.0) / math.sqrt(leakage.LAMINAR_PA)
    assert slopes.max() == pytest.approx(steepest, rel=1e-4)
    assert np.allclose(flows, -flows[::-1], atol=1e-18)


def test_a_wrong_twelve_is_caught(monkeypatch):
    """A slot over 10 l in place of 12 l misses the textbook's bearing."""
    right = leakage.slot_conductance
    monkeypatch.setattr(leakage, "slot_conductance", lambda b, h, length: right(b, h, length) * 1.2)
    found = 2 * leakage.annulus_conductance(0.025, 30e-6, 0.009) * 300e3 / 0.010 * 60e3
    assert abs(found - 0.14137) > 0.14137e-4
