"""What a logger's columns may be: guessed from their names and units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from gaugewright.quantities import units
from gaugewright.quantities.catalogue import QUANTITIES

WORDS: tuple[tuple[str, str], ...] = (
    (r"crank.?case|sump|blow.?by|dip.?stick", "crankcase-pressure"),
    (r"spark|ign|coil|plug", "ignition"),
    (r"\bcam", "cam"),
    (r"crank|wheel|ckp", "crank"),
    (r"rpm|speed|\brev", "engine-speed"),
    (r"manifold|intake.?press|\bmap\b", "manifold-pressure"),
    (r"cylinder.?press|compression", "cylinder-pressure"),
    (r"exhaust", "exhaust-pressure"),
    (r"rail|fuel.?press", "fuel-pressure"),
    (r"long.*trim|ltft", "fuel-trim-long"),
    (r"trim|stft", "fuel-trim-short"),
    (r"air.?flow|air.?mass|\bmaf\b", "air-flow"),
    (r"batt", "battery-voltage"),
    (r"starter|current", "starter-current"),
    (r"coolant.*press", "coolant-pressure"),
    (r"coolant|water|\bect\b", "coolant-temperature"),
    (r"oil", "oil-pressure"),
)
"""Words in a column's name, the surest first (our judgement): the first that fits is proposed."""
OF_DIMENSION = {
    "speed": "engine-speed",
    "temperature": "oil-temperature",
    "mass-flow": "air-flow",
    "current": "starter-current",
}
"""What a column is taken for by its unit alone."""


@dataclass(frozen=True)
class Guess:
    """What a column may be: a quantity ("" for none), and the unit or the sensor it is in.

    `reference`: what a pressure in a unit is measured against, "" for the outside air.
    """

    quantity: str = ""
    unit: str = ""
    sensor: str = ""
    remembered: bool = False
    reference: str = ""


def guess(name: str, unit: str | None, sensors: Sequence[str]) -> Guess:
    """What a column of this name and stated unit may be; sensors are named by the job."""
    said = re.sub(r"[_\-./]+", " ", name.lower())
    stated = unit or _unit_in(said)
    dimension = units.dimension_of(stated) if stated else None
    quantity = _by_word(said, dimension) or OF_DIMENSION.get(dimension or "", "")
    if not quantity:
        return Guess(unit=stated or "")
    if QUANTITIES[quantity].dimension == dimension or QUANTITIES[quantity].pulses:
        return Guess(quantity, stated or "V")
    return Guess(quantity, "" if dimension == "voltage" else stated or "", _sensor(said, sensors))


def _unit_in(said: str) -> str | None:
    """A unit that stands as the last word of a name: "oil degc"."""
    last = said.split()[-1] if said.split() else ""
    known = {"degc": "degC", "degf": "degF", "rpm": "rpm", "kpa": "kPa", "bar": "bar", "psi": "psi",
             "mbar": "mbar", "v": "V", "mv": "mV"}  # fmt: skip
    return known.get(last)


def _by_word(said: str, dimension: str | None) -> str:
    for pattern, quantity in WORDS:
        if re.search(pattern, said) and _fits(quantity, dimension):
            return quantity
    return ""


def _fits(quantity: str, dimension: str | None) -> bool:
    """Whether a column of this dimension can be this quantity: volts may be anything."""
    if dimension in (None, "voltage"):
        return True
    return QUANTITIES[quantity].dimension == dimension


def _sensor(said: str, sensors: Sequence[str]) -> str:
    """The job's sensor whose name shares a word with the column's."""
    words = set(said.split())
    shared = [name for name in sensors if words & set(name.lower().split())]
    return shared[0] if shared else ""
