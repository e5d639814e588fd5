"""The quantisation step that a column's values show."""

from __future__ import annotations

import numpy as np

from gaugewright.recording.types import Floats

_SAMPLE = 20_000
_MOST_LEVELS = 8_000


def step_of(values: Floats) -> float:
    """The smallest spacing that nearly all differences of the values are multiples of.

    Parameters: `values` (n,), NaN where missing; a stretch of long columns is looked at.
    Returns the step in the values' unit, 0 where none is seen (fewer than three levels, or
    differences that share no step).
    """
    sample = _sample(values)
    levels = np.unique(sample[np.isfinite(sample)])
    if levels.size < 3 or levels.size > _MOST_LEVELS:
        return 0.0
    spacing = _merged(levels)
    if spacing.size < 2:
        return 0.0
    return float(f"{_even(spacing) or _common(spacing):.12g}")


def _sample(values: Floats) -> Floats:
    if values.size <= _SAMPLE:
        return values
    stride = values.size // 4
    return np.concatenate([values[k * stride :][: _SAMPLE // 4] for k in range(4)])


def _merged(levels: Floats) -> Floats:
    """Spacings between levels, those that differ only by rounding counted as one level."""
    rounding = 1e-9 * float(np.abs(levels).max())
    spacing = np.diff(levels)
    return np.asarray(spacing[spacing > rounding])


def _even(spacing: Floats) -> float:
    """The mean spacing where nearly all levels stand equally far apart, else 0."""
    middle = float(np.median(spacing))
    near = np.abs(spacing - middle) < 0.3 * middle
    if spacing.size < 8 or near.mean() < 0.9:
        return 0.0
    return float(spacing[near].mean())


def _common(spacing: Floats) -> float:
    """The largest step of which 98 % of the spacings are whole multiples, else 0."""
    least = float(np.quantile(spacing, 0.02, method="lower"))
    for divisor in (1, 2, 3, 4, 5, 6):
        step = least / divisor
        times = spacing / step
        near = times <= 200
        whole = np.abs(times - np.round(times)) < (0.1 if near.sum() >= 8 else 0.01)
        if near.sum() >= 2 and whole[near].mean() >= 0.98:
            return float(spacing[near].sum() / np.round(times[near]).sum())
    return 0.0
