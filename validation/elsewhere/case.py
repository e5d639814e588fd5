"""One job, drawn whole from kind, seed and number, before anything is written."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from validation.elsewhere.car import Car, draw_car
from validation.elsewhere.causes import KINDS, Truth, catalogue, truth
from validation.elsewhere.faults import Effect, effects, together
from validation.elsewhere.levels import Held, Level, level
from validation.elsewhere.plan import CURED, Plan, draw_plan, draw_stretches
from validation.elsewhere.seen import codes, seen
from validation.elsewhere.tables import Rng, between, happens

STAGE = {"case": 0, "turn": 1, "write": 2}


@dataclass(frozen=True)
class Limit:
    """What the maker prints: kPa, rpm, degC (0: not stated)."""

    name: str
    least: float
    most: float
    rpm: float
    oil_degc: float
    crank: float | None


@dataclass(frozen=True)
class Case:
    """A job's truth and everything that is measured and told of it."""

    kind: str
    seed: int
    number: int
    truth: Truth
    car: Car
    effects: dict[str, Effect]
    plan: Plan
    stretches: tuple[Held, ...]
    limits: tuple[Limit, ...]
    lamp_kpa: float
    lamp_by_switch: bool
    seen: tuple[tuple[str, str], ...]
    codes: tuple[str, ...]

    def fault(self, held: Held) -> Effect:
        """What the faults change in this stretch."""
        return together(self.effects, held.cured)

    def level(self, held: Held) -> Level:
        """The true means of this stretch."""
        return level(self.car, self.fault(held), held)


def stream(kind: str, seed: int, number: int, stage: str) -> Rng:
    """The random numbers of one stage of one job."""
    return np.random.default_rng([seed, KINDS.index(kind), number, STAGE[stage]])


def turn(kind: str, seed: int, number: int) -> int:
    """Which cause of the catalogue this job's turn is: each once in every round."""
    causes = len(catalogue())
    order = stream(kind, seed, number // causes, "turn").permutation(causes)
    return int(order[number % causes])


def case(kind: str, seed: int, number: int) -> Case:
    """The job of this number; the same arguments give the same job."""
    rng = stream(kind, seed, number, "case")
    known = truth(rng, kind, turn(kind, seed, number))
    car = draw_car(rng, known.causes)
    faults = effects(rng, known, car)
    plan = draw_plan(rng, car)
    cures = {did: together(faults, cured) for did, cured in CURED.items()}
    stretches = draw_stretches(rng, car, together(faults), plan, cures)
    limits = _limits(rng, car)
    lamp_kpa, by_switch = _lamp(rng, limits)
    margins, short = _margins(car, faults, limits, lamp_kpa)
    return Case(
        kind=kind,
        seed=seed,
        number=number,
        truth=known,
        car=car,
        effects=faults,
        plan=plan,
        stretches=stretches,
        limits=tuple(limit for limit in limits if limit.name in _printed(plan)),
        lamp_kpa=lamp_kpa,
        lamp_by_switch=by_switch,
        seen=seen(rng, known.causes, plan, margins),
        codes=codes(rng, known.causes, short) if "codes" in plan.told else (),
    )


def _printed(plan: Plan) -> set[str]:
    names = {"limit": "hot idle", "fast_limit": "at speed"}
    return {names[key] for key in names if key in plan.told}


def at(rpm: float, degc: float) -> Held:
    """An engine held hot at a speed, everything repeating to the last."""
    return Held("at", "hot", ("nothing",), rpm, degc, 15.0)


def _limits(rng: Rng, car: Car) -> tuple[Limit, ...]:
    """What the maker of a sound engine of this kind would print."""
    degc = float(rng.choice([80.0, 90.0, 100.0])) if happens(rng, 0.78) else 0.0
    idle = round(car.idle_rpm / 10.0) * 10.0
    quick = float(rng.choice([2000.0, 2500.0, 3000.0]))
    if car.two_stage:
        quick = max(quick, 100.0 * np.ceil((car.switches_rpm[1] + 300.0) / 100.0))
    share, states = between(rng, [1.3, 2.5]), happens(rng, 0.85)
    stated = car.crank_idle if happens(rng, 0.25) else None
    return tuple(
        _limit(rng, car, name, (rpm, degc), (share, states), stated)
        for name, rpm in (("hot idle", idle), ("at speed", quick))
    )


def _limit(
    rng: Rng,
    car: Car,
    name: str,
    held: tuple[float, float],
    how: tuple[float, bool],
    crank: float | None,
) -> Limit:
    rpm, degc = held
    sound = level(car, Effect(), at(rpm, degc or 95.0)).gauge
    step = 5.0 if sound < 200.0 else 10.0
    least = max(step * np.floor(sound / how[0] / step), step)
    most = 10.0 * np.ceil(sound * between(rng, [1.4, 2.2]) / 10.0) if happens(rng, 0.3) else 0.0
    return Limit(name, float(least), float(most), rpm if how[1] else 0.0, degc, crank)


def _lamp(rng: Rng, limits: tuple[Limit, ...]) -> tuple[float, bool]:
    """The pressure that lights the lamp: a switch, or a sensor watched near the limit."""
    least = limits[0].least
    if happens(rng, 0.55):
        return min(5.0 * round(between(rng, [15.0, 55.0]) / 5.0), 0.9 * least), True
    return least * between(rng, [0.65, 1.0]), False


def _margins(
    car: Car, faults: dict[str, Effect], limits: tuple[Limit, ...], lamp_kpa: float
) -> tuple[tuple[float, float], bool]:
    """True pressure over the lamp's, hot at idle and at speed; is either below its limit?"""
    fault = together(faults)
    hot = car.thermostat + car.oil_more
    idle = level(car, fault, at(car.idle_rpm + fault.idle_rise_rpm, hot)).true_gauge
    quick = level(car, fault, at(2700.0, hot)).true_gauge
    short = idle < limits[0].least or quick < limits[1].least
    return (idle / lamp_kpa, quick / lamp_kpa), short
