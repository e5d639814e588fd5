"""The sealed engine of one job: what its pressures truly are in every condition."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from validation.noise import Floats, Rng

GRADES = {
    "0W-20": (44.0, 8.2),
    "5W-30": (62.0, 10.5),
    "5W-40": (84.0, 14.0),
    "10W-40": (97.0, 14.4),
}
"""Usual kinematic viscosities at 40 and 100 degC, cSt; from memory."""


def viscosity_cst(grade: str, temperature_degc: Floats | float) -> Floats:
    """Kinematic viscosity by the two-point line of ASTM D341, Z = v + 0.7 above 2 cSt."""
    cold, hot = (np.log10(np.log10(v + 0.7)) for v in GRADES[grade])
    x40, x100 = np.log10(313.15), np.log10(373.15)
    slope = (cold - hot) / (x100 - x40)
    x = np.log10(np.asarray(temperature_degc) + 273.15)
    return np.asarray(10.0**10.0 ** (cold - slope * (x - x40)) - 0.7)


@dataclass(frozen=True)
class Held:
    """One condition as the engine was held, on its visit's true clock."""

    visit: str
    name: str
    did: tuple[str, ...]
    speed_rpm: float
    crankcase_kpa: float
    start_s: float
    end_s: float
    marked_from_s: float
    marked_to_s: float
    drift_kpa_per_s: float = 0.0
    crankcase_drift_kpa_per_s: float = 0.0

    @property
    def middle_s(self) -> float:
        """The middle of the settled part."""
        return 0.5 * (self.start_s + self.end_s)


@dataclass(frozen=True)
class Engine:
    """One state of the engine: pressure against speed, oil temperature and crankcase.

    The bearings' pressure is `base_kpa` at `base_rpm` and `base_degc`, goes with speed to the
    power `rise` and with viscosity to the power `exponent`; `slope` is how far the gauge
    follows the crankcase away from `found_kpa`.
    """

    visit: str
    grade: str
    base_kpa: float
    base_rpm: float
    base_degc: float
    rise: float
    exponent: float
    slope: float
    found_kpa: float
    crankcase_per_rpm: float
    relief_kpa: float
    step_rpm: float | None
    step_factor: float
    barometer_kpa: float
    warming_k_per_s: float = 0.0
    conditions: tuple[Held, ...] = field(default=())

    def temperature(self, time_s: Floats | float) -> Floats:
        """Oil temperature on the visit's clock, degC."""
        return np.asarray(self.base_degc + self.warming_k_per_s * np.asarray(time_s))

    def _thickness(self, temperature_degc: Floats | float) -> Floats:
        there = viscosity_cst(self.grade, temperature_degc)
        return np.asarray((there / viscosity_cst(self.grade, self.base_degc)) ** self.exponent)

    def pumped(self, speed_rpm: Floats | float, temperature_degc: Floats | float) -> Floats:
        """Gallery minus crankcase with the crankcase as found, kPa."""
        speed = np.maximum(np.asarray(speed_rpm, dtype=np.float64), 0.0)
        pressure = self.base_kpa * (speed / self.base_rpm) ** self.rise
        pressure = pressure * self._thickness(temperature_degc)
        if self.step_rpm is not None:
            pressure = np.where(speed > self.step_rpm, pressure * self.step_factor, pressure)
        ceiling = self.relief_kpa + 0.02 * (pressure - self.relief_kpa)
        return np.asarray(np.minimum(pressure, ceiling))

    def crankcase(self, held: Held, speed_rpm: Floats | float) -> Floats:
        """Crankcase against atmosphere at this speed, kPa."""
        away = np.asarray(speed_rpm) - held.speed_rpm
        return np.asarray(held.crankcase_kpa + self.crankcase_per_rpm * away)

    def bearings(self, held: Held, speed_rpm: float, temperature_degc: float) -> float:
        """Gallery minus crankcase in a condition, kPa."""
        lost = (self.slope - 1.0) * (held.crankcase_kpa - self.found_kpa)
        return float(self.pumped(speed_rpm, temperature_degc)) + lost

    def level(
        self, held: Held, quantity: str, reference: str, speed_rpm: float, temperature_degc: float
    ) -> float:
        """The settled mean of a pressure against a reference, kPa."""
        crankcase = float(self.crankcase(held, speed_rpm))
        if quantity == "oil-pressure":
            inside = self.bearings(held, speed_rpm, temperature_degc)
            gauge = inside + crankcase
            if reference == "crankcase":
                return inside
        else:
            gauge = crankcase
        return gauge + self.barometer_kpa if reference == "vacuum" else gauge

    def named(self, condition: str) -> Held:
        """The condition of that name."""
        return next(held for held in self.conditions if held.name == condition)


def drawn(rng: Rng, low: float, high: float) -> float:
    """A uniform draw as a plain float."""
    return float(rng.uniform(low, high))
