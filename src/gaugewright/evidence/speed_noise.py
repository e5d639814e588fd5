"""How much of a speed is not the engine's course: the doubt of every slope on it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
UNTIMED_S = 0.3
"""A sampled speed that could not be timed may be late by about this much (J)."""
UNFOLLOWED = 0.125
"""Share of a sampled speed's bends over its interval that a line between samples misses (J)."""


def speed_noise_share(
    time_s: Floats, speed_rpm: Floats, untimed_s: float = 0.0, refresh_s: float = 0.0
) -> float:
    """Which share of the speed's variance is not the engine's course but noise of the speed?

    Fresh scatter from cycle to cycle is taken from second differences; a delay that is not
    known adds what the speed changes within it, samples far apart what they cannot follow.
    A slope on a noisy speed is flattened by this share (errors in variables), so it is the
    slope's doubt.
    """
    speed = speed_rpm[np.isfinite(speed_rpm)]
    if len(speed) < 4 or not np.ptp(speed) > 0:
        return 1.0
    cycle = max(float(np.median(np.diff(time_s))), 1e-9)
    noise = _bends(speed, 1) * 2.0 / 3.0
    apart = round(refresh_s / cycle)
    if 1 < apart < len(speed) // 3:
        noise += UNFOLLOWED * _bends(speed, apart)
    steps = round(untimed_s / cycle)
    if 0 < steps < len(speed) // 2:
        noise += 0.5 * float(np.mean((speed[steps:] - speed[:-steps]) ** 2))
    return min(1.0, noise / float(np.var(speed)))


def _bends(speed: Floats, apart: int) -> float:
    """Variance of a value less the mean of its neighbours `apart` before and after."""
    inner = speed[apart:-apart]
    return float(np.var(inner - 0.5 * (speed[2 * apart :] + speed[: -2 * apart])))
