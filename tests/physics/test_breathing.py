"""An engine's breathing against worked examples and the ideal cycle followed step by step."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.physics import breathing
from gaugewright.physics.breathing import (
    air_per_second,
    charge_density,
    charge_temperature,
    cycles_per_second,
    efficiency_of,
    residual_share,
    volumetric_efficiency,
)

PRESSURES = st.floats(2e4, 1e5)
RATIOS = st.floats(7.0, 14.0)


def drawn_in_by_steps(manifold, exhaust, ratio, gamma):
    """The share of the displacement a piston fills, found by moving it: burned gas expands in
    small adiabatic steps to the manifold's pressure, and only then does charge follow."""
    pressure, volume, step = exhaust, 1.0, 1e-5
    while pressure > manifold:
        pressure *= 1.0 - gamma * step
        volume *= 1.0 + step
    return (ratio - volume) / (ratio - 1.0)


@pytest.mark.parametrize(("manifold", "ratio"), [(30e3, 10.0), (60e3, 9.0), (90e3, 11.0)])
def test_residual_gas_takes_its_place(manifold, ratio):
    found = volumetric_efficiency(manifold, 101e3, ratio, full=1.0, gamma=1.3)
    assert found == pytest.approx(drawn_in_by_steps(manifold, 101e3, ratio, 1.3), abs=1e-4)


def test_throttled_engine_by_hand():
    """Own arithmetic: (101/35)**(1/1.3) = 2.2597; (10 - 2.2597)/9 = 0.8600; x 0.88."""
    assert volumetric_efficiency(35e3, 101e3, 10.0) == pytest.approx(0.7568, abs=1e-4)
    assert volumetric_efficiency(101e3, 101e3, 10.0) == breathing.FULL_EFFICIENCY


def test_density_of_the_standard_atmosphere():
    """ISO 2533, table 1: 1.225 kg/m3 at 101 325 Pa and 288.15 K."""
    assert charge_density(101325.0, 288.15) == pytest.approx(1.2250, abs=5e-5)


def test_full_cylinder_of_standard_air():
    """W10's arithmetic: 800 rpm of a four-stroke is 6.667 cycles a second; 2 litres of 1.225
    kg/m3 each time is 16.33 g/s; a two-stroke draws twice as much."""
    assert cycles_per_second(800.0) == pytest.approx(20.0 / 3.0)
    found = air_per_second(101325.0, 288.15, 2e-3, 800.0, 1.0)
    assert found == pytest.approx(16.333e-3, rel=1e-4)
    assert air_per_second(101325.0, 288.15, 2e-3, 800.0, 1.0, 2) == pytest.approx(2 * found)


def test_idle_air_is_the_trades():
    """Common practice: about 3 g/s at idle of a two-litre engine; 12 g/s at 2500 rpm."""
    charge = charge_temperature(293.0, 363.0)
    for manifold, speed, grams in ((30e3, 800.0, 3.0), (33e3, 2500.0, 12.0)):
        filled = volumetric_efficiency(manifold, 102e3, 10.0)
        found = air_per_second(manifold, charge, 2e-3, speed, filled)
        assert found * 1e3 == pytest.approx(grams, rel=0.25)


def test_residual_share_at_idle():
    """By volume what the efficiency leaves; by mass less, as burned gas is hotter: 5 to 15 % of
    a throttled engine without overlap (from memory)."""
    by_volume = residual_share(35e3, 101e3, 10.0)
    assert by_volume == pytest.approx(1.0 - 0.9 * 0.86004, abs=1e-4)
    assert 0.05 < residual_share(35e3, 101e3, 10.0, 2.5) < 0.15 < by_volume


def test_nothing_is_drawn_when_residual_gas_fills_all():
    assert volumetric_efficiency(2e3, 101e3, 10.0) == 0.0
    assert residual_share(2e3, 101e3, 10.0) == 1.0


def test_charge_temperature_between_its_ends():
    assert charge_temperature(293.0, 363.0, 0.0) == 293.0
    assert charge_temperature(293.0, 363.0, 1.0) == 363.0


@given(PRESSURES, PRESSURES, RATIOS)
def test_more_manifold_pressure_draws_more(one, other, ratio):
    less, more = sorted((one, other))
    first, second = (volumetric_efficiency(p, 101e3, ratio) for p in (less, more))
    assert first <= second
    assert air_per_second(less, 300.0, 2e-3, 800.0, first) <= air_per_second(
        more, 300.0, 2e-3, 800.0, second
    )


@given(PRESSURES, st.floats(0.3, 1.1), st.floats(500.0, 6000.0), st.sampled_from([2, 4]))
def test_efficiency_and_back(manifold, efficiency, speed, strokes):
    air = air_per_second(manifold, 320.0, 2e-3, speed, efficiency, strokes)
    found = efficiency_of(air, manifold, 320.0, 2e-3, speed, strokes)
    usual = efficiency_of(air, manifold, 320.0, 2e-3, speed)
    assert usual == pytest.approx(found * (strokes / 4) ** -1, rel=1e-12)
    assert found == pytest.approx(efficiency, rel=1e-12)


def test_arrays_broadcast():
    found = volumetric_efficiency(np.array([[3e4], [6e4]]), 101e3, np.array([9.0, 10.0, 11.0]))
    assert found.shape == (2, 3)


def test_a_wrong_exponent_is_caught():
    """The stepped cycle tells gamma 1.4 from 1.3."""
    found = volumetric_efficiency(30e3, 101e3, 10.0, full=1.0, gamma=1.4)
    assert found != pytest.approx(drawn_in_by_steps(30e3, 101e3, 10.0, 1.3), abs=1e-3)
