"""What can be typed on a job's page: each place of the document with its kind and its words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from gaugewright.job.words import OBSERVATIONS, SEEN
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.store.changes import at, path_of
from gaugewright.web.values import shown_as_typed

CHOICES: dict[str, tuple[str, ...]] = {
    "vehicle.cycle": ("four-stroke", "two-stroke"),
    "vehicle.ignition": ("coil-on-plug", "wasted-spark", "distributor", "compression"),
    "vehicle.fuel": ("petrol", "diesel", "gas"),
    "vehicle.induction": ("natural", "boosted"),
    "vehicle.metering": ("air-mass", "manifold-pressure", "none"),
    "vehicle.oil_pump": ("fixed", "two-stage", "variable", "controlled"),
    "vehicle.ventilation": ("regulator", "orifice", "valve", "open"),
    "limit.stage": ("low", "high"),
    "limit.reference": ("atmosphere", "vacuum", "crankcase"),
    "sensor.reference": ("atmosphere", "vacuum", "sealed", "crankcase"),
    "reading.reference": ("atmosphere", "vacuum", "crankcase"),
    "work.state": ("advised", "agreed", "declined", "done"),
    "observation.what": tuple(OBSERVATIONS),
    "limit.quantity": tuple(name for name, kind in QUANTITIES.items() if not kind.pulses),
    "reading.quantity": tuple(name for name, kind in QUANTITIES.items() if not kind.pulses),
    "switch.quantity": ("oil-pressure", "fuel-pressure", "coolant-pressure"),
}
"""Place without its numbers -> the words it may hold."""


@dataclass(frozen=True)
class Field:
    """One place of the document as the page shows it to be typed into."""

    place: str
    key: str
    kind: str
    value: str
    words: tuple[str, ...] = ()

    @property
    def id(self) -> str:
        """A name for the page's elements."""
        return "f-" + self.place.replace(".", "-").replace("_", "-")


def field(tables: Mapping[str, Any], place: str, kind: str = "text") -> Field:
    """The field of one place, filled with what stands there."""
    value = at(tables, path_of(place))
    key = ".".join(step for step in place.split(".") if not step.isdecimal() and step != "-")
    words = CHOICES.get(key, ())
    if key == "observation.saw":
        what = at(tables, (*path_of(place)[:-1], "what"))
        words = SEEN.get(str(what), ())
    return Field(place, key, "choice" if words else kind, shown_as_typed(value), words)
