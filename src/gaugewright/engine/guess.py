"""First guesses good enough that the roots of `settling` are found in a few steps."""

from __future__ import annotations

import numpy as np

from gaugewright.engine.air_path import crankcase_flows, drawn, past_rings
from gaugewright.engine.oil_circuit import relief_opening
from gaugewright.engine.system import WIDE_OPEN_M2, System
from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Floats, Numbers

AIR_KG_M3 = 1.15
DEEPEST_PA = 50e3
PROBE_PA = 100.0
OVER_SEALS_PA = 1500.0
MANIFOLD_GUESS = 0.34
"""Manifold over outside pressure of an idling engine with a throttle."""


def manifold_guess(system: System, speed_rpm: Floats) -> Floats:
    """About where the manifold settles, Pa absolute.

    Without a throttle: outside pressure less what drives the cylinders' air through the intake, as
    if of one density.
    """
    air = system.engine.air
    outside = air.barometer_pa + np.zeros_like(speed_rpm)
    if system.build.throttled:
        return MANIFOLD_GUESS * outside
    kg_m3 = outside / (AIR_GAS_CONSTANT * air.intake_k)
    through = drawn(system.engine, speed_rpm, outside) / WIDE_OPEN_M2
    return np.asarray(outside - through * through / (2.0 * kg_m3))


def crankcase_guess(system: System, speed_rpm: Floats, manifold_pa: Floats) -> Floats:
    """About where the crankcase settles, Pa absolute.

    With the way to the manifold as open as it stands at outside pressure: does more leave than
    comes?  If so a sound regulator shuts until the rest comes in; what it cannot hold back, or
    what has no way out, goes through the holes.
    """
    case, outside = system.engine.crankcase, system.engine.air.barometer_pa
    level = outside + np.zeros_like(manifold_pa)
    coming = past_rings(system.engine, speed_rpm, manifold_pa)
    vent, _, _ = crankcase_flows(system.build, system.engine, system.held, manifold_pa, level)
    _, fresh, holes = crankcase_flows(
        system.build, system.engine, system.held, manifold_pa, level - PROBE_PA
    )
    through = (fresh + holes) / np.sqrt(2.0 * AIR_KG_M3 * PROBE_PA) + 1e-12
    leaving = np.minimum(vent, np.maximum(coming, _least_vent(system, vent)))
    short = (leaving - coming) / through
    deep = np.minimum(short * np.abs(short) / (2.0 * AIR_KG_M3), DEEPEST_PA)
    raised = np.maximum(deep, -(case.seals_lift_pa + OVER_SEALS_PA))
    guess = level + np.minimum(-raised, _regulated(system, coming, vent))
    return np.asarray(np.maximum(guess, _drawn_out(system, coming, vent, manifold_pa)))


def _drawn_out(system: System, coming: Numbers, vent: Numbers, manifold_pa: Floats) -> Numbers:
    """Where what comes goes to a manifold hardly below outside pressure: no lower than this.

    `vent` is what would go from outside pressure; it goes with the root of the difference.
    """
    if system.build.throttled:
        return 0.0
    below = system.engine.air.barometer_pa - manifold_pa
    passed = np.minimum(coming / np.maximum(vent, 1e-12), 1.0)
    return manifold_pa + below * passed * passed


def _least_vent(system: System, vent: Numbers) -> Numbers:
    """What still leaves with a regulator as shut as it can."""
    if system.build.ventilation != "regulator":
        return vent
    return vent * (1.0 - np.minimum(system.engine.crankcase.regulating, 0.99))


def _regulated(system: System, coming: Numbers, vent: Numbers) -> Numbers:
    """Where in its band a regulator passes just what comes; no bound where it cannot."""
    if system.build.ventilation != "regulator":
        return np.inf
    case = system.engine.crankcase
    shut = (1.0 - coming / np.maximum(vent, 1e-12)) / np.maximum(case.regulating, 1e-3)
    within = np.clip(shut, 0.0, 1.0)
    place = 0.5 - np.sin(np.arcsin(1.0 - 2.0 * within) / 3.0)
    band = case.set_pa + 0.5 * case.band_pa - case.band_pa * place
    return np.where((shut > 0.0) & (vent > 0.0), band, np.inf)


def gallery_guess(system: System, speed_rpm: Floats) -> Floats:
    """About where the gallery settles, Pa over the crankcase: all the pump's oil through
    bearings and slip, or the relief valve's opening."""
    oil, thick = system.engine.oil, system.thick
    film = thick.viscosity_pas * np.exp(-thick.per_k * oil.film_k_per_krpm * speed_rpm * 1e-3)
    pumped = 0.85 * oil.pump_m3_per_rev * speed_rpm / 60.0
    laminar = pumped / (oil.bearing_m3 / film + oil.slip_m3 / thick.viscosity_pas)
    opening = relief_opening(system.build, oil, system.held, speed_rpm * 1e-3)
    return np.asarray(np.minimum(laminar, 1.02 * opening) + np.zeros_like(speed_rpm))
