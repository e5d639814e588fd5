"""Findings units to the units a page shows, and figures with their digits."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from gaugewright.quantities.units import scale
from gaugewright.report import words
from gaugewright.report.blocks import Number
from gaugewright.report.carried import carried
from gaugewright.report.preferences import Preferences

MINUS = "\u2212"
NARROW = "\u202f"
NO_BREAK = "\u00a0"
PASCAL_IN_KPA = 1000.0
VACUUM = ("crankcase-pressure", "manifold-pressure")
SIGNED = ("crankcase-pressure", "fuel-trim", "fuel-trim-short", "fuel-trim-long")
MOST_DECIMALS = {
    "kPa": 1,
    "bar": 3,
    "mbar": 1,
    "psi": 2,
    "inHg": 2,
    "rpm": 0,
    "degC": 0,
    "V": 3,
    "A": 1,
    "%": 1,
    "kg/s": 5,
    "g/s": 2,
}


@dataclass(frozen=True)
class Shown:
    """How one quantity is shown: unit word, findings units in one of it, most decimals."""

    unit: str
    per_unit: float
    most_decimals: int
    signed: bool

    def of(self, value: float) -> float:
        """A value of the findings in the unit shown."""
        return value / self.per_unit


def shown(
    quantity: str,
    unit: str,
    preferences: Preferences,
    signed: bool = False,
    reference: str | None = None,
) -> Shown:
    """How a quantity whose findings are in `unit` is shown to this workshop.

    An absolute pressure (`reference` "vacuum") carries no plus sign.
    """
    signed = signed or (quantity in SIGNED and reference != "vacuum")
    if unit != "kPa":
        most = MOST_DECIMALS.get(unit, 2)
        return Shown(spelled(unit), 1.0, most, signed)
    vacuum = quantity in VACUUM
    wanted = preferences.vacuum_unit if vacuum else preferences.pressure_unit
    most = MOST_DECIMALS[wanted] + (1 if vacuum and wanted == "kPa" else 0)
    per_unit = scale(wanted, "pressure")[0] / PASCAL_IN_KPA
    return Shown(wanted, per_unit, most, signed)


def spelled(unit: str) -> str:
    """A unit of the findings as it is printed."""
    return words.UNIT.get(unit, unit)


def rpm(speed: float) -> str:
    """An engine speed as it is printed, "820 rpm"."""
    return f"{digits(speed, 0)}{NO_BREAK}{spelled('rpm')}"


def decimals(expanded: float | None, most: int) -> int:
    """Decimals that keep two digits of the expanded uncertainty, never more than sensible."""
    if expanded is None or not math.isfinite(expanded) or expanded <= 0.0:
        return most
    return min(max(1 - math.floor(math.log10(expanded)), 0), most)


def digits(value: float, places: int, signed: bool = False) -> str:
    """A rounded figure: half away from zero, true minus, thousands by a thin space.

    The decimal mark is that of the language spoken.
    """
    step = Decimal(1).scaleb(-places)
    rounded = Decimal(repr(float(value))).quantize(step, rounding=ROUND_HALF_UP)
    text = f"{abs(rounded):,.{places}f}".replace(",", NARROW)
    if len(text.partition(".")[0]) <= 5:
        text = text.replace(NARROW, "")
    text = text.replace(".", words.DECIMAL)
    if rounded < 0:
        return MINUS + text
    return f"+{text}" if signed and rounded > 0 else text


def number(
    value: float, expanded: float | None, how: Shown, before: str = "", unit: bool = True
) -> Number:
    """A reading as a figure with ± and unit; the ± is the half width of the 95 % interval."""
    wide = None if expanded is None else expanded / how.per_unit
    places = _places(wide, how)
    whole, mark, fraction = digits(how.of(value), places, how.signed).partition(words.DECIMAL)
    spread = "" if wide is None else f"\u00b1{NO_BREAK}{_spread(wide, places)}"
    after = NO_BREAK.join(part for part in (spread, how.unit if unit else "") if part)
    return Number(before + whole, mark + fraction, after)


def _places(wide: float | None, how: Shown) -> int:
    """The decimals of a figure; one more than usual where its spread would read as zero."""
    places = decimals(wide, how.most_decimals)
    return places + 1 if wide and float(Decimal(repr(wide)).__round__(places)) == 0.0 else places


def _spread(wide: float, places: int) -> str:
    """The spread; one that still reads as zero is said to be under the last digit's step."""
    said = digits(wide, places)
    if wide > 0.0 and not said.strip(f"0{words.DECIMAL}"):
        return f"<{digits(10.0**-places, places)}"
    return said


def plain(value: float, how: Shown, expanded: float | None = None, apart: float = math.nan) -> str:
    """A figure with its unit as one says it: fewest digits that mean something.

    One digit of the uncertainty is kept, one more when the figure would else read like `apart`,
    the limit it is compared with.
    """
    wide = None if expanded is None else expanded / how.per_unit
    if wide is None:
        return stated(value, how)
    places = max(decimals(wide, how.most_decimals) - 1, 0)
    text = digits(how.of(value), places, how.signed)
    while text == (_like(apart, places, how)) and places < how.most_decimals:
        places += 1
        text = digits(how.of(value), places, how.signed)
    return f"{text}{NO_BREAK}{how.unit}"


def _like(apart: float, places: int, how: Shown) -> str:
    return "" if math.isnan(apart) else digits(how.of(apart), places, how.signed)


def stated(value: float, how: Shown) -> str:
    """A limit's figure with its unit: as many decimals as it takes to give it back."""
    shown_value = how.of(value)
    for places in range(how.most_decimals + 1):
        if abs(shown_value - round(shown_value, places)) <= 1e-9 * max(abs(shown_value), 1.0):
            return f"{digits(shown_value, places, how.signed)}{NO_BREAK}{how.unit}"
    return f"{digits(shown_value, how.most_decimals, how.signed)}{NO_BREAK}{how.unit}"


@cache
def _pressures(mark: str, to: str) -> re.Pattern[str]:
    """One pressure in kilopascals, or two with the word between them."""
    figure = rf"[-+\u2212]?\d+(?:{re.escape(mark)}\d+)?"
    return re.compile(rf"(?P<first>{figure})(?: {to} (?P<last>{figure}))?[ \u00a0]kPa\b")


def in_own_units(text: str, preferences: Preferences) -> str:
    """A sentence of the findings, its kilopascals in the workshop's units, with true minus signs.

    It is told in the language spoken.  Where it speaks of crankcase, manifold, sump or vent, it
    is the unit for these.  Figures keep the fineness they had.
    """
    own = carried(text)
    of_air = re.search(words.UNIT_OF_AIR, own.lower()) is not None
    unit = preferences.vacuum_unit if of_air else preferences.pressure_unit
    per_unit = scale(unit, "pressure")[0] / PASCAL_IN_KPA

    def told(found: re.Match[str]) -> str:
        ends = [end for end in (found["first"], found["last"]) if end]
        return f"{f' {words.TO} '.join(_told(end, per_unit) for end in ends)}{NO_BREAK}{unit}"

    said = _pressures(words.DECIMAL, words.TO).sub(told, own)
    said = re.sub(r"(?<![\w.])-(?=\d)", MINUS, said)
    said = re.sub(rf"(?<![\w.])[+{MINUS}]0(?![\d{words.DECIMAL}])", "0", said)
    return re.sub(r"[ \u00a0]degC\b", f"{NO_BREAK}{spelled('degC')}", said)


def _told(figure: str, per_unit: float) -> str:
    """A figure of kilopascals in another unit, no coarser than it was."""
    step = 10.0 ** -len(figure.partition(words.DECIMAL)[2]) / per_unit
    places = max(-math.floor(math.log10(step) + 1e-9), 0)
    value = float(figure.replace(MINUS, "-").replace(words.DECIMAL, ".")) / per_unit
    return digits(value, places, signed=figure.startswith("+"))


def aligned(figures: list[Number]) -> list[Number]:
    """The same figures with room so that their decimal marks stand under each other."""
    plain_ones = [f for f in figures if not _worded(f)]
    lead = max((_wide(figure.whole) for figure in plain_ones), default=0.0)
    tail = max((_wide(figure.fraction) for figure in plain_ones), default=0.0)
    return [f if _worded(f) else Number(f.whole, f.fraction, f.after, lead, tail) for f in figures]


def _worded(figure: Number) -> bool:
    return any(sign.isalpha() for sign in figure.whole)


def _wide(text: str) -> float:
    narrow = {".": 0.5, ",": 0.5, NARROW: 0.25, " ": 0.4, NO_BREAK: 0.4}
    return sum(narrow.get(sign, 1.0) for sign in text)
