"""What the maker prints for this engine: limits and the lamp's switch."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.steady import solve

LEAST_SHARE = 0.68
"""A maker's least pressure over what the engine is meant to have (judgement: makers leave room
for wear)."""
MOST_SHARE = 1.9
STATED_DEGC = (80.0, 90.0, 100.0)
BAR_PA = 1e5
PSI_PER_BAR = 14.5038
SOURCE = "workshop manual, lubrication"
SWITCH_BAR = 0.08
"""Half-width of a switch's closing pressure, as catalogues state it (common practice)."""


def limits(
    build: Build, meant: Engine, speeds_rpm: tuple[float, ...], rng: np.random.Generator
) -> list[dict[str, Any]]:
    """The maker's limits as tables of job.toml: hot idle, these speeds, the crankcase at idle.

    Parameters: the engine as its maker meant it.
    """
    stated = STATED_DEGC[int(rng.integers(len(STATED_DEGC)))]
    holds = [Held(oil_degc=stated), *(Held(speed_rpm=s, oil_degc=stated) for s in speeds_rpm)]
    solved = solve(build, meant, holds)
    idle = float(np.asarray(meant.air.idle_rpm))
    at = zip((idle, *speeds_rpm), solved.gauge_pa[:, 0], strict=True)
    printed = [_oil_limit(speed, float(gauge), stated, speed == idle) for speed, gauge in at]
    return [*printed, _crankcase_limit(idle, float(solved.crankcase_over_pa[0, 0]))]


def _oil_limit(speed_rpm: float, gauge_pa: float, degc: float, idle: bool) -> dict[str, Any]:
    least = max(0.2, math.floor(10.0 * LEAST_SHARE * gauge_pa / BAR_PA) / 10.0)
    most = math.ceil(2.0 * MOST_SHARE * gauge_pa / BAR_PA) / 2.0
    return {
        "name": "hot idle" if idle else f"at {speed_rpm:.0f} rpm",
        "quantity": "oil-pressure",
        "min": f"{least:.1f} bar",
        "max": f"{most:.1f} bar",
        "speed": f"{speed_rpm:.0f} rpm",
        "speed_tolerance": "50 rpm" if idle else "100 rpm",
        "oil_temperature": f"{degc:.0f} degC",
        "printed": f"{least:.1f} bar / {least * PSI_PER_BAR:.0f} psi",
        "source": SOURCE,
    }


def _crankcase_limit(idle_rpm: float, over_pa: float) -> dict[str, Any]:
    low = math.floor(over_pa / 500.0 - 3.0) / 2.0
    return {
        "name": "crankcase at idle",
        "quantity": "crankcase-pressure",
        "min": f"{low:.1f} kPa",
        "max": "1.0 kPa",
        "speed": f"{idle_rpm:.0f} rpm",
        "speed_tolerance": "50 rpm",
        "source": "workshop manual, crankcase ventilation",
    }


def switch(meant: Engine) -> dict[str, Any]:
    """The lamp's switch as its catalogue has it."""
    closes = float(np.asarray(meant.indication.switch_pa)) / BAR_PA
    return {
        "name": "oil lamp",
        "quantity": "oil-pressure",
        "closes_below": f"{closes:.2f} bar",
        "tolerance": f"{SWITCH_BAR:.2f} bar",
    }
