"""Drop-outs: the line stuck to zero or to the supply for moments, entered and left by a jump."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

LONGEST_S = 0.25
CLEAR = 12.0


def drop_outs(values: Floats, interval_s: float, step: float, supply: float | None) -> Bools | None:
    """Which samples are drop-outs?

    Parameters: `values` (n,) raw, no NaN; `supply` in the same unit, where one is known.
    Returns: marks (n,), or None.  A run of at least two samples at exactly zero or at the
    supply counts when it lasts at most a quarter of a second and both its ends jump by far
    more than the signal's usual change from sample to sample.
    """
    marks = np.zeros(len(values), dtype=bool)
    for level in (0.0,) if supply is None else (0.0, supply):
        at_level = values == 0.0 if level == 0.0 else np.abs(values - level) <= step
        if at_level.any():
            _mark(marks, values, at_level, level, interval_s, step)
    return marks if marks.any() else None


def _mark(
    marks: Bools, values: Floats, at_level: Bools, level: float, interval_s: float, step: float
) -> None:
    edges = np.diff(at_level.astype(np.int8))
    starts, ends = np.flatnonzero(edges == 1) + 1, np.flatnonzero(edges == -1)
    ends = ends[np.searchsorted(ends, starts[0]) :] if len(starts) else ends
    starts = starts[: len(ends)]
    length = ends - starts + 1
    usual = CLEAR * max(_usual_change(values), step)
    jumps = np.minimum(np.abs(values[starts - 1] - level), np.abs(values[ends + 1] - level))
    chosen = (jumps > usual) & (length >= 2) & (length * interval_s <= LONGEST_S)
    for start, end in zip(starts[chosen].tolist(), ends[chosen].tolist(), strict=True):
        marks[max(start - 1, 0) : end + 2] = True


def _usual_change(values: Floats) -> float:
    """The robust standard deviation of the change from one sample to the next."""
    part = values[: 1 << 20]
    return 1.4826 * float(np.median(np.abs(np.diff(part))))
