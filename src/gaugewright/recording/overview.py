"""A recording drawn small: least, mean and greatest value of each bin of time."""

from __future__ import annotations

import numpy as np

from gaugewright.recording.spread import Rows
from gaugewright.recording.types import Floats


def bins(
    time_s: Floats, values: Floats, start_s: float, end_s: float, count: int
) -> tuple[Floats, Floats, Floats, Floats]:
    """What does a signal look like between two instants, in as many bins as can be drawn?

    For drawing only: readings are always made from the samples.

    Parameters: `time_s` (n,) increasing, `values` (n,), NaN where missing; the instants between
    which to draw, `start_s` < `end_s`; `count` bins of equal width.
    Returns the bins' `middles`, and `low`, `mean` and `high` (count,) of the samples in each;
    NaN in a bin without samples.
    Raises ValueError if `count` is below one or the end does not lie after the start.
    """
    if count < 1 or not end_s > start_s:
        raise ValueError("bins need a count of at least one and an end after the start")
    edges = np.linspace(start_s, end_s, count + 1)
    at = np.searchsorted(time_s, edges)
    at[-1] = np.searchsorted(time_s, end_s, side="right")
    inside = np.asarray(values[at[0] : at[-1]], dtype=np.float64)
    first, sizes = at[:-1] - at[0], np.diff(at)
    filled = np.flatnonzero(sizes > 0)
    low, mean, high = (np.full(count, np.nan) for _ in range(3))
    if filled.size:
        starts = first[filled]
        low[filled] = np.fmin.reduceat(inside, starts)
        high[filled] = np.fmax.reduceat(inside, starts)
        mean[filled] = _means(inside, starts, sizes[filled])
    return (edges[:-1] + edges[1:]) / 2, low, mean, high


def _means(inside: Floats, starts: Rows, sizes: Rows) -> Floats:
    missing = np.isnan(inside)
    if not missing.any():
        return np.asarray(np.add.reduceat(inside, starts) / sizes)
    sums = np.add.reduceat(np.where(missing, 0.0, inside), starts)
    counts = np.add.reduceat(~missing, starts, dtype=np.intp)
    return np.asarray(np.divide(sums, counts, out=np.full(sums.size, np.nan), where=counts > 0))
