"""Whose car it is, where and when: invented, and the same for the same seed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from gaugewright.engine.build import Build, Ignition, Metering, OilPump, Ventilation
from gaugewright.physics.atmosphere import pressure

T = TypeVar("T")

KINDS = (
    "light van",
    "small hatchback",
    "estate car",
    "saloon",
    "taxi",
    "people carrier",
    "pick-up",
    "old convertible",
)
OWNERS = (
    "the piano tuner's",
    "the district nurse's",
    "the tree surgeon's",
    "the florist's",
    "the swimming club's",
    "the school caretaker's",
    "the window cleaner's",
    "a retired ferry pilot's",
    "the cheese maker's",
    "the driving instructor's",
    "the bell founder's",
    "the market gardener's",
)
FIRST_DAY = dt.datetime(2031, 1, 6, 8, 0)

FIRING_ORDERS = {
    3: ((1, 2, 3), (1, 3, 2)),
    4: ((1, 3, 4, 2), (1, 2, 4, 3)),
    6: ((1, 5, 3, 6, 2, 4),),
}
"""Firing orders of real engines by cylinders (reference pages on firing orders)."""
CYLINDERS = ((4, 0.65), (3, 0.2), (6, 0.15))
IGNITIONS: tuple[tuple[Ignition, float], ...] = (
    ("coil-on-plug", 0.6),
    ("wasted-spark", 0.25),
    ("distributor", 0.15),
)
METERINGS: tuple[tuple[Metering, float], ...] = (("air-mass", 0.65), ("manifold-pressure", 0.35))
VENTILATIONS: tuple[tuple[Ventilation, float], ...] = (
    ("regulator", 0.5),
    ("valve", 0.35),
    ("orifice", 0.15),
)
OIL_PUMPS: tuple[tuple[OilPump, float], ...] = (("fixed", 0.75), ("two-stage", 0.25))
GRADES = (("5W-30", 0.45), ("0W-20", 0.15), ("5W-40", 0.2), ("10W-40", 0.2))
LITRES_PER_CYLINDER = (0.33, 0.5)


@dataclass(frozen=True)
class Setting:
    """The circumstances of one practice job; `litres` of displacement."""

    vehicle: str
    litres: float
    date: dt.datetime
    odometer_km: int
    altitude_m: int
    barometer_pa: float


def setting(build: Build, rng: np.random.Generator) -> Setting:
    """Circumstances for an engine of this build."""
    minutes = int(rng.integers(0, 32)) * 15
    altitude = 10 * int(rng.integers(0, 80))
    return Setting(
        vehicle=f"{rng.choice(KINDS)}, {rng.choice(OWNERS)}",
        litres=round(build.cylinders * rng.uniform(*LITRES_PER_CYLINDER), 1),
        date=FIRST_DAY + dt.timedelta(days=int(rng.integers(0, 700)), minutes=minutes),
        odometer_km=100 * int(rng.integers(420, 2600)),
        altitude_m=altitude,
        barometer_pa=float(pressure(altitude) + rng.normal(scale=700.0)),
    )


def random_build(rng: np.random.Generator) -> Build:
    """An engine's kind, as often as such engines come into a workshop (judgement)."""
    cylinders = _drawn(CYLINDERS, rng)
    orders = FIRING_ORDERS[cylinders]
    return Build(
        cylinders=cylinders,
        firing_order=orders[int(rng.integers(len(orders)))],
        ignition=_ignition(cylinders, rng),
        metering=_drawn(METERINGS, rng),
        ventilation=_drawn(VENTILATIONS, rng),
        oil_pump=_drawn(OIL_PUMPS, rng),
        oil_grade=_drawn(GRADES, rng),
    )


def _ignition(cylinders: int, rng: np.random.Generator) -> Ignition:
    """Wasted spark needs an even number of cylinders."""
    found = _drawn(IGNITIONS, rng)
    return "coil-on-plug" if found == "wasted-spark" and cylinders % 2 else found


def _drawn(chances: Sequence[tuple[T, float]], rng: np.random.Generator) -> T:
    words = [word for word, _ in chances]
    odds = np.array([chance for _, chance in chances])
    return words[int(rng.choice(len(words), p=odds / odds.sum()))]
