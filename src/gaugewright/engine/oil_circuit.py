"""The oil circuit: sump, pick-up, pump, relief valve, filter, gallery, bearings.

All pressures of the circuit are over the crankcase's: that is what moves the oil.  Only the
suction side feels the crankcase's absolute pressure, and only near its limits.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.engine.build import Build
from gaugewright.engine.held import Held, unless, where
from gaugewright.engine.parameters import Engine, Oil
from gaugewright.physics import leakage, pick_up, pump, relief_valve
from gaugewright.physics.blend import diluted_line
from gaugewright.physics.numbers import Floats, Numbers
from gaugewright.physics.oil import viscosity_at
from gaugewright.physics.oil_properties import density, dynamic_viscosity

GRAVITY = 9.80665
RELIEF_SOFT_PA = 6000.0
STEP_WIDTH_RPM = 60.0
"""Over how many rpm a two-stage pump goes from one stage to the other."""
HELD_FAST = 3.0
"""How much steeper a pump that varies its own delivery holds its pressure than a relief
valve."""
UNCOVERED_M = 0.004
"""Over how much level a pick-up goes from covered to uncovered (judgement)."""
UNCOVERED_AIR = 0.9
"""Air drawn by an uncovered pick-up, volume over volume of oil (judgement)."""
COVERED_M = (0.095, 0.125)
"""An overfill between these levels covers a leaking seal (judgement)."""
AIR_KG_M3 = 1.1
PUMP_EFFICIENCY = 0.85


@dataclass(frozen=True)
class Thickness:
    """The oil at a temperature: dynamic viscosity (Pa s), its change (share per K), density."""

    viscosity_pas: Floats
    per_k: Floats
    density: Floats


@dataclass(frozen=True)
class OilFlows:
    """Flows in m3/s, pressures in Pa, each (n,)."""

    pumped: Floats
    slip: Floats
    relief: Floats
    bearings: Floats
    jets: Floats
    leak: Floats
    inlet_pa: Floats
    outlet_pa: Floats
    air_share: Floats
    pump_nm: Floats

    @property
    def gallery(self) -> Floats:
        """What passes the filter."""
        return self.bearings + self.jets + self.leak

    @property
    def balance(self) -> Floats:
        """What the pump delivers and nothing takes."""
        return self.pumped - self.slip - self.relief - self.gallery


def viscosity_line(engine: Engine) -> tuple[Numbers, Numbers]:
    """(a, b) of the oil's line (ASTM D341), worn and diluted as it is."""
    oil = engine.oil
    return diluted_line(oil.kv40_cst * oil.thinned, oil.kv100_cst * oil.thinned, oil.fuel_share)


def thickness(
    engine: Engine, oil_degc: Numbers, line: tuple[Numbers, Numbers] | None = None
) -> Thickness:
    """How thick is this oil at a temperature, and how fast does it thin?

    `line` spares the line's making where it is known (`viscosity_line`).
    Source: ASTM D341; density by ASTM D1250's lubricating-oil group.
    """
    a, b = line or viscosity_line(engine)
    rho = density(engine.oil.density_15_kg_m3, oil_degc)
    cold = viscosity_at(a, b, np.subtract(oil_degc, 0.5))
    hot = viscosity_at(a, b, np.add(oil_degc, 0.5))
    return Thickness(
        viscosity_pas=_floats(dynamic_viscosity(np.sqrt(hot * cold), rho)),
        per_k=_floats(np.log(cold / hot)),
        density=_floats(rho),
    )


def flows(
    build: Build,
    engine: Engine,
    held: Held,
    speed_rpm: Numbers,
    crankcase_pa: Numbers,
    gallery_pa: Numbers,
    thick: Thickness,
    settled: Numbers = 1.0,
) -> OilFlows:
    """What flows where in the circuit, at these pressures?

    Parameters: `crankcase_pa` absolute, `gallery_pa` over it; `settled`, from 0 to 1: how far
    foam and debris have come towards where this speed takes them in minutes.
    """
    oil = engine.oil
    krpm = np.multiply(speed_rpm, 1e-3)
    film = thick.viscosity_pas * np.exp(-thick.per_k * oil.film_k_per_krpm * krpm)
    bearings = pump.slip_flow(oil.bearing_m3, gallery_pa, film)
    jets = leakage.orifice_flow(oil.jet_m2, gallery_pa, thick.density)
    leak = leakage.orifice_flow(oil.leak_m2, gallery_pa, thick.density)
    outlet = gallery_pa + _filter_loss(oil, thick, bearings + jets + leak)
    suction = _suction(engine, speed_rpm, crankcase_pa, thick, settled)
    slip = pump.slip_flow(oil.slip_m3, outlet, thick.viscosity_pas)
    return OilFlows(
        pumped=_floats(suction.oil_m3_s),
        slip=_floats(slip),
        relief=_floats(_relief(build, oil, held, krpm, outlet, thick)),
        bearings=_floats(bearings),
        jets=_floats(jets),
        leak=_floats(leak),
        inlet_pa=_floats(suction.inlet_pa),
        outlet_pa=_floats(outlet),
        air_share=_floats(suction.air_share),
        pump_nm=_floats(oil.pump_m3_per_rev * outlet / (2.0 * np.pi * PUMP_EFFICIENCY)),
    )


def _floats(values: Numbers) -> Floats:
    return np.asarray(values, dtype=np.float64)


def _filter_loss(oil: Oil, thick: Thickness, flow: Numbers) -> Numbers:
    """Laminar through the filter, or the bypass valve's opening pressure and slope."""
    through = thick.viscosity_pas * flow / oil.filter_m3
    past = oil.bypass_pa + flow / oil.bypass_m3_per_pa_s
    return pick_up.limited(np.maximum(through, 0.0), past, 8)


@dataclass(frozen=True)
class _Suction:
    oil_m3_s: Numbers
    inlet_pa: Numbers
    air_share: Numbers


def _suction(
    engine: Engine, speed_rpm: Numbers, crankcase_pa: Numbers, thick: Thickness, settled: Numbers
) -> _Suction:
    """What reaches the pump: limited by the pick-up's loss, thinned by free air."""
    oil = engine.oil
    krpm = np.multiply(speed_rpm, 1e-3)
    left_m = oil.level_m - oil.draw_down_m_per_krpm * krpm
    standing = thick.density * GRAVITY * np.maximum(left_m, 0.0)
    linear = oil.pick_up_per_m3 * thick.viscosity_pas
    square = oil.pick_up_pa_s2_m6 * (1.0 + oil.debris * settled * krpm)
    greatest = pick_up.greatest_flow(crankcase_pa + standing - oil.inlet_least_pa, linear, square)
    wanted = oil.pump_m3_per_rev * speed_rpm / 60.0
    drawn = pick_up.limited(wanted, greatest)
    loss = linear * drawn + square * drawn * drawn
    share = _air_share(oil, krpm, left_m, loss, drawn, settled)
    inlet = crankcase_pa + standing - loss
    filled = pick_up.filled_share(share, inlet, engine.air.barometer_pa)
    return _Suction(drawn * filled, inlet, share)


def _air_share(
    oil: Oil, krpm: Numbers, left_m: Numbers, loss_pa: Numbers, drawn: Numbers, settled: Numbers
) -> Numbers:
    """Free air over oil, by volume at the outside pressure, as the pump gets it."""
    uncovered = 1.0 / (1.0 + np.exp(np.clip(left_m / UNCOVERED_M, -50.0, 50.0)))
    beaten = oil.air_share + oil.whip_share_per_krpm * krpm * settled
    return _floats(beaten + UNCOVERED_AIR * uncovered + _seal_share(oil, loss_pa, drawn))


def _seal_share(oil: Oil, loss_pa: Numbers, drawn: Numbers) -> Numbers:
    """Air through a leaking seal, by the suction behind it, unless an overfill covers it."""
    if np.ndim(oil.seal_m2) == 0 and float(oil.seal_m2) == 0.0:
        return 0.0
    low, high = COVERED_M
    bare = 1.0 - np.clip((np.asarray(oil.level_m) - low) / (high - low), 0.0, 1.0)
    sucked = oil.seal_m2 * bare * np.sqrt(2.0 * np.maximum(loss_pa, 0.0) / AIR_KG_M3)
    return sucked / (drawn + 1e-9)


def _relief(
    build: Build, oil: Oil, held: Held, krpm: Numbers, outlet_pa: Numbers, thick: Thickness
) -> Numbers:
    """Back to the sump: over the valve, past its seat, through what holds it open."""
    steep = oil.relief_m3_per_pa_s * (HELD_FAST if build.oil_pump in _VARYING else 1.0)
    opening = relief_opening(build, oil, held, krpm)
    seep = pump.slip_flow(oil.relief_seep_m3, outlet_pa, thick.viscosity_pas)
    stuck = leakage.orifice_flow(oil.relief_stuck_m2, outlet_pa, thick.density)
    return relief_valve.flow(opening, steep, outlet_pa, RELIEF_SOFT_PA) + seep + stuck


_VARYING = ("variable", "controlled")


def relief_opening(build: Build, oil: Oil, held: Held, krpm: Numbers) -> Numbers:
    """At what pressure the valve, or the pump's own control, gives way at this speed."""
    if build.oil_pump == "fixed":
        return oil.relief_pa
    commanded = held.does("valve-commanded")
    up = where(commanded, 1.0) + unless(commanded, _stepped_up(build, oil, krpm))
    return oil.low_stage_pa + (oil.relief_pa - oil.low_stage_pa) * oil.stage_works * up


def _stepped_up(build: Build, oil: Oil, krpm: Numbers) -> Numbers:
    """How far a pump that isn't commanded has gone to its higher stage at this speed, 0 to 1."""
    step = np.multiply(oil.step_rpm, 1e-3)
    if build.oil_pump == "two-stage":
        return 1.0 / (1.0 + np.exp(np.clip((step - krpm) * (4e3 / STEP_WIDTH_RPM), -50.0, 50.0)))
    return np.clip((krpm - 0.7) / (step - 0.7), 0.0, 1.0)
