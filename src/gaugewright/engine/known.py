"""What stays the same through a run, and what is worked out anew only now and then."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from gaugewright.engine import crankshaft, governor
from gaugewright.engine.build import Build
from gaugewright.engine.cylinder_trace import FiringWork
from gaugewright.engine.filling import Rooms, rooms
from gaugewright.engine.oil_circuit import Thickness
from gaugewright.engine.parameters import Engine
from gaugewright.engine.plan import Plan, Step
from gaugewright.engine.uneven import Uneven

WIDE_OPEN_FUEL = 4.0
"""Full fuel of a diesel over the most its idle governor gives (judgement: four times)."""


@dataclass(frozen=True)
class Known:
    """What doesn't change during a run."""

    build: Build
    engine: Engine
    plan: Plan
    uneven: Uneven
    rooms: Rooms
    stops: governor.Stops
    inertia: float
    starter: crankshaft.Starter
    works: FiringWork
    foot: tuple[float, ...]
    """The place of throttle or fuel at which each step's speed stays."""
    random: np.random.Generator

    @property
    def firing_rad(self) -> float:
        """Crank angle from one firing to the next."""
        return 4.0 * math.pi / self.build.cylinders


@dataclass
class Going:
    """What is worked out anew only now and then: the oil, and the step it is for."""

    index: int
    step: Step
    thick: Thickness
    pump_nm: float = 0.0
    age: int = 0


def known(
    build: Build,
    engine: Engine,
    plan: Plan,
    uneven: Uneven,
    works: FiringWork,
    foot: tuple[float, ...],
    seed: int,
) -> Known:
    """Everything about this run that stays."""
    size = float(engine.air.displacement_m3)
    return Known(
        build=build,
        engine=engine,
        plan=plan,
        uneven=uneven,
        rooms=rooms(engine),
        stops=stops(build, engine),
        inertia=crankshaft.INERTIA_PER_M3 * size,
        starter=crankshaft.starter(size, float(engine.air.compression_ratio)),
        works=works,
        foot=foot,
        random=np.random.default_rng([seed, 1]),
    )


def stops(build: Build, engine: Engine) -> governor.Stops:
    """Between what the idle governor of this engine moves."""
    if not build.throttled:
        return governor.Stops(
            0.0, 1.0, governor.FUEL_PLACE, WIDE_OPEN_FUEL, governor.FOOT_EAGER_FUEL
        )
    air = engine.air
    size = float(air.displacement_m3)
    return governor.Stops(
        float(air.throttle_least_m2),
        float(air.throttle_most_m2),
        governor.AREA_PER_DISPLACEMENT * size,
        governor.WIDE_OPEN_PER_DISPLACEMENT * size,
    )
