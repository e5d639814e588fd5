"""Oil mixed with thinner or thicker oil, or with fuel: the viscosity blending number."""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Numbers
from gaugewright.physics.oil import line_coefficients

SLOPE = 14.534
OFFSET = 10.975
SHIFT = 0.8
"""VBN = 14.534 ln ln(v + 0.8) + 10.975, v in mm2/s, mass fractions.  Source: the published
blending-index formula as quoted by blend calculators; ASTM D7152 itself was not read."""
MODEL_SPREAD = 0.06
"""Relative difference of the index model to a published fuel-dilution chart at 3 % fuel."""
FUEL_KV40 = 1.0
FUEL_KV100 = 0.6
"""mm2/s at 40 and 100 degC of the petrol that stays in a warm sump.  0.6: the thinner of two
fuels with which an oil laboratory's page has 5 % turn an SAE 30 into an SAE 20; 1.0: judgement,
the heavy end of petrol, for which n-decane may stand (0.97 and 0.55 by a property library)."""


def blending_number(viscosity_cst: Numbers) -> Numbers:
    """The blending number of a kinematic viscosity in mm2/s, above 0.2.

    Raises ValueError at 0.2 mm2/s and below.

    Example: `blending_number(2.234)` is 12.49.
    """
    if not np.all(np.asarray(viscosity_cst) > 0.2):
        raise ValueError(f"{viscosity_cst} mm2/s is not above 0.2, where the number is defined")
    return SLOPE * np.log(np.log(viscosity_cst + SHIFT)) + OFFSET


def viscosity_with(number: Numbers) -> Numbers:
    """The kinematic viscosity in mm2/s of a blending number."""
    return np.exp(np.exp((number - OFFSET) / SLOPE)) - SHIFT


def blended(fractions: tuple[Numbers, ...], viscosities_cst: tuple[Numbers, ...]) -> Numbers:
    """How thick is a mixture of these oils, all at one temperature?

    Parameters: mass fractions that add up to 1; kinematic viscosities in mm2/s.
    Returns mm2/s; against a published chart of fuel in oil it is good to about 6 %.
    Raises ValueError when the fractions don't add up.

    Example: `blended((0.6, 0.4), (5.0, 20.0))` is 8.109.
    """
    parts = np.stack(np.broadcast_arrays(*fractions))
    if np.any(np.abs(parts.sum(axis=0) - 1.0) > 1e-9) or np.any(parts < 0):
        raise ValueError(f"the fractions {fractions} are not parts of one whole")
    pairs = zip(fractions, viscosities_cst, strict=True)
    return viscosity_with(sum(part * blending_number(v) for part, v in pairs))


def diluted_line(kv40: Numbers, kv100: Numbers, fuel_share: Numbers) -> tuple[Numbers, Numbers]:
    """Which viscosity line does an oil follow once fuel has got into it?

    Parameters: `kv40` and `kv100` of the oil without fuel, mm2/s at 40 and 100 degC;
    `fuel_share`, mass of fuel over mass of the mixture, 0 to 1; all three broadcast.
    Returns (a, b) for `oil.viscosity_at`.
    Raises ValueError for a share outside 0 to 1.
    Source: blending number at both temperatures, ASTM D341 between; fuel of `FUEL_KV40` and
    `FUEL_KV100`.

    Example: 5 % in 11 mm2/s at 100 degC leaves 8.54 mm2/s.
    """
    parts = (1.0 - fuel_share, fuel_share)
    thinned40 = blended(parts, (kv40, FUEL_KV40))
    thinned100 = blended(parts, (kv100, FUEL_KV100))
    return line_coefficients(thinned40, 40.0, thinned100, 100.0)
