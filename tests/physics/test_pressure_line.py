"""A hose's delay and ringing against published examples and the trade's numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics.pressure_line import (
    AIR_VISCOSITY_PAS,
    OIL_BULK_PA,
    bore_area,
    bulk_with_gas,
    damping_ratio,
    delay,
    filling_time,
    first_resonance,
    gas_compliance,
    inertance,
    line_compliance,
    liquid_wave_speed,
    lumped_resonance,
    quarter_wave,
    resistance,
    response,
    shear_number,
    sound_speed,
    standing_column,
)

ROOM = sound_speed(293.15)
CATHETER = (1.0, 0.92e-3)
WATER, WATER_PAS = 1000.0, 1.0e-3
DIAPHRAGM = 1 / 0.49e15


def test_speed_of_sound():
    """ISO 2533, table 1: 340.294 m/s at 288.15 K."""
    assert pytest.approx(343.2, abs=0.1) == ROOM
    assert sound_speed(288.15) == pytest.approx(340.294, abs=5e-4)


def test_air_hose_of_the_trade():
    """Common practice, no source (computed): 2.9 ms a metre, 14 degrees at 800 rpm, 86 Hz."""
    late = delay(1.0, ROOM)
    assert late * 1e3 == pytest.approx(2.9, abs=0.05)
    assert late * 800 * 6 == pytest.approx(14.0, abs=0.5)
    assert quarter_wave(1.0, ROOM) == pytest.approx(86.0, abs=0.5)


def test_oil_hose_of_the_trade():
    """Common practice, no source (computed): 1 m of 4 mm bore with 0.1 mL of air at 200 kPa
    absolute rings near 32 Hz; 30 cm of oil standing is 2.5 kPa."""
    bubble = gas_compliance(1e-7, 200e3)
    oil = liquid_wave_speed(870.0)
    assert lumped_resonance(inertance(1.0, 0.004, 870.0), bubble) == pytest.approx(32.0, abs=0.5)
    own = line_compliance(1.0, 0.004, 870.0, oil)
    assert first_resonance(1.0, oil, own, bubble) == pytest.approx(32.0, abs=0.5)
    hot, cold = standing_column(0.3, 820.0), standing_column(0.3, 870.0)
    assert hot < 2.5e3 < cold
    assert cold == pytest.approx(2.5e3, abs=100)


def test_water_filled_catheter_of_the_textbook():
    """Medical Instrumentation, example 7.1: 1 m of 0.46 mm radius on a sensor of 0.49e15 N/m5;
    a 5 mm bubble.  Lecture slides mark its resonances at log f = 1.95 and 1.34 (read); 91 and
    22 Hz, damping 0.033 and 0.137 are from memory.  The bubble there is isothermal."""
    mass, drag = inertance(*CATHETER, WATER), resistance(*CATHETER, WATER_PAS)
    bubble = gas_compliance(0.005 * bore_area(0.92e-3), 101325.0, 1.0)
    both = DIAPHRAGM + bubble
    assert np.log10(lumped_resonance(mass, DIAPHRAGM)) == pytest.approx(1.95, abs=0.01)
    assert np.log10(lumped_resonance(mass, both)) == pytest.approx(1.34, abs=0.005)
    assert damping_ratio(drag, mass, DIAPHRAGM) == pytest.approx(0.033, abs=5e-4)
    assert damping_ratio(drag, mass, both) == pytest.approx(0.137, abs=1e-3)


def test_an_adiabatic_bubble_is_caught():
    """The same example tells gamma from 1: 25.8 instead of 22 Hz."""
    bubble = gas_compliance(0.005 * bore_area(0.92e-3), 101325.0)
    found = lumped_resonance(inertance(*CATHETER, WATER), DIAPHRAGM + bubble)
    assert np.log10(found) != pytest.approx(1.34, abs=0.005)


def test_first_resonance_meets_both_limits():
    oil = liquid_wave_speed(870.0)
    own = line_compliance(1.0, 0.004, 870.0, oil)
    assert first_resonance(1.0, oil, own, 0.0) == pytest.approx(quarter_wave(1.0, oil), rel=1e-9)
    soft = lumped_resonance(inertance(1.0, 0.004, 870.0), 1e4 * own)
    assert first_resonance(1.0, oil, own, 1e4 * own) == pytest.approx(soft, rel=1e-4)


@given(st.floats(0.01, 1000.0))
def test_first_resonance_stands_in_the_tube(softness):
    """x tan x = C_line / C_end, the textbook's condition, at whatever it finds; it never
    exceeds the quarter wave, and the line's own filling always counts for a third."""
    phase = 2 * np.pi * first_resonance(1.0, 1300.0, 1e-14, softness * 1e-14) / 1300.0
    assert phase * np.tan(phase) == pytest.approx(1 / softness, rel=1e-6)
    assert phase <= np.pi / 2
    third = 1 / np.sqrt(softness + 1 / 3)
    assert phase == pytest.approx(third, rel=0.11)


def test_wall_and_gas_slow_the_wave():
    """Own evaluation: sqrt(1.5e9/870) = 1313 m/s; a wall as soft as the oil takes 1/sqrt 2; 1 %
    of air at 200 kPa, 1/(0.01/2e5 + 0.99/1.5e9) = 19.74 MPa."""
    assert liquid_wave_speed(870.0) == pytest.approx(1313.1, abs=0.1)
    soft = liquid_wave_speed(870.0, OIL_BULK_PA, 0.004, 0.001, 4 * OIL_BULK_PA)
    assert soft == pytest.approx(1313.1 / np.sqrt(2), abs=0.1)
    assert bulk_with_gas(0.01, 200e3) == pytest.approx(19.74e6, rel=1e-3)
    assert bulk_with_gas(0.0, 200e3) == OIL_BULK_PA


def test_bubble_and_mixture_yield_alike():
    """The same gas, spread or in one pocket, adds the same compliance to a line."""
    mixed = liquid_wave_speed(870.0, bulk_with_gas(0.01, 200e3))
    spread = line_compliance(1.0, 0.004, 870.0, mixed)
    apart = gas_compliance(0.01 * bore_area(0.004), 200e3, 1.0)
    rest = 0.99 * line_compliance(1.0, 0.004, 870.0, liquid_wave_speed(870.0))
    assert spread == pytest.approx(apart + rest, rel=1e-9)


def test_laminar_resistance():
    """Poiseuille by the wall's shear: dp A = tau pi d l with tau = 8 mu v / d."""
    area, speed = bore_area(0.004), 0.1
    shear = 8 * 0.01 * speed / 0.004
    difference = shear * np.pi * 0.004 * 1.0 / area
    found = resistance(1.0, 0.004, 0.01) * speed * area
    assert found == pytest.approx(difference, rel=1e-12)


def test_shear_number_by_hand():
    """0.002 sqrt(2 pi 32 / 1e-5) = 8.97."""
    assert shear_number(0.004, 32.0, 1e-5) == pytest.approx(8.97, abs=0.005)


@given(st.floats(0.01, 2.0))
def test_response_is_the_second_order_systems(damping):
    """At rest 1; at resonance 1/(2 zeta) and a quarter turn late; far above, 1/u**2."""
    assert response(0.0, 30.0, damping) == 1.0
    assert abs(response(30.0, 30.0, damping)) == pytest.approx(0.5 / damping, rel=1e-9)
    assert np.angle(response(30.0, 30.0, damping)) == pytest.approx(-np.pi / 2, rel=1e-9)
    assert abs(response(3e5, 30.0, damping)) == pytest.approx(1e-8, rel=1e-3)


def test_filling_time_of_a_snubber():
    """10 cm of 0.5 mm bore into 2 mL of air at atmosphere: R C by hand, 17 ms."""
    drag = 128 * AIR_VISCOSITY_PAS * 0.1 / (np.pi * 0.5e-3**4)
    spring = 2e-6 / (1.4 * 101325.0)
    found = filling_time(resistance(0.1, 0.5e-3, AIR_VISCOSITY_PAS), gas_compliance(2e-6, 101325.0))
    assert found == pytest.approx(drag * spring, rel=1e-12)
    assert found == pytest.approx(0.0167, abs=1e-4)


def test_viscosity_of_air():
    """ISO 2533, table 1: 1.7894e-5 Pa s at 288.15 K, carried to 293.15 K by Sutherland's
    T**1.5 / (T + 110.4)."""
    grown = (293.15 / 288.15) ** 1.5 * (288.15 + 110.4) / (293.15 + 110.4)
    assert pytest.approx(1.7894e-5 * grown, rel=5e-4) == AIR_VISCOSITY_PAS


def test_a_wrong_gamma_is_caught():
    assert sound_speed(288.15, gamma=1.33) != pytest.approx(340.294, abs=5e-4)
