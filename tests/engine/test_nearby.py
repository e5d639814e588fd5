"""Engines near ones already settled: the same rest as by the brackets, however far a guess is."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import patch

import numpy as np
import numpy.typing as npt
import pytest

from gaugewright.engine import nearby, oil_circuit, steady
from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import ACTIONS, Held
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.settling import Point, settled_point
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import Solved, solve, solve_each
from gaugewright.engine.system import System
from gaugewright.engine.together import come_to_rest, inverted, slopes_inverted

Floats = npt.NDArray[np.float64]
Which = npt.NDArray[np.intp]

PETROL = Build()
DIESEL = replace(PETROL, fuel="diesel", ignition="compression", metering="none")
BUILDS = {
    "petrol, regulator": PETROL,
    "petrol, orifice, two-stage": replace(PETROL, ventilation="orifice", oil_pump="two-stage"),
    "petrol, valve, variable": replace(
        PETROL, ventilation="valve", oil_pump="variable", metering="manifold-pressure"
    ),
    "petrol, open": replace(PETROL, ventilation="open"),
    "diesel, regulator": DIESEL,
    "diesel, open, controlled": replace(DIESEL, ventilation="open", oil_pump="controlled"),
}
HOLDS = [
    Held(),
    Held(speed_rpm=2500.0, for_s=20.0),
    Held(oil_degc=5.0),
    Held(did=frozenset({"filler-cap-off"})),
    Held(did=frozenset({"vent-port-blocked"})),
    Held(did=frozenset({"regulator-port-blocked", "speed-raised"}), speed_rpm=1500.0),
]
STEPPED = {
    "oil.pump_m3_per_rev": 0.22,
    "oil.bearing_m3": 0.38,
    "oil.relief_pa": 0.15,
    "oil.pick_up_pa_s2_m6": 0.4,
    "air.idle_rpm": 0.08,
    "air.throttle_least_m2": 0.14,
    "air.breathing": 0.07,
    "air.burning": 0.07,
    "air.friction": 0.13,
    "crankcase.ring_m2": 0.35,
    "crankcase.vent_m2": 0.35,
    "crankcase.leak_m2": 0.7,
}
"""Numbers that are stepped, and by how much they spread: a step is a quarter of that."""
STEP = 0.25
SHOWN = {"gauge_pa": 15.0, "crankcase_over_pa": 1.0, "manifold_pa": 3.0, "speed_rpm": 0.1}
"""What a difference may be off by, for what the brackets leave open: they stop at a millionth to a
ten-thousandth of an idle's own flows and torque (15 Pa of oil pressure are a hundredth of what a
gauge is off by)."""
SHARE = 5e-4
"""And for the slopes themselves: a straight line misses a curve by many times that."""


def engines(build: Build, count: int, seed: int) -> Engine:
    """Engines of a build, each with a fault at some severity."""
    rng = np.random.default_rng(seed)
    base = sound(build)
    spread = {n: np.exp(s * rng.standard_normal(count)) for n, s in STEPPED.items()}
    drawn = {n: np.asarray(value(base, n)) * factor for n, factor in spread.items()}
    causes = [one for one in FAULTS.values() if one.suits(build) and one.changes]
    names = {change.name for one in causes for change in one.changes}
    for name in names - set(drawn):
        drawn[name] = np.full(count, value(base, name), dtype=np.float64)
    whole = changed(base, drawn)
    for k in range(count):
        fault = causes[int(rng.integers(len(causes)))]
        faulty = fault.applied(build, whole, float(rng.random()))
        for change in fault.changes:
            drawn[change.name][k] = np.asarray(value(faulty, change.name))[k]
    return changed(whole, drawn)


def with_steps(engine: Engine, count: int) -> tuple[Engine, Which]:
    """Each engine followed by a step of each number from it, and which each is near to."""
    size = 1 + len(STEPPED)
    near = size * np.repeat(np.arange(count), size)
    values = {
        name: np.repeat(np.broadcast_to(np.asarray(getattr(numbers, one)), count), size)
        for part, numbers in vars(engine).items()
        for one, number in vars(numbers).items()
        if np.ndim(number)
        for name in [f"{part}.{one}"]
    }
    for k, (name, spread) in enumerate(STEPPED.items(), start=1):
        values[name] = values[name].copy()
        values[name][k::size] *= np.exp(STEP * spread)
    return changed(engine, values), near


def by_brackets(build: Build, engine: Engine, holds: list[Held]) -> Solved:
    """Every engine by itself and by `settling` alone."""
    with patch.object(steady, "settled", settled_point):
        return solve(build, engine, holds)


def differences(solved: Solved, name: str) -> Floats:
    """What each step moves, (conditions, engines, steps)."""
    size = 1 + len(STEPPED)
    rows = getattr(solved, name).reshape(len(HOLDS), -1, size)
    return np.asarray(rows[:, :, 1:] - rows[:, :, :1])


def off_by(found: Solved, wanted: Solved) -> float:
    """By how much the worst difference is off, as a share of what it may be."""
    worst = []
    for name, floor in SHOWN.items():
        new, old = differences(found, name), differences(wanted, name)
        worst.append(np.nanmax(np.abs(new - old) / (floor + SHARE * np.abs(old))))
    return float(max(worst))


@pytest.mark.parametrize("name", BUILDS)
def test_slopes_are_those_of_engines_solved_whole(name: str) -> None:
    build = BUILDS[name]
    engine, near = with_steps(engines(build, 20, 7), 20)
    found, wanted = solve(build, engine, HOLDS, near), by_brackets(build, engine, HOLDS)
    np.testing.assert_array_equal(found.running, wanted.running)
    assert np.all(found.converged)
    assert np.mean(found.running) > 0.8
    assert off_by(found, wanted) < 1.0


def test_slopes_of_engines_taken_at_another_stop_would_be_seen() -> None:
    """What the comparison above is there for: steps of the least throttle that were not taken."""
    engine, near = with_steps(engines(PETROL, 20, 7), 20)
    wanted = by_brackets(PETROL, engine, HOLDS)
    place = 1 + list(STEPPED).index("air.throttle_least_m2")
    throttle = np.array(engine.air.throttle_least_m2)
    throttle[place :: 1 + len(STEPPED)] = throttle[:: 1 + len(STEPPED)]
    unmoved = changed(engine, {"air.throttle_least_m2": throttle})
    assert off_by(solve(PETROL, unmoved, HOLDS, near), wanted) > 3.0


@pytest.mark.parametrize("name", BUILDS)
def test_an_engine_said_to_be_near_a_stranger_still_comes_to_its_own_rest(name: str) -> None:
    build = BUILDS[name]
    engine = engines(build, 60, 3)
    stranger = np.where(np.arange(60) % 5 == 0, np.arange(60), 5 * ((7 * np.arange(60)) % 12))
    whole, counted = by_brackets(build, engine, HOLDS), _Counted()
    with patch.object(nearby, "settled", counted):
        found = solve(build, engine, HOLDS, stranger)
    assert counted.count > 0
    np.testing.assert_array_equal(found.running, whole.running)
    for shown, floor in SHOWN.items():
        new, old = getattr(found, shown), getattr(whole, shown)
        np.testing.assert_allclose(new, old, rtol=3e-4, atol=floor)


class _Counted:
    """The way by oneself, counting the engines that are left to it."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, system: System, count: int) -> Point:
        self.count += count
        return SETTLED(system, count)


SETTLED = nearby.settled


def a_system(count: int) -> System:
    engine = engines(PETROL, count, 11)
    return System(PETROL, engine, Held(), oil_circuit.thickness(engine, 90.0))


def pushed(point: Point) -> Point:
    """A point a little way off."""
    return replace(
        point,
        gallery_pa=1.05 * point.gallery_pa,
        manifold_pa=1.03 * point.manifold_pa,
        crankcase_pa=point.crankcase_pa - 20.0,
    )


def test_wrong_slopes_are_caught_and_cost_time_only() -> None:
    system = a_system(40)
    rest = nearby.settled(system, 40)
    start, right = pushed(rest), slopes_inverted(system, rest)
    good = come_to_rest(system, start, right)
    assert np.mean(good.left < nearby.CLOSE) > 0.9
    for wrong in (-right, 0.0 * right, right[::-1]):
        assert np.mean(come_to_rest(system, start, wrong).left < nearby.CLOSE) < 0.2
    with patch.object(nearby, "slopes_inverted", lambda *at: -slopes_inverted(*at)):
        found = nearby.settled_near(system, nearby.Near(system, start, np.arange(40)))
    np.testing.assert_allclose(found.gallery_pa, rest.gallery_pa, rtol=3e-4, atol=20.0)
    np.testing.assert_allclose(found.manifold_pa, rest.manifold_pa, rtol=3e-4)


def test_what_is_told_to_be_left_is_what_the_equations_leave() -> None:
    system = a_system(40)
    start = pushed(nearby.settled(system, 40))
    free = ~np.isfinite(start.stop)
    there = come_to_rest(system, start, slopes_inverted(system, start), turns=1)
    oil = system.oil(there.speed_rpm, there.crankcase_pa, there.gallery_pa)
    air = system.air(there.speed_rpm, there.manifold_pa, there.crankcase_pa)
    torque = system.left_nm(there.speed_rpm, there.manifold_pa, air.work_w, oil.pump_nm)
    left = [oil.balance / 1.5e-4, air.flows.crankcase_balance / 5e-5, torque / 20.0]
    np.testing.assert_allclose(there.left[free], np.abs(left).max(axis=0)[free], rtol=1e-9)
    assert np.all(air.flows.manifold_balance[free] < 1e-12)


def test_inverses_are_inverses() -> None:
    rng = np.random.default_rng(5)
    matrix = rng.normal(size=(4, 4, 30)) - 5.0 * np.eye(4)[:, :, None]
    product = np.einsum("ijn,jkn->ikn", matrix, inverted(matrix))
    np.testing.assert_allclose(
        product, np.broadcast_to(np.eye(4)[:, :, None], (4, 4, 30)), atol=1e-9
    )


def test_an_engine_that_would_stall_stalls_beside_one_that_runs() -> None:
    load = np.array([0.0, 2.0, 400.0, 401.0, 3.0])
    near = np.array([0, 0, 0, 2, 2])
    [ran] = solve(PETROL, sound(PETROL), [Held(load_nm=load)], near).running
    assert ran.tolist() == [True, True, False, False, True]


@pytest.mark.parametrize("name", BUILDS)
def test_conditions_solved_together_are_those_solved_alone(name: str) -> None:
    build = BUILDS[name]
    engine, other = engines(build, 8, 21), engines(build, 8, 22)
    holds = [Held(did=frozenset({action})) for action in ACTIONS]
    holds += [replace(held, speed_rpm=2200.0, for_s=30.0) for held in holds]
    pairs = [(other if k % 3 == 0 else engine, held) for k, held in enumerate(holds)]
    together = solve_each(build, pairs)
    for row, (mine, held) in enumerate(pairs):
        alone = solve(build, mine, [held])
        np.testing.assert_array_equal(together.running[row], alone.running[0])
        for shown, floor in SHOWN.items():
            new, old = getattr(together, shown)[row], getattr(alone, shown)[0]
            np.testing.assert_allclose(new, old, rtol=1e-5, atol=0.1 * floor, err_msg=str(held))
