"""What is known beside the readings, as readings of its own: the maker's limits, a gauge's zero."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from gaugewright.causes.observation import ALL, MARGIN, ZERO, Held, Observed, Seen
from gaugewright.evidence.case import GaugeZero

ZERO_SHIFT_PA = 2.5e3
"""How far a sound gauge's zero wanders beside what is stated of it (judgement)."""
USUAL_MARGIN, MARGIN_SPREAD, LIMIT_SPREAD = 1.75, 0.28, 0.15
"""A sound engine's oil pressure over its maker's least: usual factor, spread of its logarithm
common to a maker's limits, and of each (judgement)."""


@dataclass(frozen=True)
class Least:
    """A maker's least oil pressure on a gauge, Pa, and the state it holds for."""

    pressure_pa: float
    speed_rpm: float | None
    oil_degc: float | None


def with_zeros(seen: Observed, zeros: Iterable[GaugeZero]) -> Observed:
    """The readings, those of a zeroed gauge marked so, and each gauge's first zero as a reading."""
    known = {zero.label: zero for zero in reversed(list(zeros))}
    right = {label for label, zero in known.items() if zero.used}
    items = [replace(item, zeroed=bool(right & set(item.labels))) for item in seen.items]
    none = np.zeros_like(items[0].gradient)
    for label, zero in known.items():
        own = zero.variance + ZERO_SHIFT_PA**2
        items.append(Seen(0, ZERO, None, zero.off_pa, own, none, (label,)))
    count = len(seen.items)
    covariance = np.diag([item.own for item in items])
    covariance[:count, :count] = seen.covariance
    return Observed(seen.holds, tuple(items), covariance)


def with_limits(seen: Observed, limits: Iterable[Least], visit: str) -> Observed:
    """The readings, and what the maker's limits say of a sound engine, as readings of that."""
    holds, items = list(seen.holds), list(seen.items)
    for limit in limits:
        holds.append(
            Held(
                visit=visit,
                condition="the maker's limit",
                did=frozenset(),
                speed_rpm=limit.speed_rpm,
                raised=limit.speed_rpm is not None,
                oil_degc=limit.oil_degc,
                oil_u=0.0,
                length_s=0.0,
                gone=(ALL,),
            )
        )
        margin = float(np.log(USUAL_MARGIN))
        none = np.zeros_like(items[0].gradient) if items else np.zeros(0)
        items.append(Seen(len(holds) - 1, MARGIN, None, margin, 0.0, none, (), limit.pressure_pa))
    count = len(items) - len(seen.items)
    covariance = np.zeros((len(items), len(items)))
    covariance[: len(seen.items), : len(seen.items)] = seen.covariance
    shared = np.full((count, count), MARGIN_SPREAD**2) + np.eye(count) * LIMIT_SPREAD**2
    covariance[len(seen.items) :, len(seen.items) :] = shared
    return Observed(tuple(holds), tuple(items), covariance)
