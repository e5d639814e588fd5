"""Gas through a hole against published tables and worked examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import gas_flow
from gaugewright.physics.gas_flow import (
    AIR_GAMMA,
    LAMINAR_PA,
    air_flow,
    choked_factor,
    critical_ratio,
    discharge_coefficient,
    flow_function,
    hole_area,
    hole_diameter,
    incompressible_flow,
    isentropic_area,
    isentropic_density,
    isentropic_pressure,
    isentropic_temperature,
    mass_flow,
)

PRESSURES = st.floats(2e3, 1e6)


@pytest.mark.parametrize(
    ("gamma", "ratio"),
    # NACA 1135; gas tables print 0.5283 for 1.4 (F1)
    [(1.4, 0.528282), (1.33, 0.540364), (1.3, 0.545728)],
)
def test_critical_ratio(gamma, ratio):
    assert critical_ratio(gamma) == pytest.approx(ratio, abs=1e-6)


def test_choked_factor():
    """ISO 9300's definition for the ideal gas (F2), and the textbook's rounded 0.0404 (F3:
    Modern Engineering Thermodynamics, example 16.12)."""
    assert choked_factor(1.4) == pytest.approx(0.684731, abs=1e-6)
    assert choked_factor(1.4) / 287**0.5 == pytest.approx(0.0404, abs=5e-5)
    assert choked_factor(1.4) / 287**0.5 == pytest.approx(0.040418, abs=1e-5)


@pytest.mark.parametrize(
    ("mach", "pressure", "density", "temperature", "area"),
    [
        # compressible-flow appendix table, numeric-library docs (F4, F5, F6)
        (0.5, 0.8430, 0.8852, 0.9524, 1.3398),
        (0.55, 0.8142, 0.8634, 0.9430, 1.2550),
        (0.1, 0.9930, None, None, 5.8218),
        (0.6, 0.7840, None, None, 1.1882),
    ],
)
def test_isentropic_table(mach, pressure, density, temperature, area):
    assert isentropic_pressure(mach) == pytest.approx(pressure, abs=5e-5)
    # 1.2550 is printed where the relation gives 1.254948: one unit of the last digit
    assert isentropic_area(mach) == pytest.approx(area, abs=6e-5)
    if density is not None:
        assert isentropic_density(mach) == pytest.approx(density, abs=5e-5)
        assert isentropic_temperature(mach) == pytest.approx(temperature, abs=5e-5)


@pytest.mark.parametrize(
    ("gamma", "pressure", "area"),
    # numeric-library docs, Mach 0.5 (F7)
    [(1.3, 0.8525, 1.3479), (1.33, 0.8497, 1.3454), (1.67, 0.8183, 1.3201)],
)
def test_isentropic_table_of_other_gases(gamma, pressure, area):
    assert isentropic_pressure(0.5, gamma) == pytest.approx(pressure, abs=5e-5)
    assert isentropic_area(0.5, gamma) == pytest.approx(area, abs=5e-5)


def test_flow_function():
    """Own evaluation of the formula in another notation (F8)."""
    ratios = np.array([0.99, 0.95, 0.9, 0.8, 0.7, 0.6])
    expected = [0.140662, 0.307641, 0.422581, 0.560661, 0.638317, 0.676915]
    assert flow_function(ratios) == pytest.approx(np.array(expected), abs=1e-6)


@given(st.floats(0.01, 0.99), st.sampled_from([1.3, 1.33, 1.4, 1.67]))
def test_flow_function_is_the_stream_tubes_area(mach, gamma):
    """psi = C* / (A/A*): two published relations that must meet at any Mach number."""
    expected = choked_factor(gamma) / isentropic_area(mach, gamma)
    found = flow_function(isentropic_pressure(mach, gamma), gamma)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_choked_nozzle_of_the_textbooks():
    """F9: Fluid Mechanics: Fundamentals and Applications, example 12-6 (inputs; 2.86 from
    memory); F10: Modern Engineering Thermodynamics, example 16.12 (1.863 with its 0.0404)."""
    assert mass_flow(20e-4, 1e6, 1e5, 800.0, 1.4, 287.0) == pytest.approx(2.858, rel=1e-3)
    area = hole_area(0.020, 1.0)
    assert mass_flow(area, 7e6, 1e5, 2273.15, 1.4, 286.0) == pytest.approx(1.868, rel=1e-3)
    assert 0.0404 * area * 7e6 / 2273.15**0.5 == pytest.approx(1.863, rel=1e-3)


@pytest.mark.parametrize(
    ("to_kpa", "grams"),
    [(100.825, 0.06632), (95, 0.22847), (80, 0.38223), (60, 0.45420), (40, 0.45834)],
)
def test_two_millimetre_hole(to_kpa, grams):
    """F11: own evaluation, 2 mm, Cd 0.61, from 101.325 kPa and 20 degC."""
    expected = pytest.approx(grams * 1e-3, rel=1e-3)
    assert air_flow(hole_area(0.002, 0.61), 101325.0, to_kpa * 1e3, 293.15) == expected
    assert mass_flow(hole_area(0.002, 0.61), 101325.0, to_kpa * 1e3, 293.15) == expected


def test_small_difference_is_incompressible():
    """F12: 0.06650 g/s, 0.27 % above the compressible value (F11)."""
    density = 101325.0 / (gas_flow.AIR_GAS_CONSTANT * 293.15)
    slow = incompressible_flow(hole_area(0.002), 500.0, density)
    assert slow == pytest.approx(0.06650e-3, rel=2e-3)
    assert slow / air_flow(hole_area(0.002), 101325.0, 100825.0, 293.15) == pytest.approx(
        1.0027, abs=2e-4
    )


def test_holes_of_the_trade():
    """Common practice: 1 to 4 mm pass 0.13, 0.53, 1.2 and 2.1 g/s into a choked manifold
    (Cd 0.7; computed in the project's notes)."""
    found = air_flow(hole_area(np.array([1, 2, 3, 4]) * 1e-3, 0.7), 101325.0, 35e3, 293.15)
    assert found * 1e3 == pytest.approx(np.array([0.13, 0.53, 1.2, 2.1]), rel=0.03)


def test_sharp_edge():
    """F13: Encyclopaedia Britannica, 11th ed., 0.603 to 0.620; F14: pi/(pi + 2) = 0.61102."""
    assert 0.603 <= gas_flow.SHARP_EDGE <= 0.620
    assert pytest.approx(np.pi / (np.pi + 2), abs=0.005) == gas_flow.SHARP_EDGE


def test_discharge_polynomial():
    """F16: numeric-library pneumatic-orifice docs (coefficients)."""
    ratios = np.array([0.0, 0.4, 0.528, 0.8, 1.0])
    expected = np.array([0.8414, 0.7869, 0.7375, 0.6358, 0.6001])
    assert discharge_coefficient(ratios) == pytest.approx(expected, abs=5e-4)


def test_discharge_of_air_lies_where_it_was_measured():
    """F15: Encyclopaedia Britannica, 11th ed., air through a sharp edge: 0.563 to 0.788."""
    found = discharge_coefficient(np.linspace(0.4, 1.0, 50))
    assert np.all((found > 0.563) & (found < 0.788))


@pytest.mark.parametrize(("real", "within"), [(0.68513, 1e-3), (0.68770, 5e-3)])
def test_real_air_is_near(real, within):
    """F20: a general property package at 293.15 K, 0.1 and 1 MPa: the ideal gas passes 0.06 and
    0.4 % less, and no more than that."""
    assert choked_factor() == pytest.approx(real, rel=within)
    assert choked_factor() < real


@given(PRESSURES, PRESSURES)
def test_flow_turns_with_the_pressures(one, other):
    assert air_flow(1e-6, one, other, 300.0) == -air_flow(1e-6, other, one, 300.0)
    assert mass_flow(1e-6, one, other, 300.0) == -mass_flow(1e-6, other, one, 300.0)


@given(PRESSURES, PRESSURES)
def test_fast_form_is_the_general_one(one, other):
    if abs(one - other) >= LAMINAR_PA:
        expected = mass_flow(1e-6, one, other, 300.0, AIR_GAMMA)
        assert air_flow(1e-6, one, other, 300.0) == pytest.approx(expected, rel=1e-9)


@given(st.floats(3e4, 1e6), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_difference_passes_no_less(high, one, other):
    more, less = sorted((one, other))
    assert air_flow(1e-6, high, high * more, 300.0) >= air_flow(1e-6, high, high * less, 300.0)


@pytest.mark.parametrize("gamma", [1.3, 1.4])
def test_no_step_at_choking(gamma):
    critical = critical_ratio(gamma)
    below, above = flow_function(np.array([critical - 1e-7, critical + 1e-7]), gamma)
    assert below == pytest.approx(above, rel=1e-9)
    assert below == pytest.approx(choked_factor(gamma), rel=1e-12)
    assert flow_function(0.0, gamma) == pytest.approx(choked_factor(gamma), rel=1e-12)


def test_straight_below_the_laminar_limit():
    """Continuous at the limit, half at half of it, nothing at nothing."""
    differences = np.array([0.0, 0.5, 1.0 - 1e-9, 1.0, 1.0 + 1e-9]) * LAMINAR_PA
    found = air_flow(1e-6, 1e5 + differences, 1e5, 300.0)
    assert found[0] == 0.0
    assert found[1] / found[3] == pytest.approx(0.5, rel=1e-3)
    assert found[2] == pytest.approx(found[3], rel=1e-6)
    assert found[4] == pytest.approx(found[3], rel=1e-6)
    assert found[3] == pytest.approx(mass_flow(1e-6, 1e5 + LAMINAR_PA, 1e5, 300.0), rel=1e-9)


def test_arrays_broadcast():
    found = air_flow(np.full((3, 1), 1e-6), 1e5, np.array([9e4, 5e4]), 300.0)
    assert found.shape == (3, 2)
    assert found[2, 1] == pytest.approx(air_flow(1e-6, 1e5, 5e4, 300.0), rel=1e-12)
    whole_numbers = air_flow(1e-6, np.array([100000, 90000]), np.array([90000, 100000]), 300.0)
    assert whole_numbers[0] == pytest.approx(found[0, 0], rel=1e-12)
    assert whole_numbers[1] == pytest.approx(-found[0, 0], rel=1e-12)


@given(st.floats(1e-4, 0.1), st.floats(0.3, 1.0))
def test_hole_and_its_area(diameter, cd):
    assert hole_diameter(hole_area(diameter, cd), cd) == pytest.approx(diameter, rel=1e-12)


@pytest.mark.parametrize("wrong", [1.3, 1.33, 1.67])
def test_a_wrong_gamma_is_caught(wrong):
    """The table of F4 tells the gases apart: these would fail it."""
    assert isentropic_pressure(0.5, wrong) != pytest.approx(0.8430, abs=5e-5)
    assert choked_factor(wrong) != pytest.approx(0.684731, abs=1e-6)


def test_a_wrong_gas_constant_is_caught(monkeypatch):
    monkeypatch.setattr(gas_flow, "AIR_GAS_CONSTANT", 291.0)
    found = air_flow(hole_area(0.002, 0.61), 101325.0, 40e3, 293.15)
    assert found != pytest.approx(0.45834e-3, rel=1e-3)
