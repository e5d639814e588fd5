"""Which stage a two-stage pump was in, and whether two stretches may be compared at all."""

from __future__ import annotations

import numpy as np

from gaugewright.evidence.level import Level

FAR = 1.3
"""Stretches this ratio of speeds apart are looked at for a step or a knee between them (J)."""
LEAST_POWER, MOST_POWER = 0.1, 1.6
"""Pressure grows with speed to a power between these where nothing switches (J)."""
HELD_POWER = 0.15
"""Below this power of speed a pressure is held by the relief valve (J)."""


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


def held_by_relief(level: Level) -> bool:
    """Does the pressure hardly follow the speed, and surely so?"""
    if level.speed_rpm is None or not np.isfinite(level.scale[1, 1]) or level.value <= 0:
        return False
    unit = level.value / level.speed_rpm
    return bool((level.slope + 2 * np.sqrt(level.scale[1, 1])) / unit < HELD_POWER)


def knee_between(one: Level, other: Level) -> bool:
    """Do two stretches far apart in speed show a step or a knee between them?"""
    slow, fast = sorted((one, other), key=lambda level: level.speed_rpm or 0.0)
    if not slow.speed_rpm or not fast.speed_rpm or fast.speed_rpm < FAR * slow.speed_rpm:
        return False
    if slow.value <= 0 or fast.value <= 0:
        return False
    power = np.log(fast.value / slow.value) / np.log(fast.speed_rpm / slow.speed_rpm)
    return held_by_relief(fast) or not LEAST_POWER < power < MOST_POWER
