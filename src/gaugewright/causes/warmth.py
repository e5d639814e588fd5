"""How warm the oil was in each condition, as far as anybody knows."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from gaugewright.causes.observation import Seen
from gaugewright.evidence.case import Case, Situation
from gaugewright.job.words import BLOCKING

WARM_COOLANT_DEGC = 70.0
OIL_BEHIND_K, COOLANT_ONLY_K = 3.0, 6.0
"""How far the oil lags a coolant that is still cold, and its standard uncertainty (judgement)."""
WARMING_DEGC = 60.0
"""Below this an engine idles as fast as its maker has it warm up (common practice, no source)."""
COLD_DEGC, COLD_UNKNOWN_K = 20.0, 12.0
"""What a condition called cold is taken for where nobody measured it (judgement)."""
NEIGHBOUR_K = 6.0
"""How far a condition without a temperature lies from its neighbours' (judgement)."""
PER_K = {"oil-pressure": 0.024, "manifold-pressure": 0.006, "air-flow": 0.009}
"""How much a reading moves with each kelvin of oil, as a share of it (judgement; oil pressure
computed from a 5W-30 at 90 degC)."""


@dataclass(frozen=True)
class Warm:
    """Oil temperature of a condition, None where nobody knows; its uncertainty shared with the
    other conditions, and its own."""

    degc: float | None
    shared_k: float
    own_k: float


def warmth_of(case: Case, situation: Situation) -> Warm:
    """Read; else by a cold coolant; else by the word "cold"; else as its neighbours."""
    warmth = situation.warmth
    borrowed = "oil-temperature-from-neighbour" in warmth.flags
    if warmth.known and not borrowed:
        shared = case.book.between(warmth.gradient, warmth.gradient)
        return Warm(warmth.degc, float(np.sqrt(max(warmth.variance + shared, 0.0))), 0.0)
    coolant = situation.held("coolant-temperature", None)
    if coolant and coolant[0].level.value < WARM_COOLANT_DEGC:
        return Warm(coolant[0].level.value - OIL_BEHIND_K, 0.0, COOLANT_ONLY_K)
    if "cold" in situation.condition.lower():
        return Warm(COLD_DEGC, 0.0, COLD_UNKNOWN_K)
    return Warm(warmth.degc if warmth.known else None, 0.0, NEIGHBOUR_K)


def blurred(case: Case, situation: Situation, item: Seen) -> Seen:
    """The reading with what its condition's unknown oil temperature leaves open."""
    warm = warmth_of(case, situation)
    steep = PER_K.get(item.quantity, 0.0)
    base = item.value if item.reference != "vacuum" else item.value - (case.barometer_pa or 1e5)
    if item.quantity == "manifold-pressure":
        base = item.value
    shut = item.quantity == "oil-pressure" and item.reference != "crankcase"
    straight = shut and bool(set(situation.did) & set(BLOCKING))
    return replace(item, own=item.own + (steep * warm.own_k * base) ** 2, straight=straight)


def warms_up(warm: Warm, speed_rpm: float | None) -> bool:
    """Does an idling engine run faster because it is known to be cold?"""
    return warm.degc is not None and warm.degc < WARMING_DEGC and speed_rpm is not None
