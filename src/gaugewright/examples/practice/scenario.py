"""Which engine, which fault, how bad: drawn by level and seed, and nothing else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine, changed, value
from gaugewright.engine.steady import solve
from gaugewright.examples.practice import engines, setting
from gaugewright.examples.practice.levels import LEVELS, Level
from gaugewright.examples.practice.symptoms import Seen, seen
from gaugewright.examples.practice.timeline import Session, sessions, speeds
from gaugewright.examples.practice.truth import Fault
from gaugewright.quantities.said import said

SOUND = "nothing-wrong"

COMES_UP: Mapping[str, float] = {
    "oil-level-low": 3.0,
    "oil-aerated": 2.0,
    "oil-thin": 2.5,
    "fuel-in-oil": 3.0,
    "pickup-restricted": 2.0,
    "pickup-sucks-air": 1.5,
    "filter-restricted": 2.0,
    "relief-valve-open": 1.5,
    "relief-valve-shut": 1.0,
    "worn-pump": 1.5,
    "pump-control-stuck": 1.5,
    "worn-bearings": 2.5,
    "internal-leak": 1.5,
    "indication-fault": 2.5,
    "ventilation-regulator-torn": 4.0,
    "breather-blocked": 4.0,
    "crankcase-open": 1.5,
    "intake-leak": 2.5,
    "worn-rings": 1.5,
    "test-fault": 1.5,
}
"""How often each comes up in practice: flatter than the workshop's odds, or one would mostly
practise dipsticks and switches, and more of what the crankcase has a hand in (judgement)."""

BUILDS_TRIED = 200


@dataclass(frozen=True)
class Scenario:
    """One practice job before its engine has run.

    `meant`: as its maker had it in mind; `sound`: this one before its faults; `faulty`: as it
    comes in.  `besides`: what else is not as it seems.
    """

    level: Level
    seed: int
    build: Build
    setting: setting.Setting
    meant: Engine
    sound: Engine
    faulty: Engine
    faults: tuple[Fault, ...]
    besides: tuple[str, ...]
    seen: Seen
    sessions: tuple[Session, ...]


def drawn(
    level_number: int, seed: int, rng: np.random.Generator, causes: Sequence[str] | None = None
) -> Scenario:
    """The scenario of this level and seed.

    Parameters: `causes` in place of drawn ones, for trying them out.
    """
    level = LEVELS[level_number]
    wanted = tuple(causes) if causes is not None else drawn_causes(level, rng)
    build = _build(wanted, rng)
    about = setting.setting(build, rng)
    meant = engines.as_meant(build, about, rng)
    sound = engines.as_made(meant, rng)
    severities = {cause: float(rng.uniform(*level.severity)) for cause in wanted if cause != SOUND}
    faulty, faults = _telling(build, sound, severities)
    faulty, besides = lamp_drift(level, wanted, faulty, rng)
    return Scenario(
        level=level,
        seed=seed,
        build=build,
        setting=about,
        meant=meant,
        sound=sound,
        faulty=faulty,
        faults=faults,
        besides=besides,
        seen=seen(build, faulty, wanted, rng, level.silent),
        sessions=sessions(
            level_number, build, faulty, _cold_too(level, build, sound, faulty, rng), rng
        ),
    )


def _telling(
    build: Build, sound: Engine, severities: Mapping[str, float]
) -> tuple[Engine, tuple[Fault, ...]]:
    """The engine with its faults: bad enough to be found, not so bad that it doesn't run.

    A severity drawn too low for anything to show is raised, and one that stalls the engine is
    lowered; what shows without an instrument needs no raising.
    """
    shares = dict(severities)
    for _ in range(SEVERITIES_TRIED):
        engine, told = _broken(build, sound, shares)
        if not runs(build, engine):
            shares = {cause: 0.85 * share for cause, share in shares.items()}
        elif _bad_enough(build, sound, engine, shares):
            break
        else:
            shares = {cause: min(share + 0.1, 1.0) for cause, share in shares.items()}
    return engine, told


SEVERITIES_TRIED = 12
SHOWN_OTHERWISE = frozenset({"indication-fault", "test-fault", "oil-level-low", "oil-aerated"})
"""Causes that lamp, dipstick or a second gauge give away."""


def _holds(build: Build, engine: Engine) -> tuple[Held, ...]:
    """The ways in which any job holds it; the last one is only for those that begin cold."""
    low, high = speeds(build, engine)
    return (
        Held(),
        Held(did=frozenset({"filler-cap-off"})),
        Held(speed_rpm=high),
        Held(speed_rpm=low, oil_degc=20.0),
    )


def runs(build: Build, engine: Engine) -> bool:
    """Whether it runs in every way it is going to be held."""
    return bool(solve(build, engine, _holds(build, engine)).running.all())


def _bad_enough(build: Build, sound: Engine, engine: Engine, shares: Mapping[str, float]) -> bool:
    """Whether any reading leaves what sound engines show, or nothing can make it do so."""
    if not shares or min(shares.values()) >= 1.0 or not SHOWN_OTHERWISE.isdisjoint(shares):
        return True
    return stands_out(build, sound, engine, _holds(build, sound))


def stands_out(build: Build, sound: Engine, engine: Engine, holds: Sequence[Held]) -> bool:
    """Whether held in one of these ways any reading leaves what sound engines show."""
    here, there = solve(build, engine, holds), solve(build, sound, holds)
    oil = np.abs(here.gauge_pa / there.gauge_pa - 1.0) / SHARE_SEEN
    case = np.abs(here.crankcase_over_pa - there.crankcase_over_pa) / CRANKCASE_SEEN_PA
    trim = np.abs(np.nan_to_num(here.trim - there.trim)) / TRIM_SEEN
    return bool(max(oil.max(), case.max(), trim.max()) >= 1.0)


SHARE_SEEN, CRANKCASE_SEEN_PA, TRIM_SEEN = 0.22, 1200.0, 0.06
"""What can be told from the differences among sound engines, with any instrument here."""


def _cold_too(
    level: Level, build: Build, sound: Engine, engine: Engine, rng: np.random.Generator
) -> bool:
    """Whether it is measured cold as well: now and then, and where only the cold tells."""
    *hot, _ = holds = _holds(build, sound)
    only_cold = stands_out(build, sound, engine, holds) and not stands_out(
        build, sound, engine, hot
    )
    return bool(rng.random() < level.cold) or only_cold


def _broken(
    build: Build, sound: Engine, severities: Mapping[str, float]
) -> tuple[Engine, tuple[Fault, ...]]:
    """The engine with these faults, one after the other, and each told in the trade's terms."""
    engine, told = sound, []
    for cause, severity in severities.items():
        before, engine = engine, FAULTS[cause].applied(build, engine, severity)
        told.append(Fault(cause, round(severity, 3), FAULTS[cause].tells(before, engine)))
    return engine, tuple(told)


def drawn_causes(level: Level, rng: np.random.Generator) -> tuple[str, ...]:
    """One cause, two, or none at all."""
    if rng.random() < level.sound:
        return (SOUND,)
    names = list(COMES_UP)
    odds = np.array(list(COMES_UP.values()))
    count = 2 if rng.random() < level.two_faults else 1
    drawn_ = rng.choice(len(names), size=count, replace=False, p=odds / odds.sum())
    return tuple(names[int(i)] for i in drawn_)


def _build(causes: Sequence[str], rng: np.random.Generator) -> Build:
    """A kind of engine that all these causes can happen to."""
    for _ in range(BUILDS_TRIED):
        build = setting.random_build(rng)
        if all(cause == SOUND or FAULTS[cause].suits(build) for cause in causes):
            return build
    raise ValueError(f"no engine here can have {' and '.join(causes)} at once")


def lamp_drift(
    level: Level, causes: Sequence[str], engine: Engine, rng: np.random.Generator
) -> tuple[Engine, tuple[str, ...]]:
    """At times the lamp's switch has drifted: it lights too early, or much too late."""
    if rng.random() >= level.misleading_lamp or "indication-fault" in causes:
        return engine, ()
    meant = float(np.asarray(value(engine, "indication.switch_pa")))
    drifted = meant * (float(rng.uniform(1.7, 2.4)) if rng.random() < 0.6 else 0.3)
    told = said(
        "The lamp misleads: its switch closes at {closes:.0f} kPa, not at the {meant:.0f} kPa of "
        "its catalogue.",
        closes=drifted / 1e3,
        meant=meant / 1e3,
    )
    return changed(engine, {"indication.switch_pa": drifted}), (told,)
