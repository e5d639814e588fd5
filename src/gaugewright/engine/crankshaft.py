"""The crankshaft's inertia, the starter that turns it, and the battery behind that."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.physics.numbers import Floats

INERTIA_PER_M3 = 100.0
"""kg m2 of crankshaft and flywheel for each m3 of displacement (judgement: 0.2 kg m2 of two
litres)."""
STALL_NM_PER_M3 = 9.5e4
"""Torque of the starter at the flywheel at standstill for each m3 of displacement, at a
compression ratio of 10, in proportion to it (judgement)."""
FREE_RADS = 46.0
"""Speed at which the starter has no torque left, rad/s of the crank (judgement)."""
IDLE_A, STALL_A, CURRENT_POWER = 60.0, 620.0, 0.8
"""Current of the starter turning free and at standstill, and the power of the torque's share
with which it goes between them (judgement: a series motor's goes slower than its torque)."""
REST_V, CHARGING_V, INNER_OHM = 12.6, 14.1, 7.5e-3
"""Battery at rest and being charged, its inner resistance (common practice)."""


@dataclass(frozen=True)
class Starter:
    """Torque over speed falls with the square of what is left to its free speed, as a series
    motor's does (judgement)."""

    stall_nm: float
    free_rads: float = FREE_RADS

    def torque_nm(self, speed_rads: float) -> float:
        """What it gives the flywheel; its freewheel lets the engine run away from it."""
        return float(self.stall_nm * max(1.0 - speed_rads / self.free_rads, 0.0) ** 2)


def starter(displacement_m3: float, compression_ratio: float) -> Starter:
    """The starter an engine of this size has."""
    return Starter(STALL_NM_PER_M3 * displacement_m3 * compression_ratio / 10.0)


def current_a(torque_share: Floats) -> Floats:
    """The starter's current (n,) A for a torque as a share of the standstill's, 0 where it is
    off (share below 0)."""
    drawn = IDLE_A + (STALL_A - IDLE_A) * np.maximum(torque_share, 0.0) ** CURRENT_POWER
    return np.where(torque_share < 0.0, 0.0, drawn)


def battery_v(current: Floats, charging: Floats) -> Floats:
    """The battery's voltage (n,) V; `charging` (n,) from 0 to 1."""
    return REST_V + (CHARGING_V - REST_V) * charging - INNER_OHM * current
