"""How thick an oil is at a temperature: the two-point line of ASTM D341, and typical grades."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload

import numpy as np

from gaugewright.physics.grades import find_grade
from gaugewright.physics.numbers import Floats, Numbers
from gaugewright.physics.viscosity_index import kv40_of

KELVIN = 273.15
LOW_VISCOSITY_CST = 2.0
"""Below this the line needs the exponential term."""
LEAST_CST = 0.21
"""ASTM D341: the line holds from 0.21 mm2/s upward."""
LN_10 = math.log(10.0)


@dataclass(frozen=True)
class ViscosityLine:
    """log10 log10 Z = a - b log10 T, with T in K and Z = v + 0.7 and a low-viscosity term.

    v in mm2/s (cSt).  Source: ASTM D341, equations 1 to 3; holds between cloud point and
    boiling, for the oil as it is: shear thinning is outside of it.
    """

    a: float
    b: float

    @overload
    def at(self, temperature_degc: float) -> float:
        """At one temperature."""

    @overload
    def at(self, temperature_degc: Floats) -> Floats:
        """At many."""

    def at(self, temperature_degc: Numbers) -> Numbers:
        """Kinematic viscosity, in mm2/s, at a temperature or at an array of them.

        Raises ValueError below -70 or above 370 degC, outside the chart of ASTM D341.

        Example: `viscosity_line(32, 40, 5.4, 100).at(80)` is 8.533.
        """
        if not np.all((np.asarray(temperature_degc) >= -70.0) & (temperature_degc <= 370.0)):
            raise ValueError(f"{temperature_degc} degC is beyond -70 to 370 degC")
        return _like(temperature_degc, viscosity_at(self.a, self.b, temperature_degc))


def viscosity_at(a: Numbers, b: Numbers, temperature_degc: Numbers) -> Numbers:
    """How thick are these oils at these temperatures?

    Parameters: `a` and `b` of one line of ASTM D341 or of many (`line_coefficients`);
    `temperature_degc` from -70 to 370, not checked here; all three broadcast.
    Returns kinematic viscosity in mm2/s.
    Source: ASTM D341, as `ViscosityLine`; both powers of ten as exponentials, for speed.

    Example: `viscosity_at(9.53082, 3.74658, 80.0)` is 8.533.
    """
    exponent = a * LN_10 - b * np.log(temperature_degc + KELVIN)
    return viscosity_of(np.exp(LN_10 * np.exp(exponent)))


def z_of(viscosity_cst: Numbers) -> Numbers:
    """The Z of ASTM D341 for a kinematic viscosity in mm2/s.

    Z = v + 0.7 + exp(-1.47 - 1.84 v - 0.51 v^2); the last term is below 0.001 from 2 mm2/s on
    and left out there, as the standard's short form does.
    Raises ValueError below 0.21 mm2/s.
    """
    v = np.asarray(viscosity_cst)
    if np.any(v < LEAST_CST):
        raise ValueError(f"{viscosity_cst} mm2/s is below 0.21, where ASTM D341 ends")
    low = np.exp(-1.47 - 1.84 * v - 0.51 * v**2)
    return _like(viscosity_cst, v + 0.7 + np.where(v < LOW_VISCOSITY_CST, low, 0.0))


def viscosity_of(z: Numbers) -> Numbers:
    """The kinematic viscosity in mm2/s for a Z of ASTM D341 (its inverse, good to 0.1 %)."""
    plain = np.asarray(z) - 0.7
    if np.all(plain >= LOW_VISCOSITY_CST):
        return _like(z, plain)
    x = np.minimum(plain, LOW_VISCOSITY_CST)
    low = np.exp(-0.7487 + x * (-3.295 + x * (0.6119 - 0.3193 * x)))
    return _like(z, plain - np.where(plain < LOW_VISCOSITY_CST, low, 0.0))


def _like(given: Numbers, found: Numbers) -> Numbers:
    """The result as a plain float where a plain number was given."""
    return found if np.ndim(given) or np.ndim(found) else float(found)


def line_coefficients(
    first_cst: Numbers, first_degc: float, second_cst: Numbers, second_degc: float
) -> tuple[Numbers, Numbers]:
    """Which a and b do these oils' lines have, each through its two measured viscosities?

    Parameters: as `viscosity_line`, the viscosities also as arrays; that an oil is thinner
    when hotter is not checked.
    Returns (a, b) for `viscosity_at`.
    Source: ASTM D341.

    Example: `line_coefficients(32.0, 40.0, 5.4, 100.0)` is (9.53082, 3.74658).
    """
    x1, x2 = math.log10(first_degc + KELVIN), math.log10(second_degc + KELVIN)
    y1, y2 = (np.log10(np.log10(z_of(v))) for v in (first_cst, second_cst))
    b = (y1 - y2) / (x2 - x1)
    return y1 + b * x1, b


def viscosity_line(
    first_cst: float, first_degc: float, second_cst: float, second_degc: float
) -> ViscosityLine:
    """Which line of ASTM D341 passes through two measured viscosities?

    Parameters: two kinematic viscosities in mm2/s, 0.21 and more, at two temperatures in degC.
    Returns the line; it carries no uncertainty of its own.
    Raises ValueError for equal temperatures, or a thicker oil at the higher one.

    Example: `viscosity_line(32, 40, 5.4, 100)` has a 9.53082 and b 3.74658.
    """
    if first_degc == second_degc:
        raise ValueError(f"both viscosities are given at {first_degc} degC; two are needed")
    if (first_cst - second_cst) * (first_degc - second_degc) >= 0:
        raise ValueError("an oil is thinner at the higher temperature; exchange the viscosities")
    a, b = line_coefficients(first_cst, first_degc, second_cst, second_degc)
    return ViscosityLine(a=float(a), b=float(b))


TYPICAL_INDEX = {
    "0W": 178.0,
    "5W": 163.0,
    "10W": 150.0,
    "15W": 138.0,
    "20W": 125.0,
    "25W": 110.0,
    None: 100.0,
}
"""Winter grade -> viscosity index usual for it (judgement: the wider the span from winter to
hot grade, the higher; a plain grade is near 100 by the index's own definition).  The 5W is
set so that a 5W-30 is 1.78 times as thick at 60 and 0.63 times at 100 degC as at 80 degC."""


def grade_line(grade: str) -> ViscosityLine:
    """Which line does an oil of this SAE J300 grade typically follow?

    Parameters: `grade` such as "5W-30", "30" or "10W".
    Returns the line through the middle of the grade's band at 100 degC and the viscosity at
    40 degC that a typical viscosity index gives (`TYPICAL_INDEX`, judgement).  A winter grade
    alone is taken a fifth above its least viscosity (judgement).
    Raises ValueError for a text that is no grade.
    Source: SAE J300 for the band, ASTM D2270 for the index, ASTM D341 for the line.

    Example: `viscosity_ratio(grade_line("5W-30"), 60, 80)` is 1.78.
    """
    winter, hot = find_grade(grade)
    if hot is not None and hot.kv100_max is not None:
        kv100 = 0.5 * (hot.kv100_min + hot.kv100_max)
    else:
        kv100 = 1.2 * winter.kv100_min if winter else 0.0
    index = TYPICAL_INDEX[winter.name if winter and hot else None]
    return viscosity_line(kv40_of(index, kv100), 40.0, kv100, 100.0)


def viscosity_ratio(line: ViscosityLine, from_degc: float, to_degc: float) -> float:
    """How many times as thick is the oil at the first temperature as at the second?

    Example: for a 5W-30 from 60 to 80 degC about 1.78.
    """
    return line.at(from_degc) / line.at(to_degc)
