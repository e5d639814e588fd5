"""House values in the units a reader prefers, with digits that make sense.

The findings never follow these: only pages and screens do.
"""

from __future__ import annotations

from gaugewright.quantities.units import scale

DIGITS = {
    "Pa": 0,
    "hPa": 0,
    "kPa": 1,
    "bar": 2,
    "mbar": 0,
    "psi": 1,
    "inHg": 1,
    "inH2O": 1,
    "mmHg": 0,
    "rpm": 0,
    "degC": 0,
    "degF": 0,
    "K": 0,
    "V": 2,
    "A": 0,
    "g/s": 1,
    "%": 1,
    "s": 1,
    "km": 0,
}
"""Unit -> decimals when nothing is known of the uncertainty."""

SYMBOLS = {"degC": "°C", "degF": "°F"}
"""How a unit is printed where that differs from its name."""


def house_to(unit: str, dimension: str = "pressure") -> tuple[float, float]:
    """How does a house value become a number in this unit?

    Returns (factor, offset): shown = factor * house + offset.
    Raises UnitError when the unit does not fit the dimension.

    Example: `house_to("psi")[0] * 1e5` is 14.50377 (1 bar in psi).
    """
    factor, offset = scale(unit, dimension)
    return 1.0 / factor, -offset / factor


def convert(value: float, from_unit: str, to_unit: str, dimension: str = "pressure") -> float:
    """A number in one unit as a number in another of the same dimension.

    For an uncertainty or a difference of temperatures give "temperature-difference".

    Example: `convert(101.325, "kPa", "inHg")` is 29.92125.
    """
    factor, offset = scale(from_unit, dimension)
    back, shift = house_to(to_unit, dimension)
    return back * (factor * value + offset) + shift


def decimals(unit: str, uncertainty: float | None = None) -> int:
    """How many decimals to print: by the unit, or by an uncertainty given in that unit.

    With an uncertainty its second digit is the last one printed when it begins with 1 or 2,
    else its first (JCGM 100, 7.2.6, leaves one or two).
    """
    if uncertainty is None or not uncertainty > 0:
        return DIGITS.get(unit, 2)
    lead = f"{uncertainty:.1e}"
    digits = -int(lead[lead.index("e") + 1 :]) + (1 if lead[0] in "12" else 0)
    return min(max(digits, 0), 6)


def shown(
    value: float, unit: str, dimension: str = "pressure", uncertainty: float | None = None
) -> str:
    """A house value as people read it: "13.8 psi".

    Parameters: `value` in the house unit; `uncertainty` in the house unit too, when the
    digits should follow it.

    Example: `shown(103400.0, "kPa")` is "103.4 kPa".
    """
    factor, offset = house_to(unit, dimension)
    spread = None if uncertainty is None else factor * uncertainty
    number = f"{factor * value + offset:.{decimals(unit, spread)}f}"
    if float(number) == 0.0:
        number = number.lstrip("-")
    number = number.replace("-", "\N{MINUS SIGN}")
    return f"{number} {SYMBOLS.get(unit, unit)}"
