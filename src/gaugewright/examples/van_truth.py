"""What is truly the matter with the example van, visit by visit.

A light van that ticks at hot idle and weeps oil at its seals.  Its breather is blocked, and
fuel has thinned its oil.  Everything here is invented; the shapes of the laws are ordinary:
oil pressure below the relief valve goes with speed and with viscosity to the power 0.9, and a
crankcase with a fixed way out settles to a pressure that grows a little with speed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SPEED_RPM = 820.0
"""The speed for which the maker prints the idle limit."""

TEMPERATURE_DEGC = 80.0
"""The oil temperature for which the maker prints the idle limit."""

BAROMETER_KPA = 97.6
EXPONENT = 0.9

VOGEL_B, VOGEL_C = 843.0, 101.3
"""Chosen so that the oil is 1.78 times as thick at 60 degC and 0.63 times at 100 degC."""


def thickness(temperature_degc: Floats) -> Floats:
    """Viscosity over that at 80 degC, by Vogel's equation, as (n,) like the temperature."""
    at = TEMPERATURE_DEGC
    exponent = VOGEL_B / (temperature_degc + VOGEL_C) - VOGEL_B / (at + VOGEL_C)
    return np.asarray(np.exp(exponent), dtype=np.float64)


@dataclass(frozen=True)
class VisitTruth:
    """One visit as it truly was: what a perfect instrument would have shown.

    `bearings_at_kpa` and `crankcase_at_kpa` hold at 820 rpm and 80 degC; the crankcase is
    against the outside air.  `cap_off_kpa` is the crankcase with the filler cap off.
    `idle_rpm` and `cap_off_rpm` are the speeds the governor aims at.  `clock_offset_s` added
    to the second logger's time gives the first logger's.
    """

    name: str
    bearings_at_kpa: float
    crankcase_at_kpa: float
    cap_off_kpa: float
    idle_rpm: float
    cap_off_rpm: float
    clock_offset_s: float

    def bearings_kpa(self, speed_rpm: Floats, temperature_degc: Floats) -> Floats:
        """What the bearings get, gallery minus crankcase, kPa."""
        speed = np.asarray(speed_rpm, dtype=np.float64) / SPEED_RPM
        warmth = np.asarray(temperature_degc, dtype=np.float64)
        return self.bearings_at_kpa * speed * thickness(warmth) ** EXPONENT

    def crankcase_kpa(self, speed_rpm: Floats) -> Floats:
        """Where the crankcase settles with the cap on, against the outside air, kPa."""
        speed = np.maximum(np.asarray(speed_rpm, dtype=np.float64), 0.0) / SPEED_RPM
        power = 0.35 if self.crankcase_at_kpa > 0.0 else -0.3
        grown = np.power(np.maximum(speed, 0.05), power)
        running = np.minimum(speed / 0.5, 1.0)
        return self.crankcase_at_kpa * np.asarray(grown * running, dtype=np.float64)

    @property
    def gauge_at_kpa(self) -> float:
        """What a gauge at the gallery shows at 820 rpm and 80 degC, kPa."""
        return self.bearings_at_kpa + self.crankcase_at_kpa


def truth() -> tuple[VisitTruth, ...]:
    """The three visits as they truly were, in order.

    As found the gauge shows 95 kPa and meets the printed 90 while the bearings get 84.  With
    the breather cleared the gauge shows 82 and the bearings still get 84.  With oil and filter
    changed the bearings get 105 and the gauge shows 103.
    """
    return (
        VisitTruth("as found", 84.0, 11.0, 0.4, 838.0, 833.0, -7.348),
        VisitTruth("breather cleared", 84.0, -2.0, 0.1, 829.0, 846.0, -11.913),
        VisitTruth("oil changed", 105.0, -2.0, 0.1, 834.0, 850.0, -4.206),
    )


def hand_value(value: float, step: float) -> float:
    """A value as read off a dial whose pointer is read to this step."""
    return round(math.floor(value / step + 0.5) * step, 9)
