"""Stops: samples pinned to the signal's own extreme, without its usual noise.

Three things tell a stop from a signal that merely touches its extreme, or whose step is
coarse.  Noise spreads over steps: where the outermost step holds samples, steps beyond it
would too, unless something holds them back.  Ripple is round at its top: it stays in its
outermost step at most 2.4 times as long as in the next (the half-width of a parabola goes
with the root of the depth).  A lively signal does not stand still: whole windows without any
change, at the extreme only.
"""

from __future__ import annotations

from math import comb, erf, log, sqrt

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LEAST = 20
"""Fewer samples than this at the extreme are no stop."""
EXPECTED_BEYOND = 30.0
CAUTION = (0.95, 0.85)
"""Of the noise found, in fast and in slower signals: there, ripple passes for noise."""
FAST_S = 0.6e-3
HELD_BACK = 1.3
"""Noise over what is left of it where about half of it is cut off."""
ORDERS = (2, 4, 6)
"""Of the differences that noise is seen by: the higher, the less ripple passes for it."""
NORMAL_RANGE = {128: 5.2, 16: 3.5}
"""Window sizes, and the mean range of as many normal values (any table of control charts)."""
WINDOW_S = 0.25
LIVELY_STEPS = 8.0
LIVELY_ELSEWHERE = 3.0
"""A signal that visits this many steps in a window elsewhere does not stand still by itself."""
CROWDED = 2
REPEATED = 20
"""Values that come back this often on average are steps, if uneven ones."""


def stops(
    values: Floats, left_out: Bools | None, interval_s: float, step: float
) -> tuple[Bools | None, Bools | None]:
    """Which samples rest on a stop, at the low and at the high end of the values?

    Parameters: `values` (n,) raw, no NaN; `left_out` samples that are bad; `interval_s`;
    `step` of quantisation, 0 if none.
    Returns: marks (n,) for the low and the high end, None where there is no stop.
    """
    held = values
    if left_out is not None and left_out.any():
        kept = np.flatnonzero(~left_out)
        if not len(kept):
            return None, None
        held = values[
            kept[np.maximum(np.searchsorted(kept, np.arange(len(values)), "right") - 1, 0)]
        ]
    if held.min() == held.max():
        return None, None
    even = step > 0.0
    step = step if even else _uneven_step(held)
    ends = [_end(held, sign, step, left_out is not None) for sign in (-1.0, 1.0)]
    inside: Floats | None = None
    marks: list[Bools | None] = []
    for sign, end in zip((-1.0, 1.0), ends, strict=True):
        near = np.abs(held - end) <= 0.5 * step
        if np.count_nonzero(near) < LEAST:
            marks.append(None)
            continue
        if inside is None:
            inside = _between(held, ends[0] + 0.5 * step, ends[1] - 0.5 * step)
        pinned = _pinned(held, sign, end, near, interval_s, step, inside)
        if not even and step > 0.0 and not _crowded(held, sign, end, step):
            pinned = None
        if pinned is not None and left_out is not None:
            pinned &= ~left_out
        marks.append(pinned)
    return marks[0], marks[1]


def _uneven_step(values: Floats) -> float:
    """The usual gap between values that keep coming back; 0 where they don't.

    Steps that a file rounds to a few decimals are not all equal, and pass for none.
    """
    distinct = np.unique(values)
    if len(distinct) < REPEATED or len(values) < REPEATED * len(distinct):
        return 0.0
    return float(np.median(np.diff(distinct)))


def _crowded(values: Floats, sign: float, end: float, step: float) -> bool:
    """Whether the extreme holds many times the samples that the next step does."""
    depth = sign * (end - values)
    there = np.count_nonzero(np.abs(depth) <= 0.5 * step)
    return bool(there > CROWDED * np.count_nonzero((depth > 0.5 * step) & (depth <= 1.5 * step)))


def _end(values: Floats, sign: float, step: float, spiked: bool) -> float:
    """The extreme of the values; where there were spikes, past the few that may be left of them."""
    end = float(values.max() if sign > 0.0 else values.min())
    if not spiked or len(values) < 4 * LEAST:
        return end
    if np.count_nonzero(np.abs(values - end) <= 0.5 * step) >= LEAST:
        return end
    inner = len(values) - LEAST if sign > 0.0 else LEAST - 1
    return float(np.partition(values, inner)[inner])


def _noise_in(rows: Floats, step: float) -> float:
    """The noise in these windows, in steps.

    Sample-to-sample changes of a quantised signal overstate a noise below half a step, and
    vanish with the square root of it; the range of steps visited in a window bounds it from
    above.
    """
    if not len(rows):
        return 0.0
    seen = min(_spread(rows, order) for order in ORDERS) / step
    noise = seen**2 / 0.564 if seen < 0.4 else sqrt(seen**2 - 1.0 / 12.0)
    visited = float(np.mean(np.ptp(rows, axis=1))) / step
    return min(noise, max(visited - 0.5, 0.0) / NORMAL_RANGE[rows.shape[1]])


def _mixed(values: Floats, near: Bools) -> Floats:
    """Windows that lie partly at the extreme, where most of the samples there are in such."""
    size = min(NORMAL_RANGE)
    whole = len(values) // size * size
    share = near[:whole].reshape(-1, size).mean(axis=1)
    chosen = (share > 0.15) & (share < 0.85)
    rows = values[:whole].reshape(-1, size)[chosen]
    held = float(share[chosen].sum()) * size
    return np.asarray(rows if held > 0.5 * np.count_nonzero(near) else rows[:0])


def _between(values: Floats, low: float, high: float) -> Floats:
    """(windows, samples) parts that touch no extreme: long ones, else short ones."""
    for size in NORMAL_RANGE:
        rows = values[: len(values) // size * size].reshape(-1, size)
        rows = rows[(rows.min(axis=1) > low) & (rows.max(axis=1) < high)]
        if len(rows) >= LEAST:
            return np.asarray(rows[:: max(1, len(rows) // 1024)])
    return np.zeros((0, min(NORMAL_RANGE)))


def _spread(rows: Floats, order: int) -> float:
    """The noise's standard deviation by differences of this order, lower quartile of windows."""
    differences = np.diff(rows, n=order, axis=1)
    power = np.quantile(np.mean(differences**2, axis=1), 0.25)
    return float(np.sqrt(power / comb(2 * order, order)))


def _pinned(
    values: Floats,
    sign: float,
    end: float,
    near: Bools,
    interval_s: float,
    step: float,
    inside: Floats,
) -> Bools | None:
    count = int(np.count_nonzero(near))
    if step <= 0.0:
        away = values[~near][:200_000]
        ties = float(np.mean(np.diff(away) == 0.0)) if len(away) > 1 else 1.0
        return near if ties < 0.02 and bool(np.ptp(inside, axis=1).any()) else None
    depth = sign * (end - values)
    next_in = int(np.count_nonzero((depth > 0.5 * step) & (depth <= 1.5 * step)))
    noise = _noise_in(inside, step) * CAUTION[0 if interval_s < FAST_S else 1]
    mixed = _mixed(values, near)
    noise = min(noise, HELD_BACK * _noise_in(mixed, step)) if len(mixed) >= 2 else noise
    if noise > 0.2:
        falls = float(np.exp(-1.0 / noise**2))
        expected = count * (count / max(next_in, 1)) * falls
        if expected > EXPECTED_BEYOND + 3.0 * np.count_nonzero(depth < -0.5 * step):
            return near
    if _too_still(near, noise):
        return near
    if count > 4.0 * max(next_in, 1) and _comes_back(depth, near, step):
        return near
    return _standing(values, near, interval_s, step)


def _too_still(near: Bools, noise: float) -> bool:
    """Whether a run at the extreme is longer than this noise could leave any step alone.

    Noise of that many steps stays within one step with at most the probability that it has
    when its mean lies in the middle of the step.
    """
    if noise < 0.15:
        return False
    edges = np.diff(near.astype(np.int8), prepend=0, append=0)
    longest = int((np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1)).max())
    return longest * -log(erf(0.5 / noise / sqrt(2.0))) > 18.0


def _comes_back(depth: Floats, near: Bools, step: float) -> bool:
    """Whether the extreme is visited time and again from well inside: a clipped ripple."""
    starts = np.flatnonzero(near[1:] & ~near[:-1]) + 1
    if len(starts) < 8:
        return False
    farthest = np.maximum.reduceat(depth, starts)[:-1]
    return float(np.median(farthest)) > LIVELY_STEPS * step


def _standing(values: Floats, near: Bools, interval_s: float, step: float) -> Bools | None:
    """Windows that stand still at the extreme, where windows elsewhere are lively."""
    size = max(16, round(WINDOW_S / interval_s))
    count = len(values) // size
    if interval_s > 0.05 or count < 6:
        return None
    rows, at_end = (part[: count * size].reshape(count, size) for part in (values, near))
    still = at_end.all(axis=1)
    elsewhere = ~at_end.any(axis=1)
    if not still.any() or np.count_nonzero(elsewhere) < 4:
        return None
    lively = np.ptp(rows[elsewhere], axis=1) > LIVELY_ELSEWHERE * step
    if float(lively.mean()) < 0.8:
        return None
    marks = np.zeros(len(values), dtype=bool)
    marks[: count * size] = np.repeat(still, size)
    return _grown(marks, near)


def _grown(marks: Bools, near: Bools) -> Bools:
    """The marks, spread over the whole of each run at the extreme that they lie in."""
    starts = np.flatnonzero(np.diff(near.astype(np.int8), prepend=0) == 1)
    run = np.maximum(np.searchsorted(starts, np.arange(len(near)), "right") - 1, 0)
    touched = np.zeros(len(starts), dtype=bool)
    touched[run[marks]] = True
    return np.asarray(near & touched[run])
