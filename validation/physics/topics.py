"""What is compared with what."""

from __future__ import annotations

from validation.physics import (
    air,
    bearings,
    compression,
    engines,
    gas,
    oil_flow,
    oil_lines,
    pressure_lines,
)
from validation.physics.compared import Topic

TOPICS = [
    Topic(
        "gas",
        "gas_flow.air_flow, mass_flow",
        "flux maximised over the throat's pressure along an integrated isentrope; the same on real "
        "air (CoolProp); area by the relief-valve rule API 520 (fluids)",
        gas.compare,
    ),
    Topic(
        "atmosphere",
        "atmosphere.pressure, pressure_at_altitude, height",
        "hydrostatic equation integrated; ambiance; fluids",
        air.compare,
    ),
    Topic(
        "oil",
        "oil.viscosity_line, viscosity_index, oil_properties.density, blend.blended",
        "least squares in natural logarithms and root finding on Z; a textbook's table of an "
        "engine oil; n-dodecane (CoolProp), n-hexadecane (chemicals); index by chemicals; "
        "expansion integrated; double logarithm of Z",
        oil_lines.compare,
    ),
    Topic(
        "compression",
        "cylinder, blow_by.cycle_flow, breathing.volumetric_efficiency",
        "linkage closed by root finding; energy balance integrated; real air (CoolProp); work and "
        "means as integrals",
        compression.compare,
    ),
    Topic(
        "bearings",
        "bearing_chart.film, short_bearing_sommerfeld, journal_bearing.fed_flow, petroff_torque, "
        "friction_variable",
        "Reynolds' equation on a grid with the film breaking by itself; printed tables; velocity "
        "profiles integrated; flow and shear between curved walls",
        bearings.compare,
    ),
    Topic(
        "oil flow",
        "leakage.orifice_flow, pump.slip_flow, relief_valve.flow, pick_up.greatest_flow",
        "a meter's discharge (fluids); velocity profiles of slots; a spread of small valves; root "
        "finding",
        oil_flow.compare,
    ),
    Topic(
        "hoses",
        "pressure_line.first_resonance, lumped_resonance, sound_speed",
        "the wave equation in finite elements as an eigenvalue problem; real air (CoolProp)",
        pressure_lines.compare,
    ),
    Topic(
        "engine",
        "engine.steady.solve",
        "250 random engines in six conditions each, one at a time: balances of manifold, "
        "crankcase, power and oil written anew, solved together by scipy.optimize.root; the "
        "farthest of 50 is kept",
        engines.compare,
        pinned=False,
    ),
]
"""In the order of the page that explains them."""
