"""The numbers of one engine, or of n variants of it: each a float or an array (n,).

What is a size, an area, a set point stands here; a fault is a change of these numbers and of
nothing else.  Areas are effective: the discharge coefficient is inside.  Defaults are a sound
two-litre four-cylinder petrol engine (judgement, within the published ranges of the trade).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace

from gaugewright.physics.numbers import Numbers

MM2 = 1e-6
"""A square millimetre in m2."""


@dataclass(frozen=True)
class Air:
    """From the outside air through the throttle into the cylinders, and what it burns to.

    `throttle_least_m2`, `throttle_most_m2`: between these the idle governor can move.
    `leak_m2`: holes from outside into the manifold.  `breathing`: volumetric efficiency with no
    burnt gas left over.  `burning`: indicated efficiency at idle.  `friction`: factor on the
    friction mean effective pressure.
    """

    barometer_pa: Numbers = 101325.0
    intake_k: Numbers = 300.0
    charge_k: Numbers = 335.0
    displacement_m3: Numbers = 2.0e-3
    compression_ratio: Numbers = 10.0
    breathing: Numbers = 0.88
    exhaust_over_pa: Numbers = 1500.0
    manifold_m3: Numbers = 3.0e-3
    throttle_least_m2: Numbers = 11.8 * MM2
    throttle_most_m2: Numbers = 45.0 * MM2
    leak_m2: Numbers = 0.02 * MM2
    idle_rpm: Numbers = 800.0
    burning: Numbers = 0.30
    friction: Numbers = 1.0
    accessories_nm: Numbers = 4.0
    trim_bias: Numbers = 0.0
    trim_reach: Numbers = 0.30
    restless: Numbers = 0.02
    """Cycle-to-cycle scatter of the work of one cylinder, as a share of it."""
    misfire_share: Numbers = 0.0
    governor_gain: Numbers = 1.0
    """Gain of the idle governor over what its maker meant; from about 3 on it hunts."""


@dataclass(frozen=True)
class Crankcase:
    """Blow-by, the ventilation, and every hole between crankcase and outside.

    `vent_m2`: the way to the manifold, wide open.  A regulator closes it as the crankcase falls
    through a band of `band_pa` about `set_pa` against the outside air; `regulating` is how much
    of that it still does (1 sound, 0 stands open).  `tear_m2`: hole through a torn diaphragm,
    fed by the regulator's own port to outside.  `breathes`: how much of the way is free.
    `fresh_m2`: hose that brings metered air in.  `seals_lift_pa`: above it seals let go.
    """

    ring_m2: Numbers = 0.18 * MM2
    volume_m3: Numbers = 6.0e-3
    gas_k: Numbers = 350.0
    vent_m2: Numbers = 3.2 * MM2
    set_pa: Numbers = -2600.0
    band_pa: Numbers = 1600.0
    regulating: Numbers = 1.0
    tear_m2: Numbers = 0.0
    breathes: Numbers = 1.0
    fresh_m2: Numbers = 0.0
    leak_m2: Numbers = 0.08 * MM2
    cap_m2: Numbers = 250.0 * MM2
    dipstick_m2: Numbers = 25.0 * MM2
    hose_m2: Numbers = 60.0 * MM2
    seals_lift_pa: Numbers = 9000.0
    seals_m2_per_pa: Numbers = 0.5e-9


@dataclass(frozen=True)
class Oil:
    """Sump to bearings; all pressures of the circuit are over the crankcase's.

    `kv40_cst`, `kv100_cst`: the oil's viscosity (mm2/s) without fuel; `thinned`: what is left of
    it after wear.  `fuel_share`: mass of fuel in the oil.  `bearing_m3`: laminar conductance of all
    clearances, flow = conductance x pressure / viscosity; it goes with clearance cubed.
    `jet_m2`: piston jets, tensioners: flow by density, not viscosity.  `film_k_per_krpm`: how
    much warmer than the gallery the film runs.
    """

    kv40_cst: Numbers = 64.0
    kv100_cst: Numbers = 10.9
    thinned: Numbers = 1.0
    density_15_kg_m3: Numbers = 865.0
    fuel_share: Numbers = 0.0
    level_m: Numbers = 0.090
    draw_down_m_per_krpm: Numbers = 0.010
    air_share: Numbers = 0.0
    whip_share_per_krpm: Numbers = 0.0
    """Free air beaten into the oil, volume over volume outside pressure, for each 1000 rpm."""
    seal_m2: Numbers = 0.0
    """Hole at the pick-up's seal through which the pump draws air while oil doesn't cover it."""
    pump_m3_per_rev: Numbers = 13.5e-6
    slip_m3: Numbers = 2.0e-12
    pick_up_per_m3: Numbers = 3.0e8
    """Laminar loss of the pick-up over viscosity and flow."""
    pick_up_pa_s2_m6: Numbers = 1.5e10
    """Its turbulent loss over the flow squared."""
    debris: Numbers = 0.0
    """How much debris gathers at the pick-up: factor added to its loss after minutes at speed."""
    inlet_least_pa: Numbers = 35e3
    filter_m3: Numbers = 4.0e-10
    bypass_pa: Numbers = 120e3
    bypass_m3_per_pa_s: Numbers = 1.0e-8
    relief_pa: Numbers = 430e3
    relief_m3_per_pa_s: Numbers = 8.0e-9
    relief_seep_m3: Numbers = 1.0e-13
    relief_stuck_m2: Numbers = 0.0
    low_stage_pa: Numbers = 160e3
    step_rpm: Numbers = 2700.0
    stage_works: Numbers = 1.0
    bearing_m3: Numbers = 1.05e-11
    jet_m2: Numbers = 1.2 * MM2
    leak_m2: Numbers = 0.0
    film_k_per_krpm: Numbers = 5.0
    vapour_kg_s: Numbers = 4.0e-4
    """Fuel that leaves the oil at 90 degC, for each unit of fuel share."""


@dataclass(frozen=True)
class Indication:
    """What the car's own lamp, and the technician's own instruments, make of the truth."""

    switch_pa: Numbers = 35e3
    lamp_forced: Numbers = 0.0
    """Share of the time a fault of wiring or sender lights the lamp whatever the pressure."""
    zero_pa: Numbers = 0.0
    gain: Numbers = 1.0
    speed_factor: Numbers = 1.0
    warmth_k: Numbers = 0.0


@dataclass(frozen=True)
class Engine:
    """One engine, or n variants."""

    air: Air = field(default_factory=Air)
    crankcase: Crankcase = field(default_factory=Crankcase)
    oil: Oil = field(default_factory=Oil)
    indication: Indication = field(default_factory=Indication)


def changed(engine: Engine, values: Mapping[str, Numbers]) -> Engine:
    """The same engine with these numbers changed.

    Parameters: names such as "oil.relief_pa" with a float or an array (n,).
    Raises ValueError for a name no engine has.

    Example: `changed(engine, {"oil.fuel_share": 0.05}).oil.fuel_share` is 0.05.
    """
    by_part: dict[str, dict[str, Numbers]] = {}
    for name, value in values.items():
        part, _, which = name.partition(".")
        if part not in PARTS or which not in PARTS[part]:
            raise ValueError(f'found "{name}", which is no number of an engine')
        by_part.setdefault(part, {})[which] = value
    parts = {part: replace(getattr(engine, part), **new) for part, new in by_part.items()}
    return replace(engine, **parts)


def value(engine: Engine, name: str) -> Numbers:
    """One number of an engine by its name, such as "oil.relief_pa"."""
    part, _, which = name.partition(".")
    found: Numbers = getattr(getattr(engine, part), which)
    return found


PARTS = {
    part: frozenset(one.name for one in fields(kind))
    for part, kind in (
        ("air", Air),
        ("crankcase", Crankcase),
        ("oil", Oil),
        ("indication", Indication),
    )
}
