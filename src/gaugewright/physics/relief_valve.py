"""The relief valve: shut below its opening pressure, a steep slope above it."""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Numbers


def flow(
    opening_pa: Numbers, slope_m3_per_pa_s: Numbers, pressure_pa: Numbers, softness_pa: Numbers
) -> Numbers:
    """How much oil does the valve let back at this pressure?

    Q = k s ln(1 + exp((p - p0)/s)): 0 well below p0 (exactly 0 from 37 s below it), k (p - p0)
    well above, k s ln 2 at p0 itself.
    Parameters: `opening_pa` p0 and `pressure_pa` p, both against the same reference;
    `slope_m3_per_pa_s` k; `softness_pa` s, above 0: how gradually it opens.
    Returns m3/s, never negative.
    Source: a spring-loaded valve's flow grows with its lift, the lift with the pressure above
    the opening pressure (textbook, from memory); the rounded knee is our own.

    Example: `flow(400e3, 1e-8, 450e3, 5e3)` is 0.0005.
    """
    over = (pressure_pa - opening_pa) / softness_pa
    rounded = np.maximum(over, 0.0) + np.log(1.0 + np.exp(-np.abs(over)))
    return slope_m3_per_pa_s * softness_pa * rounded
