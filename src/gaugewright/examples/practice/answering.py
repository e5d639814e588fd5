"""Practice test by test: the virtual engine is asked one thing at a time, and answers.

The car, its fault and its instruments follow from level and seed alone, as for a whole practice
job, but nothing has been measured yet: each test the learner picks is run on that very engine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from gaugewright.causes.catalogue import Hypothesis
from gaugewright.causes.tests import Test, TestCondition, chances, every_test, tests_for
from gaugewright.causes.view import JobView
from gaugewright.engine.run import run
from gaugewright.errors import InputError, Problem
from gaugewright.examples.practice import bench
from gaugewright.examples.practice.job import job_toml
from gaugewright.examples.practice.limits import limits
from gaugewright.examples.practice.make import LANES, RATE_HZ
from gaugewright.examples.practice.recordings import (
    Lived,
    Made,
    engine_recording,
    scan_recording,
)
from gaugewright.examples.practice.scenario import SOUND, Scenario, drawn
from gaugewright.examples.practice.symptoms import seen
from gaugewright.examples.practice.timeline import (
    BLOCK_S,
    FOOT_SETTLES_S,
    QUICK_S,
    SETTLES_S,
    Session,
    Stretch,
    blocked_s,
    speeds,
)
from gaugewright.report import words_en as words

HELD_S = 12.0
"""How long a condition is held where the test does not say (about the levels' own)."""
OFF_S, CRANKS_S = 4.0, 4.5
APART_S = 900.0
"""Between the starts of two tests on the job's clock."""


@dataclass(frozen=True)
class Car:
    """A practice car that came in: what is told of it, and the instruments at hand."""

    scenario: Scenario
    oil: bench.Fitted
    crankcase: bench.Fitted

    @property
    def causes(self) -> tuple[str, ...]:
        """What is truly the matter; a sound engine's one word where nothing is."""
        return tuple(fault.cause for fault in self.scenario.faults) or (SOUND,)


@dataclass(frozen=True)
class Answer:
    """What one test gave: recordings, or what was seen; `minutes` of work it took."""

    test: str
    minutes: float
    recordings: tuple[Made, ...] = ()
    saw: str = ""
    observation: dict[str, str] | None = None


def car(level: int, seed: int) -> Car:
    """The car of this level and seed, with the instruments that the level allows."""
    scenario = drawn(level, seed, np.random.default_rng([level, seed]))
    rng = np.random.default_rng([level, seed, 1])
    oil = bench.oil_fitted(scenario.level, scenario.faulty.indication, rng)
    barometer = scenario.setting.barometer_pa
    return Car(scenario, oil, bench.crankcase_fitted(scenario.level, barometer, rng))


def opening(of: Car) -> str:
    """The job as it begins: complaint, limits, instruments, nothing measured (TOML text)."""
    scenario = of.scenario
    rng = np.random.default_rng([scenario.level.number, scenario.seed, 2])
    held = speeds(scenario.build, scenario.faulty)
    asked = limits(scenario.build, scenario.meant, held, rng)
    return job_toml(scenario, asked, [of.oil, of.crankcase], [], [])


def on_offer(of: Car) -> tuple[Test, ...]:
    """The tests that fit this engine; what would change it for good is left to the repair."""
    build = of.scenario.build
    view = JobView(
        fuel=build.fuel,
        metering=build.metering,
        oil_pump=build.oil_pump,
        ventilation=build.ventilation,
        ignition=build.ignition,
    )
    return tuple(test for test in tests_for(view) if test.lasting is None)


def answer(of: Car, name: str, number: int) -> Answer:
    """What does the engine answer to this test, the learner's `number`th (from 1)?

    Raises InputError where there is no such test for this engine.
    """
    test = next((one for one in on_offer(of) if one.name == name), None)
    if test is None:
        known = ", ".join(one.name for one in every_test()[:6])
        found = f'found the test "{name}", which is not on offer'
        raise InputError(Problem("practice", "test", found, f"pick one of the list ({known}, …)"))
    rng = np.random.default_rng([of.scenario.level.number, of.scenario.seed, 100 + number])
    if test.kind == "condition":
        return Answer(name, test.minutes, recordings=_recorded(of, test, number, rng))
    return _looked(of, test, rng)


def _looked(of: Car, test: Test, rng: np.random.Generator) -> Answer:
    """What is seen: as the car truly is where that is known, else by the trade's own odds."""
    truly = _as_it_is(of)
    what = test.answers[0]
    if what in truly and truly[what] in test.outcomes:
        saw = truly[what]
    else:
        hypothesis: Hypothesis = of.causes
        odds = np.asarray(chances(test, [hypothesis]))[:, 0]
        saw = test.outcomes[int(rng.choice(len(odds), p=odds / odds.sum()))]
    return Answer(test.name, test.minutes, saw=saw, observation={"what": what, "saw": saw})


def _as_it_is(of: Car) -> dict[str, str]:
    """Every observation that could be made on this car, none left out."""
    scenario = of.scenario
    rng = np.random.default_rng([scenario.level.number, scenario.seed, 3])
    full = seen(scenario.build, scenario.faulty, of.causes, rng, 0.0)
    return {**full.observations, **scenario.seen.observations}


def _recorded(of: Car, test: Test, number: int, rng: np.random.Generator) -> tuple[Made, ...]:
    """The test's stretches run on the car's engine, as the loggers took them down."""
    scenario = of.scenario
    session = _session(of, test, number, rng)
    lived = run(
        scenario.build, scenario.faulty, session.plan, RATE_HZ, scenario.seed + number, lanes=LANES
    )
    barometer = np.full(len(lived.time_s), scenario.setting.barometer_pa)
    known = Lived(lived.time_s, {**lived.lanes, "barometer_pa": barometer})
    one_logger = replace(scenario.level, number=1)
    made = engine_recording(one_logger, scenario.build, known, of.oil, of.crankcase, session, rng)
    kept = [_renamed(made, number, test.title.lower(), "")]
    if any(q.startswith("fuel-trim") for one in test.conditions for q in one.quantities):
        scan = scan_recording(scenario.level, scenario.build, known, session, rng)
        kept.append(_renamed(scan, number, "the car's own figures", "-scan", session.starts_s))
    return tuple(kept)


def _renamed(
    made: Made, number: int, title: str, ending: str, starts_s: float | None = None
) -> Made:
    """A recording under this test's own name and file, on the job's clock."""
    file = f"recordings/test-{number}{ending}.csv"
    table = {**made.table, "name": f"test {number}: {title}", "file": file}
    if starts_s is not None:
        offset = float(str(table["clock_offset"]).split()[0])
        table["clock_offset"] = f"{starts_s + offset:.2f} s"
    return Made(file, made.data, table)


def _session(of: Car, test: Test, number: int, rng: np.random.Generator) -> Session:
    """The test's conditions one after the other, begun from rest."""
    cold = any(one.oil == "cold" for one in test.conditions)
    made = [Stretch(_named("engine off", number), 0.0, OFF_S, QUICK_S, ("engine-off",))]
    made.append(Stretch("", OFF_S, OFF_S + CRANKS_S, OFF_S, ("cranking",), marked=False))
    for one in _held(test.conditions):
        made.append(_stretch(of, one, made[-1].to_s, number))
    end = made[-1].to_s
    made.append(Stretch("", end, end + 1.5, end, ("nothing",), marked=False))
    begun = float(rng.uniform(14.0, 26.0) if cold else rng.uniform(82.0, 92.0))
    warmth = tuple(begun + 0.02 * 0.5 * (s.from_s + s.to_s) for s in made)
    return Session("", APART_S * number, tuple(made), warmth)


def _held(conditions: Sequence[TestCondition]) -> list[TestCondition]:
    """The conditions with an untouched idle before them where none of them is one."""
    first = conditions[0]
    if first.did == ("nothing",) or "cranking" in first.did:
        return list(conditions)
    return [replace(first, did=("nothing",), speed_rpm=None, for_s=None), *conditions]


def _stretch(of: Car, one: TestCondition, from_s: float, number: int) -> Stretch:
    blocks = any(did.endswith("-blocked") for did in one.did)
    lasts = one.for_s or HELD_S
    if blocks:
        lasts = blocked_s(of.scenario.build, of.scenario.faulty)
        lasts = min(max(lasts, BLOCK_S[0]), one.for_s or lasts)
    waits = QUICK_S if blocks else FOOT_SETTLES_S if one.speed_rpm is not None else SETTLES_S
    to_s = from_s + lasts + (0.0 if blocks else waits)
    name = _named(_name(one), number)
    return Stretch(name, from_s, to_s, from_s + waits, one.did, one.speed_rpm)


def _name(one: TestCondition) -> str:
    idle = "cold idle" if one.oil == "cold" else "hot idle"
    done = ", ".join(words.DID.get(did, did) for did in one.did if did not in UNSAID)
    held = f"held at {one.speed_rpm:.0f} rpm" if one.speed_rpm is not None else ""
    return ", ".join(part for part in (held, done) if part) or idle


UNSAID = ("nothing", "speed-raised")


def _named(name: str, number: int) -> str:
    """A condition's name: each test's own, so that none is taken for another's."""
    return name if number == 1 else f"{name}, test {number}"
