"""Spikes and ringing bursts in fast signals, by their second difference.

An engine's own ripple is smooth over many samples at these rates.  The signal is read once,
in chunks that stay in the processor's cache; only what stands out is looked at again.
"""

from __future__ import annotations

import numpy as np

from gaugewright.sensing.scales import (
    LIMIT,
    MAD,
    MOST,
    Bools,
    Floats,
    Ints,
    block_quantiles,
    groups,
    over_groups,
    steadied,
)

RINGING_HZ = 8000.0
"""An ignition pick-up rings near this (common practice, no source)."""
LONGEST_BURST_S = 0.004
BLOCK_S = 0.25
CHUNK = 1 << 16


def bursts(values: Floats, interval_s: float, step: float) -> Bools | None:
    """Which samples of a fast signal are spikes or ringing?

    Parameters: `values` (n,), no NaN; `interval_s` their spacing; `step` of quantisation.
    Returns: marks (n,), or None.  Marked is what bends by 5.4 robust standard deviations more
    than its neighbourhood, leaves its base line within a sample or two and comes back to it.
    """
    lag = max(1, round(1.0 / (8.0 * RINGING_HZ * interval_s)))
    if len(values) < 8 * lag:
        return None
    candidates = _bent(values, lag, max(256, round(BLOCK_S / interval_s)), step)
    if not len(candidates):
        return None
    first, last = groups(candidates, max(2, round(0.0006 / interval_s)))
    short = last - first <= max(4, round(LONGEST_BURST_S / interval_s))
    first, last = first[short], last[short]
    real = _sharp(values, first, last, lag)
    return _marked(len(values), first[real], last[real], lag)


def _bent(values: Floats, lag: int, block: int, step: float) -> Ints:
    """Positions whose second difference stands out of its block's scale."""
    limits = _limits(values, lag, block, step)
    slope, bend = np.empty(CHUNK + lag), np.empty(CHUNK)
    found = [np.zeros(0, dtype=np.int64)]
    chunk = max(block, CHUNK // block * block) if block <= CHUNK else CHUNK
    for start in range(0, len(values) - 2 * lag, chunk):
        part = values[start : start + chunk + 2 * lag]
        rises, bends = slope[: len(part) - lag], bend[: len(part) - 2 * lag]
        np.subtract(part[lag:], part[:-lag], out=rises)
        np.abs(np.subtract(rises[lag:], rises[:-lag], out=bends), out=bends)
        which = slice(start // block, -(-(start + len(bends)) // block))
        if bends.max() > limits[which].min():
            at = np.flatnonzero(bends > limits[which].min()) + start
            found.append(at[bends[at - start] > limits[np.minimum(at // block, len(limits) - 1)]])
    return _few(np.concatenate(found), block, len(values)) + lag


def _limits(values: Floats, lag: int, block: int, step: float) -> Floats:
    """The limit of the absolute second difference in each block."""
    count = max(1, len(values) // block)
    stride = max(1, block // 256)
    size = len(values) - 2 * lag
    at = np.arange(0, size, stride)
    bends = np.abs(values[at + 2 * lag] - 2.0 * values[at + lag] + values[at])
    middle, high = block_quantiles(bends, max(8, len(bends) // count), (0.5, 0.8))
    scale = np.maximum(MAD * middle, high / 1.2816 if step > 0.0 else 0.0)
    limits = LIMIT * steadied(scale, 0.6 * step)
    return np.asarray(np.resize(np.append(limits, limits[-1]), count + 1))


def _few(found: Ints, block: int, size: int) -> Ints:
    """The positions found, without those of blocks in which they are no exception."""
    shares = np.bincount(found // block, minlength=size // block + 1) / block
    return found[shares[found // block] <= MOST]


def _sharp(values: Floats, first: Ints, last: Ints, lag: int) -> Bools:
    """Groups that leave their base line within a sample or two and come back to it."""
    before = np.clip(first - 2 * lag, 0, len(values) - 2)
    after = np.clip(last + 2 * lag, 0, len(values) - 2)
    base = 0.5 * (values[before] + values[after])
    height = np.maximum(
        over_groups(np.maximum, values, before, after) - base,
        base - over_groups(np.minimum, values, before, after),
    )
    inside = np.repeat(before, after - before) + _counted(after - before)
    changes = np.abs(values[np.minimum(inside + lag, len(values) - 1)] - values[inside])
    begins = np.cumsum(after - before) - (after - before)
    steepest = np.maximum.reduceat(changes, begins) if len(begins) else changes
    returns = np.abs(values[after] - values[before]) < 0.6 * height
    return np.asarray((height < 4.0 * steepest) & returns)


def _counted(lengths: Ints) -> Ints:
    """0, 1, 2, ... anew for each length."""
    begins = np.cumsum(lengths) - lengths
    return np.asarray(np.arange(int(lengths.sum())) - np.repeat(begins, lengths))


def _marked(size: int, first: Ints, last: Ints, lag: int) -> Bools | None:
    """Marks over each group, and half its length beyond it for what rings on."""
    if not len(first):
        return None
    steps = np.zeros(size + 1, dtype=np.int64)
    np.add.at(steps, np.clip(first - lag + 1, 0, size), 1)
    np.add.at(steps, np.clip(last + lag + (last - first) // 2, 0, size), -1)
    return np.asarray(np.cumsum(steps[:-1]) > 0)
