"""The ideal analyst at cycle level: knows the form of the noise, estimates its parameters."""

from __future__ import annotations

import numpy as np

from validation.classes import Stretch, late_by
from validation.noise import Floats
from validation.reml import Fit, fit


def _design(stretch: Stretch, speed: Floats, few: bool) -> Floats:
    """(n, p) ones, speed away from its mean, known course away from its middle."""
    ones = np.ones(len(speed))
    if few:
        return ones[:, None]
    away = speed - np.average(speed, weights=stretch.duration_s)
    return np.column_stack([ones, away, stretch.course])


def _delay(stretch: Stretch, values: Floats) -> float:
    """The speed column's delay by least squares, tried every 50 ms up to 1.2 s."""

    def left(delay: float) -> float:
        design = _design(stretch, late_by(stretch, delay), False)
        return float(np.linalg.lstsq(design, values, rcond=None)[1].sum())

    return min(np.arange(0.0, 1.25, 0.05).tolist(), key=left)


def ideal_fit(stretch: Stretch, values: Floats, late: bool, few: bool) -> tuple[Fit, float]:
    """Level and slope on speed at the mean speed, and that mean as shown."""
    speed = late_by(stretch, _delay(stretch, values)) if late else stretch.shown_rpm
    design = _design(stretch, speed, few)
    sound = stretch.sound.astype(bool)
    mean = float(np.average(speed, weights=stretch.duration_s))
    return fit(design[sound], values[sound]), mean
