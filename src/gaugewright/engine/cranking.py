"""One firing interval with the starter on: too slow and too uneven for a mean torque."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugewright.engine.crankshaft import Starter
from gaugewright.engine.cylinder_trace import FiringWork
from gaugewright.physics.numbers import Floats

STARTER_INERTIA = 1.0
"""Of the starter through its gears, over the engine's own (judgement)."""
CRAWL_RADS = 1.0
"""Slower than this the starter is taken to pull through."""


@dataclass(frozen=True)
class Cranked:
    """Instants (p,) s from the interval's begin and speeds (p,) rad/s at its points, the
    starter's torque (p,) as a share of its standstill's; how long it took, the speed at its
    end."""

    at_s: Floats
    speeds_rads: Floats
    torque_share: Floats
    seconds: float
    speed_rads: float


def cranked(
    works: FiringWork,
    speed_rads: float,
    left_nm: float,
    work_j: float,
    firing_rad: float,
    inertia: float,
    charges_pa: Floats,
    starter: Starter,
) -> Cranked:
    """Turn by one firing under the starter, point by point.

    Parameters: `left_nm` mean torque left over, the firing's work in it; `charges_pa` of
    all cylinders, as `works` has them.
    Source: the kinetic energy gains the work of starter, gas, firing and friction.
    """
    points = len(works.burnt) - 1
    inertia = inertia * (1.0 + STARTER_INERTIA)
    turn = firing_rad / points
    steady = (left_nm * firing_rad - work_j) / points
    given = np.diff(works.lent(charges_pa)) + np.diff(works.burnt) * work_j + steady
    speed, clock = max(speed_rads, CRAWL_RADS), 0.0
    at, speeds, shares = [0.0], [speed], [starter.torque_nm(speed) / starter.stall_nm]
    for gain in given.tolist():
        drive = starter.torque_nm(speed)
        squared = speed * speed + 2.0 * (gain + drive * turn) / inertia
        after = math.sqrt(max(squared, CRAWL_RADS**2))
        clock += 2.0 * turn / (speed + after)
        speed = after
        at.append(clock)
        speeds.append(speed)
        shares.append(drive / starter.stall_nm)
    return Cranked(np.array(at), np.array(speeds), np.array(shares), clock, speed)
