"""One steady engine, one condition, in plain numbers: its balances written anew.

What the engine's numbers mean is documented beside them (`gaugewright.engine.parameters`), what
flows where in `air_path`, `oil_circuit` and `torque`; figures of judgement are read from there,
equations are not.  Gas flows come from a table of the flux maximised over the throat, power
replaces mean effective pressures, the fresh charge comes from the volume that burned gas leaves
free, and the oil's viscosity from a line in natural logarithms with its own slope.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from fluids.flow_meter import flow_meter_discharge
from scipy.interpolate import CubicSpline

from gaugewright.engine import air_path, oil_circuit, torque
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import Engine
from gaugewright.physics import breathing, cylinder
from gaugewright.physics.blend import FUEL_KV40, FUEL_KV100
from validation.physics import gas
from validation.physics.oil_lines import ABSOLUTE, z

GAMMA_CRITICAL = 0.5282818
STRAIGHT_GAS_PA, STRAIGHT_OIL_PA = 20.0, 200.0
"""Below these differences the package rounds the root off; above it the laws hold."""


@cache
def _flux_table() -> CubicSpline:
    """Flux squared over what is lacking to 1, times R T/p^2: smooth in the ratio of pressures."""
    state = gas.perfect(1e5, 300.0, 1.4, gas.AIR)
    ratios = np.linspace(GAMMA_CRITICAL, 0.9999, 160)
    unit = 1e5 / math.sqrt(gas.AIR * 300.0)
    flux = np.array([gas.flux(state, 1e5, 1e5 * float(r)) for r in ratios]) / unit
    return CubicSpline(ratios, flux**2 / (1.0 - ratios))


def through(area_m2: float, from_pa: float, to_pa: float, kelvin: float) -> float:
    """kg/s from one room to the other, negative when it goes back."""
    high, low = max(from_pa, to_pa), min(from_pa, to_pa)
    difference = high - low
    ratio = max(1.0 - max(difference, STRAIGHT_GAS_PA) / high, GAMMA_CRITICAL)
    flow = high * math.sqrt(float(_flux_table()(ratio)) * (1.0 - ratio) / (gas.AIR * kelvin))
    sign = 1.0 if from_pa >= to_pa else -1.0
    return sign * area_m2 * flow * min(difference / STRAIGHT_GAS_PA, 1.0)


def hole(area_m2: float, difference_pa: float, dense: float) -> float:
    """m3/s of oil through a hole, by fluids; its corner rounded as the package documents."""
    if area_m2 <= 0.0 or difference_pa == 0.0:
        return 0.0
    over = abs(difference_pa)
    sharp = flow_meter_discharge(
        D=1.0,
        Do=math.sqrt(4.0 * area_m2 / math.pi),
        P1=1e5 + over,
        P2=1e5,
        rho=dense,
        C=1.0,
        expansibility=1.0,
    )
    rounded = (1.0 + (STRAIGHT_OIL_PA / over) ** 2) ** -0.25
    return math.copysign(sharp / dense * rounded, difference_pa)


def smooth(x: float) -> float:
    """From 0 at 0 to 1 at 1, level at both ends: the integral of 6 x (1 - x)."""
    inside = min(max(x, 0.0), 1.0)
    return 3.0 * inside**2 - 2.0 * inside**3


def rounded_least(first: float, second: float, power: int) -> float:
    """The smaller of two with a rounded corner: the power mean of their inverses."""
    small, large = min(first, second), max(first, second)
    if small <= 0.0:
        return 0.0
    return small * math.exp(-math.log1p((small / large) ** power) / power)


@dataclass(frozen=True)
class Oil:
    """Pa s, its fall as a share for each kelvin, and kg/m3."""

    viscosity: float
    fall: float
    dense: float


def oil_at(engine: Any, degc: float) -> Oil:
    """The oil of this engine at a temperature: diluted, on its line, with the line's own slope."""
    oil = engine.oil
    share = float(oil.fuel_share)
    known = [(40.0, oil.kv40_cst, FUEL_KV40), (100.0, oil.kv100_cst, FUEL_KV100)]
    places = []
    for at, plain, fuel in known:
        mixed = (1.0 - share) * math.log(math.log(plain * oil.thinned + 0.8)) + share * math.log(
            math.log(fuel + 0.8)
        )
        thick = math.exp(math.exp(mixed)) - 0.8
        places.append((math.log(at + ABSOLUTE), math.log(math.log(z(thick)))))
    (x1, y1), (x2, y2) = places
    slope = (y2 - y1) / (x2 - x1)
    kelvin = degc + ABSOLUTE
    log_z = math.exp(y1 + slope * (math.log(kelvin) - x1))
    big = math.exp(log_z)
    kinematic = big - 0.7
    fall = -big * log_z * slope / kelvin / kinematic
    warm = 0.34878 * 1.8 / oil.density_15_kg_m3 * (degc - 15.0)
    dense = oil.density_15_kg_m3 * math.exp(-warm - 0.8 * warm * warm)
    return Oil(1e-6 * kinematic * dense, fall, dense)


@dataclass(frozen=True)
class Case:
    """One engine (plain numbers), how it is held, its oil."""

    build: Build
    engine: Engine
    held: Held
    oil: Oil

    def did(self, action: str) -> bool:
        """Whether this was done."""
        return action in self.held.did

    def gas_flows(self, rpm: float, manifold: float, crankcase: float) -> dict[str, float]:
        """kg/s of everything but the throttle."""
        air, case = self.engine.air, self.engine.crankcase
        outside, over = air.barometer_pa, crankcase - air.barometer_pa
        warm = min(max(0.5 + over / 80.0, 0.0), 1.0)
        kelvin = air.intake_k * (1.0 - warm) + case.gas_k * warm
        apart = self.did("ventilation-hose-off")
        closed = self.build.ventilation == "open" or apart or self.did("vent-port-blocked")
        vent_m2 = 0.0 if closed else case.vent_m2 * case.breathes * self.opened(manifold, over)
        fresh_m2 = 0.0 if self.build.ventilation == "open" else case.fresh_m2 * case.breathes
        fresh_m2 *= not self.did("fresh-air-blocked")
        leak_m2 = air.leak_m2 + (case.vent_m2 if apart and self.build.ventilation != "open" else 0)
        return {
            "vent": through(vent_m2, crankcase, manifold, case.gas_k),
            "fresh": through(fresh_m2, outside, crankcase, kelvin),
            "holes": through(self.holes(over), outside, crankcase, kelvin),
            "leak": through(leak_m2, outside, manifold, air.intake_k),
            "rings": self.rings(rpm, manifold),
            "drawn": self.drawn(rpm, manifold),
        }

    def opened(self, manifold: float, over: float) -> float:
        """The ventilation's own valve."""
        case = self.engine.crankcase
        if self.build.ventilation == "regulator":
            shut = smooth(0.5 + (case.set_pa - over) / case.band_pa)
            return 1.0 - (1.0 - air_path.REGULATOR_LEAST) * case.regulating * shut
        if self.build.ventilation == "valve":
            least = air_path.VALVE_LEAST
            relative = manifold / self.engine.air.barometer_pa
            return least + (1.0 - least) * smooth((relative - 0.45) / 0.4)
        return 1.0

    def holes(self, over: float) -> float:
        """m2 between crankcase and outside that no meter sees."""
        case = self.engine.crankcase
        return (
            case.leak_m2
            + case.seals_m2_per_pa * max(over - case.seals_lift_pa, 0.0)
            + case.tear_m2 * (not self.did("regulator-port-blocked"))
            + case.cap_m2 * self.did("filler-cap-off")
            + case.dipstick_m2 * self.did("dipstick-tube-open")
            + case.hose_m2 * self.did("ventilation-hose-off")
            + case.vent_m2 * case.breathes * (self.build.ventilation == "open")
        )

    def rings(self, rpm: float, manifold: float) -> float:
        """Blow-by: choked from the mean pressure in the cylinders."""
        mean = air_path.MEAN_CYLINDER_RATIO * manifold
        choked = through(self.engine.crankcase.ring_m2, mean, 0.3 * mean, air_path.BLOW_BY_K)
        grown = 1.0 + air_path.BLOW_BY_PER_KRPM * (rpm - 800.0) / 1000.0
        return choked * grown * min(rpm / 200.0, 1.0)

    def drawn(self, rpm: float, manifold: float) -> float:
        """Fresh charge: what of the cylinder the burned gas, expanded, leaves free."""
        air = self.engine.air
        clearance = air.displacement_m3 / (air.compression_ratio - 1.0)
        burned_pa = air.barometer_pa + air.exhaust_over_pa
        burned = clearance * (burned_pa / manifold) ** (1.0 / breathing.RESIDUAL_GAMMA)
        free = max(air.displacement_m3 + clearance - burned, 0.0) * air.breathing
        return free * manifold / (gas.AIR * air.charge_k) * rpm / 120.0

    def needed(self, flows: dict[str, float], drawn: float) -> dict[str, float]:
        """Trim that is needed and given, air over the fuel's need, indicated watts."""
        air, fuel = self.engine.air, self.engine.oil
        entering = max(flows["holes"], 0.0)
        foreign = entering / (entering + max(flows["fresh"], 0.0) + flows["rings"])
        unmetered = flows["leak"] + flows["vent"] * foreign
        metered = drawn - flows["leak"] - flows["vent"] + flows["fresh"]
        boiling = math.exp((min(self.held.oil_degc, 130.0) - 90.0) / torque.VAPOUR_K)
        carried = min(max(flows["vent"] * 2e4, 0.0), 1.0)
        petrol = fuel.fuel_share * fuel.vapour_kg_s * boiling * carried * torque.AIR_OVER_FUEL
        seen = max(metered, 1e-5) if self.build.metering == "air-mass" else drawn
        lacking = unmetered if self.build.metering == "air-mass" else 0.0
        needed = (1.0 + air.trim_bias) * (1.0 + (lacking - petrol) / seen) - 1.0
        given = min(max(needed, -air.trim_reach), air.trim_reach)
        given = 0.0 if self.build.metering == "none" else given
        over = (1.0 + needed) / (1.0 + given)
        burnt_before = min(max(flows["vent"], 0.0) * (1.0 - foreign), flows["rings"])
        lean = max(1.0 - torque.LEAN_LOSS * max(over - torque.LEAN_FROM, 0.0), 0.0)
        watts = (drawn - burnt_before) / max(over, 1.0) / torque.AIR_OVER_FUEL
        watts *= torque.HEATING_J_KG * air.burning * lean * (1.0 - air.misfire_share)
        return {"trim": given, "over": over, "watts": watts, "metered": metered}

    def wasted(self, rpm: float, manifold: float, outlet: float) -> float:
        """Watts that pumping, friction, accessories, the oil pump and the load take."""
        air = self.engine.air
        volumes = air.displacement_m3 * rpm / 120.0
        plain, linear, square = cylinder.FRICTION_TERMS_PA
        krpm = rpm / 1000.0
        stiff = (self.oil.viscosity / torque.REFERENCE_PAS) ** torque.FRICTION_POWER
        rubbing = air.friction * stiff * (plain + linear * krpm + square * krpm**2)
        gas_exchange = air.barometer_pa + air.exhaust_over_pa - manifold
        turning = (air.accessories_nm + self.held.load_nm) * 2.0 * math.pi * rpm / 60.0
        pump = self.engine.oil.pump_m3_per_rev * rpm / 60.0 * outlet / oil_circuit.PUMP_EFFICIENCY
        return volumes * (gas_exchange + rubbing) + turning + pump

    def oil_flows(self, rpm: float, crankcase: float, gallery: float) -> dict[str, float]:
        """m3/s left over in the circuit, and the pump's outlet pressure."""
        oil, thick = self.engine.oil, self.oil
        krpm = rpm / 1000.0
        film = thick.viscosity * math.exp(-thick.fall * oil.film_k_per_krpm * krpm)
        passing = oil.bearing_m3 * gallery / film
        passing += hole(oil.jet_m2, gallery, thick.dense) + hole(oil.leak_m2, gallery, thick.dense)
        filtered = rounded_least(
            thick.viscosity * passing / oil.filter_m3,
            oil.bypass_pa + passing / oil.bypass_m3_per_pa_s,
            8,
        )
        outlet = gallery + filtered
        pumped = self.suction(rpm, crankcase)
        slip = oil.slip_m3 * outlet / thick.viscosity
        return {"left": pumped - slip - self.relief(krpm, outlet) - passing, "outlet": outlet}

    def suction(self, rpm: float, crankcase: float) -> float:
        """m3/s of oil without its air that the pump gets."""
        oil, thick = self.engine.oil, self.oil
        krpm = rpm / 1000.0
        settled = 1.0 - math.exp(-self.held.for_s / 40.0)
        deep = oil.level_m - oil.draw_down_m_per_krpm * krpm
        standing = thick.dense * 9.80665 * max(deep, 0.0)
        linear = oil.pick_up_per_m3 * thick.viscosity
        square = oil.pick_up_pa_s2_m6 * (1.0 + oil.debris * settled * krpm)
        head = crankcase + standing - oil.inlet_least_pa
        most = max(float(np.roots([square, linear, -head]).real.max()), 0.0) if head > 0 else 0.0
        drawn = rounded_least(oil.pump_m3_per_rev * rpm / 60.0, most, 20)
        loss = linear * drawn + square * drawn**2
        inlet = crankcase + standing - loss
        bare = 1.0 - (oil.level_m - oil_circuit.COVERED_M[0]) / (
            oil_circuit.COVERED_M[1] - oil_circuit.COVERED_M[0]
        )
        sucked = (
            oil.seal_m2
            * min(max(bare, 0.0), 1.0)
            * math.sqrt(2.0 * max(loss, 0.0) / oil_circuit.AIR_KG_M3)
        )
        uncovered = 0.5 * (1.0 - math.tanh(0.5 * deep / oil_circuit.UNCOVERED_M))
        free = oil.air_share + oil.whip_share_per_krpm * krpm * settled
        free += oil_circuit.UNCOVERED_AIR * uncovered + sucked / (drawn + 1e-9)
        swollen = free * self.engine.air.barometer_pa / max(inlet, 1.0)
        return drawn / (1.0 + swollen)

    def relief(self, krpm: float, outlet: float) -> float:
        """m3/s back to the sump."""
        oil, thick = self.engine.oil, self.oil
        steep = oil.relief_m3_per_pa_s
        if self.build.oil_pump in ("variable", "controlled"):
            steep *= oil_circuit.HELD_FAST
        soft = oil_circuit.RELIEF_SOFT_PA
        far = (outlet - self.gives_way(krpm)) / soft
        opened = steep * soft * (max(far, 0.0) + math.log1p(math.exp(-abs(far))))
        seep = oil.relief_seep_m3 * outlet / thick.viscosity
        return opened + seep + hole(oil.relief_stuck_m2, outlet, thick.dense)

    def gives_way(self, krpm: float) -> float:
        """The pressure at which valve or control lets go, at this speed."""
        oil, kind = self.engine.oil, self.build.oil_pump
        if kind == "fixed":
            return float(oil.relief_pa)
        step = oil.step_rpm / 1000.0
        if self.did("valve-commanded"):
            up = 1.0
        elif kind == "two-stage":
            up = 0.5 * (1.0 + math.tanh(2000.0 * (krpm - step) / oil_circuit.STEP_WIDTH_RPM))
        else:
            up = min(max((krpm - 0.7) / (step - 0.7), 0.0), 1.0)
        return float(oil.low_stage_pa + (oil.relief_pa - oil.low_stage_pa) * oil.stage_works * up)
