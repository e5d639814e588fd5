"""How far off the virtual engine itself may be: the model's error beside the readings' own.

The engine's form is ours, not the car's.  So a reading is held to lie about its prediction with
a standard error that has a share of the reading and a floor, independent from condition to
condition (judgement; set so that engines made by the simulation in time, with numbers spread
wider than the prior, are called as often right as the odds say).
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import numpy as np
import numpy.typing as npt

from gaugewright.causes.meeting import Blend, Noise, Part
from gaugewright.causes.model import steepness
from gaugewright.causes.observation import COLD_BELOW_DEGC, MARGIN, TRIM, ZERO, Held, Observed, Seen
from gaugewright.job.words import BLOCKING

Floats = npt.NDArray[np.float64]

SHARE: Mapping[str, float] = {
    MARGIN: 0.0,
    ZERO: 0.0,
    "oil-pressure": 0.05,
    "crankcase-pressure": 0.12,
    "manifold-pressure": 0.03,
    "engine-speed": 0.012,
    "air-flow": 0.05,
    TRIM: 0.12,
}
FLOOR: Mapping[str, float] = {
    MARGIN: 0.0,
    ZERO: 0.0,
    "oil-pressure": 2.0e3,
    "crankcase-pressure": 250.0,
    "manifold-pressure": 1.0e3,
    "engine-speed": 6.0,
    "air-flow": 1.0e-4,
    TRIM: 1.5,
}
"""Pa, rpm, kg/s, points of trim."""
LOOSE_SHARE: Mapping[str, float] = {
    MARGIN: 0.0,
    ZERO: 0.0,
    "oil-pressure": 0.18,
    "crankcase-pressure": 0.35,
    "manifold-pressure": 0.15,
    "engine-speed": 0.05,
    "air-flow": 0.18,
    TRIM: 0.25,
}
LOOSE_FLOOR: Mapping[str, float] = {
    MARGIN: 0.0,
    ZERO: 0.0,
    "oil-pressure": 5.0e3,
    "crankcase-pressure": 1.1e3,
    "manifold-pressure": 3.0e3,
    "engine-speed": 25.0,
    "air-flow": 3.0e-4,
    TRIM: 3.0,
}
COLD_LOOSE_SHARE = 0.30
"""The same where the car's engine is built otherwise than the virtual one: what two honest models
of one engine differ by (judgement); cold oil by more."""
LOOSE_CHANCE = 0.3
"""How often that is so, for each group of readings by itself (judgement); the readings decide."""
GROUPS: Mapping[str, str] = {
    "oil-pressure": "oil",
    "crankcase-pressure": "crankcase",
    "manifold-pressure": "air",
    "engine-speed": "air",
    "air-flow": "air",
    TRIM: "trim",
}
COLD_GROUP = "cold oil"
COURSE_SHARE = 0.35
"""Of how far the crankcase moved, where a stretch is a course and not a mean."""
SHUT_FLOOR_PA = (4.0e3, 9.0e3)
"""Of a gauge's oil pressure while the crankcase's way out, or its fresh air, is shut (judgement: a
share of what the crankcase moves by)."""
COURSE_FROM_PA = 2500.0
"""Where a crankcase usually stands before its way out is shut, against the outside air."""
TRIM_FOLLOWS_SHARE, TRIM_FOLLOWS_POINTS = 0.35, 3.5
"""Of a trim read while something was held open or shut for seconds: the short trim follows, the
long one does not, and the crankcase's gas changes slowly."""

WIDE_SHARE: Mapping[str, float] = {
    MARGIN: 0.0,
    ZERO: 0.0,
    "oil-pressure": 0.5,
    "crankcase-pressure": 0.5,
    "manifold-pressure": 0.22,
    "engine-speed": 0.12,
    "air-flow": 0.3,
    TRIM: 0.3,
}
WIDE_FLOOR: Mapping[str, float] = {
    MARGIN: 0.0,
    ZERO: 0.0,
    "oil-pressure": 10e3,
    "crankcase-pressure": 3.0e3,
    "manifold-pressure": 3.0e3,
    "engine-speed": 30.0,
    "air-flow": 3.0e-4,
    TRIM: 9.0,
}
"""How far readings may lie from a sound engine's when the cause is none of the catalogue's."""
ALONE = 0.35
"""How much of that each condition has for itself; the rest is common to all of a quantity."""
SCALES = (0.3, 1.0, 3.0)
"""A cause of no catalogue may be small or large: by these factors, each as often (judgement)."""


def noise_of(observed: Observed, barometer_pa: float, loose: frozenset[str] = frozenset()) -> Noise:
    """The readings' covariance with the model's own error, larger in these groups of readings."""
    error = model_error(observed, barometer_pa, loose)
    whole = observed.covariance + np.outer(error, error) * _same_truth(observed)
    return _on_scale(observed, whole)


def _same_truth(observed: Observed) -> Floats:
    """1 where two readings are of one quantity in one condition, which the engine's error moves
    together, else 0, (m, m)."""
    keys = [(item.place, item.quantity) for item in observed.items]
    return np.array([[float(one == other) for other in keys] for one in keys])


def blend_for(observed: Observed, barometer_pa: float) -> Blend:
    """The covariances of every choice of groups that the virtual engine tells only loosely."""
    groups = sorted({g for item in observed.items if (g := group_of(observed, item)) is not None})
    chosen = [frozenset(some) for k in range(len(groups) + 1) for some in combinations(groups, k)]
    near, far = np.log1p(-LOOSE_CHANCE), np.log(LOOSE_CHANCE)
    return Blend(
        tuple(
            Part(
                float(len(loose) * far + (len(groups) - len(loose)) * near),
                noise_of(observed, barometer_pa, loose),
                loose,
            )
            for loose in chosen
        )
    )


def group_of(observed: Observed, item: Seen) -> str | None:
    """Which readings stand or fall with this one when the engine is built otherwise."""
    if item.quantity == "oil-pressure" and is_cold(observed.holds[item.place]):
        return COLD_GROUP
    return GROUPS.get(item.quantity)


def is_cold(held: Held) -> bool:
    """Was the oil cold?"""
    return held.oil_degc is not None and held.oil_degc < COLD_BELOW_DEGC


def wide_noises_of(observed: Observed, barometer_pa: float) -> tuple[Noise, ...]:
    """The covariances when the cause is none of the catalogue's.

    It moves each quantity in every condition much the same way, by an amount that nothing tells,
    and each reading a little for itself.  (Engines that are ill in a way their own numbers can tell
    stand in `otherwise`.)
    """
    near = noise_of(observed, barometer_pa).covariance
    own = _model(observed, barometer_pa, WIDE_SHARE, WIDE_FLOOR) * steepness(observed)
    kinds = np.array([item.quantity for item in observed.items])
    common = np.outer(own, own) * (kinds[:, None] == kinds[None, :])
    wide = common + np.diag((ALONE * own) ** 2)
    return tuple(Noise(near + scale**2 * wide) for scale in SCALES)


def _on_scale(observed: Observed, covariance: Floats) -> Noise:
    """The covariance on the scale the readings are weighed on."""
    steep = steepness(observed)
    return Noise(covariance * np.outer(steep, steep))


def model_error(
    observed: Observed, barometer_pa: float, loose: frozenset[str] = frozenset()
) -> Floats:
    """Standard error of the virtual engine's prediction of each reading, in its own unit, (m,).

    `loose`: groups of readings that it tells only loosely.
    """
    near = _model(observed, barometer_pa, SHARE, FLOOR)
    far = _model(observed, barometer_pa, LOOSE_SHARE, LOOSE_FLOOR)
    off = np.array([group_of(observed, item) in loose for item in observed.items], dtype=bool)
    cold = np.array([group_of(observed, item) == COLD_GROUP for item in observed.items], dtype=bool)
    size = np.array([abs(_size(item, barometer_pa)) for item in observed.items])
    far = np.where(cold, np.hypot(far, COLD_LOOSE_SHARE * size), far)
    return np.asarray(np.where(off, np.maximum(near, far), near))


def _model(
    observed: Observed, barometer_pa: float, share: Mapping[str, float], floor: Mapping[str, float]
) -> Floats:
    return np.array(
        [
            _error(item, observed.holds[item.place], barometer_pa, share, floor)
            for item in observed.items
        ]
    )


def _error(
    item: Seen,
    held: Held,
    barometer_pa: float,
    share: Mapping[str, float],
    floor: Mapping[str, float],
) -> float:
    part, least = share[item.quantity], floor[item.quantity]
    size = abs(_size(item, barometer_pa))
    if item.quantity == "crankcase-pressure" and held.did & frozenset(BLOCKING):
        part, size = max(part, COURSE_SHARE), size + COURSE_FROM_PA
    if item.straight:
        least = max(least, SHUT_FLOOR_PA["fresh-air-blocked" in held.did])
    if item.quantity == TRIM and held.did - {"nothing", "speed-raised"}:
        part, least = max(part, TRIM_FOLLOWS_SHARE), max(least, TRIM_FOLLOWS_POINTS)
    return float(np.hypot(least, part * size))


def _size(item: Seen, barometer_pa: float) -> float:
    """What the share is taken of: pressures as a gauge reads them."""
    if item.quantity in ("oil-pressure", "crankcase-pressure") and item.reference == "vacuum":
        return item.value - barometer_pa
    return item.value
