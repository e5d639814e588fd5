"""The steady engine: 100 000 variants of a five-condition job, and the ratio to a plain loop.

Variants are sound engines as widely spread as the causes take them, most with a fault at a random
severity.  The plain loop hands one variant after the other to `scipy.optimize.root` with the same
equations from the same first guess; it is run on some and scaled.
Goal: at least 200 times as fast.
"""

from __future__ import annotations

import sys

import numpy as np
from _common import medians, seconds
from scipy.optimize import root

from gaugewright.causes.healthy import healthy_of
from gaugewright.causes.model import Variants, engine_of
from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import Held
from gaugewright.engine.oil_circuit import thickness
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.settling import (
    GAS_KG_S,
    OIL_M3_S,
    TORQUE_NM,
    first_guess,
)
from gaugewright.engine.steady import solve
from gaugewright.engine.system import System, settled_share
from gaugewright.engine.variants import taken
from gaugewright.physics.numbers import Floats

BUILD = Build()
COUNT, SAMPLE, ROUNDS, GOAL = 100_000, 60, 3, 200.0
CHUNK = 2000
HOLDS = (
    Held(),
    Held(speed_rpm=2500.0, did=frozenset({"speed-raised"})),
    Held(did=frozenset({"filler-cap-off"})),
    Held(did=frozenset({"vent-port-blocked"})),
    Held(oil_degc=20.0),
)
SOUND_SHARE = 0.3
GIVES_WAY_PER_M2 = 1e7
"""How steeply the plain loop's governor gives way beyond a stop, share of its aim."""


def engines(count: int, seed: int = 1) -> Engine:
    """Sound engines and faulty ones, mixed."""
    rng = np.random.default_rng(seed)
    healthy = healthy_of(BUILD, 2e-3, 101325.0, True, 2.0)
    causes = [name for name, fault in FAULTS.items() if fault.changes and fault.suits(BUILD)]
    whole = engine_of(
        healthy, Variants((), np.zeros((count, 0)), normal(rng, count, healthy.count))
    )
    names = {change.name for cause in causes for change in FAULTS[cause].changes}
    values = {n: np.broadcast_to(np.asarray(value(whole, n)), count).copy() for n in names}
    which = np.where(rng.random(count) < SOUND_SHARE, -1, rng.integers(0, len(causes), count))
    severity = rng.random(count)
    for k, cause in enumerate(causes):
        mine = np.flatnonzero(which == k)
        faulty = FAULTS[cause].applied(BUILD, taken(whole, mine, count), severity[mine])
        for change in FAULTS[cause].changes:
            values[change.name][mine] = value(faulty, change.name)
    return changed(whole, values)


def normal(rng: np.random.Generator, count: int, size: int) -> Floats:
    """Independent standard normal numbers."""
    return rng.standard_normal((count, size))


def plain(engine: Engine) -> Floats:
    """One variant after the other: the gallery's pressure (conditions, sample), NaN where lost."""
    alone = [taken(engine, np.array([n]), COUNT) for n in range(SAMPLE)]
    with np.errstate(all="ignore"):
        return np.array([[_alone(one, held) for one in alone] for held in HOLDS])


def _alone(engine: Engine, held: Held) -> float:
    thick = thickness(engine, held.oil_degc)
    system = System(BUILD, engine, held, thick, settled_share(held.for_s))
    start = first_guess(system, 1)
    outside = float(np.asarray(engine.air.barometer_pa))
    free = held.speed_rpm is None
    low, high = (float(np.ravel(stop)[0]) for stop in system.stops)

    def left(x: Floats) -> Floats:
        """Gas, torque, oil left over; and the governor's law with its stops smoothed out."""
        manifold, crankcase, gallery = x[0] * outside, outside + 1e3 * x[1], 1e5 * x[2]
        speed = 1e3 * x[3] if free else start.speed_rpm[0]
        at = (np.array([speed]), np.array([manifold]), np.array([crankcase]))
        side = system.air(*at)
        oil = system.oil(at[0], at[2], np.array([gallery]))
        gas = side.flows.crankcase_balance[0] / GAS_KG_S
        torque = system.left_nm(at[0], at[1], side.work_w, oil.pump_nm)[0] / TORQUE_NM
        found = [gas, torque, oil.balance[0] / OIL_M3_S]
        if free:
            place = side.throttle_m2[0]
            beyond = place - min(max(place, low), high)
            found.append(speed / start.speed_rpm[0] - 1.0 + beyond * GIVES_WAY_PER_M2)
        return np.array(found)

    first = [
        start.manifold_pa[0] / outside,
        (start.crankcase_pa[0] - outside) * 1e-3,
        start.gallery_pa[0] * 1e-5,
        start.speed_rpm[0] * 1e-3,
    ]
    found = root(left, first if free else first[:3], tol=1e-6)
    return 1e5 * float(found.x[2]) if found.success else np.nan


def main() -> bool:
    """Measure and print; whether the goal is met."""
    engine = engines(COUNT)
    solve(BUILD, taken(engine, slice(0, CHUNK), COUNT), HOLDS)
    [own_s] = medians(ROUNDS, lambda: solve(BUILD, engine, HOLDS))
    solved = solve(BUILD, engine, HOLDS)
    loop_s = seconds(lambda: plain(engine)) * COUNT / SAMPLE
    found = plain(engine)
    off = np.abs(found / solved.gallery_pa[:, :SAMPLE] - 1.0)
    print(
        f"{COUNT} variants, {len(HOLDS)} conditions: {own_s:.2f} s, "
        f"{100 * solved.converged.mean():.2f} % at rest; "
        f"{1e6 * own_s / COUNT / len(HOLDS):.1f} us for each of them"
    )
    print(
        f"one after the other by scipy.optimize.root: {loop_s:.0f} s (scaled from {SAMPLE}, "
        f"{100 * np.isfinite(found).mean():.0f} % at rest, galleries alike within "
        f"{np.nanquantile(off, 0.9):.1e} in nine of ten); ratio {loop_s / own_s:.0f} "
        f"(goal {GOAL:.0f})"
    )
    return loop_s / own_s >= GOAL


if __name__ == "__main__":
    sys.exit(0 if main() else 1)
