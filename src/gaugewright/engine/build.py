"""What kind of engine it is: the things that are known by name and not by size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Metering = Literal["air-mass", "manifold-pressure", "none"]
Ventilation = Literal["regulator", "orifice", "valve", "open"]
OilPump = Literal["fixed", "two-stage", "variable", "controlled"]
Ignition = Literal["coil-on-plug", "wasted-spark", "distributor", "compression"]
Fuel = Literal["petrol", "diesel", "gas"]


@dataclass(frozen=True)
class Build:
    """One engine's kind, in the words of the job format.

    `metering`: how the fuel is measured out: by the air that passes a meter ahead of the
    throttle, by manifold pressure and speed, or without any trim to read.
    `ventilation`: where crankcase gas goes: through a diaphragm regulator, a plain orifice or a
    spring-loaded valve into the manifold, or into the open.
    """

    cylinders: int = 4
    firing_order: tuple[int, ...] = (1, 3, 4, 2)
    ignition: Ignition = "coil-on-plug"
    fuel: Fuel = "petrol"
    metering: Metering = "air-mass"
    ventilation: Ventilation = "regulator"
    oil_pump: OilPump = "fixed"
    oil_grade: str = "5W-30"

    def __post_init__(self) -> None:
        if sorted(self.firing_order) != list(range(1, self.cylinders + 1)):
            raise ValueError(
                f"found the firing order {self.firing_order} for {self.cylinders} cylinders; "
                "name each cylinder once"
            )

    @property
    def throttled(self) -> bool:
        """Whether air, rather than fuel, is what the governor moves."""
        return self.fuel != "diesel"
