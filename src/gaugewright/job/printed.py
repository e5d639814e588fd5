"""A limit typed with two units is cross-checked: manuals carry misprints."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from gaugewright.quantities.catalogue import Kind
from gaugewright.quantities.physical import Physical
from gaugewright.quantities.units import UnitError, scale

_FIGURE = r"(?<![\w.,])[-+\u2212]?\d+(?:[.,]\d+)?"
_WITH_UNIT = re.compile(
    rf"({_FIGURE})(?:\s*(?:-|\u2013|\u2014|to|\.\.+|\u2026)\s*(\d+(?:[.,]\d+)?))?"
    r"\s*([A-Za-z°%]+(?:2O)?(?:/(?:cm2|min|s|h)\b)?)"
)


@dataclass(frozen=True)
class Figure:
    """A printed number with its unit, as the house interval that its rounding leaves open."""

    text: str
    unit: str
    low: float
    high: float

    def agrees(self, other: Figure) -> bool:
        """Whether one value can be behind both printed numbers."""
        slack = 1e-9 * max(abs(self.low), abs(self.high), 1.0)
        return self.low <= other.high + slack and other.low <= self.high + slack


def figure(number: str, unit: str, kind: Kind) -> Figure:
    """One printed number as an interval of house values.

    Half a unit of the last printed digit to each side; a whole number that ends in 0 may have
    been rounded to fives ("30 psi" is 27.5 to 32.5), judgement.
    Raises UnitError when the unit is not of this quantity.
    """
    factor, offset = scale(unit, kind.dimension)
    plain = number.replace("\u2212", "-").replace(",", ".")
    fraction = len(plain.partition(".")[2])
    half = 0.5 * 10.0**-fraction
    if not fraction and len(plain.lstrip("+-")) > 1 and plain.endswith("0"):
        half = 2.5
    middle = factor * float(plain) + offset
    return Figure(f"{number} {unit}", unit, middle - factor * half, middle + factor * half)


def figures(text: str, kind: Kind) -> dict[str, list[Figure]]:
    """The figures of this quantity in a printed text, by unit, in the order printed.

    Example: for "0.9 bar / 13 psi" one figure in bar and one in psi.
    """
    found: dict[str, list[Figure]] = {}
    for first, second, unit in _WITH_UNIT.findall(text):
        try:
            pair = [figure(number, unit, kind) for number in (first, second) if number]
        except UnitError:
            continue
        found.setdefault(unit, []).extend(pair)
    return found


def disagreements(
    text: str, kind: Kind, least: Physical | None, most: Physical | None
) -> Iterator[tuple[str, str]]:
    """What in a printed text contradicts itself, or the min and max typed beside it.

    Figures in different units are compared one by one when there are as many of each.
    Yields (found, remedy).
    """
    groups = list(figures(text, kind).values())
    for group in groups[1:]:
        if len(group) == len(groups[0]):
            yield from _differ(groups[0], group)
    if groups:
        yield from _against(groups[0], kind, least, most)


def _differ(one: list[Figure], other: list[Figure]) -> Iterator[tuple[str, str]]:
    for a, b in zip(one, other, strict=True):
        if not a.agrees(b):
            yield (
                f'"{a.text}" and "{b.text}" disagree beyond rounding',
                "look the limit up again and correct the wrong one",
            )


def _against(
    group: list[Figure], kind: Kind, least: Physical | None, most: Physical | None
) -> Iterator[tuple[str, str]]:
    ends = [("min", least, group[0]), ("max", most, group[-1])]
    typed = [(key, value, printed) for key, value, printed in ends if value is not None]
    wrong = [entry for entry in typed if not entry[2].agrees(_typed(entry[1], kind))]
    if len(group) > 2 or (len(group) == 1 and len(wrong) < len(typed)):
        return
    for key, value, printed in wrong[: len(group)]:
        yield (
            f'the printed "{printed.text}" and {key} "{value.text}" disagree beyond rounding',
            "look the limit up again and correct the wrong one",
        )


def _typed(value: Physical, kind: Kind) -> Figure:
    """A typed value as the interval its own rounding leaves open."""
    match = _WITH_UNIT.fullmatch(value.text.strip())
    if match and not match.group(2):
        return figure(match.group(1), match.group(3), kind)
    return Figure(value.text, "", value.si, value.si)
