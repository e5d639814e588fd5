"""Gas through a hole: the flux maximised over the throat's pressure along an isentrope.

No closed form for the throat: the isentrope is integrated (perfect gas) or taken from an equation
of state of real air, and the flow is the largest flux between the pressures on both sides.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from fluids.safety_valve import API520_A_g
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from gaugewright.physics import gas_flow
from validation.physics.compared import Compared, each

UNIVERSAL = 8.31446261815324
AIR_MOLAR = 0.0289652
"""kg/mol, dry air of today; ISO 2533 has 0.0289644, from which flows differ by 5e-6."""
AIR = UNIVERSAL / AIR_MOLAR
SEA, ROOM = 101325.0, 293.15
HOLE = 0.61 * np.pi * 0.001**2
DOWNSTREAM = [101300.0, 101225.0, 100825.0, 99000.0, 95000.0, 90000.0, 80000.0, 70000.0]
DOWNSTREAM += [60000.0, 54000.0, 53000.0, 40000.0, 20000.0, 1000.0]
State = Callable[[float], tuple[float, float]]
"""Pressure in the throat -> (density, velocity)."""


def flux(state: State, from_pa: float, to_pa: float) -> float:
    """The largest mass flux that any throat between both pressures lets through."""

    def lost(throat_pa: float) -> float:
        density, velocity = state(throat_pa)
        return -density * velocity

    found = minimize_scalar(
        lost, bounds=(to_pa, from_pa), method="bounded", options={"xatol": 1e-4}
    )
    return max(-float(found.fun), -lost(to_pa))


def perfect(from_pa: float, temperature_k: float, gamma: float, constant: float) -> State:
    """The isentrope of a perfect gas by integrating cp dT = dp/rho downwards in pressure."""
    heat = constant * gamma / (gamma - 1.0)

    def slope(_: float, state: Any) -> list[float]:
        return [constant / heat * state[0]]

    end = np.log(500.0 / from_pa)
    run = solve_ivp(slope, (0.0, end), [temperature_k], rtol=1e-12, atol=1e-10, dense_output=True)

    def state(throat_pa: float) -> tuple[float, float]:
        throat_k = float(run.sol(np.log(throat_pa / from_pa))[0])
        drop = max(heat * (temperature_k - throat_k), 0.0)
        return throat_pa / (constant * throat_k), float(np.sqrt(2.0 * drop))

    return state


def real(from_pa: float, temperature_k: float) -> State:
    """The isentrope of real air, from CoolProp's equation of state."""
    import CoolProp

    air = CoolProp.AbstractState("HEOS", "Air")
    air.specify_phase(CoolProp.iphase_gas)
    air.update(CoolProp.PT_INPUTS, from_pa, temperature_k)
    entropy, enthalpy = air.smass(), air.hmass()

    def state(throat_pa: float) -> tuple[float, float]:
        air.update(CoolProp.PSmass_INPUTS, throat_pa, entropy)
        return air.rhomass(), float(np.sqrt(2.0 * max(enthalpy - air.hmass(), 0.0)))

    return state


def _kilopascals(values: list[float]) -> list[str]:
    return [f"to {value / 1000:g} kPa" for value in values]


def through_a_hole() -> list[Compared]:
    """The engine's air flow against the maximised flux, choked and not, both directions."""
    state = perfect(SEA, ROOM, 1.4, AIR)
    other = [HOLE * flux(state, SEA, to) for to in DOWNSTREAM]
    names, to = _kilopascals(DOWNSTREAM), np.array(DOWNSTREAM)
    there = gas_flow.air_flow(HOLE, SEA, to, ROOM)
    back = gas_flow.air_flow(HOLE, to, SEA, ROOM)
    forth = each("air, 101.325 kPa, 2 mm", names, there, other, 3e-5)
    return forth + each("backwards", names, -np.asarray(back), other, 3e-5)


def any_gamma() -> list[Compared]:
    """The general form for three gases and two temperatures."""
    rows: list[Compared] = []
    for gamma, temperature_k in [(1.4, 800.0), (1.33, 1100.0), (1.3, 400.0)]:
        state = perfect(3e5, temperature_k, gamma, AIR)
        to = [2.9e5, 2.4e5, 1.7e5, 1.5e5, 0.5e5]
        other = [1e-4 * flux(state, 3e5, p) for p in to]
        ours = gas_flow.mass_flow(1e-4, 3e5, np.array(to), temperature_k, gamma, AIR)
        rows += each(f"gamma {gamma}, 300 kPa", _kilopascals(to), ours, other, 1e-8)
    return rows


@cache
def _real_flows(from_pa: float, to: tuple[float, ...]) -> tuple[float, ...]:
    state = real(from_pa, ROOM)
    return tuple(HOLE * flux(state, from_pa, p) for p in to)


def real_air() -> list[Compared]:
    """The ideal formula against real air at an engine's pressures: the gas's own difference."""
    rows: list[Compared] = []
    for from_pa in (50e3, SEA, 300e3):
        to = tuple(from_pa * ratio for ratio in (0.98, 0.9, 0.75, 0.6, 0.45, 0.2))
        ours = gas_flow.air_flow(HOLE, from_pa, np.array(to), ROOM)
        names = [f"to {p / from_pa:.2f}" for p in to]
        rows += each(f"{from_pa / 1000:g} kPa", names, ours, _real_flows(from_pa, to), 2e-3)
    return rows


def relief_rule() -> list[Compared]:
    """The area that a relief-valve rule (API 520, in fluids) finds for our flow: the hole's.

    Its constants are printed with three and four digits: 0.4 %.
    """
    rows = []
    for to in (95e3, 80e3, 65e3, 40e3, 20e3):
        flow = float(gas_flow.air_flow(HOLE, SEA, to, ROOM))
        area = API520_A_g(
            m=flow, T=ROOM, Z=1.0, MW=AIR_MOLAR * 1000, k=1.4, P1=SEA, P2=to, Kd=1.0, Kb=1.0
        )
        rows.append(Compared(f"area for the flow to {to / 1000:g} kPa", HOLE, area, 4e-3))
    return rows


def compare() -> list[Compared]:
    """All of it."""
    return [*through_a_hole(), *any_gamma(), *real_air(), *relief_rule()]
