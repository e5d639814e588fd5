"""How large is the hole?  The effective areas of the engines that the readings leave, as sharp
round holes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.causes.explain import severities
from gaugewright.causes.judging import Race, cause_sums
from gaugewright.causes.model import Variants, engine_of
from gaugewright.causes.observation import TRIM
from gaugewright.engine.air_path import way_open
from gaugewright.engine.build import Build
from gaugewright.engine.parameters import Engine
from gaugewright.evidence.results import Leak, Quantified
from gaugewright.physics.gas_flow import SHARP_EDGE, hole_diameter

Floats = npt.NDArray[np.float64]

LEAST = 0.2
"""A cause of less than this has no hole to tell."""
SAY = frozenset({"crankcase-pressure", "manifold-pressure", TRIM, "engine-speed", "air-flow"})
"""Readings of which at least one must speak of air before a hole is told."""
COVERAGE = 1.96
MODEL_SHARE = 0.05
"""What the engine's own form leaves open of a diameter, as a share (judgement)."""


@dataclass(frozen=True)
class Hole:
    """A path, the cause it belongs to, and its effective area in m2 for n engines."""

    path: str
    cause: str
    area: Callable[[Build, Engine], Floats]


def _vent_area(build: Build, engine: Engine) -> Floats:
    """The way that a torn regulator leaves open towards the manifold, at half its vacuum."""
    case, outside = engine.crankcase, engine.air.barometer_pa
    level = np.add(outside, -8e3)
    open_ = way_open(build, engine, 0.35 * np.asarray(outside), level)
    return np.asarray(case.vent_m2 * case.breathes * open_)


HOLES = (
    Hole("outside air to manifold", "intake-leak", lambda _, e: np.asarray(e.air.leak_m2)),
    Hole(
        "outside air to crankcase",
        "ventilation-regulator-torn",
        lambda _, e: np.asarray(np.add(e.crankcase.tear_m2, e.crankcase.leak_m2)),
    ),
    Hole("manifold to crankcase", "ventilation-regulator-torn", _vent_area),
    Hole(
        "outside air to crankcase",
        "crankcase-open",
        lambda _, e: np.asarray(e.crankcase.leak_m2),
    ),
)
"""What lets air through, by cause."""


def leaks(race: Race) -> tuple[Leak, ...]:
    """Every hole that a cause worth telling would have, with its diameter and 95 % interval."""
    if not SAY & {item.quantity for item in race.seen.items}:
        return ()
    sums = cause_sums(race.probability)
    found = [_leak(race, hole) for hole in HOLES if sums[hole.cause] >= LEAST]
    return tuple(one for one in found if one is not None)


def _leak(race: Race, hole: Hole) -> Leak | None:
    weighed = race.leading
    own = next((h for h in weighed.hypotheses if hole.cause in h.causes and h.cells), None)
    if own is None:
        return None
    severity, weight, z = severities(weighed, own)
    healthy = weighed.question.healthy
    engine = engine_of(healthy, Variants(own.causes, severity, z))
    area = np.broadcast_to(hole.area(healthy.build, engine), len(weight))
    diameter = 1e3 * np.asarray(hole_diameter(area))
    mean = float(weight @ diameter)
    variance = float(weight @ (diameter - mean) ** 2)
    spread = float(np.hypot(np.sqrt(variance), MODEL_SHARE * mean))
    return Leak(
        path=hole.path,
        diameter=Quantified(mean, "mm", spread),
        low=max(mean - COVERAGE * spread, 0.0),
        high=mean + COVERAGE * spread,
        discharge_coefficient=SHARP_EDGE,
        visit=race.view.visit,
    )
