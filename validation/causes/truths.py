"""What is wrong with the engine of a job: drawn, applied, kept apart from the job."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.steady import solve
from validation.causes.engines import HERE, Car, Rng, draw_car, pick

with (HERE / "trade.toml").open("rb") as _file:
    TRADE: dict[str, Any] = tomllib.load(_file)
with (HERE / "outside.toml").open("rb") as _file:
    OUTSIDE: dict[str, dict[str, tuple[float, float]]] = tomllib.load(_file)

CAUSES = tuple(TRADE["cause"])
ODDS = {cause: float(table["odds"]) for cause, table in TRADE["cause"].items()}
SOUND, NONE = "nothing-wrong", "none-of-these"
WANTED: dict[str, dict[str, tuple[str, ...]]] = {
    "ventilation-regulator-torn": {"ventilation": ("regulator",)},
    "pump-control-stuck": {"oil_pump": ("two-stage", "variable", "controlled")},
    "intake-leak": {"fuel": ("petrol",)},
}
MOST_TRIES = 60
LEAST_RUNNING_RPM = 450.0


@dataclass(frozen=True)
class Truth:
    """`causes` in the job format's words, the first brings the second where `link` is
    "consequence"; `severities` 0 to 1 beside them; `outside`: which fault that is in no
    catalogue."""

    causes: tuple[str, ...]
    severities: tuple[float, ...]
    link: str = "single"
    outside: str = ""

    @property
    def key(self) -> frozenset[str]:
        """The hypothesis that is true."""
        return frozenset(self.causes)


@dataclass(frozen=True)
class Patient:
    """A car with its truth: `car.engine` is the sound one, `engine` the one that came."""

    car: Car
    truth: Truth
    engine: Engine


def draw_patient(rng: Rng, kind: str) -> Patient:
    """A car of this kind of job: "mixed" by the trade's odds, "outside", or a cause's name."""
    for _ in range(MOST_TRIES):
        car = draw_car(rng, _wanted(rng, kind))
        truth = _truth(rng, kind, car.build)
        engine = faulty(car, truth)
        if runs(car.build, engine):
            return Patient(car, truth, engine)
    raise RuntimeError(f"no running engine of the kind {kind} among {MOST_TRIES}")


def _wanted(rng: Rng, kind: str) -> dict[str, str]:
    words = dict(WANTED.get(kind, {}))
    if kind == "outside":
        words = {"fuel": ("petrol",)}
    return {name: str(rng.choice(list(these))) for name, these in words.items()}


def _truth(rng: Rng, kind: str, build: Build) -> Truth:
    if kind == "outside":
        return _outside(rng)
    if kind != "mixed":
        first = kind
    else:
        first = pick(rng, {c: odds for c, odds in ODDS.items() if suits(c, build)})
        if first == NONE:
            return _outside(rng)
    if first == SOUND:
        return Truth((SOUND,), (0.0,))
    two = rng.random() < TRADE["two"]["share"]
    causes, link = _second(rng, first, build) if two else ((first,), "single")
    return Truth(causes, tuple(float(s) for s in rng.random(len(causes))), link)


def _outside(rng: Rng) -> Truth:
    return Truth((NONE,), (float(rng.random()),), outside=str(rng.choice(list(OUTSIDE))))


def suits(cause: str, build: Build) -> bool:
    """Whether this kind of engine can have it."""
    if cause == NONE:
        return build.fuel == "petrol"
    return FAULTS[cause].suits(build)


def _second(rng: Rng, first: str, build: Build) -> tuple[tuple[str, ...], str]:
    """Another cause beside the first: of one chain with it, or by the odds."""
    chains = [
        tuple(pair)
        for pair in TRADE["two"]["consequences"]
        if first in pair and all(suits(cause, build) for cause in pair)
    ]
    if chains and rng.random() < TRADE["two"]["consequence"]:
        return chains[int(rng.integers(len(chains)))], "consequence"
    others = {
        cause: odds
        for cause, odds in ODDS.items()
        if cause not in (first, SOUND, NONE) and suits(cause, build) and not _opposed(first, cause)
    }
    return (first, pick(rng, others)), "unrelated"


OPPOSED = (
    {"oil-level-low", "oil-aerated"},
    {"relief-valve-open", "relief-valve-shut"},
    {"pickup-sucks-air", "oil-aerated"},
)
"""One number of the engine cannot be two things at once."""


def _opposed(one: str, other: str) -> bool:
    return {one, other} in OPPOSED


def faulty(car: Car, truth: Truth) -> Engine:
    """The engine as it came."""
    engine = car.engine
    if truth.outside:
        return _changed_outside(engine, OUTSIDE[truth.outside], truth.severities[0])
    for cause, severity in zip(truth.causes, truth.severities, strict=True):
        engine = FAULTS[cause].applied(car.build, engine, severity)
    return engine


def _changed_outside(
    engine: Engine, table: Mapping[str, tuple[float, float]], severity: float
) -> Engine:
    factors = {name: mild * (gross / mild) ** severity for name, (mild, gross) in table.items()}
    return changed(engine, {name: by * value(engine, name) for name, by in factors.items()})


def runs(build: Build, engine: Engine) -> bool:
    """Whether the engine runs as the recordings will hold it: hot and cold, idle and at speed."""
    holds = [Held(speed_rpm=rpm, oil_degc=oil) for rpm in (None, 2500.0) for oil in (20.0, 90.0)]
    solved = solve(build, engine, holds)
    fast_enough = np.nan_to_num(solved.speed_rpm) > LEAST_RUNNING_RPM
    return bool(solved.running.all() and fast_enough.all())
