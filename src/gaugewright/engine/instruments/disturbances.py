"""What gets into a signal on its way: noise, the mains, sparks, a loose plug."""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Floats

RING_HZ = 8000.0
"""A spark's ringing as pick-ups hear it (common practice, no source)."""
RING_DECAY_S = 0.9e-3
RING_HEARD_S = 6e-3
MAINS_HZ = 50.0


def noise(count: int, std: float, rng: np.random.Generator) -> Floats:
    """White noise (count,) of this standard deviation."""
    return np.asarray(rng.normal(scale=std, size=count), dtype=np.float64)


def hum(time_s: Floats, height: float, phase: float = 0.0, hz: float = MAINS_HZ) -> Floats:
    """The mains (n,): a sine of this height with a fifth of it at three times the frequency."""
    turn = 2.0 * np.pi * hz * time_s + phase
    return np.asarray(height * (np.sin(turn) + 0.2 * np.sin(3.0 * turn)), dtype=np.float64)


def sparks_in(time_s: Floats, ignition_v: Floats, level_v: float, quiet_s: float = 8e-3) -> Floats:
    """The instants (k,) at which an ignition signal first passes this level, rising or falling.

    Parameters: the signal (n,) on its clock; what passes within `quiet_s` of a spark is its
    ringing.  Made for placing interference, on a signal known to be clean.
    """
    over = np.flatnonzero(np.abs(ignition_v) > level_v)
    kept: list[int] = []
    last = -np.inf
    for row in over:
        if time_s[row] - last > quiet_s:
            kept.append(int(row))
            last = time_s[row]
    return np.asarray(time_s[kept], dtype=np.float64)


def spikes(
    time_s: Floats,
    sparks_s: Floats,
    height: float,
    rng: np.random.Generator,
    ring_hz: float = RING_HZ,
    spread: float = 0.15,
) -> Floats:
    """What sparks leave in a signal (n,): a decaying ring after each of them.

    Parameters: the clock; the sparks' instants (k,), rising; height of a ring at its start
    and how far, as a share, it differs from spark to spark.
    """
    if not len(sparks_s):
        return np.zeros(len(time_s))
    last = np.searchsorted(sparks_s, time_s, side="right") - 1
    since = time_s - sparks_s[np.maximum(last, 0)]
    heard = (last >= 0) & (since < RING_HEARD_S)
    heights = height * rng.normal(1.0, spread, size=len(sparks_s))
    out = np.zeros(len(time_s))
    after = since[heard]
    out[heard] = (
        heights[last[heard]] * np.exp(-after / RING_DECAY_S) * np.cos(2.0 * np.pi * ring_hz * after)
    )
    return out


def dropped_out(
    values: Floats,
    interval_s: float,
    per_minute: float,
    rng: np.random.Generator,
    length_s: float = 0.02,
    shows: float = 0.0,
) -> Floats:
    """Values (n,) of a plug that loses contact now and then: stretches that show `shows`.

    Parameters: how often a minute on average; the mean length of a loss.
    """
    out = values.copy()
    count = rng.poisson(per_minute * len(values) * interval_s / 60.0)
    for first, lasts in zip(
        rng.integers(0, len(values), size=count), rng.exponential(length_s, size=count), strict=True
    ):
        out[first : first + max(1, round(lasts / interval_s))] = shows
    return out
