"""The suction side against pipe flow by other forms, and what air does to the filling."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import pick_up

LINEAR, SQUARE = 2e7, 4e10


@given(st.floats(0.05, 1.0), st.floats(0.005, 0.03), st.floats(0.005, 0.5))
def test_laminar_pipe_by_its_friction_factor(length, diameter, viscosity):
    """Darcy and Weisbach with f = 64/Re give the same loss as R Q."""
    density, flow = 850.0, 1e-5
    speed = flow / (math.pi / 4 * diameter**2)
    reynolds = density * speed * diameter / viscosity
    darcy = 64 / reynolds * length / diameter * density * speed**2 / 2
    found = flow * pick_up.laminar_resistance(length, diameter, viscosity)
    assert found == pytest.approx(darcy, rel=1e-9)


def test_square_part_is_the_dynamic_pressure():
    """3 times rho v^2 / 2 of oil at 2 m/s: 5100 Pa."""
    area = 1e-4
    resistance = pick_up.square_resistance(3.0, area, 850.0)
    assert pick_up.suction_loss(2.0 * area, 0.0, resistance) == pytest.approx(5100.0, rel=1e-12)


@given(st.floats(1.0, 2e5), st.floats(0.0, 1e9), st.floats(1e6, 1e12))
def test_greatest_flow_spends_the_head(head, linear, square):
    flow = pick_up.greatest_flow(head, linear, square)
    assert pick_up.suction_loss(flow, linear, square) == pytest.approx(head, rel=1e-9)


def test_greatest_flow_at_its_ends():
    assert pick_up.greatest_flow(80e3, LINEAR, 0.0) == pytest.approx(80e3 / LINEAR)
    assert pick_up.greatest_flow(80e3, 0.0, SQUARE) == pytest.approx(math.sqrt(80e3 / SQUARE))
    found = pick_up.greatest_flow(np.array([-5e3, 0.0]), LINEAR, SQUARE)
    assert found.tolist() == [0.0, 0.0]
    assert pick_up.greatest_flow(0.0, 0.0, 0.0) == 0.0


@given(st.floats(0.0, 1e-2), st.floats(0.0, 1e-2), st.sampled_from([1, 2, 7, 20]))
def test_limited_is_below_both(wanted, greatest, sharpness):
    found = pick_up.limited(wanted, greatest, sharpness)
    less = min(wanted, greatest)
    assert 2 ** (-1 / sharpness) * less * (1 - 1e-9) <= found <= less


@given(st.floats(1e-3, 1.5), st.sampled_from([3, 8, 20]))
def test_limited_is_its_formula(ratio, sharpness):
    direct = ratio * (1 + ratio**sharpness) ** (-1 / sharpness)
    assert pick_up.limited(ratio, 1.0, sharpness) == pytest.approx(direct, rel=1e-12)


def test_limited_at_its_corner_and_beyond():
    """2^(-1/20) = 0.9659 where both are equal; 1e-30 off where one is thrice the other."""
    assert pick_up.limited(1.0, 1.0) == pytest.approx(0.9659, abs=5e-5)
    found = pick_up.limited(np.array([3.0, 1.0, 1e300, 0.0]), np.array([1.0, 3.0, 1.0, 0.0]))
    assert found == pytest.approx([1.0, 1.0, 1.0, 0.0], rel=1e-9)


def test_heads():
    """Trade text: 30 cm of oil standing in a hose is 2.5 kPa (common practice, no source)."""
    assert pick_up.oil_column(0.30, 850.0) == pytest.approx(2500.0, rel=1e-3)
    found = pick_up.inlet_pressure(100e3, -0.10, 850.0, 20e3)
    assert found == pytest.approx(100e3 - 833.6 - 20e3, abs=0.1)


def test_filling_by_boyle():
    """1 L of oil with 0.1 L of air at 100 kPa is 1.2 L at 50 kPa: five sixths are oil."""
    assert pick_up.filled_share(0.1, 50e3, 100e3) == pytest.approx(1 / 1.2, rel=1e-12)
    assert pick_up.filled_share(0.0, -5e3, 100e3) == 1.0
    assert pick_up.filled_share(0.1, -5e3, 100e3) == pytest.approx(1e-4, rel=1e-3)


def test_dissolved_air():
    """Handbooks have 7 to 11 % by volume in mineral oil at 1 atm (from memory)."""
    assert 0.07 <= pick_up.dissolved_air(101325.0) <= 0.11
    assert pick_up.dissolved_air(202650.0) == 2 * pick_up.dissolved_air(101325.0)


@given(st.floats(1e3, 2e5), st.floats(5e4, 1.5e5), st.floats(0.0, 1.0))
def test_no_air_is_made_or_lost(inlet, saturated, released):
    """What has come out and what is still dissolved is what was dissolved and free before."""
    free = pick_up.free_air(0.02, inlet, saturated, released)
    assert 0.02 <= free <= 0.02 + pick_up.dissolved_air(saturated)
    if released == 1.0 and inlet < saturated:
        total = free + pick_up.dissolved_air(inlet)
        assert total == pytest.approx(0.02 + pick_up.dissolved_air(saturated))


@given(st.floats(0.3, 0.99), st.floats(0.0, 0.3), st.floats(8e4, 1.2e5), st.floats(0.001, 1.0))
def test_onset_is_where_the_filling_says(filled, entrained, saturated, released):
    onset = pick_up.onset_pressure(filled, entrained, saturated, released)
    air = pick_up.free_air(entrained, onset, saturated, released)
    found = pick_up.filled_share(air, onset, pick_up.STANDARD_PA)
    assert found == pytest.approx(filled, abs=1e-3)


def test_more_air_less_filling():
    pressures = np.linspace(10e3, 110e3, 200)
    air = pick_up.free_air(0.05, pressures, 100e3)
    assert np.all(np.diff(pick_up.filled_share(air, pressures, pick_up.STANDARD_PA)) > 0)


def test_onset_flow_leaves_the_onset_pressure():
    flow = pick_up.onset_flow(64e3, 100e3, -800.0, LINEAR, SQUARE)
    left = 100e3 - 800.0 - pick_up.suction_loss(flow, LINEAR, SQUARE)
    assert left == pytest.approx(64e3, rel=1e-12)


def test_crankcase_vacuum_takes_from_the_head():
    """Trade text: with a restricted pick-up real loss grows with crankcase vacuum (common
    practice, no source): 15 kPa less above the oil lets less through."""
    at_ambient, in_vacuum = (
        pick_up.onset_flow(64e3, crankcase, -800.0, 10 * LINEAR, 10 * SQUARE)
        for crankcase in (100e3, 85e3)
    )
    assert in_vacuum < 0.8 * at_ambient


def test_a_wrong_bunsen_coefficient_is_caught():
    """A per cent of air taken for nine would not be within the handbooks' range."""
    assert not 0.07 <= pick_up.dissolved_air(101325.0, bunsen=0.01) <= 0.11


def test_a_wrong_128_is_caught(monkeypatch):
    monkeypatch.setattr(pick_up.math, "pi", 3.0)
    darcy = 64 * 0.01 * 0.25 / (2 * math.pow(0.014, 4)) * (4 / np.pi)
    assert abs(pick_up.laminar_resistance(0.25, 0.014, 0.01) / darcy - 1) > 0.01
