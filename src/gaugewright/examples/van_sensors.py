"""The van's two pressure sensors: how they truly are, and how the technician calibrated them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.examples.van_truth import BAROMETER_KPA

Floats = npt.NDArray[np.float64]
Points = tuple[tuple[float, float], ...]
"""Pairs of volts and pressure: (V, kPa)."""

SUPPLY_V, POINTS_SUPPLY_V = 4.90, 5.0


@dataclass(frozen=True)
class OilSensor:
    """A ratiometric transducer for 0 to 700 kPa, and its calibration points at 5 V."""

    zero_v: float
    volts_per_kpa: float
    bend_kpa: tuple[float, float]
    points: Points

    def volts(self, pressure_kpa: Floats, supply_v: float = SUPPLY_V) -> Floats:
        """Its output (n,) V at this supply."""
        bent = pressure_kpa + _bend(pressure_kpa, self.bend_kpa, 700.0)
        return (self.zero_v + self.volts_per_kpa * bent) * (supply_v / POINTS_SUPPLY_V)


@dataclass(frozen=True)
class CrankcaseSensor:
    """An old manifold sensor for 15 to 115 kPa absolute, pushed onto the dipstick tube."""

    zero_v: float
    volts_per_kpa: float
    bend_kpa: tuple[float, float]
    points: Points

    def volts(self, absolute_kpa: Floats) -> Floats:
        """Its output (n,) V."""
        bent = absolute_kpa + _bend(absolute_kpa, self.bend_kpa, 100.0)
        return self.zero_v + self.volts_per_kpa * bent


def _bend(pressure_kpa: Floats, bend_kpa: tuple[float, float], span_kpa: float) -> Floats:
    angle = 0.5 * np.pi * pressure_kpa / span_kpa
    return bend_kpa[0] * np.cos(angle) + bend_kpa[1] * np.sin(angle)


def oil_sensor(rng: np.random.Generator) -> OilSensor:
    """The oil transducer with errors of the size job.toml states, and its five points."""
    bend = tuple(0.8 * rng.normal(size=2))
    true = OilSensor(0.5 + 0.004 * rng.normal(), 4.0 / 700.0, (bend[0], bend[1]), ())
    at = np.array([0.0, 100.0, 200.0, 300.0, 400.0])
    stated = at + 0.8 * rng.normal(size=len(at)) + 0.6 * rng.normal()
    volts = true.volts(at, POINTS_SUPPLY_V)
    return OilSensor(true.zero_v, true.volts_per_kpa, true.bend_kpa, _points(volts, stated))


def crankcase_sensor(rng: np.random.Generator) -> CrankcaseSensor:
    """The crankcase transducer, calibrated with a hand pump and a gauge at five points."""
    bend = tuple(0.25 * rng.normal(size=2))
    true = CrankcaseSensor(0.12 + 0.01 * rng.normal(), 0.0395, (bend[0], bend[1]), ())
    at = BAROMETER_KPA + np.array([-10.0, -5.0, 0.0, 5.0, 15.0])
    stated = at + 0.25 * rng.normal(size=len(at)) + 0.2 * rng.normal()
    points = _points(true.volts(at), stated)
    return CrankcaseSensor(true.zero_v, true.volts_per_kpa, true.bend_kpa, points)


def _points(volts: Floats, stated_kpa: Floats) -> Points:
    return tuple((float(v), float(p)) for v, p in zip(volts, stated_kpa, strict=True))


def points_text(points: Points, unit: str) -> str:
    """The points as job.toml writes them, in bar (to 0.01) or kPa (to 0.1)."""
    rows = [
        f'  ["{v:.3f} V", "{p / 100.0:.3f} bar"],'
        if unit == "bar"
        else f'  ["{v:.3f} V", "{p:.1f} kPa"],'
        for v, p in points
    ]
    return "\n".join(rows)
