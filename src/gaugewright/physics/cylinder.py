"""The cylinder: where the piston is, how hard the gas is pressed, and what work comes of it.

Angles are degrees of crank from top dead centre; pressures absolute unless told.
Source: the formulas stand in every textbook of engines (Internal Combustion Engine
Fundamentals, ch. 2 and 5, from memory).  The gas is ideal, its exponent one number, its
combustion at constant volume: peaks come out higher than a real engine's, means nearly right.
"""

from __future__ import annotations

import numpy as np

from gaugewright.physics.numbers import Floats, Numbers

COMPRESSION_EXPONENT = 1.3
"""Polytropic exponent of compression and expansion.  Source: 1.25 to 1.35 on public pages for
cranking pressure, one says 1.20; common practice."""
ROD_RATIO = 3.3
"""Rod over crank radius of a passenger-car engine.  Common practice, 3 to 4."""
EFFECTIVE_SHARE = 0.85
"""Share of the printed compression ratio left by the intake valve's late closing.  Common
practice, 0.8 to 0.9."""
RUNNING_EXPONENT = 1.275
"""Polytropic exponent of running compression.  Common practice, 1.25 to 1.3."""
FRICTION_TERMS_PA = (0.97e5, 0.15e5, 0.05e5)
"""Pa; Pa per 1000 rpm; Pa per (1000 rpm)2: friction of motored four-cylinder engines of 0.85 to
2 litres at wide throttle, auxiliaries and pumping of the open throttle included.  Source: the
three-term correlation in Internal Combustion Engine Fundamentals, ch. 13, from memory.  Engines
of today rub about a third less: scale it."""
QUADRATURE = 180
"""Points over one stroke in `compression_mean`; the mean is right to 1e-9."""


def piston_travel(angle_deg: Numbers, crank_m: Numbers, rod_m: Numbers) -> Numbers:
    """How far, in m, has the piston come down from top dead centre?

    Parameters: `crank_m` the crank's radius, half the stroke; `rod_m` longer than that.
    Source: slider-crank geometry, l + a - (a cos th + sqrt(l**2 - a**2 sin(th)**2)).

    Example: `piston_travel(90.0, 0.043, 0.143)` is 0.0496182.
    """
    angle = np.radians(angle_deg)
    across = crank_m * np.sin(angle)
    reach = crank_m * np.cos(angle) + np.sqrt(np.square(rod_m) - np.square(across))
    travel: Numbers = rod_m + crank_m - reach
    return travel


def volume_ratio(
    angle_deg: Numbers, compression_ratio: Numbers, rod_ratio: Numbers = ROD_RATIO
) -> Numbers:
    """The volume over the clearance volume, V/Vc: 1 at top, the compression ratio at bottom.

    Parameters: `rod_ratio` R = rod over crank radius.
    Source: Internal Combustion Engine Fundamentals, eq. 2.6, from memory.

    Example: `volume_ratio(90.0, 10.0, 143.0 / 43.0)` is 6.1926.
    """
    angle = np.radians(angle_deg)
    root = np.sqrt(np.square(rod_ratio) - np.square(np.sin(angle)))
    travel: Numbers = rod_ratio + 1.0 - np.cos(angle) - root
    return 1.0 + 0.5 * (compression_ratio - 1.0) * travel


def swept_volume(bore_m: Numbers, stroke_m: Numbers, cylinders: int = 1) -> Numbers:
    """The displacement in m3.

    Example: `swept_volume(0.1016, 0.1016, 6)` is 4.9422e-3.
    """
    return cylinders * 0.25 * np.pi * np.square(bore_m) * stroke_m


def clearance_volume(swept_m3: Numbers, compression_ratio: Numbers) -> Numbers:
    """The volume left at top dead centre, in m3: Vd/(rc - 1)."""
    return swept_m3 / (compression_ratio - 1.0)


def compression_ratio(swept_m3: Numbers, clearance_m3: Numbers) -> Numbers:
    """The geometric ratio 1 + Vd/Vc.

    Example: `compression_ratio(40856.4e-6, 9225e-6)` is 5.43.
    """
    return 1.0 + swept_m3 / clearance_m3


def mean_piston_speed(stroke_m: Numbers, speed_rpm: Numbers) -> Numbers:
    """The piston's mean speed in m/s: two strokes each revolution.

    Example: `mean_piston_speed(0.086, 3600.0)` is 10.32.
    """
    return stroke_m * speed_rpm / 30.0


def polytropic_pressure(
    pressure_pa: Numbers, ratio: Numbers, exponent: Numbers = COMPRESSION_EXPONENT
) -> Numbers:
    """The absolute pressure, in Pa, after compression by a ratio of volumes: p r**n.

    Example: `polytropic_pressure(101325.0, 10.0)` is 2021.7e3.
    """
    return pressure_pa * np.power(ratio, exponent)


def running_compression(
    manifold_pa: Numbers,
    compression_ratio: Numbers,
    effective_share: Numbers = EFFECTIVE_SHARE,
    exponent: Numbers = RUNNING_EXPONENT,
) -> Numbers:
    """The absolute peak, in Pa, of a cylinder that runs along without firing.

    Parameters: `compression_ratio` the printed one; `manifold_pa` at idle for the test at idle.
    Source: `polytropic_pressure` with `EFFECTIVE_SHARE` and `RUNNING_EXPONENT`.

    Example: `running_compression(35e3, 10.0)` is 536e3.
    """
    return polytropic_pressure(manifold_pa, effective_share * compression_ratio, exponent)


def otto_efficiency(compression_ratio: Numbers, gamma: Numbers = 1.4) -> Numbers:
    """The air-standard efficiency 1 - rc**(1 - g); a petrol engine reaches half of it or more.

    Example: `otto_efficiency(8.0)` is 0.5647.
    """
    return 1.0 - np.power(compression_ratio, np.subtract(1.0, gamma))


def mean_effective_pressure(torque_nm: Numbers, swept_m3: Numbers, strokes: int = 4) -> Numbers:
    """The mean effective pressure, in Pa, of a torque: its work in one cycle over the displacement.

    Parameters: `swept_m3` of the whole engine; `strokes` 4 or 2.

    Example: `mean_effective_pressure(250.0, 2.2017e-3)` is 1.4269e6.
    """
    return torque_nm * (np.pi * strokes) / swept_m3


def torque(mep_pa: Numbers, swept_m3: Numbers, strokes: int = 4) -> Numbers:
    """The torque in N m of a mean effective pressure: the inverse of `mean_effective_pressure`."""
    return mep_pa * swept_m3 / (np.pi * strokes)


def indicated_mep(
    fuel_kg_s: Numbers,
    heating_j_kg: Numbers,
    efficiency: Numbers,
    swept_m3: Numbers,
    speed_rpm: Numbers,
    strokes: int = 4,
) -> Numbers:
    """The gross indicated mean effective pressure, in Pa, of fuel burnt at an efficiency.

    Parameters: `heating_j_kg` the lower heating value; `efficiency` the gross indicated one,
    from `otto_efficiency` times what the real cycle keeps of it.
    Source: work of a cycle = efficiency x heat of a cycle.
    """
    cycles_per_s = speed_rpm / (30.0 * strokes)
    return efficiency * fuel_kg_s * heating_j_kg / (cycles_per_s * swept_m3)


def pumping_mep(exhaust_pa: Numbers, manifold_pa: Numbers) -> Numbers:
    """The mean effective pressure, in Pa, that gas exchange costs a four-stroke.

    Source: the ideal throttled cycle, p_exhaust - p_manifold; valves and ports add to it.
    """
    return np.subtract(exhaust_pa, manifold_pa)


def friction_mep(speed_rpm: Numbers, scale: Numbers = 1.0) -> Numbers:
    """The friction mean effective pressure, in Pa, of a warm engine at a speed.

    Source: `FRICTION_TERMS_PA`; 800 to 6000 rpm.

    Example: `friction_mep(2000.0)` is 147e3.
    """
    constant, linear, square = FRICTION_TERMS_PA
    thousands = np.multiply(speed_rpm, 1e-3)
    return scale * (constant + thousands * (linear + square * thousands))


def brake_mep(indicated_pa: Numbers, pumping_pa: Numbers, friction_pa: Numbers) -> Numbers:
    """What is left at the crankshaft, in Pa: gross indicated less pumping less friction.

    Do not subtract pumping twice: `friction_mep` holds that of the open throttle.
    """
    return indicated_pa - pumping_pa - friction_pa


def pressure_rise_ratio(
    indicated_pa: Numbers,
    manifold_pa: Numbers,
    compression_ratio: Numbers,
    exponent: float = COMPRESSION_EXPONENT,
) -> Numbers:
    """By what factor combustion at top dead centre raises the pressure to give this gross work.

    Source: closed work of two polytropes, p1 V1 (rc**(n-1) - 1) (alpha - 1)/(n - 1), solved for
    alpha.  1 is a cylinder that does not fire.
    """
    power = np.power(compression_ratio, exponent - 1.0) - 1.0
    share = (compression_ratio - 1.0) / compression_ratio
    return 1.0 + indicated_pa * share * (exponent - 1.0) / (manifold_pa * power)


def compression_mean(
    compression_ratio: Numbers,
    exponent: float = COMPRESSION_EXPONENT,
    rod_ratio: float = ROD_RATIO,
) -> Numbers:
    """The mean over the compression stroke, by angle, of the pressure over that at its start.

    Returns the factor by which the mean exceeds the manifold; depends on geometry alone, so
    compute it once for each engine.

    Example: `compression_mean(10.0)` is 4.598.
    """
    angles: Floats = (np.arange(QUADRATURE, dtype=np.float64) + 0.5) * (180.0 / QUADRATURE)
    ratio = np.asarray(compression_ratio, dtype=np.float64)[..., np.newaxis]
    squeezed: Floats = (ratio / volume_ratio(angles, ratio, rod_ratio)) ** exponent
    mean: Numbers = squeezed.mean(axis=-1)
    return mean


def mean_pressure(
    manifold_pa: Numbers, exhaust_pa: Numbers, rise_ratio: Numbers, compression_mean: Numbers
) -> Numbers:
    """The mean absolute pressure, in Pa, in a four-stroke cylinder over its 720 degrees.

    Parameters: `rise_ratio` from `pressure_rise_ratio`; `compression_mean` the factor of that
    name.
    Source: own arithmetic: intake at the manifold's pressure, two polytropes, exhaust.
    """
    strokes = manifold_pa * (1.0 + compression_mean * (1.0 + rise_ratio)) + exhaust_pa
    return 0.25 * strokes
