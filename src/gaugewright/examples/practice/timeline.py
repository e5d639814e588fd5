"""How the engine is held, one stretch after the other, and what the technician marks of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.plan import Plan
from gaugewright.engine.plan import Step as EngineStep
from gaugewright.engine.steady import solve

GAS_J_KG_K = 287.05
BLOCK_UP_TO_PA = 2500.0
"""A blocked vent is opened again before the crankcase is this far over the outside air: a
little under the 3 kPa at which such a test ends (common practice, no source)."""
BLOCK_S = (1.5, 7.0)
"""Least and greatest time for which a vent is blocked: never over 10 s (common practice)."""
BLOCKED = "vent-port-blocked"
SETTLES_S = 2.5
"""After a change the technician waits this long before marking (judgement)."""
FOOT_SETTLES_S = 5.0
"""A foot takes so long to find its speed (judgement)."""
QUICK_S = 0.3


@dataclass(frozen=True)
class Stretch:
    """One stretch: held this way from `from_s` to `to_s`, marked from `marked_s` on.

    `speed_rpm` None: left to the idle governor.  `marked`: whether it is in job.toml at all.
    """

    name: str
    from_s: float
    to_s: float
    marked_s: float
    did: tuple[str, ...] = ("nothing",)
    speed_rpm: float | None = None
    marked: bool = True

    @property
    def off(self) -> bool:
        """Whether the engine stands still in it."""
        return "engine-off" in self.did

    @property
    def steady(self) -> bool:
        """Whether it has a level: the engine runs, and nothing fills up meanwhile."""
        return self.marked and not self.off and BLOCKED not in self.did

    def held(self, oil_degc: float) -> Held:
        """The same for the steady engine."""
        return Held(frozenset(self.did), self.speed_rpm, oil_degc, for_s=self.to_s - self.from_s)

    def step(self, oil_degc: float) -> EngineStep:
        """The same for the engine in time."""
        if self.off:
            return EngineStep(self.from_s, self.to_s, Held(oil_degc=oil_degc), "engine-off")
        if "cranking" in self.did:
            return EngineStep(self.from_s, self.to_s, Held(oil_degc=oil_degc), "start")
        return EngineStep(self.from_s, self.to_s, self.held(oil_degc))


@dataclass(frozen=True)
class Session:
    """One recording session: its stretches, in order and without a gap, and their warmth.

    `prefix`: put before its files' names.  `starts_s`: on the job's clock.
    """

    prefix: str
    starts_s: float
    stretches: tuple[Stretch, ...]
    oil_degc: tuple[float, ...]

    @property
    def plan(self) -> Plan:
        """The same for the engine in time."""
        pairs = zip(self.stretches, self.oil_degc, strict=True)
        return Plan(tuple(one.step(degc) for one, degc in pairs))

    @property
    def steady(self) -> list[Stretch]:
        """Those with a level."""
        return [one for one in self.stretches if one.steady]


def sessions(
    level: int, build: Build, engine: Engine, cold: bool, rng: np.random.Generator
) -> tuple[Session, ...]:
    """The sessions of one job: hot, and where asked for once cold before.

    Parameters: the engine as it is, faults and all: a vent is blocked for as long as its
    crankcase allows.
    """
    low, high = speeds(build, engine)
    steps = {
        1: lambda: _plain(build, engine, low, high),
        2: lambda: _everyday(build, engine, high, rng),
        3: lambda: _awkward(low if build.oil_pump == "fixed" else high, rng),
    }
    hot = _session("", 0.0, steps[level](), rng.uniform(82.0, 94.0), rng)
    if not cold:
        return (hot,)
    return (_session("cold-", COLD_STARTS_S, _cold(low), rng.uniform(14.0, 26.0), rng), hot)


COLD_STARTS_S = -1800.0


def _session(
    prefix: str, starts_s: float, steps: Sequence[Step], degc: float, rng: np.random.Generator
) -> Session:
    """The steps one after the other; the oil warms a little on the way."""
    made: list[Stretch] = []
    for name, lasts_s, did, speed in steps:
        start = made[-1].to_s if made else 0.0
        waits = QUICK_S if did in ("engine-off", BLOCKED) else SETTLES_S
        marked = start + (FOOT_SETTLES_S if speed is not None else waits)
        made.append(Stretch(name, start, start + lasts_s, marked, (did,), speed, marked=bool(name)))
    rise = float(rng.uniform(0.2, 2.0)) / made[-1].to_s
    warmth = (float(degc) + rise * 0.5 * (one.from_s + one.to_s) for one in made)
    return Session(prefix, starts_s, tuple(made), tuple(warmth))


Step = tuple[str, float, str, float | None]
"""Name (empty: not marked), seconds, what was done, speed held."""


def _plain(build: Build, engine: Engine, low: float, high: float) -> list[Step]:
    return [
        *_start(5.0),
        ("hot idle", 18.0, "nothing", None),
        ("filler cap off", 10.0, "filler-cap-off", None),
        ("", 4.0, "nothing", None),
        *_blocked(build, engine),
        (_held(low), 14.0, "speed-raised", low),
        (_held(high), 14.0, "speed-raised", high),
        ("", 1.5, "nothing", None),
    ]


def _everyday(build: Build, engine: Engine, high: float, rng: np.random.Generator) -> list[Step]:
    moved: list[Step] = [("filler cap off", 9.0, "filler-cap-off", None)]
    if rng.random() < 0.4:
        moved = _blocked(build, engine)
    return [
        *_start(4.0),
        ("hot idle", 16.0, "nothing", None),
        *moved,
        (_held(high), 13.0, "speed-raised", high),
        ("", 1.5, "nothing", None),
    ]


def _awkward(speed: float, rng: np.random.Generator) -> list[Step]:
    return [
        *_start(3.0 if rng.random() < 0.6 else 0.0),
        ("hot idle", 12.0, "nothing", None),
        ("filler cap off", 7.0, "filler-cap-off", None),
        (_held(speed), 11.0, "speed-raised", speed),
        ("", 1.5, "nothing", None),
    ]


def _cold(low: float) -> list[Step]:
    return [
        ("engine off, cold", 3.0, "engine-off", None),
        *_start(0.0),
        ("cold idle", 12.0, "nothing", None),
        (f"cold, {_held(low)}", 13.0, "speed-raised", low),
        ("", 1.0, "nothing", None),
    ]


def _start(off_s: float) -> list[Step]:
    """Standing still, cranking and the first seconds, which nobody marks."""
    still: list[Step] = [("engine off", off_s, "engine-off", None)] if off_s else []
    return [*still, ("", 4.5, "cranking", None)]


def _blocked(build: Build, engine: Engine) -> list[Step]:
    if build.ventilation == "open":
        return []
    lasts = blocked_s(build, engine)
    return [("vent blocked", lasts, BLOCKED, None), ("", 4.0, "nothing", None)]


def blocked_s(build: Build, engine: Engine) -> float:
    """How long this engine's vent can stay blocked, in s, before its crankcase is too high."""
    idle = solve(build, engine, [Held()])
    over = float(idle.crankcase_over_pa[0, 0])
    case = engine.crankcase
    filling = float(idle.blow_by_kg_s[0, 0]) * GAS_J_KG_K * float(np.asarray(case.gas_k))
    rate = filling / float(np.asarray(case.volume_m3))
    lasts = (BLOCK_UP_TO_PA - over) / max(rate, 1.0)
    return float(np.clip(np.nan_to_num(lasts, nan=BLOCK_S[0]), *BLOCK_S))


def speeds(build: Build, engine: Engine) -> tuple[float, float]:
    """The two speeds at which it is held: 2000 and 2500 rpm, or either side of a pump's step."""
    if build.oil_pump == "fixed":
        return 2000.0, 2500.0
    step = float(np.asarray(engine.oil.step_rpm))
    return 100.0 * round((step - 450.0) / 100.0), 100.0 * round((step + 450.0) / 100.0)


def _held(speed_rpm: float) -> str:
    return f"held at {speed_rpm:.0f} rpm"
