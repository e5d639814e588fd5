"""Warm-up: coolant to its thermostat, oil behind it and then above it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.plan import planned
from gaugewright.engine.run import run
from gaugewright.engine.sound import sound
from gaugewright.engine.warming import (
    COOLANT_J_PER_K_M3,
    OIL_LAG_S,
    THERMOSTAT_DEGC,
    TO_COOLANT,
    Warmth,
    warmed,
)

COLD = Warmth(20.0, 20.0)


def course(speed_rpm, fuel_w, seconds, start=COLD, step=1.0):
    now, out = start, []
    for _ in range(round(seconds / step)):
        now = warmed(now, step, fuel_w, speed_rpm, 2e-3, 20.0)
        out.append((now.coolant_degc, now.oil_degc))
    return np.array(out).T


def test_coolant_first_then_oil_above_it():
    """Common practice: oil lags coolant in warm-up and then sits 10 to 15 K above it."""
    coolant, oil = course(800.0, 11e3, 4000.0)
    assert np.all(oil[60:300] < coolant[60:300] - 3.0)
    assert THERMOSTAT_DEGC[0] - 1.0 < coolant[-1] < THERMOSTAT_DEGC[1]
    assert 9.0 < oil[-1] - coolant[-1] < 15.5
    quick, hot = course(2500.0, 40e3, 4000.0)
    assert 10.0 < hot[-1] - quick[-1] < 15.5


def test_the_first_kelvins_are_the_heat_over_the_capacity():
    """Energy balance while nothing is lost yet: C dT/dt = q."""
    coolant, _ = course(800.0, 11e3, 10.0)
    rise = TO_COOLANT * 11e3 * 10.0 / (COOLANT_J_PER_K_M3 * 2e-3)
    assert coolant[-1] - 20.0 == pytest.approx(rise, rel=0.01)


def test_steps_of_any_length_agree():
    fine, coarse = course(800.0, 11e3, 300.0), course(800.0, 11e3, 300.0, step=10.0)
    assert coarse[:, -1] == pytest.approx(fine[:, -1], abs=0.5)


def test_standing_it_cools():
    coolant, oil = course(0.0, 0.0, 600.0, Warmth(90.0, 100.0))
    assert coolant[-1] < 90.0
    assert oil[-1] - coolant[-1] == pytest.approx(10.0 * math.exp(-600.0 / OIL_LAG_S), abs=3.0)


def test_oil_pressure_falls_while_the_engine_warms():
    build = Build()
    plan = planned([(90.0, Held())], oil_degc=60.0, coolant_degc=88.0, warms=True)
    found = run(build, sound(build), plan, 20.0, 1, lanes=["oil_gauge_pa", "oil_degc"])
    oil, pressure = found.lanes["oil_degc"], found.lanes["oil_gauge_pa"]
    assert oil[0] == pytest.approx(60.0, abs=0.1)
    assert oil[-1] > 70.0
    falls = np.log(pressure[-200:].mean() / pressure[:200].mean()) / (oil[-1] - oil[0])
    assert -0.032 < falls < -0.018, "idle pressure moves 2.1 to 2.6 % per kelvin (trade)"


def test_held_oil_stays_as_the_plan_says():
    build = Build()
    plan = planned([(3.0, Held(oil_degc=70.0)), (3.0, Held(oil_degc=74.0))])
    found = run(build, sound(build), plan, 100.0, 1, lanes=["oil_degc", "coolant_degc"])
    oil = found.lanes["oil_degc"]
    assert oil[50] == pytest.approx(70.0, abs=0.01)
    assert oil[-50] == pytest.approx(74.0, abs=0.01)
    assert oil[300] == pytest.approx(72.0, abs=0.5)
    assert oil - found.lanes["coolant_degc"] == pytest.approx(12.0)
