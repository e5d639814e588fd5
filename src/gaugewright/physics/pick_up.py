"""The suction side: what the pick-up lets through, and how much of it is air."""

from __future__ import annotations

import math

import numpy as np

from gaugewright.physics.numbers import Numbers

TINY = 1e-300
"""Keeps nothing over nothing at nothing."""
LEAST_PA = 1.0
"""Absolute inlet pressures below this are taken as this: oil doesn't pull."""
GRAVITY = 9.80665
STANDARD_PA = 101325.0
BUNSEN_OIL = 0.09
"""m3 of air (0 degC, 1 atm) that saturates 1 m3 of mineral oil at 1 atm.  From memory; 0.07 to
0.11 are met in handbooks."""


def laminar_resistance(length_m: Numbers, diameter_m: Numbers, viscosity_pas: Numbers) -> Numbers:
    """R of R Q: what a round pick-up pipe costs by viscosity, in Pa s/m3.

    R = 128 mu l / (pi d^4)
    Source: Hagen and Poiseuille, any textbook of fluid mechanics.

    Example: `laminar_resistance(0.25, 0.014, 0.10)` is 2.65e7.
    """
    squared = diameter_m * diameter_m
    return 128.0 / math.pi * viscosity_pas * length_m / (squared * squared)


def square_resistance(loss_coefficient: Numbers, area_m2: Numbers, density: Numbers) -> Numbers:
    """K of K Q^2: what screen, bends and entry cost by density, in Pa s2/m6.

    K = zeta rho / (2 A^2)
    Source: loss coefficient on the dynamic pressure, any textbook of fluid mechanics.

    Example: `square_resistance(3.0, 1.54e-4, 850.0)` is 5.38e10.
    """
    return 0.5 * loss_coefficient * density / (area_m2 * area_m2)


def suction_loss(flow_m3_s: Numbers, linear_pa_s_m3: Numbers, square_pa_s2_m6: Numbers) -> Numbers:
    """What pressure does the flow lose between sump and pump, in Pa: R Q + K Q |Q|?

    Example: `suction_loss(0.0005, 2e7, 4e10)` is 20000.0.
    """
    return flow_m3_s * (linear_pa_s_m3 + square_pa_s2_m6 * np.abs(flow_m3_s))


def oil_column(height_m: Numbers, density: Numbers) -> Numbers:
    """What pressure does oil of this height make, in Pa: rho g h?

    Example: `oil_column(0.30, 850.0)` is 2500.7.
    """
    return density * GRAVITY * height_m


def inlet_pressure(
    crankcase_pa: Numbers, oil_over_inlet_m: Numbers, density: Numbers, loss_pa: Numbers
) -> Numbers:
    """What absolute pressure does the pump's inlet see?

    Parameters: `crankcase_pa` absolute; `oil_over_inlet_m` level of the oil over the pump's
    inlet, negative where the pump lies above the oil; `loss_pa` from `suction_loss`.
    Returns Pa absolute; a result near or below 0 says that the flow can't be had.

    Example: `inlet_pressure(100e3, -0.10, 850.0, 20e3)` is 79166.
    """
    return crankcase_pa + oil_column(oil_over_inlet_m, density) - loss_pa


def greatest_flow(head_pa: Numbers, linear_pa_s_m3: Numbers, square_pa_s2_m6: Numbers) -> Numbers:
    """What is the most the suction side can pass with this head?

    The positive root of R Q + K Q^2 = head; 0 where there is no head.
    Parameters: `head_pa` available between sump and pump inlet; `linear_pa_s_m3` R (laminar)
    and `square_pa_s2_m6` K (turbulent), 0 and more, not both 0 with a head.
    Returns m3/s.
    Source: loss as the sum of a laminar and a turbulent part, any hydraulics textbook.

    Example: `greatest_flow(80e3, 2e7, 4e10)` is 0.001186.
    """
    head = np.maximum(head_pa, 0.0)
    root = np.sqrt(linear_pa_s_m3 * linear_pa_s_m3 + 4.0 * square_pa_s2_m6 * head)
    return 2.0 * head / (linear_pa_s_m3 + root + TINY)


def limited(wanted: Numbers, greatest: Numbers, sharpness: int = 20) -> Numbers:
    """What flows where one amount is wanted and no more than another can come?

    wanted (1 + (wanted/greatest)^p)^(-1/p): the smaller of the two with a rounded corner, at
    most 3.4 % below it for p = 20 (where both are equal).
    Parameters: `wanted` and `greatest`, 0 and more, same unit; `sharpness` p, 1 and more.
    Returns the same unit.  Source: our own smooth minimum.

    Example: `limited(1.0, 1.0)` is 0.9659.
    """
    less, more = np.minimum(wanted, greatest), np.maximum(wanted, greatest)
    ratio = _raised(less / (more + TINY), sharpness)
    return less * np.exp(np.log(1.0 + ratio) * (-1.0 / sharpness))


def _raised(base: Numbers, exponent: int) -> Numbers:
    """A whole power by repeated squaring, several times as fast as NumPy's general one."""
    if exponent == 1:
        return base
    half = _raised(base, exponent // 2)
    return half * half * base if exponent % 2 else half * half


def filled_share(air_share: Numbers, inlet_pa: Numbers, reference_pa: Numbers) -> Numbers:
    """Which part of the pump's chambers is filled with oil when the oil carries free air?

    1 / (1 + x p0/p): the air, x times the oil's volume at p0, has swollen to x p0/p at the inlet.
    Parameters: `air_share` x, free air over oil by volume at `reference_pa` (absolute);
    `inlet_pa`, absolute, taken as 1 Pa below that.
    Returns 0 to 1.  Source: isothermal ideal gas.

    Example: `filled_share(0.10, 80e3, 101325.0)` is 0.8876.
    """
    inlet = np.maximum(inlet_pa, LEAST_PA)
    return inlet / (inlet + air_share * reference_pa)


def dissolved_air(pressure_pa: Numbers, bunsen: Numbers = BUNSEN_OIL) -> Numbers:
    """How much air does oil hold dissolved at this absolute pressure?

    Returns m3 of air at 0 degC and 1 atm for each m3 of oil, at saturation: alpha p / 1 atm.
    Source: Henry's law with the Bunsen coefficient (`BUNSEN_OIL`, from memory).

    Example: `dissolved_air(101325.0)` is 0.09.
    """
    return bunsen * pressure_pa / STANDARD_PA


def free_air(
    entrained_share: Numbers,
    inlet_pa: Numbers,
    saturated_pa: Numbers,
    released: Numbers = 1.0,
    bunsen: Numbers = BUNSEN_OIL,
) -> Numbers:
    """How much free air does the oil carry at the pump's inlet, measured at 1 atm?

    x = x0 + r (air dissolved at the saturation pressure less that dissolved at the inlet)
    Parameters: `entrained_share` x0, bubbles over oil by volume at 1 atm; `inlet_pa` absolute;
    `saturated_pa` under which the oil has stood (the crankcase, absolute); `released` r, the
    part that comes out in the time there is, 0 to 1.
    Returns the share for `filled_share` with a reference of 1 atm.
    Source: Henry's law; temperature's part in the air's volume is left out.

    Example: `free_air(0.02, 50662.5, 101325.0)` is 0.065.
    """
    out = dissolved_air(np.maximum(saturated_pa - np.maximum(inlet_pa, 0.0), 0.0), bunsen)
    return entrained_share + released * out


def onset_pressure(
    filled: Numbers,
    entrained_share: Numbers,
    saturated_pa: Numbers,
    released: Numbers = 1.0,
    bunsen: Numbers = BUNSEN_OIL,
) -> Numbers:
    """Below which absolute inlet pressure does air keep the pump from being filled this far?

    The pressure at which `filled_share` of `free_air` is just `filled`:
    p = (x0 p0 + r alpha ps) / ((1 - f)/f + r alpha); where that lies above the saturation
    pressure nothing has come out yet and p = x0 p0 f / (1 - f).
    Parameters: `filled` f, above 0 and below 1; the others as `free_air`.
    Returns Pa absolute.

    Example: `onset_pressure(0.95, 0.0, 101325.0)` is 63936.
    """
    empty = (1.0 - filled) / filled
    gas = released * bunsen
    with_release = (entrained_share * STANDARD_PA + gas * saturated_pa) / (empty + gas)
    without = entrained_share * STANDARD_PA / empty
    return np.where(with_release < saturated_pa, with_release, without)


def onset_flow(
    onset_pa: Numbers,
    crankcase_pa: Numbers,
    column_pa: Numbers,
    linear_pa_s_m3: Numbers,
    square_pa_s2_m6: Numbers,
) -> Numbers:
    """From which flow on, in m3/s, is the inlet below the onset of aeration?

    Parameters: `onset_pa` from `onset_pressure`, `crankcase_pa`, both absolute; `column_pa` of
    the oil over the inlet (`oil_column`), signed; R and K of the suction side.

    Example: `onset_flow(63936.0, 101325.0, -800.0, 2e7, 4e10)` is 0.000739.
    """
    head = crankcase_pa + column_pa - onset_pa
    return greatest_flow(head, linear_pa_s_m3, square_pa_s2_m6)
