"""Blow-by: the gas that passes the rings into the crankcase.

All rings together are one effective hole in each cylinder.  `flow` takes it between the mean
pressure of the cycle and the crankcase: two numbers.  `cycle_flow` takes it through the whole
cycle, with the crankcase blowing back while the piston draws; `ideal_cycle_flow` is that of the
ideal cycle, nearly as quick as `flow`.  The first passes about twice as much through the same
hole at idle and an eighth more at full load, so an area belongs to the form it was found with.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.physics.cylinder import COMPRESSION_EXPONENT, ROD_RATIO, volume_ratio
from gaugewright.physics.gas_flow import AIR_GAS_CONSTANT, air_flow, flow_function
from gaugewright.physics.numbers import Floats, Numbers

REFERENCE_PA = 101325.0
REFERENCE_K = 293.15
"""At these a litre of blow-by is counted here: 101.325 kPa and 20 degC, dry air."""
RING_GAS_K = 450.0
"""Temperature of the gas in the ring pack, near that of the wall it is squeezed against.
Judgement; the flow goes with its root."""
SOUND_IDLE_L_MIN = (2.0, 3.0)
"""Litres a minute of a sound two-litre engine at warm idle.  Common practice, no source."""
SOUND_SHARE = (0.005, 0.02)
"""Blow-by over the gas drawn in, of sound rings.  Source: a public encyclopaedia, "0.5 to 2 %"."""
_STARTS = np.geomspace(0.02, 50.0, 600)
"""Pressures at a stroke's start over the crankcase's, of which a `StrokeTable` knows the mean."""
_LITRES_M3 = 60e3
"""Litres a minute in one m3/s."""


def flow(
    area_m2: Numbers,
    mean_cylinder_pa: Numbers,
    crankcase_pa: Numbers,
    temperature_k: Numbers = RING_GAS_K,
) -> Numbers:
    """How much gas passes the rings, in kg/s, between mean cylinder pressure and crankcase?

    Parameters: `area_m2` effective, of all cylinders together; `mean_cylinder_pa` from
    `cylinder.mean_pressure`; both pressures absolute.
    Returns kg/s, negative when the crankcase blows into the cylinders.
    Source: `gas_flow.air_flow`; burned gas as air, within 3 % of its own factor when choked.

    Example: `flow(2e-7, 178e3, 101e3)` is 6.76e-05, which is 3.4 litres a minute.
    """
    return air_flow(area_m2, mean_cylinder_pa, crankcase_pa, temperature_k)


def cycle_flow(
    area_m2: Numbers,
    cylinder_pa: Floats,
    crankcase_pa: Numbers,
    temperature_k: Numbers = RING_GAS_K,
) -> Numbers:
    """How much gas passes the rings, in kg/s, over a cycle whose every pressure is known?

    Parameters: `cylinder_pa` absolute at equal steps of time or angle over whole cycles, along
    the last axis; the others numbers, or arrays of the axes before it.
    Source: the mean of `gas_flow.air_flow` over the cycle, forth and back.
    """
    outside = np.asarray(crankcase_pa, dtype=np.float64)[..., np.newaxis]
    area = np.asarray(area_m2, dtype=np.float64)[..., np.newaxis]
    passed = air_flow(area, cylinder_pa, outside, np.asarray(temperature_k)[..., np.newaxis])
    mean: Numbers = np.mean(passed, axis=-1)
    return mean


@dataclass(frozen=True)
class StrokeTable:
    """What passes the rings in the mean of one compression stroke, by the pressure at its start.

    `starts` the pressures at bottom dead centre over the crankcase's; `passing` the mean flow
    over A p_crankcase / sqrt(R T).  An expansion is the same stroke run backwards.
    """

    starts: Floats
    passing: Floats


def stroke_table(
    compression_ratio: float,
    exponent: float = COMPRESSION_EXPONENT,
    rod_ratio: float = ROD_RATIO,
) -> StrokeTable:
    """The table that `ideal_cycle_flow` needs: make it once for each compression ratio."""
    angles = np.arange(0.5, 180.0)
    squeezed = (compression_ratio / volume_ratio(angles, compression_ratio, rod_ratio)) ** exponent
    return StrokeTable(_STARTS, np.mean(_signed(np.outer(_STARTS, squeezed)), axis=-1))


def _signed(ratio: Numbers) -> Numbers:
    """Flow over A p_crankcase / sqrt(R T) by the cylinder's pressure over the crankcase's."""
    size = np.maximum(ratio, 1.0) * flow_function(np.minimum(ratio, 1.0 / np.asarray(ratio)))
    return np.sign(np.subtract(ratio, 1.0)) * size


def ideal_cycle_flow(
    area_m2: Numbers,
    manifold_pa: Numbers,
    exhaust_pa: Numbers,
    rise_ratio: Numbers,
    crankcase_pa: Numbers,
    table: StrokeTable,
    temperature_k: Numbers = RING_GAS_K,
) -> Numbers:
    """How much gas passes the rings, in kg/s, over the ideal four-stroke cycle?

    Parameters: `rise_ratio` from `cylinder.pressure_rise_ratio`; `table` from `stroke_table`;
    pressures absolute, none above 50 times the crankcase's at a stroke's start.
    Returns kg/s, negative when the crankcase blows into the cylinders on the whole.
    Source: own arithmetic: the mean over four strokes of the hole of `flow`.
    """
    start = np.divide(manifold_pa, crankcase_pa)
    strokes = np.interp(start, table.starts, table.passing) + _signed(start)
    strokes = strokes + np.interp(start * rise_ratio, table.starts, table.passing)
    strokes = strokes + _signed(np.divide(exhaust_pa, crankcase_pa))
    return 0.25 * strokes * area_m2 * crankcase_pa / np.sqrt(AIR_GAS_CONSTANT * temperature_k)


def area_passing(
    kg_s: Numbers,
    mean_cylinder_pa: Numbers,
    crankcase_pa: Numbers,
    temperature_k: Numbers = RING_GAS_K,
) -> Numbers:
    """The effective area, in m2, through which `flow` passes this much: its inverse."""
    return kg_s / flow(1.0, mean_cylinder_pa, crankcase_pa, temperature_k)


def gap_area(
    end_gap_m: Numbers, clearance_m: Numbers, cd: Numbers = 0.65, cylinders: int = 1
) -> Numbers:
    """The effective area, in m2, of the tightest ring's end gap: its width times the clearance
    of piston and bore.

    Source: the ring-end orifice of ring-pack models, discharge coefficient 0.6 to 0.86, from
    memory.

    Example: `gap_area(0.3e-3, 0.1e-3, cylinders=4)` is 7.8e-08.
    """
    return cylinders * cd * np.multiply(end_gap_m, clearance_m)


def litres_per_minute(
    kg_s: Numbers, pressure_pa: Numbers = REFERENCE_PA, temperature_k: Numbers = REFERENCE_K
) -> Numbers:
    """How many litres a minute is this flow, as air at the stated pressure and temperature?

    Example: `litres_per_minute(5.02e-5)` is 2.5.
    """
    return kg_s * (_LITRES_M3 * AIR_GAS_CONSTANT) * temperature_k / pressure_pa


def from_litres_per_minute(
    litres: Numbers, pressure_pa: Numbers = REFERENCE_PA, temperature_k: Numbers = REFERENCE_K
) -> Numbers:
    """The flow in kg/s of so many litres a minute: the inverse of `litres_per_minute`."""
    return litres * pressure_pa / ((_LITRES_M3 * AIR_GAS_CONSTANT) * temperature_k)
