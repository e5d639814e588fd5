"""Oil through gaps and holes: slot and annulus by viscosity, orifice by density."""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Numbers

LAMINAR_PA = 200.0
"""Below about this difference an orifice's flow goes over from the root of the difference to
the difference itself, so that its slope is finite at zero (our own, for the solver)."""


def orifice_flow(area_m2: Numbers, difference_pa: Numbers, density: Numbers) -> Numbers:
    """How much oil passes a sharp hole or jet?

    Q = A dp sqrt(2/rho) / (dp^2 + d0^2)^(1/4), d0 = `LAMINAR_PA`: the orifice equation
    Q = A sqrt(2 dp / rho) within 0.1 % from 3.2 kPa on, proportional to dp far below d0.
    Parameters: `area_m2`, effective: discharge coefficient times area; `difference_pa`,
    signed; `density` in kg/m3.
    Returns m3/s, of the sign of the difference.
    Source: Bernoulli with a discharge coefficient; the rounding near zero is our own.

    Example: `orifice_flow(1e-6, 300e3, 850.0)` is 2.657e-05.
    """
    softened = np.sqrt(np.sqrt(difference_pa * difference_pa + LAMINAR_PA * LAMINAR_PA))
    return area_m2 * np.sqrt(2.0 / density) * difference_pa / softened
