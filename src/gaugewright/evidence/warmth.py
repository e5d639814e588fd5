"""How warm the oil was in each condition, and what that does to its pressure.

At fixed speed and below the relief valve, oil pressure goes with viscosity to the power 0.9,
standard uncertainty 0.15 (judgement).  Oil unknown but coolant known and warm: coolant + 12 K,
standard 5 K (judgement).  Neither: two stretches differ by 0 K, standard 0.5 K for each minute
between them (judgement).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.held import Held
from gaugewright.sensing.shared import plus
from gaugewright.sensing.types import Gradient

Floats = npt.NDArray[np.float64]

EXPONENT, EXPONENT_ERROR = 0.9, 0.15
EXPONENT_BLOCK = "viscosity exponent"
ABOVE_COOLANT, ABOVE_COOLANT_ERROR = 12.0, 5.0
COOLANT_BLOCK = "oil above coolant"
WARM_COOLANT_DEGC = 70.0
RATE_ERROR = 0.5
"""Kelvin for each minute between two stretches of unknown temperature."""
MOST_UNKNOWN = 10.0
"""Kelvin, standard: two visits of unknown temperature differ by no more than this (J)."""
ASSUMED_DEGC = 90.0
STEP_K = 0.5

Viscosity = Callable[[float], float]
"""Kinematic viscosity in cSt at a temperature in degC."""


@dataclass(frozen=True)
class Warmth:
    """Oil temperature of one condition; `known` False where only differences mean anything."""

    degc: float
    variance: float
    gradient: Gradient
    known: bool
    flags: tuple[str, ...] = ()


def rate_block(visit: str) -> str:
    """The shared block that holds a visit's unknown warming rate, K/min."""
    return f"warming: {visit}"


def visit_block(visit: str) -> str:
    """The shared block that holds how far a visit's unknown temperature is from the others'."""
    return f"warmth: {visit}"


def warmth_of(mates: list[Held], noted: list[float]) -> Warmth | None:
    """The oil temperature of one condition from its own sources; None where there is none."""
    oil = [h for h in mates if h.quantity == "oil-temperature"]
    if oil:
        best = min(oil, key=lambda h: h.by_hand)
        return Warmth(best.level.value, float(best.level.scale[0, 0]), best.gradient, True)
    if noted:
        return Warmth(float(np.mean(noted)), 1.0 / 3.0, {}, True)
    coolant = [h for h in mates if h.quantity == "coolant-temperature"]
    warm = [h for h in coolant if h.level.value >= WARM_COOLANT_DEGC]
    if not warm:
        return None
    level = warm[0].level
    gradient = plus(warm[0].gradient, {COOLANT_BLOCK: np.ones(1)})
    flags = ("oil-temperature-from-coolant",)
    return Warmth(level.value + ABOVE_COOLANT, float(level.scale[0, 0]), gradient, True, flags)


def unknown_warmth(visit: str, minutes: float, nearest: Warmth | None, apart: float) -> Warmth:
    """The temperature of a stretch that nobody measured.

    With a measured neighbour it is the neighbour's, plus an unknown rate times the minutes
    `apart`; without one only differences count, on a common unknown level.
    """
    if nearest is not None:
        gradient = plus(nearest.gradient, {rate_block(visit): np.array([apart])})
        flags = (*nearest.flags, "oil-temperature-from-neighbour")
        return replace(nearest, gradient=gradient, flags=flags)
    gradient = {rate_block(visit): np.array([minutes]), visit_block(visit): np.ones(1)}
    return Warmth(ASSUMED_DEGC, 0.0, gradient, False, ("oil-temperature-unknown",))


def to_temperature(held: Held, warmth: Warmth, base: float, target: float, oil: Viscosity) -> Held:
    """An oil-pressure level brought to another oil temperature.

    `base` is the pressure that follows viscosity: the bearings' where known, else the gauge's.
    """
    if held.quantity != "oil-pressure":
        return held
    ratio = oil(target) / oil(warmth.degc)
    change = base * (ratio**EXPONENT - 1.0)
    steep = base * ratio**EXPONENT * EXPONENT * steepness(oil, warmth.degc)
    gradient = plus(held.gradient, warmth.gradient, steep)
    gradient = plus(gradient, {EXPONENT_BLOCK: np.array([base * ratio**EXPONENT * np.log(ratio)])})
    scale = held.level.scale.copy()
    scale[0, 0] += steep**2 * warmth.variance
    level = replace(held.level, value=held.level.value + change, scale=scale)
    return replace(held, level=level, gradient=gradient)


def steepness(oil: Viscosity, degc: float) -> float:
    """How fast viscosity falls: -d ln(viscosity)/dT in 1/K."""
    return float(np.log(oil(degc - STEP_K) / oil(degc + STEP_K)) / (2 * STEP_K))
