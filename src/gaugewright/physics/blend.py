"""Oil mixed with thinner or thicker oil, or with fuel: the viscosity blending number."""

from __future__ import annotations

import math

SLOPE = 14.534
OFFSET = 10.975
SHIFT = 0.8
"""VBN = 14.534 ln ln(v + 0.8) + 10.975, v in mm2/s, mass fractions.  Source: the published
blending-index formula as quoted by blend calculators; ASTM D7152 itself was not read."""
MODEL_SPREAD = 0.06
"""Relative difference of the index model to a published fuel-dilution chart at 3 % fuel."""


def blending_number(viscosity_cst: float) -> float:
    """The blending number of a kinematic viscosity in mm2/s, above 0.2.

    Example: `blending_number(2.234)` is 12.49.
    """
    if viscosity_cst <= 0.2:
        raise ValueError(f"{viscosity_cst} mm2/s is not above 0.2, where the number is defined")
    return SLOPE * math.log(math.log(viscosity_cst + SHIFT)) + OFFSET


def viscosity_with(number: float) -> float:
    """The kinematic viscosity in mm2/s of a blending number."""
    return math.exp(math.exp((number - OFFSET) / SLOPE)) - SHIFT


def blended(fractions: tuple[float, ...], viscosities_cst: tuple[float, ...]) -> float:
    """How thick is a mixture of these oils, all at one temperature?

    Parameters: mass fractions that add up to 1; kinematic viscosities in mm2/s.
    Returns mm2/s; against a published chart of fuel in oil it is good to about 6 %.
    Raises ValueError when the fractions don't add up.

    Example: `blended((0.6, 0.4), (5.0, 20.0))` is 8.109.
    """
    if abs(sum(fractions) - 1.0) > 1e-9 or min(fractions) < 0:
        raise ValueError(f"the fractions {fractions} are not parts of one whole")
    pairs = zip(fractions, viscosities_cst, strict=True)
    return viscosity_with(sum(part * blending_number(v) for part, v in pairs))
