"""What turns the crankshaft and what holds it back; how the mixture fares."""

from __future__ import annotations

import numpy as np

from gaugewright.engine.air_path import AirFlows
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.oil_circuit import Thickness
from gaugewright.engine.parameters import Engine
from gaugewright.physics.cylinder import brake_mep, friction_mep, pumping_mep, torque
from gaugewright.physics.numbers import Floats, Numbers

AIR_OVER_FUEL = 14.7
"""Stoichiometric ratio of petrol by mass (common practice)."""
HEATING_J_KG = 43.0e6
"""Lower heating value of petrol and of diesel, within 2 % (from memory)."""
REFERENCE_PAS = 0.0105
"""Viscosity of a warm 5W-30, at which the friction correlation is taken to hold."""
FRICTION_POWER = 0.24
"""Friction goes with viscosity to this power (published for warm-up models; from memory)."""
LEAN_FROM, RICH_FROM = 1.08, 0.80
"""Air over the fuel's need beyond which burning suffers (judgement)."""
LEAN_LOSS = 1.6
"""Share of the work lost for each unit of excess air beyond `LEAN_FROM` (judgement)."""
DIESEL_MOST = 0.5
"""Fuel in kg/s for each m3 of displacement and each 1000 rpm at which a diesel's idle governor
stops (judgement: a good half of full load)."""
WARM_DEGC = 90.0
VAPOUR_K = 20.0
"""Fuel leaves the oil faster by a factor e for every so many kelvin (judgement)."""


def fuel_vapour(engine: Engine, held: Held, vent: Numbers) -> Numbers:
    """Fuel in kg/s that hot oil gives off and the ventilation brings to the manifold."""
    warm = np.exp((np.minimum(held.oil_degc, 130.0) - WARM_DEGC) / VAPOUR_K)
    carried = np.clip(np.multiply(vent, 2e4), 0.0, 1.0)
    return np.asarray(engine.oil.fuel_share * engine.oil.vapour_kg_s * warm * carried)


def needed_trim(build: Build, engine: Engine, air: AirFlows, vapour: Numbers) -> Numbers:
    """What share of fuel must be added to what the maker's map gives, for a right mixture.

    With an air meter: unmetered air over metered air, less fuel that came with the crankcase's
    gas.  With manifold pressure and speed all air is seen; only that fuel counts.
    """
    if build.metering == "air-mass":
        seen = np.maximum(air.metered, 1e-5)
        right = (seen + air.unmetered - AIR_OVER_FUEL * vapour) / seen
    else:
        seen = np.maximum(air.cylinders, 1e-5)
        right = (seen - AIR_OVER_FUEL * vapour) / seen
    return (1.0 + engine.air.trim_bias) * right - 1.0


def trim_within(build: Build, engine: Engine, needed: Numbers) -> Numbers:
    """The trim a control unit of this reach settles to."""
    if build.metering == "none":
        return np.zeros(np.shape(needed))
    return np.clip(needed, -np.asarray(engine.air.trim_reach), engine.air.trim_reach)


def mixture(needed: Numbers, given: Numbers) -> Numbers:
    """Air over what the fuel needs (lambda) with this trim given."""
    return (1.0 + needed) / (1.0 + np.asarray(given))


def burning(engine: Engine, air_over_need: Numbers) -> Numbers:
    """Indicated efficiency over the fuel that can burn, falling off when lean."""
    lean = np.maximum(np.subtract(air_over_need, LEAN_FROM), 0.0)
    return engine.air.burning * np.maximum(1.0 - LEAN_LOSS * lean, 0.0) * _firing(engine)


def _firing(engine: Engine) -> Numbers:
    return 1.0 - np.asarray(engine.air.misfire_share)


def restlessness(engine: Engine, air_over_need: Numbers, unmetered_share: Numbers) -> Numbers:
    """Scatter of one cylinder's work from cycle to cycle, as a share of it.

    Grows as the mixture gets lean, and with air that reaches the cylinders unevenly (judgement).
    """
    lean = np.maximum(np.subtract(air_over_need, 1.0), 0.0)
    return engine.air.restless * (1.0 + 15.0 * lean + 6.0 * np.maximum(unmetered_share, 0.0))


def net_nm(
    engine: Engine,
    held: Held,
    speed_rpm: Numbers,
    manifold_pa: Numbers,
    heat_w: Numbers,
    thick: Thickness,
    pump_nm: Numbers,
) -> Numbers:
    """What is left to speed the engine up, in N m, of this heat turned into work.

    `heat_w`: indicated work a second, in W.  Source: brake = gross indicated - pumping -
    friction mean effective pressure, as `physics.cylinder`.
    """
    air = engine.air
    exhaust = np.add(air.barometer_pa, air.exhaust_over_pa)
    cycles = np.maximum(speed_rpm, 1.0) / 120.0
    indicated = heat_w / (cycles * air.displacement_m3)
    stiff = (thick.viscosity_pas / REFERENCE_PAS) ** FRICTION_POWER
    rubbed = friction_mep(speed_rpm, air.friction * stiff)
    mean = brake_mep(indicated, pumping_mep(exhaust, manifold_pa), rubbed)
    left = torque(mean, air.displacement_m3)
    return left - air.accessories_nm - pump_nm - held.load_nm


def work_w(build: Build, engine: Engine, air: AirFlows, vapour: Numbers) -> tuple[Floats, Floats]:
    """(indicated work a second in W, air over the fuel's need) of a throttled engine."""
    needed = needed_trim(build, engine, air, vapour)
    over = mixture(needed, trim_within(build, engine, needed))
    return _work(engine, air, over), np.asarray(over)


def _work(engine: Engine, air: AirFlows, over: Numbers) -> Floats:
    share = burning_air(air)
    fuel = share / (AIR_OVER_FUEL * np.maximum(over, 1.0))
    return np.asarray(fuel * HEATING_J_KG * burning(engine, over))


def burning_air(air: AirFlows) -> Numbers:
    """Air in the cylinders that can burn: what they draw less what has passed the rings before."""
    returned = np.maximum(air.vent, 0.0) * (1.0 - air.outside_share)
    return air.cylinders - np.minimum(returned, air.blow_by)
