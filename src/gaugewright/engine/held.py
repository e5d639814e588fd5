"""How the engine is held in one condition: what the technician did, and at what speed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from gaugewright.physics.numbers import Numbers

Bools = npt.NDArray[np.bool_]
Done: TypeAlias = bool | Bools
"""Whether something was done: to all variants alike, or to each (n,)."""

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

WITHOUT_EFFECT = frozenset({"nothing", "speed-raised"})
"""Actions that change nothing but what else is told of a condition, such as its speed."""
HOT_DEGC = 90.0


@dataclass(frozen=True)
class Partly:
    """An action that was done to some of n variants only."""

    action: str
    done: Bools


@dataclass(frozen=True)
class Held:
    """One condition.

    `speed_rpm`: held by foot at this speed, a number or (n,); None, or NaN for some of n: left to
    the idle governor.
    `oil_degc`: oil in the gallery, a number or (n,).  `load_nm`: torque taken off beside the
    engine's own accessories.  `did`: actions of the job format.  `for_s`: how long it has been
    held, a number or (n,); what takes minutes (foam, debris at the pick-up) has come as far as
    that.  `partly`: actions done to some of n variants only.
    """

    did: frozenset[str] = frozenset()
    speed_rpm: Numbers | None = None
    oil_degc: Numbers = HOT_DEGC
    load_nm: Numbers = 0.0
    for_s: Numbers = math.inf
    partly: tuple[Partly, ...] = ()

    def __post_init__(self) -> None:
        unknown = sorted(self.did - set(ACTIONS))
        if unknown:
            raise ValueError(
                f'found the action "{unknown[0]}", which has no steady state here; '
                f"use one of {', '.join(ACTIONS)}"
            )

    def does(self, action: str) -> Done:
        """Whether this was done."""
        for one in self.partly:
            if one.action == action:
                return one.done
        return action in self.did

    @property
    def governed(self) -> Done:
        """Whether its speed is left to the idle governor."""
        return True if self.speed_rpm is None else np.isnan(self.speed_rpm)


def where(done: Done, number: Numbers) -> Numbers:
    """The number where it was done, and nothing elsewhere."""
    if isinstance(done, np.ndarray):
        return np.asarray(done * np.asarray(number))
    return number if done else 0.0


def unless(done: Done, number: Numbers) -> Numbers:
    """Nothing where it was done, and the number elsewhere."""
    return where(np.logical_not(done), number)
