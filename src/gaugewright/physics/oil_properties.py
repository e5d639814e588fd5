"""Density and dynamic viscosity of engine oil against temperature."""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Numbers

LUBE_K1 = 0.6278
"""kg/(m3 K): thermal expansion constant of lubricating oils, 1.8 x 0.34878 from the Fahrenheit
form.  Source: API MPMS 11.1 / ASTM D1250-04 (Fahrenheit form read in secondary text)."""
BASE_DEGC = 15.0
REYN_PA_S = 6894.757293168
"""1 reyn = 1 lbf s/in2 in Pa s."""

EXPONENTIAL_FIT = {
    "10": (0.0158e-6, 1157.5),
    "20": (0.0136e-6, 1271.6),
    "30": (0.0141e-6, 1360.0),
    "40": (0.0121e-6, 1474.4),
    "50": (0.0170e-6, 1509.6),
    "60": (0.0187e-6, 1564.0),
}
"""Plain grade -> (reyn, degF).  Source: the exponential fit to the viscosity chart of plain
grades printed in machine-design textbooks, mu = mu0 exp(b / (T + 95)), T in degF; read in a
solutions manual (30) and an open bearing code (others)."""


def density(density_15degc: Numbers, temperature_degc: Numbers) -> Numbers:
    """What does a cubic metre of oil weigh at a temperature?

    Parameters: `density_15degc` in kg/m3 at 15 degC, about 800 to 950 for engine oil;
    `temperature_degc` from -20 to 150.
    Returns kg/m3.
    Source: API MPMS 11.1 / ASTM D1250-04, lubricating-oil group.

    Example: `density(870.0, 100.0)` is 815.78.
    """
    expansion = LUBE_K1 / density_15degc * (temperature_degc - BASE_DEGC)
    return density_15degc * np.exp(-expansion * (1.0 + 0.8 * expansion))


def dynamic_viscosity(kinematic_cst: Numbers, density_kg_m3: Numbers) -> Numbers:
    """How thick is the oil in Pa s, as the formulas of flow want it?

    Parameters: `kinematic_cst` in mm2/s and `density_kg_m3`, both at the oil's temperature.
    Returns Pa s.
    Source: definition of kinematic viscosity.

    Example: `dynamic_viscosity(12.0, 815.78)` is 0.009789.
    """
    return kinematic_cst * density_kg_m3 * 1e-6


def plain_grade_viscosity(grade: str, temperature_degc: Numbers) -> Numbers:
    """How thick, in Pa s, is a plain grade at a temperature, by the textbook fit?

    Parameters: `grade` from "10" to "60"; `temperature_degc` from 40 to 140.
    Source: `EXPONENTIAL_FIT`.

    Example: `plain_grade_viscosity("30", 79.0)` is 0.0152.
    """
    start, slope = EXPONENTIAL_FIT[grade]
    return start * REYN_PA_S * np.exp(slope / (1.8 * temperature_degc + 127.0))
