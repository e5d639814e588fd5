"""The virtual engine in time: a minute at 20 kHz with every lane, and cheap runs for practice.

Prints seconds, and the ratio to two plain ways with the same flow formulas over a short stretch,
for four slow states (manifold, crankcase, its gas, speed) of a smooth engine without governor,
trims, oil, chance or pulses: stepped at every sample in Python, and by an adaptive solver.
Goals: a minute at 20 kHz in at most 10 s; 15 s at 2 kHz of four lanes in at most 1 s.
"""

from __future__ import annotations

import sys
from collections.abc import Callable

import numpy as np
from _common import medians, seconds
from scipy.integrate import solve_ivp

from gaugewright.engine import air_path, crankshaft, oil_circuit, torque
from gaugewright.engine.build import Build
from gaugewright.engine.filling import rooms
from gaugewright.engine.held import Held
from gaugewright.engine.plan import planned
from gaugewright.engine.resting import rest
from gaugewright.engine.run import run
from gaugewright.engine.sound import sound
from gaugewright.physics.numbers import Floats

BUILD = Build()
ENGINE = sound(BUILD)
CAP = Held(did=frozenset({"filler-cap-off"}))
MINUTE = planned(
    [
        (3.0, "engine-off"),
        (7.0, "start"),
        (15.0, Held()),
        (10.0, CAP),
        (15.0, Held(speed_rpm=2500.0)),
        (10.0, Held()),
    ]
)
CHEAP = planned([(8.0, Held()), (7.0, CAP)])
CHEAP_LANES = ("oil_gauge_pa", "crankcase_pa", "manifold_pa", "speed_rpm")
STRETCH_S, PART = 2.0, 50.0
GOAL_S, CHEAP_GOAL_S, ROUNDS = 10.0, 1.0, 3


def minute() -> None:
    """60 s at 20 kHz, every lane."""
    run(BUILD, ENGINE, MINUTE, 20e3, 1)


def cheap() -> None:
    """15 s at 2 kHz, four lanes."""
    run(BUILD, ENGINE, CHEAP, 2e3, 1, lanes=CHEAP_LANES)


def slow_alone() -> None:
    """The slow states of a short stretch and nothing drawn."""
    run(BUILD, ENGINE, planned([(STRETCH_S, CAP)]), 20.0, 1, lanes=())


def smooth() -> tuple[Callable[[float, Floats], Floats], Floats]:
    """The slope of the four states, and where they begin: idle, its cap just taken off."""
    at = rest(BUILD, ENGINE, Held())
    start = [at.manifold_pa, at.crankcase_pa, at.outside_share, at.speed_rpm * np.pi / 30.0]
    thick = oil_circuit.thickness(ENGINE, 90.0)
    made = rooms(ENGINE)
    inertia = crankshaft.INERTIA_PER_M3 * float(ENGINE.air.displacement_m3)

    def slope(_: float, state: Floats) -> Floats:
        manifold, crankcase, share, speed = state
        rpm = speed * 30.0 / np.pi
        air = air_path.flows(BUILD, ENGINE, CAP, rpm, at.place, manifold, crankcase, share)
        vapour = torque.fuel_vapour(ENGINE, CAP, air.vent)
        work, _over = torque.work_w(BUILD, ENGINE, air, vapour)
        left = torque.net_nm(ENGINE, CAP, rpm, manifold, work, thick, 0.6)
        into = float(np.maximum(air.outside_in, 0.0))
        content = crankcase * made.crankcase_kg_pa
        coming = into + float(air.blow_by)
        gains = (
            float(air.manifold_balance) / made.manifold_kg_pa,
            float(air.crankcase_balance) / made.crankcase_kg_pa,
            (into - share * coming) / content,
            float(left) / inertia,
        )
        return np.array(gains)

    return slope, np.array(start)


def sample_by_sample() -> None:
    """A fiftieth of the stretch by explicit steps of one sample at 20 kHz."""
    slope, state = smooth()
    for _ in range(round(STRETCH_S / PART * 20e3)):
        state = state + slope(0.0, state) / 20e3


def solver() -> None:
    """The stretch by an adaptive stiff solver at a relative tolerance of 1e-5."""
    slope, start = smooth()
    found = solve_ivp(slope, (0.0, STRETCH_S), start, method="LSODA", rtol=1e-5, max_step=0.01)
    if not found.success:
        raise RuntimeError(found.message)


def main() -> bool:
    """Measure and print; whether the goals are met."""
    cheap()
    long_s, short_s, own_s = medians(ROUNDS, minute, cheap, slow_alone)
    solver_s, each_s = seconds(solver), PART * seconds(sample_by_sample)
    print(f"60 s at 20 kHz, every lane: {long_s:.2f} s (goal {GOAL_S:.0f} s)")
    print(f"15 s at 2 kHz, four lanes: {short_s:.3f} s (goal {CHEAP_GOAL_S:.0f} s)")
    print(
        f"{STRETCH_S:.0f} s of slow states: {own_s:.3f} s; sample by sample {each_s:.1f} s, ratio "
        f"{each_s / own_s:.0f}; by an adaptive solver {solver_s:.3f} s, ratio "
        f"{solver_s / own_s:.1f}"
    )
    return long_s <= GOAL_S and short_s <= CHEAP_GOAL_S


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
