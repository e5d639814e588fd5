"""Stretches put into recordings: one file for all hot stretches, or one for each."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from validation.elsewhere.bench import Sensor, held_for, in_steps
from validation.elsewhere.car import Values
from validation.elsewhere.case import Case
from validation.elsewhere.levels import Held
from validation.elsewhere.tables import Rng
from validation.elsewhere.traces import QUANTITIES, Stretch, stretch

BETWEEN_S = 2.0
SLOPPY_S = 0.6  # how early a stretch may be marked
REFRESH_HZ = 10.0
KPA = {"kPa": 1.0, "bar": 100.0, "psi": 6.894757}
STEP = {"kPa": 0.1, "bar": 0.001, "psi": 0.01}


@dataclass(frozen=True)
class Mark:
    """A stretch on its file's own clock, s."""

    held: Held
    start: float
    end: float


@dataclass(frozen=True)
class Recording:
    """One file: what truly was, where its stretches lie, when it began on the job's clock, s."""

    name: str
    offset_s: float
    time: Values
    values: dict[str, Values]
    marks: tuple[Mark, ...]


def recordings(rng: Rng, case: Case) -> tuple[Recording, ...]:
    """The job's recordings in the order they were made."""
    made, clock = [], 0.0
    for name, group in _groups(case):
        made.append(_joined(rng, case, name, group, round(clock, 1)))
        clock += float(made[-1].time[-1]) + float(rng.uniform(60.0, 300.0))
        clock += 900.0 if name == "cold idle" else 0.0
    return tuple(made)


def _groups(case: Case) -> list[tuple[str, list[Held]]]:
    if not case.plan.one_file:
        return [(held.name, [held]) for held in case.stretches]
    cold = [("cold idle", [held]) for held in case.stretches if held.kind == "cold"]
    return [*cold, ("hot runs", [held for held in case.stretches if held.kind != "cold"])]


def _joined(rng: Rng, case: Case, name: str, group: list[Held], offset_s: float) -> Recording:
    ran = [stretch(rng, case, held) for held in group]
    rate = case.plan.rate_hz
    gap = round(BETWEEN_S * rate)
    starts = np.cumsum([0] + [len(one.time) + gap for one in ran])
    values = {what: _chained(ran, what, gap) for what in QUANTITIES}
    marks = [
        _mark(rng, one.held, int(start) / rate, len(one.time) / rate)
        for one, start in zip(ran, starts, strict=False)
    ]
    time = np.arange(len(values["rpm"])) / rate
    return Recording(name, offset_s, time, values, tuple(marks))


def _chained(ran: list[Stretch], what: str, gap: int) -> Values:
    """One quantity through all stretches, with an even passage from each to the next."""
    parts = [ran[0].values[what]]
    for before, after in pairwise(ran):
        a, b = before.values[what][-1], after.values[what][0]
        parts.append(a + (b - a) * np.linspace(0.0, 1.0, gap + 2)[1:-1])
        parts.append(after.values[what])
    return np.concatenate(parts)


def _mark(rng: Rng, held: Held, start: float, seconds: float) -> Mark:
    early = float(rng.uniform(0.0, SLOPPY_S)) if start > 0.0 and held.kind != "vent" else 0.0
    return Mark(held, round(start - early, 2), round(start + seconds - 0.02, 2))


def columns(case: Case, recording: Recording, sensors: dict[str, Sensor]) -> dict[str, Values]:
    """The file's columns: what the logger stored."""
    time, values, plan = recording.time, recording.values, case.plan
    made = {"t": time, "rpm": in_steps(held_for(values["rpm"], time, 20.0), 1.0)}
    made["oil_p"] = _oil(case, recording, sensors)
    if plan.oil_degc == "column":
        stated = values["oil"] - _hotter(case)
        made["oil_t"] = in_steps(held_for(stated, time, 2.0), 0.5)
    if plan.oil_degc in ("column", "coolant"):
        made["coolant_t"] = in_steps(held_for(values["coolant"], time, 2.0), 1.0)
    if plan.crank in ("volts", "column"):
        made["crank_p"] = _crank(values["crank"], sensors)
    if plan.trims == "column":
        made |= _trims(case, values["trim"], time)
    if plan.manifold == "column":
        made["map"] = in_steps(held_for(values["manifold"], time, REFRESH_HZ), 1.0)
    if plan.air == "column":
        made["air"] = in_steps(held_for(values["air"], time, REFRESH_HZ), 0.01)
    return made


def _hotter(case: Case) -> float:
    return sum(found.hotter_k for found in case.effects.values())


def shown(case: Case, gauge: Values) -> Values:
    """What reaches the first gauge of a true pressure; the test itself may be at fault."""
    for found in case.effects.values():
        gauge = gauge * (1.0 + found.gain) + found.offset_kpa
    return gauge


def _oil(case: Case, recording: Recording, sensors: dict[str, Sensor]) -> Values:
    gauge = shown(case, recording.values["gauge"])
    if case.plan.oil == "volts":
        return sensors["oil"].volts(gauge)
    return in_steps(gauge / KPA[case.plan.unit], STEP[case.plan.unit])


def _crank(crank: Values, sensors: dict[str, Sensor]) -> Values:
    return sensors["crank"].volts(crank) if "crank" in sensors else in_steps(crank, 0.01)


def long_trim(case: Case) -> float:
    """The long trim, learned as found: most of the whole, in the steps it is told in."""
    found = next(held for held in case.stretches if held.kind == "hot")
    learned = case.plan.learned * np.clip(case.level(found).trim, -25.0, 25.0)
    return float(np.round(learned / 0.78125) * 0.78125)


def _trims(case: Case, trim: Values, time: Values) -> dict[str, Values]:
    """Long and short trim as the engine's computer tells them; together they are the trim."""
    long = long_trim(case)
    short = in_steps(held_for(trim, time, REFRESH_HZ) - long, 0.78125)
    return {"stft": np.clip(short, -40.0, 40.0), "ltft": np.full_like(time, long)}
