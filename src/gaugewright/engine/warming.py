"""How coolant and oil warm up, and where they settle."""

from __future__ import annotations

import math
from dataclasses import dataclass

COOLANT_J_PER_K_M3 = 2.2e7
"""Heat the block and its coolant take for each kelvin and each m3 of displacement: 44 kJ/K of a
two-litre engine (judgement: at idle it is then warm in a quarter of an hour)."""
TO_COOLANT = 0.30
"""Share of the fuel's heat that reaches the coolant (common practice: about a third)."""
THERMOSTAT_DEGC = (86.0, 96.0)
"""Begins to open, and open (common practice)."""
RADIATOR_W_PER_K_M3 = 4.5e5
BLOCK_W_PER_K_M3 = 6e3
"""Heat given to the air through the radiator with the thermostat open, and by the block, for
each m3 of displacement (judgement)."""
OIL_LAG_S = 170.0
"""How long oil takes to follow what heats it (judgement: it lags the coolant in warm-up)."""
OIL_OVER_COOLANT_K = (10.0, 2.5, 15.0)
"""How far oil settles above hot coolant: at idle, more for each 1000 rpm, at most.  Source:
common practice, 10 to 15 K."""


@dataclass(frozen=True)
class Warmth:
    """Temperatures of coolant and oil, degC."""

    coolant_degc: float
    oil_degc: float


def warmed(
    now: Warmth,
    seconds: float,
    fuel_w: float,
    speed_rpm: float,
    displacement_m3: float,
    outside_degc: float,
) -> Warmth:
    """How warm are they some seconds later?

    Parameters: `fuel_w` the heat of the fuel burnt a second.
    Each follows an exponential over the step, so that a long step stays stable.
    """
    low, high = THERMOSTAT_DEGC
    open_ = min(max((now.coolant_degc - low) / (high - low), 0.0), 1.0)
    given = (BLOCK_W_PER_K_M3 + open_ * RADIATOR_W_PER_K_M3) * displacement_m3
    capacity = COOLANT_J_PER_K_M3 * displacement_m3
    aim = outside_degc + TO_COOLANT * fuel_w / given
    coolant = aim + (now.coolant_degc - aim) * math.exp(-seconds * given / capacity)
    oil_aim = coolant + oil_rise_k(coolant, speed_rpm)
    oil = oil_aim + (now.oil_degc - oil_aim) * math.exp(-seconds / OIL_LAG_S)
    return Warmth(coolant, oil)


def oil_rise_k(coolant_degc: float, speed_rpm: float) -> float:
    """How far above the coolant the oil of a running engine settles, K; less while it is cold."""
    if speed_rpm < 300.0:
        return 0.0
    idle, more, most = OIL_OVER_COOLANT_K
    rise = min(idle + more * max(speed_rpm - 800.0, 0.0) * 1e-3, most)
    return rise * min(max(coolant_degc / 90.0, 0.0), 1.0)
