"""A sound engine as any one of its kind may be, and the one its maker had in mind."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.sound import sound
from gaugewright.examples.practice.setting import Setting

SPREAD: Mapping[str, float] = {
    "oil.bearing_m3": 0.07,
    "oil.slip_m3": 0.10,
    "oil.jet_m2": 0.05,
    "oil.pick_up_pa_s2_m6": 0.10,
    "oil.filter_m3": 0.15,
    "oil.relief_pa": 0.03,
    "oil.thinned": 0.04,
    "oil.level_m": 0.05,
    "crankcase.ring_m2": 0.15,
    "crankcase.leak_m2": 0.30,
    "crankcase.vent_m2": 0.05,
    "crankcase.set_pa": 0.08,
    "air.breathing": 0.015,
    "air.friction": 0.04,
    "air.burning": 0.02,
}
"""How far sound engines of one make differ: standard deviation as a share (judgement)."""
TRIM_SPREAD = 0.015
"""Standard deviation of the trim that a sound engine settles to (judgement)."""
IDLE_RPM = (680.0, 880.0)
STEP_RPM = (2150.0, 2900.0)
SWITCH_PA = (25e3, 50e3)
"""Published switches close at 15 to 55 kPa."""


def as_meant(build: Build, setting: Setting, rng: np.random.Generator) -> Engine:
    """The engine its maker had in mind: sound, and of no spread."""
    figures = {
        "air.displacement_m3": setting.litres * 1e-3,
        "air.barometer_pa": setting.barometer_pa,
        "air.idle_rpm": 10.0 * round(rng.uniform(*IDLE_RPM) / 10.0),
        "oil.step_rpm": 50.0 * round(rng.uniform(*STEP_RPM) / 50.0),
        "indication.switch_pa": 5e3 * round(rng.uniform(*SWITCH_PA) / 5e3),
    }
    return sound(build, figures)


def as_made(meant: Engine, rng: np.random.Generator) -> Engine:
    """One sound engine of that kind: every number a little off what was meant."""
    off = {
        name: np.exp(share * rng.normal()) * value(meant, name) for name, share in SPREAD.items()
    }
    return changed(meant, {**off, "air.trim_bias": TRIM_SPREAD * rng.normal()})
