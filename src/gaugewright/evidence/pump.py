"""Which stage a two-stage pump was in, and whether two stretches may be compared at all."""

from __future__ import annotations

from gaugewright.evidence.level import Level


def stage_of(level: Level, switches_rpm: tuple[float, float] | None) -> str | None:
    """`low` below the speed at which the pump goes back, `high` above that at which it goes up.

    Between the two, or when the stretch's speeds reach across, `between`; None where the pump
    has no stages or no speed is known.
    """
    if switches_rpm is None or level.support_rpm is None:
        return None
    back, up = min(switches_rpm), max(switches_rpm)
    low, high = level.support_rpm
    if high < back:
        return "low"
    if low > up:
        return "high"
    return "between"


def comparable(one: Level, other: Level, switches_rpm: tuple[float, float] | None) -> bool:
    """Were both stretches held in the same stage of the pump?"""
    stages = {stage_of(one, switches_rpm), stage_of(other, switches_rpm)}
    return len(stages) == 1
