"""The steady engine: its equations hold, for any engine, any shape, by any other solver too."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cache
from itertools import product

import numpy as np
import numpy.typing as npt
import pytest
from scipy import optimize

from gaugewright.engine import air_path, oil_circuit, torque
from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import ACTIONS, Held
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import Solved, solve
from gaugewright.engine.system import settled_share

BUILD = Build()
HOLDS = [
    Held(),
    Held(speed_rpm=2500.0),
    Held(speed_rpm=3000.0, for_s=120.0),
    Held(oil_degc=15.0, speed_rpm=1200.0),
    Held(did=frozenset({"filler-cap-off"})),
    Held(did=frozenset({"vent-port-blocked"})),
]
SCALES = np.array([3e-3, 1e-4, 10.0, 1e-4])
"""An engine's own air (kg/s), blow-by (kg/s), torque (N m) and oil (m3/s)."""

Floats = npt.NDArray[np.float64]

WIDE = {
    "air.barometer_pa": (75e3, 103e3),
    "air.intake_k": (263.0, 323.0),
    "air.displacement_m3": (0.9e-3, 5.0e-3),
    "air.compression_ratio": (8.0, 13.0),
    "air.breathing": (0.7, 0.98),
    "air.burning": (0.22, 0.34),
    "air.friction": (0.6, 1.8),
    "air.idle_rpm": (550.0, 1100.0),
    "crankcase.vent_m2": (1e-6, 2e-5),
    "crankcase.set_pa": (-6000.0, -500.0),
    "crankcase.leak_m2": (0.0, 1e-6),
    "oil.bearing_m3": (3e-12, 5e-11),
    "oil.pump_m3_per_rev": (5e-6, 4e-5),
    "oil.relief_pa": (250e3, 700e3),
    "oil.level_m": (0.03, 0.13),
    "oil.jet_m2": (0.0, 8e-6),
    "oil.thinned": (0.4, 2.0),
}
FAULTY = {
    "air.leak_m2": (1e-8, 3e-5),
    "crankcase.ring_m2": (5e-8, 3e-6),
    "crankcase.regulating": (0.0, 1.0),
    "crankcase.tear_m2": (0.0, 1e-5),
    "crankcase.breathes": (0.0, 1.0),
    "oil.slip_m3": (1e-13, 3e-11),
    "oil.relief_stuck_m2": (0.0, 2e-5),
    "oil.air_share": (0.0, 0.5),
    "oil.fuel_share": (0.0, 0.15),
    "oil.seal_m2": (0.0, 1e-5),
    "oil.debris": (0.0, 30.0),
    "oil.leak_m2": (0.0, 2e-5),
}


def random_engines(count: int, seed: int, build: Build = BUILD) -> Engine:
    """Engines wide apart: every kind of size, and each fault in about a third of them."""
    rng = np.random.default_rng(seed)
    engine = sound(build)
    drawn = {name: rng.uniform(*ends, count) for name, ends in WIDE.items()}
    for name, ends in FAULTY.items():
        usual = np.broadcast_to(np.asarray(value(engine, name), float), count)
        drawn[name] = np.where(rng.random(count) < 0.35, rng.uniform(*ends, count), usual)
    size = drawn["air.displacement_m3"] / 2e-3
    for name in ("air.throttle_least_m2", "air.throttle_most_m2", "oil.pump_m3_per_rev"):
        drawn[name] = size * np.asarray(drawn.get(name, value(engine, name)))
    return changed(engine, drawn)


def one_of(engine: Engine, index: int) -> Engine:
    """One variant as an engine of plain numbers."""
    parts = {}
    for part in fields(engine):
        numbers = getattr(engine, part.name)
        picked = {
            one.name: float(np.asarray(getattr(numbers, one.name))[index])
            for one in fields(numbers)
            if np.ndim(getattr(numbers, one.name))
        }
        parts[part.name] = replace(numbers, **picked)
    return Engine(**parts)


def balances(build: Build, engine: Engine, hold: Held, solved: Solved, row: int) -> Floats:
    """Air, crankcase gas and oil that gather, over their scales: (3, n), from the flows alone."""
    speed, crankcase = solved.speed_rpm[row], solved.crankcase_pa[row]
    air = air_path.flows(
        build, engine, hold, speed, solved.throttle_m2[row], solved.manifold_pa[row], crankcase
    )
    thick = oil_circuit.thickness(engine, hold.oil_degc)
    oil = oil_circuit.flows(
        build,
        engine,
        hold,
        speed,
        crankcase,
        solved.gallery_pa[row],
        thick,
        settled_share(hold.for_s),
    )
    gathered = np.array([air.manifold_balance, air.crankcase_balance, oil.balance])
    return np.asarray(gathered / SCALES[[0, 1, 3], None])


def same(a: Solved, b: Solved) -> None:
    """Within what the solver leaves open: pressures 20 Pa, all else 3 in 10 000."""
    for one in fields(Solved):
        if one.name == "residual":
            continue
        np.testing.assert_allclose(
            np.asarray(getattr(a, one.name), float),
            np.asarray(getattr(b, one.name), float),
            rtol=3e-4,
            atol=20.0 if one.name.endswith("_pa") else 3e-4 * (one.name in ("trim", "lamp")),
            err_msg=one.name,
        )


@pytest.mark.parametrize("ventilation", ["regulator", "orifice", "valve", "open"])
@pytest.mark.parametrize("metering", ["air-mass", "manifold-pressure"])
def test_nothing_gathers_anywhere(ventilation: str, metering: str) -> None:
    build = replace(BUILD, ventilation=ventilation, metering=metering)
    engine = random_engines(60, 3, build)
    solved = solve(build, engine, HOLDS)
    for row, hold in enumerate(HOLDS):
        left = np.abs(balances(build, engine, hold, solved, row))
        assert np.all(left[:, solved.running[row]] < 2e-4)
    assert np.mean(solved.running) > 0.5


DIESEL = replace(BUILD, fuel="diesel", ignition="compression", metering="none")


@pytest.mark.parametrize(
    "build",
    [
        BUILD,
        replace(BUILD, ventilation="open", oil_pump="two-stage"),
        replace(BUILD, ventilation="valve", oil_pump="variable", metering="manifold-pressure"),
        replace(BUILD, ventilation="orifice"),
        DIESEL,
        replace(DIESEL, ventilation="open"),
    ],
)
def test_every_wide_engine_comes_to_rest_or_is_told_not_to_run(build: Build) -> None:
    solved = solve(build, random_engines(2000, 1, build), HOLDS)
    assert np.all(solved.converged), np.argwhere(~solved.converged)[:5]
    assert np.all(solved.residual[solved.running] < 1e-4)
    ran = solved.running
    assert np.mean(ran) > 0.7
    none = {"trim", "over"} if build.fuel == "diesel" else set()
    for name in {one.name for one in fields(Solved)} - none:
        assert np.all(np.isfinite(getattr(solved, name)[ran])), name
    assert np.all(np.isnan(solved.gauge_pa[~ran]))


def test_what_is_physical_stays_physical() -> None:
    engine = random_engines(500, 2)
    solved = solve(BUILD, engine, HOLDS)
    ran = solved.running
    outside = np.broadcast_to(np.asarray(engine.air.barometer_pa), solved.gauge_pa.shape)
    assert np.all(solved.manifold_pa[ran] > 0.0)
    assert np.all(solved.manifold_pa[ran] <= outside[ran] * 1.02)
    assert np.all(solved.crankcase_pa[ran] > 0.0)
    assert np.all(solved.gallery_pa[ran] >= -1.0)
    assert np.all(solved.air_share[ran] >= 0.0)
    assert np.all(solved.metered_kg_s[ran] >= -1e-9)
    np.testing.assert_allclose(
        solved.gauge_pa[ran], (solved.gallery_pa + solved.crankcase_pa - outside)[ran]
    )


def test_many_at_once_are_the_same_as_one_by_one() -> None:
    engine = random_engines(12, 4)
    together = solve(BUILD, engine, HOLDS)
    for index in range(12):
        alone = solve(BUILD, one_of(engine, index), HOLDS)
        column = Solved(**{f.name: getattr(together, f.name)[:, [index]] for f in fields(Solved)})
        same(alone, column)


@dataclass(frozen=True)
class Own:
    """The engine's equations put together afresh, for a general solver.

    Unknown: the throttle (mm2) where the governor or a foot moves it, the speed (1000 rpm) where
    the governor stands at a stop; manifold, crankcase and gallery pressure (kPa).
    """

    engine: Engine
    hold: Held
    throttle_m2: float | None
    speed_rpm: float | None

    def left(self, at: Floats) -> Floats:
        """What is left of the four, over their scales; NaN where no engine can be."""
        with np.errstate(all="ignore"):
            return self._left(at)

    def _left(self, at: Floats) -> Floats:
        speed = 1e3 * at[0] if self.speed_rpm is None else self.speed_rpm
        throttle = 1e-6 * at[0] if self.throttle_m2 is None else self.throttle_m2
        manifold, crankcase, gallery = 1e3 * at[1:]
        thick = oil_circuit.thickness(self.engine, self.hold.oil_degc)
        air = air_path.flows(BUILD, self.engine, self.hold, speed, throttle, manifold, crankcase)
        oil = oil_circuit.flows(
            BUILD,
            self.engine,
            self.hold,
            speed,
            crankcase,
            gallery,
            thick,
            settled_share(self.hold.for_s),
        )
        vapour = torque.fuel_vapour(self.engine, self.hold, air.vent)
        work, _ = torque.work_w(BUILD, self.engine, air, vapour)
        over = torque.net_nm(self.engine, self.hold, speed, manifold, work, thick, oil.pump_nm)
        gathered = [air.manifold_balance, air.crankcase_balance, over, oil.balance]
        return np.array([float(np.ravel(one)[0]) for one in gathered]) / SCALES


def own_equations(engine: Engine, hold: Held, solved: Solved) -> tuple[Own, list[float]]:
    """The equations of this condition, and first guesses for the first unknown."""
    speed, throttle = solved.speed_rpm[0, 0], solved.throttle_m2[0, 0]
    aim = engine.air.idle_rpm if hold.speed_rpm is None else hold.speed_rpm
    if abs(speed / float(np.asarray(aim)) - 1.0) < 1e-9:
        return Own(engine, hold, None, float(np.asarray(aim))), [10.0, 30.0, 60.0]
    return Own(engine, hold, float(throttle), None), [0.6, 1.0, 1.5]


@cache
def running_variants() -> list[int]:
    """Which of 60 random engines run in every condition."""
    solved = solve(BUILD, random_engines(60, 5), HOLDS)
    return [int(i) for i in np.flatnonzero(np.all(solved.running, axis=0))]


@pytest.mark.parametrize("index", range(20))
def test_a_general_solver_finds_the_same(index: int) -> None:
    """scipy.optimize.root (MINPACK hybrid) on equations put together here, from its own start."""
    hold = HOLDS[index % len(HOLDS)]
    engine = one_of(random_engines(60, 5), running_variants()[index])
    solved = solve(BUILD, engine, [hold])
    own, firsts = own_equations(engine, hold, solved)
    outside = float(np.asarray(engine.air.barometer_pa)) / 1e3
    here = [
        solved.manifold_pa[0, 0] / 1e3,
        solved.crankcase_pa[0, 0] / 1e3,
        solved.gallery_pa[0, 0] / 1e3,
    ]
    for first, manifold, gallery in product(firsts, (0.35, 0.6), (100.0, 300.0)):
        start = np.array([first, outside * manifold, outside - 1.0, gallery])
        found = optimize.root(own.left, start, options={"xtol": 1e-10})
        if found.success and np.all(np.abs(found.fun) < 1e-7):
            np.testing.assert_allclose(found.x[1:], here, rtol=5e-4)
            return
    pytest.fail("the general solver found nothing from any start")


def test_more_air_than_the_governor_can_shut_off_is_a_fast_idle() -> None:
    """On an engine whose fuel follows all the air, by manifold pressure."""
    build = replace(BUILD, metering="manifold-pressure")
    engine = changed(sound(build), {"air.leak_m2": np.array([0.0, 1e-5, 2e-5])})
    solved = solve(build, engine, [Held()])
    usual, fast, faster = solved.speed_rpm[0]
    assert usual == pytest.approx(float(np.asarray(engine.air.idle_rpm)))
    assert usual + 30.0 < fast < faster
    assert solved.throttle_m2[0, 2] == pytest.approx(
        float(np.asarray(engine.air.throttle_least_m2)), rel=1e-3
    )


def test_more_load_than_it_can_pull_is_told_as_a_stall() -> None:
    solved = solve(BUILD, sound(BUILD), [Held(load_nm=np.array([0.0, 400.0]))])
    assert solved.running.tolist() == [[True, False]]
    assert np.isnan(solved.gauge_pa[0, 1])
    assert np.isfinite(solved.gauge_pa[0, 0])


def test_plain_numbers_give_one_variant() -> None:
    solved = solve(BUILD, sound(BUILD), HOLDS)
    assert {getattr(solved, f.name).shape for f in fields(Solved)} == {(len(HOLDS), 1)}


def test_no_variants_give_empty_arrays() -> None:
    engine = changed(sound(BUILD), {"oil.level_m": np.array([])})
    solved = solve(BUILD, engine, HOLDS)
    assert {getattr(solved, f.name).shape for f in fields(Solved)} == {(len(HOLDS), 0)}


def test_an_array_of_one_is_one_variant_or_goes_with_many() -> None:
    one = changed(sound(BUILD), {"oil.level_m": np.array([0.07])})
    assert solve(BUILD, one, [Held()]).gauge_pa.shape == (1, 1)
    many = changed(one, {"oil.thinned": np.array([1.0, 0.9, 0.8])})
    assert solve(BUILD, many, [Held()]).gauge_pa.shape == (1, 3)


def test_a_condition_can_vary_too() -> None:
    speeds, oils = np.array([900.0, 1500.0, 2500.0]), np.array([60.0, 80.0, 100.0])
    together = solve(BUILD, sound(BUILD), [Held(speed_rpm=speeds, oil_degc=oils)])
    each = [Held(speed_rpm=float(s), oil_degc=float(t)) for s, t in zip(speeds, oils, strict=True)]
    alone = solve(BUILD, sound(BUILD), each)
    np.testing.assert_allclose(together.gauge_pa[0], alone.gauge_pa[:, 0], rtol=1e-6)
    np.testing.assert_array_equal(together.speed_rpm[0], speeds)


def test_arrays_of_different_lengths_are_refused() -> None:
    engine = changed(sound(BUILD), {"oil.thinned": np.ones(3), "oil.level_m": np.full(4, 0.07)})
    with pytest.raises(ValueError, match=r"\[3, 4\] variants"):
        solve(BUILD, engine, [Held()])


def test_the_order_of_the_conditions_does_not_matter() -> None:
    engine = random_engines(30, 6)
    forth, back = solve(BUILD, engine, HOLDS), solve(BUILD, engine, HOLDS[::-1])
    turned = Solved(**{f.name: getattr(back, f.name)[::-1] for f in fields(Solved)})
    for one in fields(Solved):
        np.testing.assert_array_equal(getattr(forth, one.name), getattr(turned, one.name))


@pytest.mark.parametrize("action", ["snap", "cranking", "engine-off", "oil-changed", "Cap off"])
def test_an_action_without_a_steady_state_is_refused(action: str) -> None:
    with pytest.raises(ValueError, match=f'found the action "{action}"'):
        Held(did=frozenset({action}))


def test_every_action_known_can_be_solved() -> None:
    holds = [Held(did=frozenset({action})) for action in ACTIONS]
    assert np.all(solve(BUILD, sound(BUILD), holds).converged)


def test_an_unknown_number_of_an_engine_is_refused() -> None:
    with pytest.raises(ValueError, match=r'found "oil\.colour"'):
        changed(sound(BUILD), {"oil.colour": 1.0})


@pytest.mark.parametrize("cause", sorted(FAULTS))
def test_every_fault_comes_to_rest_at_every_severity(cause: str) -> None:
    fault = FAULTS[cause]
    build = BUILD if fault.suits(BUILD) else replace(BUILD, oil_pump="two-stage")
    engine = fault.applied(build, sound(build), np.linspace(0.0, 1.0, 21))
    solved = solve(build, engine, HOLDS)
    assert np.all(solved.converged)
    assert np.all(solved.running[:4])


@pytest.mark.slow
def test_every_pair_of_faults_comes_to_rest() -> None:
    engine = sound(BUILD)
    causes = [name for name in FAULTS if FAULTS[name].suits(BUILD)]
    severity = np.array([0.0, 0.5, 1.0])
    for i, one in enumerate(causes):
        first = FAULTS[one].applied(BUILD, engine, severity)
        for other in causes[i + 1 :]:
            both = FAULTS[other].applied(BUILD, first, severity[::-1])
            assert np.all(solve(BUILD, both, HOLDS).converged), (one, other)
