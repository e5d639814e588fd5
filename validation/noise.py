"""The noises that engines and loggers make, each from its own definition."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

Floats = npt.NDArray[np.float64]
Rng = np.random.Generator


def autoregressive(rng: Rng, count: int, deviation: float, memory: float) -> Floats:
    """(count,) a stationary AR(1) series of this standard deviation and lag-one correlation."""
    shocks = rng.standard_normal(count) * deviation * np.sqrt(1.0 - memory**2)
    if count:
        shocks[0] = rng.standard_normal() * deviation
    return np.asarray(lfilter([1.0], [1.0, -memory], shocks), dtype=np.float64)


def narrow_band(
    rng: Rng, time_s: Floats, deviation: float, period_s: float, width: float
) -> Floats:
    """(n,) a random process around 1/period_s Hz: 24 tones with a spread of `width` of it."""
    tones = (1.0 + width * rng.standard_normal(24)) / period_s
    phases = rng.uniform(0.0, 2.0 * np.pi, 24)
    weights = rng.standard_normal(24) * deviation * np.sqrt(2.0 / 24.0)
    total = np.zeros_like(time_s)
    for tone, phase, weight in zip(tones, phases, weights, strict=True):
        total += weight * np.cos(2.0 * np.pi * tone * time_s + phase)
    return total


def held_late(
    rng: Rng, time_s: Floats, values: Floats, refresh_s: float, delay_s: float, step: float
) -> Floats:
    """(n,) what a slow scan channel shows: refreshed seldom, late, rounded, then carried on."""
    start = rng.uniform(0.0, refresh_s)
    taken = np.floor((time_s + start) / refresh_s) * refresh_s - start - delay_s
    shown = np.interp(taken, time_s, values)
    return np.round(shown / step) * step if step else shown


def rise(position: Floats) -> Floats:
    """(n,) a raised cosine from 0 to 1 as `position` goes from 0 to 1."""
    return 0.5 - 0.5 * np.cos(np.pi * np.clip(position, 0.0, 1.0))
