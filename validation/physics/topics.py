"""What is compared with what."""

from __future__ import annotations

from validation.physics import air, compression, gas, oil_lines
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
]
"""In the order of the page that explains them."""
