"""Stretches at cycle level, class by class: two conditions of one engine, truth known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from validation.engine import drawn, viscosity_cst
from validation.noise import Floats, Rng, autoregressive, held_late, narrow_band

CLASSES = (
    "steady",
    "hunting",
    "drifting",
    "spikes",
    "quantised",
    "few-cycles",
    "slow-late-speed",
    "warming",
)


@dataclass(frozen=True)
class Stretch:
    """Cycle means of one condition: what is shown, what is true, what the ideal analyst knows.

    `gauge_kpa` and `crankcase_kpa` (n,) are shown; `shown_rpm` (n,) is the speed as shown,
    `true_rpm` as it was.  The truth at a speed is `level_kpa` + `per_rpm` (speed - mean speed);
    `course` (n, k) are the known forms of its slow course, `sound` (n,) the unstruck cycles.
    """

    time_s: Floats
    duration_s: Floats
    shown_rpm: Floats
    true_rpm: Floats
    gauge_kpa: Floats
    crankcase_kpa: Floats
    level_kpa: float
    box_kpa: float
    per_rpm: float
    course: Floats
    sound: Floats

    @property
    def mean_rpm(self) -> float:
        """Mean true speed, each cycle weighing by its duration."""
        return float(np.average(self.true_rpm, weights=self.duration_s))

    def at(self, speed_rpm: float) -> float:
        """The gauge's true level at a speed, kPa."""
        return self.level_kpa + self.per_rpm * (speed_rpm - self.mean_rpm)


@dataclass(frozen=True)
class Scene:
    """What both stretches of a pair share."""

    kind: str
    base_rpm: float
    per_rpm: float
    slow_kpa: float
    white_kpa: float
    memory: float
    swing_rpm: float
    period_s: float
    refresh_s: float
    delay_s: float
    middle_degc: float
    warming_k_per_min: float
    exponent: float


@dataclass(frozen=True)
class Pair:
    """As found and with the crankcase moved; `slope` is how far the gauge follows it."""

    first: Stretch
    second: Stretch
    slope: float
    scene: Scene


def _scene(rng: Rng, kind: str, level: float) -> Scene:
    total = level * drawn(rng, 0.004, 0.015)
    share = drawn(rng, 0.1, 0.9)
    wild = kind in ("hunting", "slow-late-speed")
    base = drawn(rng, 650.0, 950.0)
    return Scene(
        kind=kind,
        base_rpm=base,
        per_rpm=level / base * drawn(rng, 0.6, 1.1),
        slow_kpa=total * share**0.5,
        white_kpa=total * (1.0 - share) ** 0.5,
        memory=drawn(rng, 0.3, 0.92),
        swing_rpm=drawn(rng, 12.0, 60.0) if wild else drawn(rng, 1.5, 6.0),
        period_s=drawn(rng, 0.9, 4.0),
        refresh_s=float(rng.choice([0.1, 0.2, 0.5])),
        delay_s=drawn(rng, 0.0, 0.8),
        middle_degc=drawn(rng, 75.0, 100.0),
        warming_k_per_min=drawn(rng, 0.5, 3.0) if kind == "warming" else 0.0,
        exponent=0.9 + 0.15 * float(rng.standard_normal()),
    )


def _speed(rng: Rng, scene: Scene, rpm: float, count: int) -> Floats:
    """(count,) mean speed of each cycle."""
    if scene.kind in ("hunting", "slow-late-speed"):
        time_s = np.arange(count) * 120.0 / rpm
        swing = narrow_band(rng, time_s, scene.swing_rpm, scene.period_s, 0.12)
        return rpm + swing + autoregressive(rng, count, 2.0, 0.5)
    return rpm + autoregressive(rng, count, scene.swing_rpm, 0.8)


def _course(rng: Rng, scene: Scene, time_s: Floats, level: float) -> tuple[Floats, Floats]:
    """(n,) slow course in kPa, nought at mid-time, and (n, k) its known forms."""
    length = time_s[-1] - time_s[0]
    place = (time_s - 0.5 * (time_s[0] + time_s[-1])) / length
    noise = (scene.slow_kpa**2 + scene.white_kpa**2) ** 0.5
    if scene.kind == "drifting":
        size = float(rng.choice([-1.0, 1.0])) * noise * drawn(rng, 3.0, 15.0)
        return size * place, place[:, None]
    if scene.kind == "warming":
        degc = scene.middle_degc + scene.warming_k_per_min / 60.0 * length * place
        thick = viscosity_cst("5W-30", degc) / viscosity_cst("5W-30", scene.middle_degc)
        return level * (thick**scene.exponent - 1.0), place[:, None]
    return np.zeros_like(time_s), np.zeros((len(time_s), 0))


def _shown_speed(rng: Rng, scene: Scene, time_s: Floats, speed: Floats) -> Floats:
    if scene.kind != "slow-late-speed":
        return speed
    step = float(rng.choice([0.25, 1.0, 4.0]))
    return held_late(rng, time_s, speed, scene.refresh_s, scene.delay_s, step)


def _stretch(rng: Rng, scene: Scene, rpm: float, level: float, box: float) -> Stretch:
    """One condition; `level` holds for the gauge at `scene.base_rpm`."""
    count = int(rng.integers(5, 13)) if scene.kind == "few-cycles" else int(rng.integers(60, 240))
    speed = _speed(rng, scene, rpm, count)
    duration = 120.0 / speed
    time_s = np.cumsum(duration) - 0.5 * duration + 3.0
    mean = float(np.average(speed, weights=duration))
    course, forms = _course(rng, scene, time_s, level)
    noise = autoregressive(rng, count, scene.slow_kpa, scene.memory)
    noise += scene.white_kpa * rng.standard_normal(count)
    crankcase = box + 0.04 * rng.standard_normal(count) + autoregressive(rng, count, 0.03, 0.5)
    truth = level + scene.per_rpm * (mean - scene.base_rpm)
    gauge = truth + scene.per_rpm * (speed - mean) + course + noise + crankcase - box
    struck = np.zeros(count, dtype=bool)
    size = (scene.slow_kpa**2 + scene.white_kpa**2) ** 0.5
    if scene.kind == "spikes":
        struck = rng.random(count) < 0.04
        gauge = gauge + struck * rng.choice([-1.0, 1.0], count) * size * rng.uniform(
            6.0, 25.0, count
        )
    if scene.kind == "quantised":
        step = size * drawn(rng, 0.3, 1.5)
        gauge = np.round(gauge / step) * step
    shown = _shown_speed(rng, scene, time_s, speed)
    return Stretch(
        time_s, duration, shown, speed, gauge, crankcase, truth, box, scene.per_rpm, forms, ~struck
    )


def make_pair(seed: int, number: int, kind: str) -> Pair:
    """Stretch pair `number` of a class."""
    rng = np.random.default_rng([seed, number])
    level = drawn(rng, 60.0, 200.0)
    scene = _scene(rng, kind, level)
    found = float(rng.choice([-1.0, 1.0])) * drawn(rng, 3.0, 12.0)
    moved = drawn(rng, -0.3, 0.3)
    slope = float(rng.choice([1.0, 1.0, 1.0, 0.0, 1.6]))
    rpm = scene.base_rpm + drawn(rng, -0.6, 0.6) * scene.swing_rpm
    first = _stretch(rng, scene, scene.base_rpm, level, found)
    second = _stretch(rng, scene, rpm, level + slope * (moved - found), moved)
    return Pair(first, second, slope, scene)


def late_by(stretch: Stretch, delay_s: float) -> Floats:
    """(n,) the shown speed moved back by a delay."""
    return np.interp(stretch.time_s + delay_s, stretch.time_s, stretch.shown_rpm)
