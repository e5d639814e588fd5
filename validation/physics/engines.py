"""The steady engine solved again: random engines, one at a time, by a general root finder.

Balances of manifold, crankcase, power and oil from `engine_balances`, all at once, with
`scipy.optimize.root` in scaled unknowns from several starts; the package solves thousands
together, one bracketed root within another.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import root

from gaugewright.engine import settling, steady, system
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine, changed
from gaugewright.engine.sound import sound
from validation.physics.compared import Compared
from validation.physics.engine_balances import Case, oil_at, through

Floats = npt.NDArray[np.float64]
SEED, EACH = 20310807, 50
BUILDS = {
    "air meter, regulator, fixed pump": Build(),
    "manifold pressure, orifice, two-stage": Build(
        metering="manifold-pressure", ventilation="orifice", oil_pump="two-stage"
    ),
    "air meter, valve, variable pump": Build(ventilation="valve", oil_pump="variable"),
    "no trims, open, controlled": Build(
        metering="none", ventilation="open", oil_pump="controlled", oil_grade="15W-40"
    ),
    "diesel, regulator, fixed pump": Build(fuel="diesel", metering="none"),
}
HOLDS = {
    "idle": Held(),
    "2500": Held(speed_rpm=2500.0, load_nm=20.0),
    "cold idle": Held(oil_degc=15.0),
    "cap off": Held(did=frozenset({"filler-cap-off"})),
    "vent blocked": Held(did=frozenset({"vent-port-blocked"}), for_s=60.0),
    "hose off": Held(did=frozenset({"ventilation-hose-off"})),
}
SIZES = {
    "air.barometer_pa": (80e3, 103e3),
    "air.intake_k": (270.0, 315.0),
    "air.compression_ratio": (8.5, 12.0),
    "air.breathing": (0.8, 0.95),
    "air.burning": (0.26, 0.33),
    "air.friction": (0.7, 1.4),
    "air.idle_rpm": (650.0, 950.0),
    "air.leak_m2": (0.0, 8e-6),
    "air.trim_bias": (-0.05, 0.05),
    "crankcase.ring_m2": (0.8e-7, 4e-7),
    "crankcase.set_pa": (-4000.0, -1000.0),
    "crankcase.regulating": (0.3, 1.0),
    "crankcase.breathes": (0.2, 1.0),
    "crankcase.tear_m2": (0.0, 2e-6),
    "oil.bearing_m3": (0.5e-11, 3e-11),
    "oil.pump_m3_per_rev": (9e-6, 2e-5),
    "oil.slip_m3": (1e-12, 6e-12),
    "oil.relief_pa": (350e3, 550e3),
    "oil.jet_m2": (0.0, 3e-6),
    "oil.fuel_share": (0.0, 0.08),
    "oil.thinned": (0.6, 1.1),
    "oil.level_m": (0.03, 0.12),
    "oil.air_share": (0.0, 0.08),
    "oil.seal_m2": (0.0, 2e-6),
    "oil.debris": (0.0, 8.0),
    "oil.leak_m2": (0.0, 4e-6),
}
TOLD = {
    "speed_rpm": 100.0,
    "throttle_m2": 1e-5,
    "manifold_pa": 1e4,
    "crankcase_over_pa": 1e3,
    "gallery_pa": 1e5,
    "gauge_pa": 1e5,
    "trim": 0.1,
    "over": 1.0,
    "metered_kg_s": 1e-3,
    "blow_by_kg_s": 1e-5,
}
"""What is compared, and the size that a difference is told against."""
GATE = 5e-4
"""Most of it is the slope of viscosity on temperature, which the package takes over 1 K."""


def engines(build: Build, count: int, seed: int) -> Engine:
    """Random engines about a sound one of this build."""
    rng = np.random.default_rng(seed)
    return changed(sound(build), {name: rng.uniform(*ends, count) for name, ends in SIZES.items()})


def single(engine: Engine, k: int) -> Engine:
    """One of them, in plain numbers."""
    parts = {}
    for part in fields(engine):
        own = getattr(engine, part.name)
        plain = {f.name: _one(getattr(own, f.name), k) for f in fields(own)}
        parts[part.name] = replace(own, **plain)
    return Engine(**parts)


def _one(number: Any, k: int) -> float:
    return float(number[k]) if np.ndim(number) else float(number)


def settle(case: Case) -> dict[str, float] | None:
    """Where it settles; None where the root finder finds no rest that an engine could have."""
    air = case.engine.air
    if not case.build.throttled:
        return diesel(case)
    aim = _aim(case)
    free = rest(case, rpm=aim)
    if case.held.speed_rpm is not None or free is None:
        return free
    for stop, beyond in ((air.throttle_least_m2, -1.0), (air.throttle_most_m2, 1.0)):
        if beyond * (free["throttle_m2"] - stop) > 0.0:
            return rest(case, throttle_m2=float(stop), start_rpm=aim)
    return free


def _aim(case: Case) -> float:
    held = case.held.speed_rpm
    return float(case.engine.air.idle_rpm if held is None else held)


def runs(found: dict[str, float] | None, build: Build) -> dict[str, float] | None:
    """The rest, if an engine can run there: fast enough, throttle not shut, not too lean."""
    if found is None or found["speed_rpm"] < steady.LEAST_RPM or found["throttle_m2"] < 0.0:
        return None
    return None if build.throttled and found["over"] > settling.TOO_LEAN else found


def rest(
    case: Case, rpm: float | None = None, throttle_m2: float = 0.0, start_rpm: float = 800.0
) -> dict[str, float] | None:
    """All balances nothing at once; the speed is given, or else the throttle."""
    outside = case.engine.air.barometer_pa

    def place(x: Floats) -> tuple[float, float, float, float, float]:
        first, manifold, over, gallery = (float(v) for v in np.clip(x, -90.0, 90.0))
        speed = rpm if rpm is not None else start_rpm * math.exp(np.clip(first, -3.0, 3.0))
        area = 1e-5 * first if rpm is not None else throttle_m2
        inside = outside * (0.02 + 0.98 / (1.0 + math.exp(-manifold)))
        crankcase = outside + 1000.0 * over
        return speed, area, inside, crankcase, 1e5 * math.exp(np.clip(gallery, -25.0, 5.0))

    def left(x: Floats) -> list[float]:
        return _left(case, *place(x))

    return _first_rest(case, left, place, _starts(rpm is not None))


def _first_rest(
    case: Case, left: Any, place: Any, starts: list[list[float]]
) -> dict[str, float] | None:
    """The rest that the first of these starts leads to, by one method or the other."""
    for start in starts:
        for method in ("hybr", "lm"):
            found = root(left, start, method=method, tol=1e-13)
            if float(np.max(np.abs(left(found.x)))) < 1e-8:
                return _told(case, *place(found.x))
    return None


def diesel(case: Case) -> dict[str, float] | None:
    """A diesel at its governor's speed: wide open, the fuel whatever the torque wants."""
    outside, wide = case.engine.air.barometer_pa, system.WIDE_OPEN_M2

    def place(x: Floats) -> tuple[float, float, float, float, float]:
        lower, over, gallery = (float(v) for v in np.clip(x, -90.0, 90.0))
        inside = outside - 1000.0 * lower
        return _aim(case), wide, inside, outside + 1000.0 * over, 1e5 * math.exp(min(gallery, 5.0))

    def left(x: Floats) -> list[float]:
        air, gas, _, oil = _left(case, *place(x))
        return [air, gas, oil]

    lows = (0.3, 1.0, 2.0)
    starts = [[lo, -lo * part, g] for lo in lows for part in (0.98, 0.5) for g in (0.6, 1.4)]
    return _first_rest(case, left, place, starts)


def _starts(held: bool) -> list[list[float]]:
    first = [2.0, 4.0, 1.0] if held else [0.1, 0.6, -0.2]
    return [
        [f, m, c, g]
        for f, m, c in zip(first, (-0.7, 0.5, -1.5), (-1.5, 1.0, -9.0), strict=True)
        for g in (0.6, 1.4, -0.5, 0.0)
    ]


def _left(
    case: Case, rpm: float, throttle: float, manifold: float, crankcase: float, gallery: float
) -> list[float]:
    """Shares of an idling engine's own flows and power."""
    air = case.engine.air
    flows = case.gas_flows(rpm, manifold, crankcase)
    oil = case.oil_flows(rpm, crankcase, gallery)
    own = through(throttle, air.barometer_pa, manifold, air.intake_k)
    power = case.needed(flows, flows["drawn"])["watts"]
    return [
        (own + flows["leak"] + flows["vent"] - flows["drawn"]) / 3e-3,
        (flows["fresh"] + flows["holes"] + flows["rings"] - flows["vent"]) / 5e-5,
        (power - case.wasted(rpm, manifold, oil["outlet"])) / 2e3,
        oil["left"] / 1.5e-4,
    ]


def _told(
    case: Case, rpm: float, throttle: float, manifold: float, crankcase: float, gallery: float
) -> dict[str, float]:
    flows = case.gas_flows(rpm, manifold, crankcase)
    mixed = case.needed(flows, flows["drawn"])
    over = crankcase - case.engine.air.barometer_pa
    return {
        "speed_rpm": rpm,
        "throttle_m2": throttle,
        "manifold_pa": manifold,
        "crankcase_over_pa": over,
        "gallery_pa": gallery,
        "gauge_pa": gallery + over,
        "trim": mixed["trim"],
        "over": mixed["over"],
        "metered_kg_s": mixed["metered"],
        "blow_by_kg_s": flows["rings"],
    }


def compare(each: int = EACH) -> list[Compared]:
    """For each build and condition the engine that is farthest off, in each of the figures."""
    rows: list[Compared] = []
    for k, (name, build) in enumerate(BUILDS.items()):
        some = engines(build, each, SEED + k)
        solved = steady.solve(build, some, list(HOLDS.values()))
        for row, (condition, held) in enumerate(HOLDS.items()):
            rows += _one_condition(f"{name}; {condition}", build, some, held, solved, row, each)
    return rows


def _one_condition(
    name: str, build: Build, some: Engine, held: Held, solved: Any, row: int, each: int
) -> list[Compared]:
    apart: dict[str, list[Compared]] = {}
    unknown = {"trim"} if build.metering == "none" else set()
    unknown |= set() if build.throttled else {"over"}
    alone = 0
    for k in range(each):
        one = single(some, k)
        found = runs(settle(Case(build, one, held, oil_at(one, float(held.oil_degc)))), build)
        if found is None or not bool(solved.running[row, k]):
            alone += (found is None) == bool(solved.running[row, k])
            continue
        for what, scale in TOLD.items():
            ours = float(getattr(solved, what)[row, k])
            if what in unknown:
                continue
            size = max(abs(found[what]), scale)
            label = f"{name}; {what}"
            apart.setdefault(what, []).append(Compared(label, ours, found[what], GATE, size))
    worst = [max(rows, key=lambda r: abs(r.difference)) for rows in apart.values()]
    settled = len(next(iter(apart.values()), []))
    return [
        *worst,
        Compared(f"{name}; engines at rest by one of the two only", alone, 0.0, 0.0, 1.0, True),
        Compared(f"{name}; engines compared", settled, each, 0.3, counts=True),
    ]
