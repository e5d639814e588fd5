"""What an oil pump delivers: displacement by its geometry, slip, efficiency, torque."""

from __future__ import annotations

import math

from gaugewright.physics.numbers import Numbers


def external_gear_displacement(outer_m: Numbers, inner_m: Numbers, width_m: Numbers) -> Numbers:
    """What does a pump of two meshing gears deliver for each turn, without loss?

    V = pi/4 (Do^2 - Di^2) L
    Parameters: `outer_m` over the teeth, `inner_m` at their root, `width_m` of the gears, in m.
    Returns m3 per revolution.
    Source: fluid-power textbooks; teeth and gaps taken as equal.

    Example: `external_gear_displacement(0.075, 0.050, 0.025)` is 6.136e-05.
    """
    return math.pi / 4.0 * (outer_m * outer_m - inner_m * inner_m) * width_m


def lobe_displacement(pocket_m3: Numbers, pockets_per_turn: Numbers) -> Numbers:
    """What does a pump deliver for each turn that carries so many equal pockets across?

    Returns m3 per revolution.
    Source: counting, as textbooks of fluid mechanics do for lobe pumps.

    Example: `lobe_displacement(0.45e-6, 4)` is 1.8e-06.
    """
    return pocket_m3 * pockets_per_turn


def chamber_displacement(
    chambers_per_turn: Numbers, width_m: Numbers, greatest_m2: Numbers, least_m2: Numbers
) -> Numbers:
    """What does a pump deliver for each turn whose chambers grow and shrink: gerotor or vane?

    V = Z b (Amax - Amin)
    Parameters: `chambers_per_turn` Z, chambers that pass the outlet in one turn of the shaft
    (a gerotor driven at its inner rotor: the teeth of that rotor); `width_m` b; areas in m2.
    Returns m3 per revolution.
    Source: from memory; no worked example was found.  The ring formula of external gear pumps,
    which some calculators use for gerotors, is not this.

    Example: `chamber_displacement(6, 0.012, 150e-6, 10e-6)` is 1.008e-05.
    """
    return chambers_per_turn * width_m * (greatest_m2 - least_m2)


def slip_flow(conductance_m3: Numbers, difference_pa: Numbers, viscosity_pas: Numbers) -> Numbers:
    """How much oil runs back through the pump's own clearances?

    Parameters: `conductance_m3`, the k of Q = k dp / mu, in m3 (about 1e-12 for a new engine
    pump); `difference_pa` from outlet to inlet, signed; `viscosity_pas` above 0.
    Returns m3/s, of the sign of the difference.
    Source: laminar flow through narrow gaps, as pump textbooks write slip; conductance is
    that of `leakage.slot_flow`, b h^3 / (12 l), summed over the gaps.

    Example: `slip_flow(1e-12, 300e3, 0.010)` is 3.0e-05.
    """
    return conductance_m3 * difference_pa / viscosity_pas


def theoretical_flow(displacement_m3: Numbers, speed_rpm: Numbers) -> Numbers:
    """What would the pump deliver without slip, in m3/s?

    Parameters: m3 per revolution of the pump; the pump's own speed.

    Example: `theoretical_flow(1.8e-6, 900.0)` is 2.7e-05.
    """
    return displacement_m3 * speed_rpm / 60.0


def delivered_flow(
    displacement_m3: Numbers,
    speed_rpm: Numbers,
    conductance_m3: Numbers,
    difference_pa: Numbers,
    viscosity_pas: Numbers,
) -> Numbers:
    """What is left for the engine, in m3/s: theory less slip?

    Negative where the pressure would drive more back than the pump brings.

    Example: `delivered_flow(10e-6, 1000.0, 1e-12, 300e3, 0.010)` is 0.00013667.
    """
    slip = slip_flow(conductance_m3, difference_pa, viscosity_pas)
    return theoretical_flow(displacement_m3, speed_rpm) - slip


def volumetric_efficiency(delivered: Numbers, theoretical: Numbers) -> Numbers:
    """Which share of its theoretical flow does the pump deliver?  Any unit, the same for both.

    Example: `volumetric_efficiency(10.0, 11.69)` is 0.855.
    """
    return delivered / theoretical


def displacement_of(flow_m3_s: Numbers, speed_rpm: Numbers) -> Numbers:
    """Which displacement, in m3 per revolution, has a pump of this theoretical flow?

    Example: `displacement_of(2.7e-5, 900.0)` is 1.8e-06.
    """
    return flow_m3_s * 60.0 / speed_rpm


def driving_torque(
    displacement_m3: Numbers, difference_pa: Numbers, mechanical_efficiency: Numbers = 1.0
) -> Numbers:
    """What torque does the pump take from its drive, in N m?

    T = V dp / (2 pi eta_m): the work of one turn over its angle.
    Parameters: m3 per revolution; Pa from inlet to outlet; `mechanical_efficiency` above 0 to 1.
    Source: energy balance of a displacement pump, any fluid-power textbook.

    Example: `driving_torque(10e-6, 400e3, 0.8)` is 0.796.
    """
    return displacement_m3 * difference_pa / (2.0 * math.pi * mechanical_efficiency)
