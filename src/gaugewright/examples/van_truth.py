"""What is truly the matter with the example van, visit by visit.

A light van that ticks at hot idle and weeps oil at its seals.  Its breather is blocked, and
fuel has thinned its oil.  Everything here is invented; what follows from it is the virtual
engine's doing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.engine.steady import Solved, solve
from gaugewright.examples import van_engine
from gaugewright.physics.numbers import Floats, Numbers

SPEED_RPM = van_engine.SPEED_RPM
TEMPERATURE_DEGC = van_engine.TEMPERATURE_DEGC
BAROMETER_KPA = van_engine.BAROMETER_PA / 1e3
KPA = 1e-3


@dataclass(frozen=True)
class VisitTruth:
    """One visit as it truly was: what a perfect instrument would have shown.

    `fuel`: whether there is fuel in the oil; `blocked`: whether the breather is.  `idle_rpm` is
    the speed the governor aims at.  `clock_offset_s` added to the second logger's time gives
    the first logger's.
    """

    name: str
    fuel: bool
    blocked: bool
    idle_rpm: float
    clock_offset_s: float

    @property
    def engine(self) -> Engine:
        """Its engine as it was at this visit."""
        return van_engine.engine(self.fuel, self.blocked, self.idle_rpm)

    def settled(
        self, speed_rpm: Numbers | None, temperature_degc: Numbers, did: str = "nothing"
    ) -> Solved:
        """Where it settles, held at this speed (None: idling) and as warm as this."""
        held = Held(frozenset({did}), speed_rpm, temperature_degc)
        return solve(van_engine.BUILD, self.engine, [held])

    def bearings_kpa(self, speed_rpm: Floats, temperature_degc: Floats) -> Floats:
        """What the bearings get, gallery minus crankcase, kPa."""
        solved = self.settled(speed_rpm, temperature_degc).gallery_pa[0] * KPA
        return np.asarray(solved.reshape(np.broadcast(speed_rpm, temperature_degc).shape))

    def crankcase_kpa(self, speed_rpm: Floats) -> Floats:
        """Where the crankcase settles with the cap on, against the outside air, kPa."""
        solved = self.settled(speed_rpm, TEMPERATURE_DEGC).crankcase_over_pa[0] * KPA
        return np.asarray(solved.reshape(np.shape(speed_rpm)))

    @property
    def cap_off_kpa(self) -> float:
        """The crankcase at idle with the filler cap off, against the outside air, kPa."""
        solved = self.settled(None, TEMPERATURE_DEGC, "filler-cap-off")
        return float(solved.crankcase_over_pa[0, 0]) * KPA

    @property
    def bearings_at_kpa(self) -> float:
        """What the bearings get at 820 rpm and 80 degC, kPa."""
        return float(self.bearings_kpa(np.array(SPEED_RPM), np.array(TEMPERATURE_DEGC)))

    @property
    def crankcase_at_kpa(self) -> float:
        """The crankcase at 820 rpm and 80 degC, against the outside air, kPa."""
        return float(self.crankcase_kpa(np.array(SPEED_RPM)))

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
        VisitTruth("as found", True, True, 838.0, -7.348),
        VisitTruth("breather cleared", True, False, 829.0, -11.913),
        VisitTruth("oil changed", False, False, 834.0, -4.206),
    )


def hand_value(value: float, step: float) -> float:
    """A value as read off a dial whose pointer is read to this step."""
    return round(math.floor(value / step + 0.5) * step, 9)
