"""Air and gas: outside, throttle, manifold, cylinders, and round through the crankcase.

Two rooms, manifold and crankcase, and the flows between them, the cylinders and outside.  The
steady engine asks for their balances to be nothing; the engine in time lets them fill.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held, unless, where
from gaugewright.engine.parameters import Crankcase, Engine
from gaugewright.physics.breathing import air_per_second, volumetric_efficiency
from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT, air_flow
from gaugewright.physics.numbers import Floats, Numbers

CHOKED = 0.684731
"""Choked flow factor of air, `gas_flow.choked_factor(1.4)`; a test holds them together."""
MEAN_CYLINDER_RATIO = 4.5
"""Mean pressure over the cycle in a fired cylinder over manifold pressure (judgement, from the
polytropic cycle with an efficiency of 0.3 at idle)."""
BLOW_BY_K = 500.0
"""Temperature of the gas that passes the rings (judgement)."""
BLOW_BY_PER_KRPM = 0.12
"""How much more blow-by for each 1000 rpm at one manifold pressure (judgement: published
blow-by grows with speed and load)."""
REGULATOR_LEAST = 0.01
"""What a shut regulator still passes, as a share of its open way."""
VALVE_LEAST = 0.35
"""The way through a spring-loaded ventilation valve at idle vacuum, as a share of its open
way."""


@dataclass(frozen=True)
class AirFlows:
    """Mass flows in kg/s, each (n,), positive in the sense of its name.

    `throttle`, `leak`: into the manifold; `vent`: crankcase to manifold; `port`: outside air
    into the manifold through a ventilation hose that is off; `fresh`: metered air into the
    crankcase; `outside_in`: unmetered air into the crankcase through every hole; `blow_by`:
    past the rings; `cylinders`: what the engine draws.  `outside_share`: how much of the
    crankcase's gas is outside air that no meter saw.  `flux`: kg/s for each m2 of throttle.
    """

    throttle: Floats
    leak: Floats
    vent: Floats
    port: Floats
    fresh: Floats
    outside_in: Floats
    blow_by: Floats
    cylinders: Floats
    outside_share: Floats
    flux: Floats

    @property
    def manifold_balance(self) -> Floats:
        """What gathers in the manifold."""
        return self.throttle + self.leak + self.port + self.vent - self.cylinders

    @property
    def crankcase_balance(self) -> Floats:
        """What gathers in the crankcase."""
        return self.fresh + self.outside_in + self.blow_by - self.vent

    @property
    def metered(self) -> Floats:
        """What an air meter ahead of the throttle sees."""
        return self.throttle + self.fresh

    @property
    def unmetered(self) -> Floats:
        """Outside air that reaches the manifold past the meter."""
        return self.leak + self.port + self.vent * self.outside_share


def flows(
    build: Build,
    engine: Engine,
    held: Held,
    speed_rpm: Numbers,
    throttle_m2: Numbers,
    manifold_pa: Numbers,
    crankcase_pa: Numbers,
    outside_share: Numbers | None = None,
) -> AirFlows:
    """What flows where, at these pressures?

    Parameters: pressures absolute; areas effective; all numbers or (n,).  `outside_share` of
    the crankcase's gas; None: what settles when nothing changes any more.
    """
    air = engine.air
    blow_by = past_rings(engine, speed_rpm, manifold_pa)
    into_manifold = air_flow(1.0, air.barometer_pa, manifold_pa, air.intake_k)
    vent, fresh, holes = crankcase_flows(build, engine, held, manifold_pa, crankcase_pa)
    share = _settled_share(fresh, holes, blow_by) if outside_share is None else outside_share
    return AirFlows(
        throttle=_floats(into_manifold * throttle_m2),
        leak=_floats(into_manifold * air.leak_m2),
        vent=_floats(vent),
        port=_floats(into_manifold * _port_m2(build, engine, held)),
        fresh=_floats(fresh),
        outside_in=_floats(holes),
        blow_by=_floats(blow_by),
        cylinders=_floats(drawn(engine, speed_rpm, manifold_pa)),
        outside_share=_floats(share),
        flux=_floats(into_manifold),
    )


def crankcase_flows(
    build: Build, engine: Engine, held: Held, manifold_pa: Numbers, crankcase_pa: Numbers
) -> tuple[Numbers, Numbers, Numbers]:
    """(to the manifold, fresh air in, outside air in) of the crankcase, in kg/s."""
    into = air_flow(1.0, engine.air.barometer_pa, crankcase_pa, _upstream_k(engine, crankcase_pa))
    vent = _vent(build, engine, held, manifold_pa, crankcase_pa)
    fresh = into * _fresh_m2(build, engine.crankcase, held)
    return vent, fresh, into * _holes_m2(build, engine, held, crankcase_pa)


def drawn(engine: Engine, speed_rpm: Numbers, manifold_pa: Numbers) -> Numbers:
    """What the cylinders draw, kg/s: speed and density, less what burnt gas takes up."""
    air = engine.air
    efficiency = volumetric_efficiency(
        manifold_pa, air.barometer_pa + air.exhaust_over_pa, air.compression_ratio, air.breathing
    )
    return air_per_second(manifold_pa, air.charge_k, air.displacement_m3, speed_rpm, efficiency)


def _floats(values: Numbers) -> Floats:
    return np.asarray(values, dtype=np.float64)


def past_rings(engine: Engine, speed_rpm: Numbers, manifold_pa: Numbers) -> Numbers:
    """Blow-by in kg/s: choked from the mean cylinder pressure; none when it stands still."""
    flux = CHOKED * MEAN_CYLINDER_RATIO / np.sqrt(AIR_GAS_CONSTANT * BLOW_BY_K)
    turning = np.minimum(np.multiply(speed_rpm, 1.0 / 200.0), 1.0)
    grown = 1.0 + BLOW_BY_PER_KRPM * (np.multiply(speed_rpm, 1e-3) - 0.8)
    return _floats(engine.crankcase.ring_m2 * flux * manifold_pa * grown * turning)


def _upstream_k(engine: Engine, crankcase_pa: Numbers) -> Numbers:
    """Gas that leaves the crankcase is warm, air that enters it is not."""
    outward = np.subtract(crankcase_pa, engine.air.barometer_pa) * (1.0 / 40.0)
    warm = 0.5 + 0.5 * np.clip(outward, -1.0, 1.0)
    return engine.air.intake_k + warm * (engine.crankcase.gas_k - engine.air.intake_k)


def _vent(
    build: Build, engine: Engine, held: Held, manifold_pa: Numbers, crankcase_pa: Numbers
) -> Numbers:
    """Flow from the crankcase to the manifold through this kind of ventilation."""
    shut = held.does("vent-port-blocked") | held.does("ventilation-hose-off")
    if build.ventilation == "open" or shut is True:
        return np.zeros(np.shape(crankcase_pa))
    case = engine.crankcase
    way = unless(shut, case.vent_m2 * case.breathes)
    area = way * way_open(build, engine, manifold_pa, crankcase_pa)
    return air_flow(area, crankcase_pa, manifold_pa, case.gas_k)


def _port_m2(build: Build, engine: Engine, held: Held) -> Numbers:
    """The manifold's end of a ventilation hose that is off, open to outside air."""
    if build.ventilation == "open":
        return 0.0
    return where(held.does("ventilation-hose-off"), engine.crankcase.vent_m2)


def way_open(build: Build, engine: Engine, manifold_pa: Numbers, crankcase_pa: Numbers) -> Numbers:
    """How far the ventilation's own valve stands open, 0 to 1."""
    if build.ventilation == "regulator":
        return _regulator_open(engine, crankcase_pa)
    if build.ventilation == "valve":
        relative = np.divide(manifold_pa, engine.air.barometer_pa)
        return VALVE_LEAST + (1.0 - VALVE_LEAST) * _step((relative - 0.45) / 0.4)
    return 1.0


def _regulator_open(engine: Engine, crankcase_pa: Numbers) -> Numbers:
    """A diaphragm between crankcase and outside air: falls shut as the crankcase falls."""
    case = engine.crankcase
    over = np.subtract(crankcase_pa, engine.air.barometer_pa)
    shut = _step((case.set_pa + 0.5 * case.band_pa - over) / case.band_pa)
    return 1.0 - (1.0 - REGULATOR_LEAST) * case.regulating * shut


def _step(x: Numbers) -> Floats:
    """A smooth step from 0 at 0 to 1 at 1."""
    inside = np.clip(x, 0.0, 1.0)
    return np.asarray(inside * inside * (3.0 - 2.0 * inside))


def _fresh_m2(build: Build, case: Crankcase, held: Held) -> Numbers:
    """The hose that brings metered air in; a blocked breather is blocked there as well."""
    if build.ventilation == "open":
        return 0.0
    return unless(held.does("fresh-air-blocked"), case.fresh_m2 * case.breathes)


def _holes_m2(build: Build, engine: Engine, held: Held, crankcase_pa: Numbers) -> Numbers:
    """Every way between crankcase and outside air that no meter sees."""
    case = engine.crankcase
    over = np.subtract(crankcase_pa, engine.air.barometer_pa) - case.seals_lift_pa
    fixed = (
        case.leak_m2
        + unless(held.does("regulator-port-blocked"), case.tear_m2)
        + where(held.does("filler-cap-off"), case.cap_m2)
        + where(held.does("dipstick-tube-open"), case.dipstick_m2)
        + where(held.does("ventilation-hose-off"), case.hose_m2)
    )
    if build.ventilation == "open":
        fixed = fixed + case.vent_m2 * case.breathes
    return fixed + case.seals_m2_per_pa * np.maximum(over, 0.0)


def _settled_share(fresh: Numbers, holes: Numbers, blow_by: Numbers) -> Numbers:
    """Outside air over all that comes into the crankcase."""
    entering = np.maximum(holes, 0.0)
    return entering / (entering + np.maximum(fresh, 0.0) + blow_by + 1e-12)
