"""What a pump delivers, against worked examples."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import pump

INCH = 0.0254
CUBIC_INCH = INCH**3
GALLON_PER_MINUTE = 231 * CUBIC_INCH / 60
"""A US gallon is 231 cubic inches by definition."""


def test_external_gear_in_inches():
    """P1: fluid-power textbook, example 5-1: 3.927 in3/rev, 30.60 gpm; it rounds to 91.3 %."""
    displacement = pump.external_gear_displacement(3 * INCH, 2 * INCH, 1 * INCH)
    assert displacement / CUBIC_INCH == pytest.approx(3.927, rel=1e-3)
    theory = pump.theoretical_flow(displacement, 1800.0) / GALLON_PER_MINUTE
    assert theory == pytest.approx(30.60, rel=1e-3)
    assert 100 * pump.volumetric_efficiency(28.0, theory) == pytest.approx(91.3, abs=0.3)


def test_external_gear_in_millimetres():
    """P2: the same, example 5-2: 6.136e-5 m3/rev and 55.2 L/min at 90 %."""
    displacement = pump.external_gear_displacement(0.075, 0.050, 0.025)
    assert displacement == pytest.approx(6.136e-5, abs=5e-9)
    delivered = 0.90 * pump.theoretical_flow(displacement, 1000.0)
    assert delivered * 60e3 == pytest.approx(55.2, rel=2e-3)


def test_lobes_of_motor_oil():
    """P3: fluid-mechanics textbook, example 14-4: 0.45 cm3 a lobe, 2 lobes each half turn."""
    displacement = pump.lobe_displacement(0.45e-6, 2 / 0.5)
    assert pump.theoretical_flow(displacement, 900.0) * 60e6 == pytest.approx(1620.0, rel=1e-12)


def test_worn_pump():
    """P4: training page on a worn pump: 1.800 in3/rev, 85.5 %, slip 1.69 gpm."""
    theory = 11.69 * GALLON_PER_MINUTE
    displacement = pump.displacement_of(theory, 1500.0)
    assert displacement / CUBIC_INCH == pytest.approx(1.800, abs=5e-4)
    assert 100 * pump.volumetric_efficiency(10.0, 11.69) == pytest.approx(85.5, abs=0.05)
    conductance = 1.69 * GALLON_PER_MINUTE * 0.030 / 7e6
    left = pump.delivered_flow(displacement, 1500.0, conductance, 7e6, 0.030)
    assert left / GALLON_PER_MINUTE == pytest.approx(10.0, rel=1e-12)


@given(st.floats(1e-13, 1e-11), st.floats(1e3, 1e6), st.floats(0.002, 1.0))
def test_half_the_viscosity_is_twice_the_slip(conductance, difference, viscosity):
    """P5: laminar gaps, open reference guide: slip doubles, delivery falls by the old slip."""
    slip = pump.slip_flow(conductance, difference, viscosity)
    assert pump.slip_flow(conductance, difference, viscosity / 2) == pytest.approx(2 * slip)
    before, after = (
        pump.delivered_flow(1e-5, 3000.0, conductance, difference, mu)
        for mu in (viscosity, viscosity / 2)
    )
    assert before - after == pytest.approx(slip, rel=1e-6, abs=1e-15)


def test_chambers_are_lobes_where_they_empty_wholly():
    """P3 again, as chambers of 45 mm2 by 10 mm that close to nothing: 1.8 cm3/rev."""
    assert pump.chamber_displacement(4, 0.010, 45e-6, 0.0) == pytest.approx(1.8e-6, rel=1e-12)


def test_chambers_of_a_ring_with_vanes():
    """A circle of radius R turning in one offset by e holds between its vanes the area that
    geometry gives; many thin vanes tend to 2 pi D e b (handbook form, from memory)."""
    radius, offset, rotor, width, vanes = 0.030, 0.003, 0.026, 0.020, 120

    def chamber(middle):
        angle = np.linspace(middle - math.pi / vanes, middle + math.pi / vanes, 401)
        reach = offset * np.cos(angle) + np.sqrt(radius**2 - (offset * np.sin(angle)) ** 2)
        return np.trapezoid(0.5 * (reach**2 - rotor**2), angle)

    found = pump.chamber_displacement(vanes, width, chamber(0.0), chamber(math.pi))
    assert found == pytest.approx(2 * math.pi * 2 * radius * offset * width, rel=1e-3)


def test_the_ring_formula_is_no_gerotors():
    """A calculator's page uses 2 pi (Re^2 - Ri^2) b for gerotors: it disregards the chambers."""
    chambers = pump.chamber_displacement(4, 0.010, 80e-6, 10e-6)
    ring = 2 * math.pi * (0.030**2 - 0.020**2) * 0.010
    assert ring > 5 * chambers


@given(st.floats(1e-6, 1e-4), st.floats(1e4, 1e6), st.floats(100.0, 6000.0))
def test_the_drive_gives_what_the_oil_takes(displacement, difference, speed_rpm):
    """Torque times angular speed is pressure times flow: energy, whatever the pump."""
    given_w = pump.driving_torque(displacement, difference) * 2 * math.pi * speed_rpm / 60
    taken_w = difference * pump.theoretical_flow(displacement, speed_rpm)
    assert given_w == pytest.approx(taken_w, rel=1e-9)
    assert pump.driving_torque(displacement, difference, 0.5) * math.pi == pytest.approx(
        displacement * difference, rel=1e-9
    )


def test_pumps_in_arrays():
    found = pump.delivered_flow(
        np.array([1e-5, 2e-5]), np.array([[600.0], [3000.0]]), 1e-12, 3e5, 0.01
    )
    assert found.shape == (2, 2)
    assert found[1, 0] == pump.delivered_flow(1e-5, 3000.0, 1e-12, 3e5, 0.01)


def test_a_wrong_quarter_is_caught(monkeypatch):
    """With 3.1 in place of pi neither book's displacement comes out."""
    monkeypatch.setattr(pump.math, "pi", 3.1)
    found = pump.external_gear_displacement(3.0, 2.0, 1.0)
    assert abs(found - 3.927) > 3.927e-3
