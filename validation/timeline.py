"""One visit run on the true clock: speed, pressures and temperature, sample by sample."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from validation.engine import Engine, Held, viscosity_cst
from validation.noise import Floats, Rng, autoregressive, narrow_band, rise

START_S = 1.5


@dataclass(frozen=True)
class Manner:
    """How the engine fails to hold still: cycle noise, hunting, ripple."""

    hunting_rpm: float
    hunting_period_s: float
    wander_rpm: float
    oil_slow: float
    oil_memory: float
    oil_white: float
    oil_ripple: float
    crankcase_slow_kpa: float
    crankcase_white_kpa: float
    crankcase_ripple_kpa: float


@dataclass(frozen=True)
class Course:
    """The true course of one visit at `rate_hz`; phase counts cycles of 720 degrees."""

    rate_hz: float
    time_s: Floats
    speed_rpm: Floats
    phase: Floats
    gauge_kpa: Floats
    crankcase_kpa: Floats
    manifold_kpa: Floats
    oil_degc: Floats

    def cycles(self, from_s: float, to_s: float) -> Floats:
        """(n+1,) instants at which whole cycles begin and end inside a stretch."""
        first, last = np.interp([from_s, to_s], self.time_s, self.phase)
        counts = np.arange(np.ceil(first + 1e-9), np.floor(last) + 1.0)
        return np.interp(counts, self.phase, self.time_s)

    def mean_speed(self, from_s: float, to_s: float) -> float:
        """Mean speed over the whole cycles of a stretch, rpm; 0 where there is none."""
        edges = self.cycles(from_s, to_s)
        if len(edges) < 2:
            return 0.0
        return float(120.0 * (len(edges) - 1) / (edges[-1] - edges[0]))


def stepped(time_s: Floats, levels: list[float], starts: list[tuple[float, float]]) -> Floats:
    """(n,) a level for each segment, joined by raised cosines (begin, length) in between."""
    course = np.full_like(time_s, levels[0])
    for before, after, (begin, length) in zip(levels[:-1], levels[1:], starts, strict=True):
        course += (after - before) * rise((time_s - begin) / length)
    return course


def _within(held: Held, time_s: Floats) -> Floats:
    """(n,) time from the middle of a condition, held at its ends and faded out beyond."""
    inside = np.clip(time_s, held.start_s, held.end_s) - held.middle_s
    fade = 1.0 - rise((time_s - held.end_s) / 1.0)
    return np.asarray(inside * fade * rise((time_s - held.start_s + 1.0) / 1.0))


def run(rng: Rng, engine: Engine, manner: Manner, off_until_s: float, rate_hz: float) -> Course:
    """Let the engine run through its conditions; before `off_until_s` it stands still."""
    held = engine.conditions
    end_s = held[-1].end_s + 4.0
    time_s = np.arange(0.0, end_s, 1.0 / rate_hz)
    joins = [(off_until_s, START_S)] if off_until_s else []
    before = held[0].start_s
    joins.append((before - 2.5, 2.5))
    joins += [(a.end_s, b.start_s - a.end_s) for a, b in pairwise(held)]
    joins.append((held[-1].end_s, 2.0))
    first, last = held[0], held[-1]
    lead = [0.0] if off_until_s else []
    speeds = [*lead, first.speed_rpm + 90.0, *(h.speed_rpm for h in held), last.speed_rpm + 60.0]
    boxes = [*lead, first.crankcase_kpa * 0.8, *(h.crankcase_kpa for h in held)]
    boxes.append(last.crankcase_kpa * 0.7)
    speed_set = stepped(time_s, speeds, joins)
    box_set = stepped(time_s, boxes, joins)
    running = rise((time_s - off_until_s) / START_S) if off_until_s else np.ones_like(time_s)
    speed = speed_set + running * _unsteady(rng, manner, time_s)
    phase = np.cumsum(speed) / rate_hz / 120.0 + rng.uniform(0.05, 0.95)
    count = np.floor(phase).astype(int)
    cycles = int(count[-1]) + 1
    oil_degc = engine.temperature(time_s)
    noise = _cycle_noise(rng, manner, cycles)
    box_noise = autoregressive(rng, cycles, manner.crankcase_slow_kpa, 0.6)
    box_noise += manner.crankcase_white_kpa * rng.standard_normal(cycles)
    turn = 2.0 * np.pi * phase
    box_ripple = manner.crankcase_ripple_kpa * np.sin(4.0 * turn + 0.4)
    box = box_set + engine.crankcase_per_rpm * (speed - speed_set) * running
    box += running * (box_noise[count] + box_ripple)
    box += sum(h.crankcase_drift_kpa_per_s * _within(h, time_s) for h in held)
    pumped = _pumped(engine, speed, oil_degc, time_s)
    ripple = manner.oil_ripple * (np.sin(5.0 * turn) + 0.5 * np.sin(11.0 * turn + 1.0))
    lost = (engine.slope - 1.0) * (box_set - engine.found_kpa) * running
    gauge = pumped * (1.0 + (noise[count] + ripple) * running) + lost + box
    gauge += sum(h.drift_kpa_per_s * _within(h, time_s) for h in held)
    manifold = 38.0 + 6.0 * running * np.sin(4.0 * turn) + 0.4 * noise[count] * 38.0
    manifold = running * manifold + (1.0 - running) * engine.barometer_kpa
    return Course(rate_hz, time_s, speed, phase, gauge, box, manifold, oil_degc)


def _unsteady(rng: Rng, manner: Manner, time_s: Floats) -> Floats:
    """(n,) hunting and wander of the speed around its setting, rpm."""
    coarse = np.arange(0.0, time_s[-1] + 0.1, 0.05)
    wander = autoregressive(rng, len(coarse), manner.wander_rpm, 0.9)
    if manner.hunting_rpm:
        wander += narrow_band(rng, coarse, manner.hunting_rpm, manner.hunting_period_s, 0.12)
    return np.interp(time_s, coarse, wander)


def _cycle_noise(rng: Rng, manner: Manner, cycles: int) -> Floats:
    """(cycles,) relative scatter of the oil pressure's cycle means."""
    slow = autoregressive(rng, cycles, manner.oil_slow, manner.oil_memory)
    return slow + manner.oil_white * rng.standard_normal(cycles)


def _pumped(engine: Engine, speed: Floats, oil_degc: Floats, time_s: Floats) -> Floats:
    """(n,) the bearings' pressure as found, with viscosity taken on a coarse grid."""
    coarse = np.linspace(time_s[0], time_s[-1], 200)
    degc = np.interp(coarse, time_s, oil_degc)
    thick = viscosity_cst(engine.grade, degc) / viscosity_cst(engine.grade, engine.base_degc)
    factor = np.interp(time_s, coarse, thick**engine.exponent)
    pressure = engine.base_kpa * (np.maximum(speed, 0.0) / engine.base_rpm) ** engine.rise * factor
    if engine.step_rpm is not None:
        pressure = np.where(speed > engine.step_rpm, pressure * engine.step_factor, pressure)
    ceiling = engine.relief_kpa + 0.02 * (pressure - engine.relief_kpa)
    return np.asarray(np.minimum(pressure, ceiling))
