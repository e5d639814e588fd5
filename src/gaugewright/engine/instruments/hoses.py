"""What a hose and a snubber between tap and sensor do to a pressure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.engine.instruments.sensors import lagged
from gaugewright.physics import pressure_line as line
from gaugewright.physics.gas_flow import AIR_GAMMA, AIR_GAS_CONSTANT
from gaugewright.physics.numbers import Floats

ROOM_K = 293.15
OIL_IN_HOSE = 870.0
"""kg/m3 of oil in a hose at room temperature; from memory."""
OIL_IN_HOSE_PAS = 0.15
"""Pa s of the same: a multigrade oil at room temperature; from memory."""
PLUG_FLOW = 4.0 * 2.0**0.5
"""By this much of its shear number oscillating flow resists more than steady flow."""


@dataclass(frozen=True)
class Hose:
    """A hose as its sensor feels it: a delay, then a mass on a spring.

    `delay_s`: the time sound takes through it; `natural_hz`: where it rings; `damping`: as a
    share of critical; below 1 it rings, at 1 and above it only drags.
    """

    delay_s: float
    natural_hz: float
    damping: float


def air_hose(
    length_m: float, bore_m: float, end_m3: float = 0.5e-6, pressure_pa: float = 101325.0
) -> Hose:
    """A hose full of air with a sensor's small volume at its end.

    Parameters: inside measures; the volume behind the hose; absolute pressure in it.

    Example: `air_hose(1.0, 0.004).delay_s` is 0.0029.
    """
    speed = float(line.sound_speed(ROOM_K))
    density = pressure_pa / (AIR_GAS_CONSTANT * ROOM_K)
    end = float(line.gas_compliance(end_m3, pressure_pa, AIR_GAMMA))
    return _hose(length_m, bore_m, density, speed, line.AIR_VISCOSITY_PAS, end)


def oil_hose(length_m: float, bore_m: float, bubble_m3: float, pressure_pa: float) -> Hose:
    """A hose full of oil with a bubble of air at its end.

    Parameters: inside measures; the bubble's volume at this absolute pressure.

    Example: `oil_hose(1.0, 0.004, 1e-7, 200e3).natural_hz` is 32 within 1 Hz: close to firing.
    """
    speed = float(line.liquid_wave_speed(OIL_IN_HOSE))
    bubble = float(line.gas_compliance(bubble_m3, pressure_pa))
    return _hose(length_m, bore_m, OIL_IN_HOSE, speed, OIL_IN_HOSE_PAS, bubble)


def _hose(
    length_m: float, bore_m: float, density: float, speed: float, viscosity: float, end: float
) -> Hose:
    own = line.line_compliance(length_m, bore_m, density, speed)
    natural = float(line.first_resonance(length_m, speed, own, end))
    mass = line.inertance(length_m, bore_m, density)
    plug = float(line.shear_number(bore_m, natural, viscosity / density)) / PLUG_FLOW
    resists = line.resistance(length_m, bore_m, viscosity) * max(1.0, plug)
    damping = float(line.damping_ratio(resists, mass, end + own))
    return Hose(float(line.delay(length_m, speed)), natural, damping)


def through(values: Floats, interval_s: float, hose: Hose | None) -> Floats:
    """A pressure (n,) at the far end of a hose; None: no hose.

    The ringing follows x'' + 2 z w x' + w2 x = w2 p, solved exactly for what is straight
    between samples; it starts settled at the first value.
    """
    if hose is None or not len(values):
        return values
    from scipy.signal import cont2discrete, lfilter, lfilter_zi

    pushed = 2.0 * np.pi * hose.natural_hz
    spring = (np.array([pushed**2]), np.array([1.0, 2.0 * hose.damping * pushed, pushed**2]))
    sampled = cont2discrete(spring, interval_s, method="foh")
    taps, under = np.ravel(sampled[0]), np.ravel(sampled[1])
    rung, _ = lfilter(taps, under, values, zi=lfilter_zi(taps, under) * values[0])
    return delayed(np.asarray(rung, dtype=np.float64), interval_s, hose.delay_s)


def delayed(values: Floats, interval_s: float, delay_s: float) -> Floats:
    """Values (n,) this much later; before the first arrives it is taken as held."""
    if delay_s <= 0.0:
        return values
    rows = np.arange(len(values), dtype=np.float64)
    return np.asarray(np.interp(rows - delay_s / interval_s, rows, values), dtype=np.float64)


def snubbed(values: Floats, interval_s: float, settles_s: float) -> Floats:
    """A pressure (n,) behind a snubber: a narrow way into a small volume, first order."""
    return lagged(values, interval_s, settles_s)
