"""Manifold and crankcase as two rooms that fill and empty: one implicit step of both.

Opened caps and regulators make them stiff: an explicit step of one firing would overshoot many
times over.  The step is the implicit Euler formula, its equations solved by Newton's method;
the flows are asked for at three states at once, which gives the slopes.  While little changes,
one iteration is as good as the whole solution.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from gaugewright.engine.air_path import AirFlows
from gaugewright.engine.parameters import Engine
from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Floats

MANIFOLD_STEP_PA, CRANKCASE_STEP_PA = 20.0, 2.0
"""Differences taken for the slopes."""
MANIFOLD_MILD_PA, CRANKCASE_MILD_PA = 1500.0, 25.0
"""A step below both is taken from one iteration alone."""
CLOSE_SHARE = 0.01
"""Once more than one was needed, the last must be below this share of them."""
ITERATIONS = 40
LEAST_PA = 3e3
_MANIFOLD_STEPS = np.array([0.0, MANIFOLD_STEP_PA, 0.0])
_CRANKCASE_STEPS = np.array([0.0, 0.0, CRANKCASE_STEP_PA])

FlowsAt = Callable[[Floats, Floats], AirFlows]


@dataclass(frozen=True)
class Rooms:
    """Mass held for each pascal, kg/Pa: m = p V / (R T)."""

    manifold_kg_pa: float
    crankcase_kg_pa: float


def rooms(engine: Engine) -> Rooms:
    """The rooms of an engine, at their own temperatures."""
    air, case = engine.air, engine.crankcase
    return Rooms(
        float(air.manifold_m3) / (AIR_GAS_CONSTANT * float(air.charge_k)),
        float(case.volume_m3) / (AIR_GAS_CONSTANT * float(case.gas_k)),
    )


@dataclass(frozen=True)
class Filled:
    """Pressures after a step, Pa absolute, and the flows at its beginning."""

    manifold_pa: float
    crankcase_pa: float
    flows: AirFlows


def filled(
    flows_at: FlowsAt, made: Rooms, manifold_pa: float, crankcase_pa: float, seconds: float
) -> Filled:
    """What are both pressures some seconds later?

    Source: C dp/dt = m in - m out for an ideal gas at constant temperature; a Newton step that
    would lead to a longer one is halved (natural monotonicity).
    """
    first: AirFlows | None = None
    keeps = (made.manifold_kg_pa / seconds, made.crankcase_kg_pa / seconds)
    base, step, size, share = (manifold_pa, crankcase_pa), (0.0, 0.0), np.inf, 1.0
    for turn in range(ITERATIONS):
        manifold = max(base[0] + share * step[0], LEAST_PA)
        crankcase = max(base[1] + share * step[1], LEAST_PA)
        found = flows_at(manifold + _MANIFOLD_STEPS, crankcase + _CRANKCASE_STEPS)
        first = found if first is None else first
        gone = (keeps[0] * (manifold - manifold_pa), keeps[1] * (crankcase - crankcase_pa))
        new = _newton(found.manifold_balance, found.crankcase_balance, keeps, gone)
        reach = max(abs(new[0]) / MANIFOLD_MILD_PA, abs(new[1]) / CRANKCASE_MILD_PA)
        if turn and reach > size:
            share *= 0.5
            continue
        base, step, size, share = (manifold, crankcase), new, reach, 1.0
        if reach < (CLOSE_SHARE if turn else 1.0):
            break
    assert first is not None
    return Filled(max(base[0] + step[0], LEAST_PA), max(base[1] + step[1], LEAST_PA), first)


def _newton(
    into_manifold: Floats,
    into_crankcase: Floats,
    keeps: tuple[float, float],
    gone: tuple[float, float],
) -> tuple[float, float]:
    """One Newton step of both pressures; balances at the state and a little beside it."""
    m0, m1, m2 = into_manifold.tolist()
    c0, c1, c2 = into_crankcase.tolist()
    a, b = keeps[0] - (m1 - m0) / MANIFOLD_STEP_PA, (m0 - m2) / CRANKCASE_STEP_PA
    c, d = (c0 - c1) / MANIFOLD_STEP_PA, keeps[1] - (c2 - c0) / CRANKCASE_STEP_PA
    left, right = m0 - gone[0], c0 - gone[1]
    whole = a * d - b * c
    return (left * d - b * right) / whole, (a * right - c * left) / whole
