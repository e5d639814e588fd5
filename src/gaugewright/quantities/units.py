"""Text with a unit to a house value, and house values back to what people read.

The usual units come from a table, so that a normal job never loads the pint library; pint
is asked, late, only for what the table does not hold.  Speeds and frequencies never reach
it: it drops radians, and 820 rpm would come back as 85.87 Hz.
"""

from __future__ import annotations

import math
import re
from functools import cache

from gaugewright.quantities.physical import Physical
from gaugewright.quantities.unit_table import (
    EXAMPLES,
    HOUSE,
    OTHER_SPELLINGS,
    STATED_REFERENCE,
    UNITS,
    Unit,
)

ABSOLUTE_ZERO_DEGC = -273.15


class UnitError(ValueError):
    """A text that is no value of the dimension asked for: what was found, what would do."""

    def __init__(self, found: str, remedy: str) -> None:
        self.found = found
        self.remedy = remedy
        super().__init__(f"{found}; {remedy}")


_ARTICLE = {
    "speed": "an engine speed",
    "ratio": "a percentage",
    "time": "a time",
    "mass-flow": "a mass flow",
    "temperature-difference": "a temperature difference",
}
_BLANK = "[ \u00a0\u2009\u202f]"
_NUMBER = re.compile(
    rf"^([+-]?(?:\d{{1,3}}(?:{_BLANK}\d{{3}})+(?!\d)|\d+)?(?:[.,]\d*)?(?:[eE][+-]?\d+)?)\s*(.*)$"
)
_THOUSANDS = re.compile(r"^[+-]?[1-9]\d{0,2},\d{3}$")
_PINT_MAY_READ = re.compile(r"^[A-Za-z_µ]+(?:[*/^ ]{1,2}[A-Za-z0-9_]{1,12}){0,4}$")
_NO_PINT = ("speed", "frequency", "temperature", "temperature-difference", "ratio")


def spoken(dimension: str) -> str:
    """A dimension in a sentence: "a pressure", "an engine speed"."""
    return _ARTICLE.get(dimension, f"a {dimension.replace('-', ' ')}")


def tidy(unit: str) -> str:
    """A unit's text without brackets and with damaged degree signs and superscripts mended.

    Example: `tidy("[Â°C]")` is "°C".
    """
    text = unit.strip().strip("[](){}").strip() if _wrapped(unit.strip()) else unit.strip()
    for bad in ("Â°", "º", "˚", "\ufffd\ufffd", "\ufffd", "Âº"):
        text = text.replace(bad, "°")
    text = text.replace("μ", "µ").replace("Âµ", "µ").replace("²", "2").replace("³", "3")
    return text.replace("₂", "2").replace("⁻¹", "-1").replace("\u2126", "Ω").replace("° ", "°")


def _wrapped(text: str) -> bool:
    return len(text) > 2 and (text[0], text[-1]) in {("[", "]"), ("(", ")"), ("{", "}")}


@cache
def _spellings() -> dict[str, dict[str, Unit]]:
    """Exact spelling -> dimension -> unit."""
    table: dict[str, dict[str, Unit]] = {}
    for unit in UNITS:
        for spelling in (unit.name, *OTHER_SPELLINGS.get(unit.name, ())):
            table.setdefault(spelling, {})[unit.dimension] = unit
    for spelling, (name, _) in STATED_REFERENCE.items():
        table[spelling] = table[name]
    return table


@cache
def _folded() -> dict[str, dict[str, Unit]]:
    """Case-folded spelling -> dimension -> unit, where folding leaves no doubt."""
    table: dict[str, dict[str, Unit]] = {}
    doubtful: set[str] = set()
    for spelling, units in _spellings().items():
        key = spelling.casefold()
        if len(key) == 1 and key not in "vacfk":
            continue
        if key in table and table[key] != units:
            doubtful.add(key)
        table[key] = units
    return {key: units for key, units in table.items() if key not in doubtful}


def _known(unit: str) -> dict[str, Unit]:
    text = tidy(unit)
    if text == "mPa":
        return {}
    return _spellings().get(text) or _folded().get(text.casefold()) or {}


def split(text: str) -> tuple[float, str]:
    """The number and the unit's text of a value such as "-2.5 inHg".

    Decimal mark: a point.  A decimal comma ("1,1 bar") is read too; a comma before just three
    digits ("1,013 mbar") could be either and is refused.  Blanks between groups of three
    digits are read over.  Returns (number, unit text, possibly empty).  Raises UnitError.

    Example: `split("1,1 bar")` is (1.1, "bar").
    """
    plain = text.strip().replace("\u2212", "-")
    match = _NUMBER.match(plain)
    digits = match.group(1) if match else ""
    if not match or not re.search(r"\d", digits.split("e")[0].split("E")[0]):
        raise UnitError(f'found "{text}", which does not begin with a number', _as_in("pressure"))
    if _THOUSANDS.match(digits):
        point, whole = digits.replace(",", "."), digits.replace(",", "")
        raise UnitError(
            f'found "{text}", which can be read as {point} or as {whole}',
            f'write "{whole} {match.group(2)}" or "{point} {match.group(2)}"',
        )
    number = float(re.sub(_BLANK, "", digits).replace(",", "."))
    if not math.isfinite(number):
        raise UnitError(f'found "{text}", a number too large to compute with', "write a finite one")
    return number, match.group(2).strip()


def _as_in(dimension: str) -> str:
    return f"write a number and its unit, such as {EXAMPLES[dimension]}"


def dimension_of(unit: str) -> str | None:
    """The dimension a unit's text has, or None when it is not in our table.

    A temperature unit is said to be a "temperature", a length a "length".
    """
    return next(iter(_known(unit)), None)


def stated_reference(unit: str) -> str | None:
    """What a unit says its pressure is measured against: "psia" -> "vacuum", "psi" -> None."""
    text = tidy(unit).casefold()
    stated = {spelling.casefold(): ref for spelling, (_, ref) in STATED_REFERENCE.items()}
    return stated.get(text)


def scale(unit: str, dimension: str) -> tuple[float, float]:
    """How does a number in this unit become a house value of this dimension?

    Parameters: `unit` as a job or a column header spells it ("degC", "Â°C", "1/min", "psig");
    `dimension` a key of `HOUSE`.
    Returns (factor, offset): house = factor * number + offset.
    Raises UnitError when the unit is unknown or of another dimension.
    Source: NIST SP 811 (2008), B.8; inHg and inH2O are the conventional ones.

    Example: `scale("degF", "temperature")` is (0.5555..., -17.777...).
    """
    if dimension not in HOUSE:
        raise KeyError(f"no dimension {dimension!r}")
    known = _known(unit)
    if dimension in known:
        return known[dimension].factor, known[dimension].offset
    if not known and dimension not in _NO_PINT and _PINT_MAY_READ.match(tidy(unit)):
        return _scale_by_pint(unit, dimension)
    raise _wrong_unit(unit, dimension, next(iter(known), None))


def _wrong_unit(unit: str, dimension: str, found: str | None) -> UnitError:
    remedy = f"write {spoken(dimension)}, in a unit such as {HOUSE[dimension]}"
    if dimension == "pressure":
        remedy = "write a pressure, in Pa, kPa, bar, mbar, psi, inHg, inH2O or mmHg"
    if not unit.strip():
        return UnitError("found no unit", remedy)
    kind = f", the unit of {spoken(found)}" if found else ", a unit that is not known"
    wanted = f", where {spoken(dimension)} is needed" if found else ""
    return UnitError(f'found "{unit}"{kind}{wanted}', remedy)


def _scale_by_pint(unit: str, dimension: str) -> tuple[float, float]:
    """The same, asked of the pint library: for units that the table does not hold."""
    registry = _registry()
    try:
        factor = float(registry.Quantity(1.0, tidy(unit)).to(_PINT_HOUSE[dimension]).magnitude)
    except Exception as error:
        raise _wrong_unit(unit, dimension, None) from error
    return factor, 0.0


_PINT_HOUSE = {
    "pressure": "pascal",
    "voltage": "volt",
    "current": "ampere",
    "resistance": "ohm",
    "time": "second",
    "length": "meter",
    "distance": "kilometer",
    "volume": "meter**3",
    "mass-flow": "kilogram/second",
}


@cache
def _registry():  # type: ignore[no-untyped-def]
    import pint

    return pint.UnitRegistry()


def parse(text: str, dimension: str) -> Physical:
    """What does this text with its unit mean in the house unit of its dimension?

    Parameters: `text` such as "0.8 V", "-35 mbar", "1,1 bar"; `dimension` a key of `HOUSE`
    ("temperature" for a temperature, "temperature-difference" for a span or an uncertainty).
    Returns the text as written with its value (`si`) in the house unit.
    Raises UnitError for a bare number, an unknown unit, a unit of another dimension, a
    temperature below absolute zero.

    Example: `parse("-2.5 inHg", "pressure").si` is -8465.97.
    """
    if not isinstance(text, str):
        raise UnitError(f"found {text!r}, a value without its unit", _as_in(dimension))
    number, unit = split(text)
    if not unit:
        raise UnitError(f'found "{text}", a number without its unit', _as_in(dimension))
    try:
        factor, offset = scale(unit, dimension)
    except UnitError as error:
        raise UnitError(_value_found(text, unit, dimension), _as_in(dimension)) from error
    value = factor * number + offset
    if dimension == "temperature" and value < ABSOLUTE_ZERO_DEGC - 1e-9:
        raise UnitError(f'found "{text}", which is below absolute zero', _as_in(dimension))
    return Physical(text, value)


def _value_found(text: str, unit: str, dimension: str) -> str:
    found = dimension_of(unit)
    if found is None:
        return f'found "{text}", whose unit "{unit}" is not one of {spoken(dimension)}'
    return f'found "{text}", {spoken(found)} where {spoken(dimension)} is needed'
