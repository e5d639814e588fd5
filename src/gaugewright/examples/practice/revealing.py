"""The end of a practice round: what was the matter, and what gave it away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from gaugewright.causes.tests import decisive
from gaugewright.engine.held import Held
from gaugewright.engine.steady import Solved, solve
from gaugewright.examples.practice.answering import Car
from gaugewright.examples.practice.scenario import CRANKCASE_SEEN_PA, SHARE_SEEN, TRIM_SEEN
from gaugewright.examples.practice.timeline import speeds
from gaugewright.examples.practice.truth import Fault

MOST_TOLD = 4


@dataclass(frozen=True)
class GaveAway:
    """A reading that the fault moved out of what sound engines show, in findings units.

    `sound`: what the same engine would show without its faults, held in the same way.
    """

    condition: str
    quantity: str
    reference: str | None
    unit: str
    here: float
    sound: float


@dataclass(frozen=True)
class Revealed:
    """What was the matter with a practice car.

    `decisive`: the tests the trade holds to decide on its causes, by their names.
    """

    faults: tuple[Fault, ...]
    besides: tuple[str, ...]
    gave_away: tuple[GaveAway, ...]
    decisive: tuple[str, ...]


def revealed(of: Car) -> Revealed:
    """What was truly the matter, how it showed, and which test would have decided."""
    known = decisive()
    return Revealed(
        faults=of.scenario.faults,
        besides=of.scenario.besides,
        gave_away=_gave_away(of),
        decisive=tuple(known[cause] for cause in of.causes if cause in known),
    )


def _gave_away(of: Car) -> tuple[GaveAway, ...]:
    """The readings that the faults moved furthest, of the three usual ways to hold it, hot."""
    scenario = of.scenario
    low, _ = speeds(scenario.build, scenario.faulty)
    held = {
        "hot idle": Held(),
        "filler cap off": Held(did=frozenset({"filler-cap-off"})),
        f"held at {low:.0f} rpm": Held(speed_rpm=low),
    }
    here = solve(scenario.build, scenario.faulty, list(held.values()))
    sound = solve(scenario.build, scenario.sound, list(held.values()))
    every = [one for i, name in enumerate(held) for one in _moved(name, i, here, sound)]
    loud = sorted((one for one in every if one[0] >= 1.0), key=lambda pair: -pair[0])
    return tuple(one for _, one in loud[:MOST_TOLD])


def _moved(name: str, row: int, here: Solved, sound: Solved) -> Iterator[tuple[float, GaveAway]]:
    """Each reading with how far it left what sound engines show, in spreads of those."""
    gauge = float(here.gauge_pa[row, 0]), float(sound.gauge_pa[row, 0])
    case = float(here.crankcase_over_pa[row, 0]), float(sound.crankcase_over_pa[row, 0])
    trim = float(here.trim[row, 0]), float(sound.trim[row, 0])
    if np.isfinite(gauge).all():
        off = abs(gauge[0] / gauge[1] - 1.0) / SHARE_SEEN
        yield off, _told(name, "oil-pressure", "atmosphere", "kPa", gauge, 1e-3)
    if np.isfinite(case).all():
        off = abs(case[0] - case[1]) / CRANKCASE_SEEN_PA
        yield off, _told(name, "crankcase-pressure", "atmosphere", "kPa", case, 1e-3)
    if np.isfinite(trim).all():
        off = abs(trim[0] - trim[1]) / TRIM_SEEN
        yield off, _told(name, "fuel-trim-short", None, "%", trim, 100.0)


def _told(
    name: str, quantity: str, reference: str | None, unit: str, pair: tuple[float, float], k: float
) -> GaveAway:
    return GaveAway(name, quantity, reference, unit, k * pair[0], k * pair[1])
