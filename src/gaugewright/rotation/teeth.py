"""Where the teeth of a wheel pass: crossings of the middle, armed by a swing to the other side.

Works for square signals and for variable-reluctance ones, whose amplitude grows with speed:
the arming level follows the swing found in each tenth of a second.
"""

from __future__ import annotations

import numpy as np

from gaugewright.rotation.pulses import Bools, Floats, Ints, armed, crossing_times, first_of

BLOCK_S = 0.1
ARMING = 0.15
LEAST_ARMING = 0.006
"""Of the largest swing in the recording: a standing wheel's noise stays below it."""


def teeth_of(time_s: Floats, values: Floats, interval_s: float) -> Floats:
    """When did each tooth pass?

    Parameters: `time_s`, `values` (n,), NaN where missing.
    Returns: the crossings (k,) of the middle, rising or falling, whichever keep the steadier
    rhythm (the sharp edge of a tooth, the one that the gap does not bend).
    """
    size = min(max(64, round(BLOCK_S / interval_s)), max(len(values), 1))
    blocks = _padded(values, size)
    if blocks.size < 4 or float(np.ptp(blocks)) == 0.0:
        return np.zeros(0)
    middle, arming = _levels(blocks)
    over = (blocks > (middle + arming)[:, None]).ravel()[: len(values)]
    under = (blocks < (middle - arming)[:, None]).ravel()[: len(values)]
    level = np.repeat(middle, size)[: len(values)]
    rising = _crossed(time_s, values, over, under, level)
    falling = _crossed(time_s, -values, under, over, -level)
    return min((rising, falling), key=_unsteadiness)


def _padded(values: Floats, size: int) -> Floats:
    """The values in rows of this size, missing ones and the tail filled with what went before."""
    filled = values
    missing = ~np.isfinite(values)
    if missing.any():
        known = np.flatnonzero(~missing)
        if not len(known):
            return np.zeros((0, 0))
        filled = np.interp(np.arange(len(values)), known, values[known])
    tail = -len(filled) % size
    return np.pad(filled, (0, tail), mode="edge").reshape(-1, size)


def _levels(blocks: Floats) -> tuple[Floats, Floats]:
    """The middle of each block and half its swing times the arming share."""
    low, high = np.quantile(blocks[:, :: max(1, blocks.shape[1] // 2048)], [0.02, 0.98], axis=1)
    swing = high - low
    near = np.concatenate(([swing[0]], swing, [swing[-1]]))
    widest = np.maximum(np.maximum(near[:-2], near[2:]), swing)
    lively = swing > 0.3 * np.quantile(swing, 0.95)
    middle = np.full(len(blocks), _middle(blocks[lively], low[lively], high[lively]))
    arming = np.maximum(0.5 * ARMING * widest, LEAST_ARMING * swing.max())
    return middle, arming


def _middle(blocks: Floats, low: Floats, high: Floats) -> float:
    """Half way between the two levels of a square signal; the rest of a reluctance one."""
    edge = 0.15 * (high - low)
    outer = (blocks < (low + edge)[:, None]) | (blocks > (high - edge)[:, None])
    square = float(outer.mean()) > 0.7
    return float(np.median(0.5 * (low + high))) if square else float(np.median(blocks))


def _crossed(time_s: Floats, values: Floats, over: Bools, under: Bools, level: Floats) -> Floats:
    index = armed(first_of(over), first_of(under), bool(under[0]))
    index = _walked_back(values, level, index)
    return crossing_times(time_s, values, index, level[index])


def _walked_back(values: Floats, level: Floats, index: Ints) -> Ints:
    """From the first armed sample back to the first one above the middle."""
    at = index.copy()
    moving = np.flatnonzero(at > 1)
    while len(moving):
        moving = moving[values[at[moving] - 1] > level[at[moving] - 1]]
        at[moving] -= 1
        moving = moving[at[moving] > 1]
    return at


def _unsteadiness(times: Floats) -> float:
    """How far neighbouring intervals differ, in the median; endless where there are too few."""
    intervals = np.diff(times)
    if len(intervals) < 3:
        return float("inf")
    return float(np.median(np.abs(np.diff(intervals)) / (intervals[1:] + intervals[:-1])))
