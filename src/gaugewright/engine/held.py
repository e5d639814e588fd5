"""How the engine is held in one condition: what the technician did, and at what speed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from gaugewright.physics.numbers import Numbers

ACTIONS = (
    "nothing",
    "vent-port-blocked",
    "fresh-air-blocked",
    "regulator-port-blocked",
    "filler-cap-off",
    "dipstick-tube-open",
    "ventilation-hose-off",
    "speed-raised",
    "valve-commanded",
)
"""The actions of the job format whose steady state the virtual engine knows.  A snap, cranking
and an engine that stands still have no steady state of their own; `run` knows them in time."""

HOT_DEGC = 90.0


@dataclass(frozen=True)
class Held:
    """One condition.

    `speed_rpm`: held by foot at this speed, a number or (n,); None: left to the idle governor.
    `oil_degc`: oil in the gallery, a number or (n,).  `load_nm`: torque taken off beside the
    engine's own accessories.  `did`: actions of the job format.  `for_s`: how long it has been
    held, a number or (n,); what takes minutes (foam, debris at the pick-up) has come as far as
    that.
    """

    did: frozenset[str] = frozenset()
    speed_rpm: Numbers | None = None
    oil_degc: Numbers = HOT_DEGC
    load_nm: Numbers = 0.0
    for_s: Numbers = math.inf

    def __post_init__(self) -> None:
        unknown = sorted(self.did - set(ACTIONS))
        if unknown:
            raise ValueError(
                f'found the action "{unknown[0]}", which has no steady state here; '
                f"use one of {', '.join(ACTIONS)}"
            )

    def does(self, action: str) -> bool:
        """Whether this was done."""
        return action in self.did
