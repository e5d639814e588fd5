"""Bringing levels to one speed: each stretch's own slope, and what the others say of it.

In a steadily held stretch the slope on speed is all but unknown, in a hunting one it is well
known.  Conditions of one engine share most of it.  Slopes are therefore estimated together:
a common elasticity (pressure goes with speed to a power), a small part of each condition's
own, and the stretches' evidence (a linear mixed model, solved exactly).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.level import Level

Floats = npt.NDArray[np.float64]

OIL_POWER, OIL_POWER_SPREAD = 0.7, 0.45
"""Oil pressure goes with speed to about this power before anything is measured (J)."""
OTHER_POWER_SPREAD = 0.7
OWN_POWER_SPREAD = 0.15
"""Part of the power that belongs to one condition alone (J)."""
FAR_POWER_SPREAD = 0.7
"""The same for conditions a factor e apart in speed (J)."""
FLOORS = {"crankcase-pressure": 2000.0, "manifold-pressure": 30000.0}
FLOOR = 5.0
BLIND = 50.0
BENT = 0.7
"""Going far along a straight line misses a bend: this power times distance times log ratio (J)."""


def sizes(quantity: str, levels: list[Level], lift: float = 0.0) -> Floats:
    """(k,) the size that a power of one is meant of, for each level.

    `lift` is what the levels' reference adds: the barometer for absolute pressures.
    """
    floor = FLOORS.get(quantity, 10_000.0 if quantity.endswith("pressure") else FLOOR)
    return np.array([max(abs(level.value - lift), floor) for level in levels])


def together(
    quantity: str, levels: list[Level], speed_rpm: float, lift: float = 0.0
) -> tuple[Floats, Floats]:
    """All levels at one speed, (k,), with the covariance (k, k) of their own noise.

    Every level must have a speed.  Units are the levels' own.
    """
    speeds = np.array([float(level.speed_rpm or speed_rpm) for level in levels])
    unit = sizes(quantity, levels, lift) / speeds
    mean, prior = _slope_prior(quantity, unit, speeds)
    joint = _joint(levels, np.sqrt(np.diag(prior)))
    state = np.concatenate([[level.value for level in levels], [level.slope for level in levels]])
    count = len(levels)
    gain = joint[:, count:] @ np.linalg.inv(joint[count:, count:] + prior)
    state = state + gain @ (mean - state[count:])
    joint = joint - gain @ joint[count:, :]
    lever, moved = _along(quantity, state[:count], state[count:], speeds, speed_rpm, lift)
    way = np.hstack([np.eye(count), np.diag(lever)])
    bend = BENT * unit * (speed_rpm - speeds) * np.log(speed_rpm / speeds)
    return moved, way @ joint @ way.T + np.diag(bend**2)


def _along(
    quantity: str, values: Floats, slopes: Floats, speeds: Floats, to_rpm: float, lift: float
) -> tuple[Floats, Floats]:
    """How far each slope reaches, and the values brought there.

    Oil pressure goes along a power of speed, which is its slope's line nearby; all else along
    the line.
    """
    if quantity != "oil-pressure" or np.any(values - lift <= 0):
        return to_rpm - speeds, values + slopes * (to_rpm - speeds)
    net = values - lift
    power = np.clip(slopes * speeds / net, -1.0, 2.0)
    grown = (to_rpm / speeds) ** power
    return speeds * np.log(to_rpm / speeds) * grown, lift + net * grown


def _slope_prior(quantity: str, unit: Floats, speeds: Floats) -> tuple[Floats, Floats]:
    """Mean (k,) and covariance (k, k) of the slopes before the stretches speak."""
    power, spread = (
        (OIL_POWER, OIL_POWER_SPREAD) if quantity == "oil-pressure" else (0.0, OTHER_POWER_SPREAD)
    )
    apart = np.log(speeds / np.exp(np.mean(np.log(speeds))))
    own = OWN_POWER_SPREAD**2 + (FAR_POWER_SPREAD * apart) ** 2
    return power * unit, spread**2 * np.outer(unit, unit) + np.diag(own * unit**2)


def _joint(levels: list[Level], prior_sd: Floats) -> Floats:
    """(2k, 2k) covariance of values and slopes; a slope unknown altogether is merely wide."""
    count = len(levels)
    joint = np.zeros((2 * count, 2 * count))
    for k, level in enumerate(levels):
        scale = level.scale
        if not np.isfinite(scale[1, 1]):
            scale = np.diag([scale[0, 0], (BLIND * prior_sd[k]) ** 2])
        joint[np.ix_([k, count + k], [k, count + k])] = scale
    return joint


def common_speed(levels: list[Level]) -> tuple[float, bool]:
    """The speed at which levels are compared, and whether that is an extrapolation.

    The mean of the mean speeds when every stretch visited it (5th to 95th percentile of its
    cycles), else the visited speed nearest to it.
    """
    middle = float(np.mean([float(level.speed_rpm or 0.0) for level in levels]))
    supports = [level.support_rpm or (middle, middle) for level in levels]
    if all(low <= middle <= high for low, high in supports):
        return middle, False
    edges = [float(np.clip(middle, low, high)) for low, high in supports]
    return min(edges, key=lambda edge: abs(edge - middle)), True
