"""The relief valve's limits, its inverse, and the bend it puts into a course."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import relief_valve

OPENING, SLOPE, SOFTNESS = 400e3, 1e-8, 5e3


@given(st.floats(100e3, 1e7))
def test_far_above_it_is_the_straight_line(over):
    found = relief_valve.flow(OPENING, SLOPE, OPENING + over, SOFTNESS)
    assert found == pytest.approx(SLOPE * over, rel=1e-8)


@given(st.floats(40 * SOFTNESS, 1e12))
def test_far_below_it_is_shut(under):
    assert relief_valve.flow(OPENING, SLOPE, OPENING - under, SOFTNESS) == 0.0


def test_at_the_opening_pressure():
    """k s ln 2, by the formula's own definition."""
    found = relief_valve.flow(OPENING, SLOPE, OPENING, SOFTNESS)
    assert found == pytest.approx(SLOPE * SOFTNESS * math.log(2), rel=1e-12)


def test_it_is_numpys_own_rounded_corner():
    pressures = np.linspace(300e3, 500e3, 1001)
    other = SLOPE * SOFTNESS * np.logaddexp(0.0, (pressures - OPENING) / SOFTNESS)
    found = relief_valve.flow(OPENING, SLOPE, pressures, SOFTNESS)
    assert np.allclose(found, other, rtol=1e-9, atol=1e-19)
    assert np.all(np.diff(found) > 0)


@given(st.floats(1e-8, 1e-2))
def test_pressure_and_flow_are_inverse(flow):
    pressure = relief_valve.pressure(OPENING, SLOPE, flow, SOFTNESS)
    assert relief_valve.flow(OPENING, SLOPE, pressure, SOFTNESS) == pytest.approx(flow, rel=1e-6)


def test_a_bend_drawn_by_hand():
    """Two straight lines that meet at 3 L/min and 300 kPa."""
    flows = np.arange(7.0)
    pressures = np.array([0.0, 100.0, 200.0, 300.0, 310.0, 320.0, 330.0]) * 1e3
    found = relief_valve.knee(flows, pressures)
    assert found.flow == pytest.approx(3.0, abs=1e-3)
    assert found.pressure_pa == pytest.approx(300e3, rel=1e-3)
    assert (found.slope_below, found.slope_above) == pytest.approx((100e3, 10e3), rel=1e-2)


@given(st.floats(1.5, 4.5), st.integers(0, 2**31))
def test_a_bend_in_noise(place, seed):
    """Found within 0.1 of the flow for a noise of half a per cent of the pressure at the bend."""
    rng = np.random.default_rng(seed)
    flows = np.linspace(0.0, 6.0, 61)
    pressures = 100e3 * np.minimum(flows, place) + 8e3 * np.maximum(flows - place, 0.0)
    found = relief_valve.knee(flows, pressures + rng.normal(0, 500.0, 61))
    assert found.flow == pytest.approx(place, abs=0.1)


def test_the_valves_own_bend():
    """A pump into a laminar leak and this valve bends where the leak takes all at p0."""
    leak = 1e-9
    pressures = np.linspace(50e3, 440e3, 200)
    flows = leak * pressures + relief_valve.flow(OPENING, 2e-8, pressures, 2e3)
    found = relief_valve.knee(flows, pressures)
    assert found.flow == pytest.approx(leak * OPENING, rel=0.03)
    assert found.pressure_pa == pytest.approx(OPENING, rel=0.03)
    assert found.slope_below == pytest.approx(1 / leak, rel=0.03)
    assert found.slope_above < 0.1 * found.slope_below


def test_too_few_flows():
    with pytest.raises(ValueError, match="needs 5 different flows, 4 were given"):
        relief_valve.knee(np.array([0.0, 1, 2, 3, 3]), np.zeros(5))


def test_a_wrong_softness_is_caught():
    """With half of the softness the flow at the opening pressure is half: not k s ln 2."""
    found = relief_valve.flow(OPENING, SLOPE, OPENING, 0.5 * SOFTNESS)
    assert abs(found / (SLOPE * SOFTNESS * math.log(2)) - 1) > 0.4
