"""Gas through a hole, choked and not: what leaks in, what leaks out, and how large the hole is.

An area here is an effective one, the discharge coefficient times the geometric area.
Formulas: the isentropic flow of an ideal gas (NACA Report 1135, its equation numbers
from memory; ISO 9300 for the choked factor).  At 1 MPa real air passes 0.4 % more than they say.
"""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Floats, Numbers

AIR_GAS_CONSTANT = 287.05287
"""J/(kg K) of dry air.  Source: ISO 2533, table 1."""
AIR_GAMMA = 1.4
"""Ratio of the heat capacities of air at room temperature.  Source: ISO 2533, table 1."""
LAMINAR_PA = 20.0
"""Pa: below this difference `air_flow` is a straight line, so that its slope at nothing is
finite.  A choice for the solver's sake; a small hole does turn laminar there."""
SHARP_EDGE = 0.61
"""Discharge coefficient of a sharp-edged hole passing a liquid or slow air.  Source: pi/(pi + 2)
= 0.61102 by free-streamline theory; Encyclopaedia Britannica, 11th ed., Hydraulics: 0.603 to
0.620 measured.  Faster air contracts less: see `discharge_coefficient`."""
DISCHARGE_POLYNOMIAL = (0.8414, -0.1002, 0.8415, -3.9, 4.6001, -1.6827)
"""Coefficients of `discharge_coefficient`, lowest power first.  Source: the pneumatic orifice
of an open numerical library's documentation."""
_CHOKED_ROOT = 5.0 / 6.0
"""(p2/p1)**(2/7) at choking for gamma 1.4: 2/(gamma + 1)."""


def air_flow(area_m2: Numbers, from_pa: Numbers, to_pa: Numbers, temperature_k: Numbers) -> Numbers:
    """How much air passes a hole from one room to another, in kg/s?

    Parameters: `area_m2` effective; both pressures absolute and above `LAMINAR_PA`;
    `temperature_k` of the gas upstream.
    Returns kg/s, negative when it flows back; straight in the difference below `LAMINAR_PA`,
    where it meets the nozzle's own value.
    Source: as `mass_flow` with gamma 1.4; the exponents 10/7 and 12/7 are powers of one root.

    Example: `air_flow(1.9164e-6, 101325.0, 80000.0, 293.15)` is 0.000382.
    """
    signed = np.subtract(from_pa, to_pa, dtype=np.float64)
    flow = np.maximum(from_pa, to_pa, dtype=np.float64)
    root = np.maximum(np.abs(signed), LAMINAR_PA)
    root /= flow
    root = np.maximum(1.0 - root, 1e-9) ** (2.0 / 7.0)
    root = np.maximum(root, _CHOKED_ROOT)
    flow *= _psi_of_root(root)
    signed *= 1.0 / LAMINAR_PA
    flow *= np.clip(signed, -1.0, 1.0)
    return flow * (area_m2 / np.sqrt(AIR_GAS_CONSTANT * temperature_k))


def _psi_of_root(root: Floats) -> Floats:
    """The flow function for gamma 1.4 of (p2/p1)**(2/7): sqrt(7 (root**5 - root**6))."""
    psi = 1.0 - root
    psi *= root
    root = np.square(root)
    root *= root
    psi *= root
    psi *= 7.0
    return np.sqrt(psi)


def mass_flow(
    area_m2: Numbers,
    from_pa: Numbers,
    to_pa: Numbers,
    temperature_k: Numbers,
    gamma: float = AIR_GAMMA,
    gas_constant: float = AIR_GAS_CONSTANT,
) -> Numbers:
    """How much of any ideal gas passes a nozzle of effective area, in kg/s?

    Parameters: pressures absolute; `temperature_k` upstream; `gas_constant` in J/(kg K).
    Returns kg/s, negative when it flows back; its slope at no difference is infinite.
    Source: NACA Report 1135; m = A p1 psi(p2/p1) / sqrt(R T).

    Example: `mass_flow(20e-4, 1e6, 1e5, 800.0, 1.4, 287.0)` is 2.858.
    """
    high, low = np.maximum(from_pa, to_pa), np.minimum(from_pa, to_pa)
    size = area_m2 * high * flow_function(low / high, gamma) / np.sqrt(gas_constant * temperature_k)
    return np.sign(np.subtract(from_pa, to_pa)) * size


def flow_function(ratio: Numbers, gamma: float = AIR_GAMMA) -> Numbers:
    """The flow function psi = m sqrt(R T) / (A p1) of the pressure ratio p2/p1 from 0 to 1.

    Below the critical ratio it stays at the choked factor.
    Source: isentropic nozzle, sqrt(2 g/(g-1) (r**(2/g) - r**((g+1)/g))).

    Example: `flow_function(0.8)` is 0.560661.
    """
    seen = np.maximum(ratio, critical_ratio(gamma))
    power = seen ** ((gamma - 1.0) / gamma)
    return seen ** (1.0 / gamma) * np.sqrt(2.0 * gamma / (gamma - 1.0) * (1.0 - power))


def critical_ratio(gamma: float = AIR_GAMMA) -> float:
    """Below what p2/p1 does a nozzle pass no more?

    Source: NACA Report 1135, (2/(g+1))**(g/(g-1)).

    Example: `critical_ratio(1.4)` is 0.528282.
    """
    return float((2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))


def choked_factor(gamma: float = AIR_GAMMA) -> float:
    """The choked flow factor C* = m sqrt(R T) / (A p1), without unit.

    Source: ISO 9300, definition for the ideal gas.

    Example: `choked_factor(1.4)` is 0.684731.
    """
    return float(np.sqrt(gamma) * (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0))))


def incompressible_flow(area_m2: Numbers, difference_pa: Numbers, density: Numbers) -> Numbers:
    """The flow in kg/s were the gas of one density, in kg/m3: the limit of a small difference.

    Source: Bernoulli, m = A sqrt(2 rho dp).
    """
    return area_m2 * np.sqrt(2.0 * density * difference_pa)


def hole_area(diameter_m: Numbers, cd: Numbers = SHARP_EDGE) -> Numbers:
    """The effective area, in m2, of a round hole.

    Example: `hole_area(0.002)` is 1.9164e-06.
    """
    return cd * (0.25 * np.pi) * np.square(diameter_m)


def hole_diameter(area_m2: Numbers, cd: Numbers = SHARP_EDGE) -> Numbers:
    """How wide, in m, is the round hole of this effective area?

    Example: `hole_diameter(1.9164e-6)` is 0.002.
    """
    return np.sqrt(np.divide(area_m2, cd) * (4.0 / np.pi))


def discharge_coefficient(ratio: Numbers) -> Numbers:
    """The discharge coefficient of a sharp-edged hole for air, by the ratio p2/p1 from 0 to 1.

    Source: `DISCHARGE_POLYNOMIAL`.

    Example: `discharge_coefficient(0.8)` is 0.6358.
    """
    return np.float64(0.0) + np.polyval(DISCHARGE_POLYNOMIAL[::-1], ratio)


def isentropic_temperature(mach: Numbers, gamma: float = AIR_GAMMA) -> Numbers:
    """T/T0 of a stream at a Mach number.

    Source: NACA Report 1135, equation 43.

    Example: `isentropic_temperature(0.5)` is 0.9524.
    """
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * np.square(mach))


def isentropic_pressure(mach: Numbers, gamma: float = AIR_GAMMA) -> Numbers:
    """p/p0 of a stream at a Mach number.  Source: NACA Report 1135, equation 44.

    Example: `isentropic_pressure(0.5)` is 0.8430.
    """
    return isentropic_temperature(mach, gamma) ** (gamma / (gamma - 1.0))


def isentropic_density(mach: Numbers, gamma: float = AIR_GAMMA) -> Numbers:
    """rho/rho0 of a stream at a Mach number.  Source: NACA Report 1135, equation 45.

    Example: `isentropic_density(0.5)` is 0.8852.
    """
    return isentropic_temperature(mach, gamma) ** (1.0 / (gamma - 1.0))


def isentropic_area(mach: Numbers, gamma: float = AIR_GAMMA) -> Numbers:
    """A/A* of a stream tube at a Mach number above 0.  Source: NACA Report 1135, equation 80.

    Example: `isentropic_area(0.5)` is 1.3398.
    """
    relative = isentropic_temperature(mach, gamma) * (0.5 * (gamma + 1.0))
    return relative ** (-(gamma + 1.0) / (2.0 * (gamma - 1.0))) / mach
