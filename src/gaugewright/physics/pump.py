"""What an oil pump delivers: displacement by its geometry, slip, efficiency, torque."""

from __future__ import annotations

from gaugewright.physics.numbers import Numbers


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
