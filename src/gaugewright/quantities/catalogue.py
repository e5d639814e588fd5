"""Every quantity a signal, a reading or a limit may have, and the words people see for it."""

from __future__ import annotations

from dataclasses import dataclass

from gaugewright.quantities.unit_table import HOUSE

REFERENCES = ("atmosphere", "vacuum", "crankcase")
"""What a reading's pressure may be measured against."""


@dataclass(frozen=True)
class Kind:
    """One quantity: its name in files, its dimension and units, its word for people.

    House value * `findings_factor` is the number the findings file prints in `findings_unit`.
    """

    name: str
    dimension: str
    word: str
    findings_unit: str
    findings_factor: float = 1.0
    pulses: bool = False

    @property
    def house_unit(self) -> str:
        """The unit the house computes this quantity in."""
        return HOUSE[self.dimension]

    @property
    def is_pressure(self) -> bool:
        """Whether the quantity is a pressure, and so needs a reference."""
        return self.dimension == "pressure"

    @property
    def difference(self) -> str:
        """The dimension of differences and uncertainties of this quantity."""
        return difference_of(self.dimension)


def difference_of(dimension: str) -> str:
    """The dimension of a difference of two values of this one."""
    return "temperature-difference" if dimension == "temperature" else dimension


def _pressure(name: str, word: str) -> Kind:
    return Kind(name, "pressure", word, "kPa", 1e-3)


QUANTITIES: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        _pressure("oil-pressure", "oil pressure"),
        _pressure("crankcase-pressure", "crankcase pressure"),
        _pressure("manifold-pressure", "manifold pressure"),
        _pressure("cylinder-pressure", "cylinder pressure"),
        _pressure("exhaust-pressure", "exhaust pressure"),
        _pressure("fuel-pressure", "fuel pressure"),
        _pressure("coolant-pressure", "coolant pressure"),
        Kind("ignition", "voltage", "ignition pulses", "V", pulses=True),
        Kind("crank", "voltage", "crankshaft wheel pulses", "V", pulses=True),
        Kind("cam", "voltage", "camshaft wheel pulses", "V", pulses=True),
        Kind("engine-speed", "speed", "engine speed", "rpm"),
        Kind("oil-temperature", "temperature", "oil temperature", "degC"),
        Kind("coolant-temperature", "temperature", "coolant temperature", "degC"),
        Kind("air-flow", "mass-flow", "intake air flow", "g/s", 1e3),
        Kind("fuel-trim-short", "ratio", "short-term fuel trim", "%"),
        Kind("fuel-trim-long", "ratio", "long-term fuel trim", "%"),
        Kind("battery-voltage", "voltage", "battery voltage", "V"),
        Kind("starter-current", "current", "starter current", "A"),
    )
}
"""Quantity name -> its kind; the order is the one lists and charts follow."""

PULSES = frozenset(kind.name for kind in QUANTITIES.values() if kind.pulses)
"""Quantities that show the engine's rotation as pulses."""

PRESSURES = frozenset(kind.name for kind in QUANTITIES.values() if kind.is_pressure)
"""Quantities that are pressures, and so need a reference."""
