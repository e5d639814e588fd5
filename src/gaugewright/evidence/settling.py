"""Finding the transition that a marked stretch may hold at its ends.

People mark a condition a second or two early, while the engine still settles.  The middle of
the stretch says how the quantity is held; a head or tail that departs from it by more than its
own scatter allows is left out, with as much again as its decay needs.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LONGEST_S = 4.0
"""A transition longer than this is not a transition but part of the condition (J)."""
SHARE = 0.3
BLOCK_S = 0.3
DEPARTS = 4.0
FADED = 0.4


def settled(time_s: Floats, series: list[Floats], speed_rpm: Floats | None) -> tuple[int, int]:
    """Which cycles of a stretch are settled?

    `time_s` (n,) cycle middles; `series` cycle means (n,) of the quantities that tell.
    Returns the first kept cycle and one past the last.
    """
    count = len(time_s)
    if count < 16:
        return 0, count
    first, last = 0, count
    for values in series:
        off, spread, block = _departure(time_s, values, speed_rpm)
        if block:
            first = max(first, _head(time_s, off, spread, block))
            last = min(last, count - _head(-time_s[::-1], off[::-1], spread, block))
    return (first, last) if last - first >= count // 3 else (0, count)


def _zone(time_s: Floats) -> int:
    """How many cycles at an end may belong to a transition."""
    length = min(LONGEST_S, SHARE * float(time_s[-1] - time_s[0]))
    return int(np.searchsorted(time_s - time_s[0], length))


def _departure(
    time_s: Floats, values: Floats, speed_rpm: Floats | None
) -> tuple[Floats, float, int]:
    """Off-fit of every cycle, the scatter of a block's mean in the middle, cycles a block."""
    head = _zone(time_s)
    middle = np.zeros(len(time_s), dtype=bool)
    middle[head : len(time_s) - head] = True
    middle &= np.isfinite(values)
    if middle.sum() < 8:
        return values, 0.0, 0
    design = [np.ones(len(time_s)), time_s - time_s.mean()]
    if speed_rpm is not None and speed_rpm is not values:
        design.append(speed_rpm - np.nanmean(speed_rpm))
    columns = np.column_stack(design)
    beta, *_ = np.linalg.lstsq(columns[middle], values[middle], rcond=None)
    off = values - columns @ beta
    block = max(1, round(BLOCK_S / float(np.median(np.diff(time_s)))))
    return off, _block_scatter(off[middle], block), block


def _block_scatter(off: Floats, block: int) -> float:
    usable = len(off) // block * block
    if usable < 2 * block:
        return 0.0
    means = off[:usable].reshape(-1, block).mean(axis=1)
    robust = 1.4826 * float(np.median(np.abs(means - np.median(means))))
    return max(robust, float(np.std(means)) * 0.7, 1e-9 * float(np.max(np.abs(off))) + 1e-12)


def _head(time_s: Floats, off: Floats, spread: float, block: int) -> int:
    """How many cycles at the head depart from the middle."""
    zone = min(_zone(time_s), len(off) - block)
    if zone < 1 or spread == 0.0:
        return 0
    filled = np.where(np.isfinite(off), off, 0.0)
    sums = np.concatenate([[0.0], np.cumsum(filled)])
    means = (sums[block : block + zone] - sums[:zone]) / block
    departing = np.abs(means) > DEPARTS * spread
    if not departing[: max(1, block)].any():
        return 0
    quiet = np.flatnonzero(~departing)
    end = int(quiet[0]) if len(quiet) else zone
    return min(zone + block, end + block + _fade(time_s, means, end, spread))


def _fade(time_s: Floats, means: Floats, end: int, spread: float) -> int:
    """Cycles that an exponential decay needs from its last seen size to nothing that matters."""
    peak = int(np.argmax(np.abs(means[: end + 1])))
    fallen = abs(means[peak]) / max(abs(means[min(end, len(means) - 1)]), spread)
    if fallen <= 1.5 or end <= peak:
        return 0
    constant = (time_s[end] - time_s[peak]) / np.log(fallen)
    cycle = float(np.median(np.diff(time_s)))
    return int(min(2.0, constant * np.log(DEPARTS / FADED)) / cycle)
