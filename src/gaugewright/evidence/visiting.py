"""Which conditions were held in the state that a limit is stated for."""

from __future__ import annotations

from dataclasses import dataclass

from gaugewright.evidence.case import Situation
from gaugewright.evidence.pump import stage_of
from gaugewright.job import words

NEUTRAL = frozenset({"nothing", "speed-raised", *words.LASTING})
DEFAULT_TOLERANCE = 0.1
WARMTH_REACH_K = 20.0
"""A stretch further than this from the limit's temperature did not visit its state (J)."""
RAISED_RPM = 1200.0
"""A limit stated for this speed or more is not one for the idle (J)."""


@dataclass(frozen=True)
class Bounds:
    """A limit in house units, as the checks use it."""

    name: str
    quantity: str
    reference: str | None
    least: float | None
    most: float | None
    speed_rpm: float | None
    tolerance_rpm: float | None
    oil_degc: float | None
    stage: str | None
    did: frozenset[str]
    crankcase_pa: float | None

    def lowered(self, by: float) -> tuple[float | None, float | None]:
        """Both ends less `by`."""
        return (
            None if self.least is None else self.least - by,
            None if self.most is None else self.most - by,
        )


def visits(
    situation: Situation,
    limit: Bounds,
    switches_rpm: tuple[float, float] | None,
    *,
    named: bool = False,
) -> bool:
    """Was this condition held in the state that the limit is stated for?

    `named` says that a condition bears the limit's name: a limit silent on speed then means it.
    """
    held = situation.held(limit.quantity, limit.reference)
    if not held or not situation.running or set(situation.did) - NEUTRAL != limit.did - NEUTRAL:
        return False
    level = held[0].level
    if limit.stage and stage_of(level, switches_rpm) not in (None, limit.stage):
        return False
    if _too_far_in_warmth(situation, limit):
        return False
    raised, wanted = "speed-raised" in situation.did, "speed-raised" in limit.did
    if wanted and not raised:
        return False
    if limit.speed_rpm is None:
        return situation.condition == limit.name if named else raised == wanted
    if level.speed_rpm is None:
        return raised == (limit.speed_rpm >= RAISED_RPM)
    return _speed_visited(level.speed_rpm, level.support_rpm, limit)


def _too_far_in_warmth(situation: Situation, limit: Bounds) -> bool:
    if limit.oil_degc is None or limit.quantity != "oil-pressure" or not situation.warmth.known:
        return False
    return abs(situation.warmth.degc - limit.oil_degc) > WARMTH_REACH_K


def _speed_visited(speed_rpm: float, support: tuple[float, float] | None, limit: Bounds) -> bool:
    wanted = float(limit.speed_rpm or 0.0)
    tolerance = DEFAULT_TOLERANCE * wanted if limit.tolerance_rpm is None else limit.tolerance_rpm
    low, high = support or (speed_rpm, speed_rpm)
    return low <= wanted <= high or abs(speed_rpm - wanted) <= tolerance
