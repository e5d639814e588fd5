"""The van's two pressure sensors: how they truly are, and how the technician calibrated them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.engine.instruments.sensors import Sensor, volts
from gaugewright.examples.van_engine import BAROMETER_PA
from gaugewright.physics.numbers import Floats

Points = tuple[tuple[float, float], ...]
"""Pairs of volts and pressure: (V, kPa)."""

SUPPLY_V, POINTS_SUPPLY_V = 4.90, 5.0
OIL_NOISE_V, CRANKCASE_NOISE_V = 0.004, 0.003
KPA = 1e3


@dataclass(frozen=True)
class Calibrated:
    """A sensor as it truly is, and its calibration points."""

    sensor: Sensor
    points: Points


def oil_sensor(rng: np.random.Generator) -> Calibrated:
    """A ratiometric transducer for 0 to 700 kPa with errors of the size job.toml states, and
    its five points at 5 V."""
    bend = 0.8 * KPA * rng.normal(size=2)
    zero_v = 0.5 + 0.004 * rng.normal()
    sensor = Sensor(
        0.0,
        700.0 * KPA,
        low_v=zero_v,
        high_v=zero_v + 4.0,
        supply_v=POINTS_SUPPLY_V,
        ratiometric=True,
        bend=(float(bend[0]), float(bend[1])),
        noise_v=OIL_NOISE_V,
    )
    at = np.array([0.0, 100.0, 200.0, 300.0, 400.0]) * KPA
    stated = at + KPA * (0.8 * rng.normal(size=len(at)) + 0.6 * rng.normal())
    return Calibrated(sensor, _points(volts(sensor, at), stated))


def crankcase_sensor(rng: np.random.Generator) -> Calibrated:
    """An old manifold sensor for 15 to 115 kPa absolute, calibrated with a hand pump and a
    gauge at five points, pushed onto the dipstick tube."""
    bend = 0.25 * KPA * rng.normal(size=2)
    zero_v = 0.12 + 0.01 * rng.normal()
    sensor = Sensor(
        15.0 * KPA,
        115.0 * KPA,
        low_v=zero_v + 15.0 * 0.0395,
        high_v=zero_v + 115.0 * 0.0395,
        bend=(float(bend[0]), float(bend[1])),
        noise_v=CRANKCASE_NOISE_V,
    )
    at = BAROMETER_PA + np.array([-10.0, -5.0, 0.0, 5.0, 15.0]) * KPA
    stated = at + KPA * (0.25 * rng.normal(size=len(at)) + 0.2 * rng.normal())
    return Calibrated(sensor, _points(volts(sensor, at), stated))


def _points(at_v: Floats, stated_pa: Floats) -> Points:
    return tuple((float(v), float(p) / KPA) for v, p in zip(at_v, stated_pa, strict=True))


def points_text(points: Points, unit: str) -> str:
    """The points as job.toml writes them, in bar (to 0.01) or kPa (to 0.1)."""
    rows = [
        f'  ["{v:.3f} V", "{p / 100.0:.3f} bar"],'
        if unit == "bar"
        else f'  ["{v:.3f} V", "{p:.1f} kPa"],'
        for v, p in points
    ]
    return "\n".join(rows)
