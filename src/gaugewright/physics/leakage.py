"""Oil through gaps and holes: slot and annulus by viscosity, orifice by density."""

from __future__ import annotations

import math

import numpy as np

from gaugewright.physics.numbers import Numbers

LAMINAR_PA = 200.0
"""Below about this difference an orifice's flow goes over from the root of the difference to
the difference itself, so that its slope is finite at zero (our own, for the solver)."""
SHARP_EDGE = math.pi / (math.pi + 2.0)
"""Discharge coefficient of a sharp-edged slot, 0.611.  Source: free-streamline theory; measured
on round holes 0.60 to 0.62."""
LAMINAR_REYNOLDS = 1000.0
"""Flow in a gap is surely laminar below about this (from memory; the onset is near 1400)."""


def slot_conductance(width_m: Numbers, gap_m: Numbers, length_m: Numbers) -> Numbers:
    """How easily does a thin slot between two plates let oil through?

    k = b h^3 / (12 l), of Q = k dp / mu.
    Parameters: `width_m` b across the flow, `gap_m` h, far less than b and l, `length_m` l
    along the flow.
    Returns m3.
    Source: plane Poiseuille flow, any textbook of fluid mechanics.

    Example: `slot_conductance(0.010, 50e-6, 0.005)` is 2.083e-14.
    """
    return width_m * gap_m * gap_m * gap_m / (12.0 * length_m)


def slot_flow(
    width_m: Numbers,
    gap_m: Numbers,
    length_m: Numbers,
    difference_pa: Numbers,
    viscosity_pas: Numbers,
) -> Numbers:
    """How much oil leaks through a thin slot, in m3/s, of the sign of the difference?

    Source: as `slot_conductance`; laminar, so while `slot_reynolds` stays below about 1000.

    Example: `slot_flow(0.010, 50e-6, 0.005, 300e3, 0.010)` is 6.25e-07.
    """
    return slot_conductance(width_m, gap_m, length_m) * difference_pa / viscosity_pas


def slot_reynolds(
    flow_m3_s: Numbers, width_m: Numbers, density: Numbers, viscosity_pas: Numbers
) -> Numbers:
    """The Reynolds number of a slot's flow on twice its gap: 2 rho Q / (b mu).

    Example: `slot_reynolds(6.25e-7, 0.010, 850.0, 0.010)` is 10.6.
    """
    return 2.0 * density * flow_m3_s / (width_m * viscosity_pas)


def annulus_conductance(
    radius_m: Numbers, clearance_m: Numbers, length_m: Numbers, eccentricity: Numbers = 0.0
) -> Numbers:
    """How easily does the gap round a shaft or a piston let oil through along it?

    k = 2 pi r c^3 / (12 l) (1 + 1.5 e^2): the slot, unrolled.
    Parameters: `clearance_m` c radial; `eccentricity` e, 0 centred to 1 touching.
    Returns m3.
    Source: textbooks of fluid mechanics (factor for eccentricity from memory; exact for c far
    below r).

    Example: `annulus_conductance(0.004, 30e-6, 0.010, 1.0)` is 1.414e-14.
    """
    centred = slot_conductance(2.0 * math.pi * radius_m, clearance_m, length_m)
    return centred * (1.0 + 1.5 * eccentricity * eccentricity)


def wear_factor(gap_ratio: Numbers) -> Numbers:
    """How many times as much leaks through a gap so many times as wide?

    The cube: half as wide again leaks 3.375 times.
    Source: laminar flow through a slot.

    Example: `wear_factor(1.5)` is 3.375.
    """
    return gap_ratio * gap_ratio * gap_ratio


def effective_area(diameter_m: Numbers, discharge: Numbers = SHARP_EDGE) -> Numbers:
    """A round hole's area times its discharge coefficient, in m2.

    Example: `effective_area(0.001)` is 4.799e-07.
    """
    return discharge * math.pi / 4.0 * diameter_m * diameter_m


def orifice_flow(area_m2: Numbers, difference_pa: Numbers, density: Numbers) -> Numbers:
    """How much oil passes a sharp hole or jet?

    Q = A dp sqrt(2/rho) / (dp^2 + d0^2)^(1/4), d0 = `LAMINAR_PA`: the orifice equation
    Q = A sqrt(2 dp / rho) within 0.1 % from 3.2 kPa on, proportional to dp far below d0.
    Parameters: `area_m2`, effective: discharge coefficient times area; `difference_pa`,
    signed; `density` in kg/m3.
    Returns m3/s, of the sign of the difference.
    Source: Bernoulli with a discharge coefficient; the rounding near zero is our own.

    Example: `orifice_flow(1e-6, 300e3, 850.0)` is 2.657e-05.
    """
    softened = np.sqrt(np.sqrt(difference_pa * difference_pa + LAMINAR_PA * LAMINAR_PA))
    return area_m2 * np.sqrt(2.0 / density) * difference_pa / softened
