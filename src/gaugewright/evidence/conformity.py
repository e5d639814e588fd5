"""Does a value meet its limit, and how surely?

Source: JCGM 106:2012, 7 (conformance probability with a flat prior) and 8.3 (guard bands).
"""

from __future__ import annotations

import math

DECIDED = 0.95
GUARD = 1.645


def cumulative(z: float, dof: float | None) -> float:
    """Distribution function of the standard normal, or of Student's t."""
    from scipy.special import ndtr, stdtr

    return float(ndtr(z)) if dof is None else float(stdtr(dof, z))


def chance_below(bound: float | None, value: float, u: float, dof: float | None) -> float:
    """Probability that the true value lies below `bound` (0 where there is no bound)."""
    if bound is None:
        return 0.0
    if u == 0.0:
        return 1.0 if value < bound else 0.0
    return cumulative((bound - value) / u, dof)


def chance_of_meeting(
    value: float, u: float, dof: float | None, least: float | None, most: float | None
) -> float:
    """Probability that the true value lies between the limits; either may be None.

    JCGM 106:2012, 7.2.2 and equations (7) to (9): F((max - v)/u) - F((min - v)/u).
    """
    under = chance_below(most, value, u, dof) if most is not None else 1.0
    return max(0.0, under - chance_below(least, value, u, dof))


def verdict_of(
    value: float, u: float, dof: float | None, least: float | None, most: float | None
) -> str:
    """`meets`, `falls short`, `exceeds` or `too close to call`, each at 95 %."""
    if not math.isfinite(u):
        return "too close to call"
    if chance_of_meeting(value, u, dof, least, most) >= DECIDED:
        return "meets"
    if least is not None and chance_below(least, value, u, dof) >= DECIDED:
        return "falls short"
    if most is not None and 1.0 - chance_below(most, value, u, dof) >= DECIDED:
        return "exceeds"
    return "too close to call"


def guard_band(u: float, dof: float | None) -> float:
    """How far inside its limit a value must lie to meet it at 95 %: 1.645 u, or t u."""
    from scipy.special import stdtrit

    return (GUARD if dof is None else float(stdtrit(dof, DECIDED))) * u
