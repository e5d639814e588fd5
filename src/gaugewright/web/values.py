"""What is typed into the page, as the job's document holds it; and its figures as they show."""

from __future__ import annotations

import re
from typing import Any

from gaugewright.quantities import units
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.report import display
from gaugewright.report.preferences import Preferences

WHOLE = ("cylinders", "cylinder", "teeth", "pulses_per_cycle", "header_row", "units_row",
         "first_row")  # fmt: skip
LISTS = ("codes", "firing_order", "did", "missing")
PAIRS = ("range", "pump_switches")
YES_NO = ("snubber",)


def typed(place: str, text: Any) -> Any:
    """The value that a text typed at this place of the document means; None for an empty one.

    A number stays a text where it isn't one, so that the check says what is wrong with it.
    """
    if not isinstance(text, str):
        return text
    key = _key(place)
    said = text.strip()
    if not said:
        return None
    if key in LISTS:
        return [_number(part) for part in re.split(r"[,;\s]+", said) if part]
    if key in PAIRS:
        return [part.strip() for part in re.split(r"\s+(?:to|bis|\.\.)\s+|;", said)]
    if key in YES_NO:
        return said in ("yes", "true", "on")
    return _number(said) if key in WHOLE else said


def _key(place: str) -> str:
    return next((step for step in reversed(place.split(".")) if not step.isdecimal()), "")


def _number(text: str) -> Any:
    return int(text) if re.fullmatch(r"\d{1,6}", text) else text


def shown_as_typed(value: Any) -> str:
    """A value of the document as its field shows it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, list):
        pair = len(value) == 2 and all(
            isinstance(v, str) and v[:1] in "-+0123456789" for v in value
        )
        return (" to " if pair else ", ").join(str(part) for part in value)
    return str(value)


def in_own_unit(text: str | None, quantity: str, preferences: Preferences) -> str:
    """A value of the document in the unit this workshop reads, no coarser than it was typed."""
    if not text:
        return ""
    kind = QUANTITIES.get(quantity)
    if kind is None or not kind.is_pressure:
        return tidy(text)
    try:
        number, unit = units.split(text)
        factor, offset = units.scale(unit, "pressure")
    except units.UnitError:
        return tidy(text)
    how = display.shown(quantity, "kPa", preferences)
    value = how.of((factor * number + offset) / display.PASCAL_IN_KPA)
    return f"{display.digits(value, _places(value), how.signed)}{display.NO_BREAK}{how.unit}"


def _places(value: float) -> int:
    """Decimals that keep three figures, and none that say nothing."""
    if value == 0.0:
        return 0
    for places in range(4):
        if abs(round(value, places) - value) <= 0.0051 * abs(value):
            return places
    return 3


def tidy(text: str) -> str:
    """A value as typed, with a true minus, a degree sign and its unit kept on its line."""
    said = text.replace("degC", "°C").replace("degF", "°F")
    said = re.sub(r"(?<![\w.])-(?=\d)", display.MINUS, said)
    return said.replace(" ", display.NO_BREAK)
