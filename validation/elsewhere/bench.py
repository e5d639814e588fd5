"""Instruments: from what truly was to what a file or a technician holds of it.

A sensor's deviation is one smooth curve of its stated standard size; calibration points err by
their stated size; a hand gauge errs by one number for the whole job.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from validation.elsewhere.car import Values
from validation.elsewhere.tables import Rng, happens

COUNT_V = 5.0 / 4096.0
STOP_V = 4.9


@dataclass(frozen=True)
class Sensor:
    """A transducer of 0.5 to 4.5 V over its range; its hidden errors and its stated ones, kPa."""

    name: str
    low: float
    high: float
    accuracy: float
    point_uncertainty: float
    curve: tuple[float, float]
    points: tuple[tuple[float, float], ...]

    def volts(self, kpa: Values) -> Values:
        """Its output for a true pressure, as a logger of 12 bits stores it."""
        angle = 0.5 * np.pi * (kpa - self.low) / (self.high - self.low)
        bent = kpa + self.curve[0] * np.cos(angle) + self.curve[1] * np.sin(angle)
        output = 0.5 + 4.0 * (bent - self.low) / (self.high - self.low)
        return np.round(np.clip(output, 0.0, STOP_V) / COUNT_V) * COUNT_V


def oil_sensor(rng: Rng) -> Sensor:
    """A transducer for oil pressure."""
    return _sensor(rng, "oil transducer", 0.0, float(rng.choice([1000.0, 1000.0, 1600.0])), 0.004)


def crank_sensor(rng: Rng) -> Sensor:
    """A transducer for the crankcase, both ways from the outside air."""
    high = float(rng.choice([20.0, 35.0]))
    return _sensor(rng, "crankcase transducer", -high, high, 0.003)


def _sensor(rng: Rng, name: str, low: float, high: float, share: float) -> Sensor:
    span = high - low
    accuracy = round(share * span * float(rng.uniform(0.4, 1.6)), 3)
    own = happens(rng, 0.4)  # calibrated by the workshop itself, point by point
    error = round(0.002 * span * float(rng.uniform(0.5, 1.5)), 3) if own else 0.0
    curve = accuracy * rng.normal(0.0, 1.0, 2)
    stated = np.linspace(low, high, 5 if own else 2)
    output = 0.5 + 4.0 * (stated - low) / span
    stated = stated + rng.normal(0.0, 1.0, len(stated)) * error
    points = [(round(float(v), 4), round(float(p), 3)) for v, p in zip(output, stated, strict=True)]
    return Sensor(
        name, low, high, accuracy, error, (float(curve[0]), float(curve[1])), tuple(points)
    )


@dataclass(frozen=True)
class HandGauge:
    """A gauge read by eye: one hidden error for the job, and steps it is read to, in its unit."""

    name: str
    unit: str
    accuracy: float
    error: float
    step: float

    def read(self, rng: Rng, true: float) -> tuple[float, float]:
        """What is noted, and the standard uncertainty of reading it off."""
        reading_off = 0.4 * self.step
        shown = true + self.error + float(rng.normal(0.0, reading_off))
        return round(shown / self.step) * self.step, round(0.5 * self.step, 4)


def hand_gauge(rng: Rng, what: str) -> HandGauge:
    """A gauge for `oil`, `second`, `crank`, `manifold`, `trims` or `air`."""
    name, unit, accuracy, step = {
        "oil": ("dial gauge", "kPa", 6.0, 5.0),
        "second": ("second gauge", "kPa", 5.0, 5.0),
        "crank": ("crankcase gauge", "kPa", 0.15, 0.1),
        "manifold": ("scan value of the manifold", "kPa", 0.6, 1.0),
        "trims": ("scan value of the trims", "%", 0.4, 0.8),
        "air": ("scan value of the air", "g/s", 0.06, 0.01),
    }[what]
    return HandGauge(name, unit, accuracy, float(rng.normal(0.0, accuracy)), step)


def held_for(values: Values, time: Values, refresh_hz: float) -> Values:
    """The values as a slow source shows them: each kept until the next."""
    last = np.floor(time * refresh_hz) / refresh_hz
    return values[np.clip(np.searchsorted(time, last), 0, len(values) - 1)]


def in_steps(values: Values, step: float) -> Values:
    """The values to whole steps."""
    return np.round(values / step) * step
