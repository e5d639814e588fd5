"""The suction side: what the pick-up lets through, and how much of it is air."""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Numbers

TINY = 1e-300
"""Keeps nothing over nothing at nothing."""
LEAST_PA = 1.0
"""Absolute inlet pressures below this are taken as this: oil doesn't pull."""


def greatest_flow(head_pa: Numbers, linear_pa_s_m3: Numbers, square_pa_s2_m6: Numbers) -> Numbers:
    """What is the most the suction side can pass with this head?

    The positive root of R Q + K Q^2 = head; 0 where there is no head.
    Parameters: `head_pa` available between sump and pump inlet; `linear_pa_s_m3` R (laminar)
    and `square_pa_s2_m6` K (turbulent), 0 and more, not both 0 with a head.
    Returns m3/s.
    Source: loss as the sum of a laminar and a turbulent part, any hydraulics textbook.

    Example: `greatest_flow(80e3, 2e7, 4e10)` is 0.001186.
    """
    head = np.maximum(head_pa, 0.0)
    root = np.sqrt(linear_pa_s_m3 * linear_pa_s_m3 + 4.0 * square_pa_s2_m6 * head)
    return 2.0 * head / (linear_pa_s_m3 + root + TINY)


def limited(wanted: Numbers, greatest: Numbers, sharpness: int = 20) -> Numbers:
    """What flows where one amount is wanted and no more than another can come?

    wanted (1 + (wanted/greatest)^p)^(-1/p): the smaller of the two with a rounded corner, at
    most 3.4 % below it for p = 20 (where both are equal).
    Parameters: `wanted` and `greatest`, 0 and more, same unit; `sharpness` p, 1 and more.
    Returns the same unit.  Source: our own smooth minimum.

    Example: `limited(1.0, 1.0)` is 0.9659.
    """
    less, more = np.minimum(wanted, greatest), np.maximum(wanted, greatest)
    ratio = _raised(less / (more + TINY), sharpness)
    return less * np.exp(np.log(1.0 + ratio) * (-1.0 / sharpness))


def _raised(base: Numbers, exponent: int) -> Numbers:
    """A whole power by repeated squaring, several times as fast as NumPy's general one."""
    if exponent == 1:
        return base
    half = _raised(base, exponent // 2)
    return half * half * base if exponent % 2 else half * half


def filled_share(air_share: Numbers, inlet_pa: Numbers, reference_pa: Numbers) -> Numbers:
    """Which part of the pump's chambers is filled with oil when the oil carries free air?

    1 / (1 + x p0/p): the air, x times the oil's volume at p0, has swollen to x p0/p at the inlet.
    Parameters: `air_share` x, free air over oil by volume at `reference_pa` (absolute);
    `inlet_pa`, absolute, taken as 1 Pa below that.
    Returns 0 to 1.  Source: isothermal ideal gas.

    Example: `filled_share(0.10, 80e3, 101325.0)` is 0.8876.
    """
    inlet = np.maximum(inlet_pa, LEAST_PA)
    return inlet / (inlet + air_share * reference_pa)
