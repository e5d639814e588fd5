"""Stops: samples pinned to the signal's own extreme, without its usual noise.

Three things tell a stop from a signal that merely touches its extreme, or whose step is
coarse.  Noise spreads over steps: where the outermost step holds samples, steps beyond it
would too, unless something holds them back.  Ripple is round at its top: it stays in its
outermost step at most 2.4 times as long as in the next (the half-width of a parabola goes
with the root of the depth).  A lively signal does not stand still: whole windows without any
change, at the extreme only.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LEAST = 20
"""Fewer samples than this at the extreme are no stop."""
EXPECTED_BEYOND = 30.0
WINDOW_S = 0.25
LIVELY_STEPS = 8.0


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
    low, high = float(held.min()), float(held.max())
    if high <= low:
        return None, None
    noise = None
    marks: list[Bools | None] = []
    for sign, end in ((-1.0, low), (1.0, high)):
        near = np.abs(held - end) <= 0.5 * step
        if np.count_nonzero(near) < LEAST:
            marks.append(None)
            continue
        noise = _noise(held, low, high, step) if noise is None else noise
        pinned = _pinned(held, sign, end, near, interval_s, step, noise)
        if pinned is not None and left_out is not None:
            pinned &= ~left_out
        marks.append(pinned)
    return marks[0], marks[1]


def _noise(values: Floats, low: float, high: float, step: float) -> float:
    """The usual noise between the extremes, in steps (without a step: in shares of the swing).

    The lower quartile over windows that touch no extreme.  Sample-to-sample changes of a
    quantised signal overstate a noise below half a step, and vanish with the square root of
    it; the range of steps visited in a window bounds it from above.
    """
    size = min(1024, max(8, len(values) // 16))
    rows = values[: len(values) // size * size].reshape(-1, size)
    rows = rows[:: max(1, len(rows) // 256)]
    inside = rows[(rows.min(axis=1) > low + 0.5 * step) & (rows.max(axis=1) < high - 0.5 * step)]
    if len(inside) < 2:
        inside = rows
    bends = np.diff(inside, n=2, axis=1)
    spread = np.sqrt(np.quantile(np.mean(bends**2, axis=1), 0.25) / 6.0)
    if step <= 0.0:
        return float(spread / (high - low))
    seen = float(spread / step)
    noise = seen**2 / 0.564 if seen < 0.4 else float(np.sqrt(seen**2 - 1.0 / 12.0))
    visited = float(np.quantile(np.ptp(inside, axis=1), 0.5)) / step
    return min(noise, max(visited - 1.0, 0.0) / 6.0)


def _pinned(
    values: Floats,
    sign: float,
    end: float,
    near: Bools,
    interval_s: float,
    step: float,
    noise: float,
) -> Bools | None:
    count = int(np.count_nonzero(near))
    if step <= 0.0:
        ties = float(np.mean(np.diff(values[~near][:200_000]) == 0.0)) if (~near).any() else 1.0
        return near if ties < 0.02 and noise > 0.0 else None
    depth = sign * (end - values)
    next_in = int(np.count_nonzero((depth > 0.5 * step) & (depth <= 1.5 * step)))
    if noise > 0.25:
        beyond = count * (count / max(next_in, 1)) * float(np.exp(-1.0 / noise**2))
        if beyond > EXPECTED_BEYOND:
            return near
    if count > 4.0 * max(next_in, 1) and _comes_back(depth, near, step):
        return near
    return _standing(values, near, interval_s, step)


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
    lively = np.ptp(rows[elsewhere], axis=1) > LIVELY_STEPS * step
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
