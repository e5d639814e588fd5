"""What a hose does to a pressure on its way to the sensor: it comes late, and it rings.

A hose open at the engine and closed by the sensor is a quarter-wave pipe; with a cavity, a
bubble or a soft diaphragm at its end it is a mass on a spring.  `first_resonance` covers both
and what lies between.  Sources: the plane wave in a tube and the second-order model of a
fluid-filled measuring line, as in textbooks of measurement (Medical Instrumentation, ch. 7;
Applied Biofluid Mechanics, ch. 8).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaugewright.physics.gas_flow import AIR_GAMMA, AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Floats, Numbers

GRAVITY = 9.80665
"""m/s2, standard gravity.  Source: SI Brochure."""
OIL_BULK_PA = 1.5e9
"""Pa: bulk modulus of mineral oil without air, warm.  From memory, 1.2 to 1.8 GPa."""
AIR_VISCOSITY_PAS = 1.813e-5
"""Pa s: air at 20 degC.  Source: ISO 2533's 1.7894e-5 at 15 degC, by its Sutherland formula."""


def sound_speed(
    temperature_k: Numbers, gamma: float = AIR_GAMMA, gas_constant: float = AIR_GAS_CONSTANT
) -> Numbers:
    """The speed of sound, in m/s, in an ideal gas: sqrt(gamma R T).

    Example: `sound_speed(288.15)` is 340.294.
    """
    return np.sqrt(np.multiply(gamma * gas_constant, temperature_k))


def liquid_wave_speed(
    density: Numbers,
    bulk_pa: Numbers = OIL_BULK_PA,
    bore_m: Numbers = 0.0,
    wall_m: Numbers = 1.0,
    wall_modulus_pa: Numbers = np.inf,
) -> Numbers:
    """The speed, in m/s, of a pressure wave in a liquid-filled hose whose wall gives way.

    Parameters: `bulk_pa` of the liquid, from `bulk_with_gas` where it holds free gas;
    `wall_modulus_pa` of the wall's material, infinite for a rigid one.
    Source: Korteweg's formula for a thin wall, c**2 = 1 / (rho (1/K + D/(E s))).

    Example: `liquid_wave_speed(870.0)` is 1313.
    """
    softness = 1.0 / np.asarray(bulk_pa) + np.divide(bore_m, np.multiply(wall_modulus_pa, wall_m))
    return np.sqrt(1.0 / (density * softness))


def bulk_with_gas(
    gas_share: Numbers, pressure_pa: Numbers, bulk_pa: Numbers = OIL_BULK_PA, exponent: float = 1.0
) -> Numbers:
    """The bulk modulus, in Pa, of a liquid with fine bubbles of gas.

    Parameters: `gas_share` by volume at the absolute pressure; `exponent` 1 for small slow
    bubbles (isothermal), gamma for large fast ones.
    Source: Wood's mixture, 1/K = (1 - x)/K_liquid + x/(n p).

    Example: `bulk_with_gas(0.01, 200e3)` is 1.97e7, a seventy-sixth of the liquid's own.
    """
    gas = gas_share / (exponent * np.asarray(pressure_pa))
    return 1.0 / (gas + np.subtract(1.0, gas_share) / bulk_pa)


def delay(length_m: Numbers, wave_speed: Numbers) -> Numbers:
    """How much later, in s, does a change arrive at the far end?

    Example: `delay(1.0, sound_speed(293.15))` is 0.00291.
    """
    return np.divide(length_m, wave_speed)


def quarter_wave(length_m: Numbers, wave_speed: Numbers) -> Numbers:
    """The first resonance, in Hz, of a line open at one end and closed at the other: c/(4 l).

    Example: `quarter_wave(1.0, sound_speed(293.15))` is 85.8.
    """
    return 0.25 * np.divide(wave_speed, length_m)


def bore_area(bore_m: Numbers) -> Numbers:
    """The cross-section of a round bore in m2."""
    return 0.25 * np.pi * np.square(bore_m)


def inertance(length_m: Numbers, bore_m: Numbers, density: Numbers) -> Numbers:
    """The mass of the filling as pressure feels it, in Pa s2/m3: rho l / A."""
    return density * np.divide(length_m, bore_area(bore_m))


def resistance(length_m: Numbers, bore_m: Numbers, viscosity_pas: Numbers) -> Numbers:
    """The laminar resistance in Pa s/m3: 128 mu l / (pi d**4), steady flow."""
    return 128.0 / np.pi * viscosity_pas * length_m / np.square(np.square(bore_m))


def gas_compliance(
    volume_m3: Numbers, pressure_pa: Numbers, exponent: float = AIR_GAMMA
) -> Numbers:
    """How much a pocket of gas yields, in m3/Pa: V / (n p).

    Parameters: `pressure_pa` absolute; `exponent` gamma for a pocket that has no time to
    exchange heat, 1 for a small or slow one.
    """
    return np.divide(volume_m3, exponent * np.asarray(pressure_pa))


def line_compliance(
    length_m: Numbers, bore_m: Numbers, density: Numbers, wave_speed: Numbers
) -> Numbers:
    """How much the line's own filling and wall yield, in m3/Pa: A l / (rho c**2)."""
    return bore_area(bore_m) * length_m / (density * np.square(wave_speed))


def lumped_resonance(inertance: Numbers, compliance: Numbers) -> Numbers:
    """The resonance, in Hz, of one mass on one spring: 1 / (2 pi sqrt(L C)).

    Good while the end yields more than the line itself.

    Example: with `inertance(1.0, 0.004, 870.0)` and `gas_compliance(1e-7, 200e3)` it is 32.0.
    """
    return 0.5 / np.pi / np.sqrt(inertance * np.asarray(compliance))


def first_resonance(
    length_m: Numbers, wave_speed: Numbers, line_yields: Numbers, end_yields: Numbers
) -> Numbers:
    """The first resonance, in Hz, of a line with something soft at its end.

    Parameters: `line_yields` from `line_compliance`, `end_yields` from `gas_compliance` or the
    sensor's own, both in m3/Pa.
    Returns the quarter wave for a hard end, the lumped resonance for a very soft one.
    Source: plane wave in a tube, x tan x = C_line / C_end with x = 2 pi f l / c.
    """
    share = np.asarray(line_yields / np.add(line_yields, end_yields), dtype=np.float64)
    return _standing_phase(share) * wave_speed / (2.0 * np.pi * np.asarray(length_m))


def _standing_phase(share: Floats) -> Floats:
    """The x in (0, pi/2] with (1 - share) x sin x = share cos x, by bisection."""
    low, high = np.zeros_like(share), np.full_like(share, 0.5 * np.pi)
    for _ in range(52):
        middle = 0.5 * (low + high)
        short = (1.0 - share) * middle * np.sin(middle) < share * np.cos(middle)
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return 0.5 * (low + high)


def damping_ratio(resistance: Numbers, inertance: Numbers, compliance: Numbers) -> Numbers:
    """The damping ratio of the lumped line: 1 creeps without overshoot, 0.1 rings long.

    Source: zeta = (R/2) sqrt(C/L), Applied Biofluid Mechanics, eq. 8.33.  With the laminar
    resistance it is too low where `shear_number` exceeds 6: about by the factor s / 5.7.
    """
    return 0.5 * resistance * np.sqrt(np.divide(compliance, inertance))


def shear_number(
    bore_m: Numbers, frequency_hz: Numbers, kinematic_viscosity_m2_s: Numbers
) -> Numbers:
    """The shear wave number s = r sqrt(omega/nu): above 6 the flow oscillates as a plug.

    Source: oscillating pipe flow; for large s its resistance is s/(4 sqrt 2) times the steady.

    Example: `shear_number(0.004, 32.0, 1e-5)` is 8.97.
    """
    omega = 2.0 * np.pi * np.asarray(frequency_hz)
    return 0.5 * bore_m * np.sqrt(omega / kinematic_viscosity_m2_s)


def response(
    frequency_hz: Numbers, resonance_hz: Numbers, damping: Numbers
) -> npt.NDArray[np.complex128]:
    """What the far end shows of an oscillation: a complex gain, its angle the phase.

    Source: second-order system, 1 / (1 - u**2 + 2 j zeta u) with u = f/f0.

    Example: `abs(response(32.0, 32.0, 0.1))` is 5.0.
    """
    share = np.asarray(np.divide(frequency_hz, resonance_hz), dtype=np.complex128)
    gain: npt.NDArray[np.complex128] = 1.0 / (1.0 - share**2 + 2j * damping * share)
    return gain


def filling_time(resistance: Numbers, compliance: Numbers) -> Numbers:
    """The time constant, in s, of a snubber or thin line filling what lies behind it: R C."""
    return resistance * np.asarray(compliance)


def standing_column(height_m: Numbers, density: Numbers) -> Numbers:
    """What a column of liquid standing in a hose adds, in Pa: rho g h.

    Example: `standing_column(0.3, 870.0)` is 2560.
    """
    return GRAVITY * np.multiply(height_m, density)
