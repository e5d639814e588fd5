"""Interference: samples that no pressure could have moved to and back within their spacing.

Fast signals, signals of moderate rate and slow channels each have their own test; scales are
robust and local, and a signal without candidates costs about one pass.
"""

from __future__ import annotations

import numpy as np

from gaugewright.sensing.bursts import bursts
from gaugewright.sensing.outliers import outliers
from gaugewright.sensing.scales import MAD, Bools, Floats

FAST_HZ = 4000.0
SLOW_HZ = 20.0
SLOW_LIMIT = 8.0
"""Robust standard deviations for slow channels, where an event may last a single sample."""
LEAST = 16


def interference(values: Floats, interval_s: float, step: float) -> Bools | None:
    """Which samples are interference?

    Parameters: `values` (n,) raw, no NaN; `interval_s` their spacing; `step` of quantisation.
    Returns: marks (n,), or None where there is none.
    """
    if len(values) < LEAST or interval_s <= 0.0:
        return None
    if interval_s < 1.0 / FAST_HZ:
        return bursts(values, interval_s, step)
    if interval_s < 1.0 / SLOW_HZ:
        return outliers(values, interval_s, step)
    return isolated(values, step)


def isolated(values: Floats, step: float) -> Bools | None:
    """Which single samples lie far from neighbours that agree with each other?

    Parameters: `values` (n,) of a slow channel, no NaN; `step` of quantisation.
    Returns: marks (n,), or None.  Marked is what lies 8 robust standard deviations of its
    neighbourhood (at least 8 steps) from the median of the four samples around it, while
    these four lie within a quarter of that.
    """
    padded = np.pad(values, 2, mode="reflect")
    four = np.stack([padded[i : i + len(values)] for i in (0, 1, 3, 4)])
    misfit = np.abs(values - np.median(four, axis=0))
    rows = np.lib.stride_tricks.sliding_window_view(np.pad(misfit, 10, mode="reflect"), 21)
    scale = np.maximum(MAD * np.median(rows, axis=1), 0.5 * MAD * float(np.median(misfit)))
    scale = np.maximum(scale, step)
    marks = (misfit > SLOW_LIMIT * scale) & (np.ptp(four, axis=0) < 0.25 * misfit) & (scale > 0.0)
    marks[:2] = marks[-2:] = False
    return marks if marks.any() and float(marks.mean()) < 0.05 else None
