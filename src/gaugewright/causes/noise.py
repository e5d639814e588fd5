"""How far off the virtual engine itself may be: the model's error beside the readings' own.

The engine's form is ours, not the car's.  So a reading is held to lie about its prediction with
a standard error that has a share of the reading and a floor, independent from condition to
condition (judgement; set so that engines made by the simulation in time, with numbers spread
wider than the prior, are called as often right as the odds say).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from gaugewright.causes.marginal import Noise
from gaugewright.causes.observed import MARGIN, TRIM, Held, Observed, Seen
from gaugewright.job.words import BLOCKING

Floats = npt.NDArray[np.float64]

SHARE: Mapping[str, float] = {
    MARGIN: 0.0,
    "oil-pressure": 0.05,
    "crankcase-pressure": 0.12,
    "manifold-pressure": 0.03,
    "engine-speed": 0.012,
    "air-flow": 0.05,
    TRIM: 0.12,
}
FLOOR: Mapping[str, float] = {
    MARGIN: 0.0,
    "oil-pressure": 2.0e3,
    "crankcase-pressure": 250.0,
    "manifold-pressure": 1.0e3,
    "engine-speed": 6.0,
    "air-flow": 1.0e-4,
    TRIM: 1.5,
}
"""Pa, rpm, kg/s, points of trim."""
COURSE_SHARE = 0.35
"""Of how far the crankcase moved, where a stretch is a course and not a mean."""

WIDE_SHARE: Mapping[str, float] = {
    MARGIN: 0.0,
    "oil-pressure": 0.6,
    "crankcase-pressure": 0.5,
    "manifold-pressure": 0.25,
    "engine-speed": 0.10,
    "air-flow": 0.5,
    TRIM: 0.3,
}
WIDE_FLOOR: Mapping[str, float] = {
    MARGIN: 0.0,
    "oil-pressure": 15e3,
    "crankcase-pressure": 4.0e3,
    "manifold-pressure": 6.0e3,
    "engine-speed": 40.0,
    "air-flow": 5.0e-4,
    TRIM: 9.0,
}
"""How far readings may lie from a sound engine's when the cause is none of the catalogue's."""


def noise_of(observed: Observed, barometer_pa: float) -> Noise:
    """The readings' covariance with the model's own error."""
    return Noise(observed.covariance + np.diag(_model(observed, barometer_pa, SHARE, FLOOR) ** 2))


def wide_noise_of(observed: Observed, barometer_pa: float) -> Noise:
    """The covariance when the cause is none of the catalogue's."""
    wide = _model(observed, barometer_pa, WIDE_SHARE, WIDE_FLOOR)
    return Noise(noise_of(observed, barometer_pa).covariance + np.diag(wide**2))


def _model(
    observed: Observed, barometer_pa: float, share: Mapping[str, float], floor: Mapping[str, float]
) -> Floats:
    return np.array(
        [
            np.hypot(
                floor[item.quantity],
                _share(item, observed.holds[item.place], share) * abs(_size(item, barometer_pa)),
            )
            for item in observed.items
        ]
    )


def _share(item: Seen, held: Held, share: Mapping[str, float]) -> float:
    course = item.quantity == "crankcase-pressure" and bool(held.did & frozenset(BLOCKING))
    return max(COURSE_SHARE, share[item.quantity]) if course else share[item.quantity]


def _size(item: Seen, barometer_pa: float) -> float:
    """What the share is taken of: pressures as a gauge reads them."""
    if item.quantity in ("oil-pressure", "crankcase-pressure") and item.reference == "vacuum":
        return item.value - barometer_pa
    return item.value
