"""Interference: samples that no pressure could have moved to and back within their spacing.

Fast signals (above 4 kHz): an engine's own ripple is smooth over many samples there; a spike
or a ringing burst shows in the second difference.  Below, ripple moves within a sample or
two: each sample is compared with what its neighbours foretell, by weights learned from the
signal itself.  Slow channels: with the median of its neighbours, and only where these agree.
Scales are robust and local; a signal without candidates costs one pass.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

FAST_HZ = 4000.0
SLOW_HZ = 20.0
LIMIT = 5.4
"""Robust standard deviations; a clean Gaussian signal passes it about once in 10 million."""
SLOW_LIMIT = 8.0
RINGING_HZ = 8000.0
LONGEST_BURST_S = 0.004
MOST = 0.25
"""Where more than this share of a block would be marked, it is the signal, not interference."""
MAD = 1.4826


def interference(values: Floats, interval_s: float, step: float) -> Bools | None:
    """Which samples are interference?

    Parameters: `values` (n,) raw, no NaN; `interval_s` their spacing; `step` of quantisation.
    Returns: marks (n,), or None where there is none.
    """
    if len(values) < 16 or interval_s <= 0.0:
        return None
    if interval_s < 1.0 / FAST_HZ:
        return _bursts(values, interval_s, step)
    if interval_s < 1.0 / SLOW_HZ:
        return _outliers(values, interval_s, step)
    return _isolated(values, step)


def _bursts(values: Floats, interval_s: float, step: float) -> Bools | None:
    lag = max(1, round(1.0 / (8.0 * RINGING_HZ * interval_s)))
    slope = values[lag:] - values[:-lag]
    bend = slope[lag:] - slope[:-lag]
    np.abs(bend, out=bend)
    candidates = _beyond(bend, max(256, round(0.25 / interval_s)), step) + lag
    if not len(candidates):
        return None
    first, last = _groups(candidates, max(2, round(0.0006 / interval_s)))
    short = last - first <= max(4, round(LONGEST_BURST_S / interval_s))
    first, last = first[short], last[short]
    real = _sharp(values, slope, first, last, lag)
    return _marked(len(values), first[real] - lag + 1, last[real] + lag, last[real] - first[real])


def _beyond(size: Floats, block: int, step: float) -> Ints:
    """Positions at which the absolute second difference stands out of its block's scale."""
    count = max(1, len(size) // block)
    whole = size[: count * block].reshape(count, -1)
    sample = whole[:, :: max(1, whole.shape[1] // 256)]
    low, high = np.quantile(sample, [0.5, 0.8], axis=1)
    scale = np.maximum(MAD * low, 0.0 if step <= 0.0 else high / 1.2816)
    scale = _widest_near(np.maximum(scale, max(0.6 * step, 0.05 * float(np.median(scale)))))
    limit = LIMIT * scale
    limit[limit <= 0.0] = np.inf
    over = whole > limit[:, None]
    share = over.mean(axis=1)
    over[share > MOST] = False
    tail = size[count * block :] > limit[-1]
    return np.flatnonzero(np.concatenate((over.ravel(), tail)))


def _widest_near(scale: Floats) -> Floats:
    """The larger of each block's scale and its neighbours'."""
    near = np.concatenate((scale[:1], scale, scale[-1:]))
    return np.maximum(np.maximum(near[:-2], near[2:]), scale)


def _groups(positions: Ints, gap: int) -> tuple[Ints, Ints]:
    """First and last position of each group whose members lie no further apart than `gap`."""
    cuts = np.flatnonzero(np.diff(positions) > gap)
    first = positions[np.concatenate(([0], cuts + 1))]
    return first, positions[np.concatenate((cuts, [len(positions) - 1]))]


def _sharp(values: Floats, slope: Floats, first: Ints, last: Ints, lag: int) -> Bools:
    """Groups that leave their base line within a sample or two and come back to it."""
    before = np.clip(first - 2 * lag, 0, len(values) - 1)
    after = np.clip(last + 2 * lag, 0, len(values) - 1)
    base = 0.5 * (values[before] + values[after])
    height = np.maximum(
        _over_groups(np.maximum, values, before, after) - base,
        base - _over_groups(np.minimum, values, before, after),
    )
    steepest = _over_groups(np.maximum, np.abs(slope), before, after - lag)
    returns = np.abs(values[after] - values[before]) < 0.6 * height
    return np.asarray((height < 4.0 * steepest) & returns)


def _over_groups(what: np.ufunc, values: Floats, first: Ints, last: Ints) -> Floats:
    """The reduction of values[first..last] for each group."""
    parts = [
        what.reduce(values[max(a, 0) : b + 1])
        for a, b in zip(first.tolist(), last.tolist(), strict=True)
    ]
    return np.array(parts, dtype=np.float64)


def _marked(size: int, first: Ints, last: Ints, length: Ints) -> Bools | None:
    """Marks from first to last, and a tail of half the length for what rings on."""
    if not len(first):
        return None
    steps = np.zeros(size + 1, dtype=np.int64)
    np.add.at(steps, np.clip(first, 0, size), 1)
    np.add.at(steps, np.clip(last + length // 2 + 1, 0, size), -1)
    return np.asarray(np.cumsum(steps[:-1]) > 0)


REACH = 3
OFFSETS = np.array([-3, -2, -1, 1, 2, 3])


def _outliers(values: Floats, interval_s: float, step: float) -> Bools | None:
    centred = np.pad(values - np.median(values), REACH, mode="reflect")
    weights = _foretelling(centred)
    everywhere = np.arange(REACH, len(centred) - REACH)
    misfit = _misfit(centred, weights, everywhere)
    limit = _outlier_limit(misfit, max(256, round(0.5 / interval_s)), step)
    marks = np.zeros(len(values), dtype=bool)
    for _ in range(6):
        found = _peaks(np.abs(misfit), limit)
        if not len(found):
            break
        marks[found] = True
        centred[found + REACH] -= misfit[found]
        near = np.unique(np.clip(found[:, None] + np.arange(-REACH, REACH + 1), 0, len(values) - 1))
        misfit[near] = _misfit(centred, weights, near + REACH)
    share = float(marks.mean())
    return marks if 0.0 < share < MOST else None


def _foretelling(padded: Floats) -> Floats:
    """(3,) weights of the neighbours one, two and three away, by least squares, twice trimmed."""
    size = len(padded) - 2 * REACH
    rows = np.arange(REACH, size + REACH, max(1, size // 20_000))
    pairs = np.stack([padded[rows - k] + padded[rows + k] for k in (1, 2, 3)], axis=1)
    target = padded[rows]
    keep = np.ones(len(rows), dtype=bool)
    weights = np.array([0.5, 0.0, 0.0])
    for _ in range(3):
        misfit = np.abs(target - pairs @ weights)
        keep = misfit <= 4.0 * MAD * np.median(misfit) + 1e-300
        weights = np.linalg.lstsq(pairs[keep], target[keep], rcond=None)[0]
    return np.asarray(weights)


def _misfit(padded: Floats, weights: Floats, at: Ints) -> Floats:
    told = sum(
        w * (padded[at - k] + padded[at + k]) for k, w in zip((1, 2, 3), weights, strict=True)
    )
    return np.asarray(padded[at] - told)


def _outlier_limit(misfit: Floats, block: int, step: float) -> Floats:
    """(n,) the limit around each sample: blocks' robust scale, wide enough for pulsed ripple."""
    count = max(1, len(misfit) // block)
    parts = np.array_split(np.abs(misfit), count)
    quantiles = np.array([np.quantile(part, [0.5, 0.95]) for part in parts])
    scale = np.maximum(MAD * quantiles[:, 0], quantiles[:, 1] / 1.96)
    scale = _widest_near(np.maximum(scale, 0.6 * step))
    scale[scale <= 0.0] = np.inf
    return LIMIT * np.repeat(scale, [len(part) for part in parts])


def _peaks(size: Floats, limit: Floats) -> Ints:
    """Positions beyond the limit that no neighbour within reach exceeds."""
    over = np.flatnonzero(size > limit)
    near = np.clip(over[:, None] + OFFSETS, 0, len(size) - 1)
    return over[size[over] >= size[near].max(axis=1)] if len(over) else over


def _isolated(values: Floats, step: float) -> Bools | None:
    """Single samples far from neighbours that agree with each other."""
    padded = np.pad(values, 2, mode="reflect")
    four = np.stack([padded[i : i + len(values)] for i in (0, 1, 3, 4)])
    misfit = np.abs(values - np.median(four, axis=0))
    rows = np.lib.stride_tricks.sliding_window_view(np.pad(misfit, 10, mode="reflect"), 21)
    scale = np.maximum(MAD * np.median(rows, axis=1), 0.5 * MAD * float(np.median(misfit)))
    scale = np.maximum(scale, step)
    marks = (misfit > SLOW_LIMIT * scale) & (np.ptp(four, axis=0) < 0.25 * misfit) & (scale > 0.0)
    marks[:2] = marks[-2:] = False
    return marks if marks.any() and float(marks.mean()) < 0.05 else None
