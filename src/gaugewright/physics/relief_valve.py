"""The relief valve: shut below its opening pressure, a steep slope above it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaugewright.physics.numbers import Floats, Numbers


def flow(
    opening_pa: Numbers, slope_m3_per_pa_s: Numbers, pressure_pa: Numbers, softness_pa: Numbers
) -> Numbers:
    """How much oil does the valve let back at this pressure?

    Q = k s ln(1 + exp((p - p0)/s)): 0 well below p0 (exactly 0 from 37 s below it), k (p - p0)
    well above, k s ln 2 at p0 itself.
    Parameters: `opening_pa` p0 and `pressure_pa` p, both against the same reference;
    `slope_m3_per_pa_s` k; `softness_pa` s, above 0: how gradually it opens.
    Returns m3/s, never negative.
    Source: a spring-loaded valve's flow grows with its lift, the lift with the pressure above
    the opening pressure (textbook, from memory); the rounded knee is our own.

    Example: `flow(400e3, 1e-8, 450e3, 5e3)` is 0.0005.
    """
    over = (pressure_pa - opening_pa) / softness_pa
    rounded = np.maximum(over, 0.0) + np.log(1.0 + np.exp(-np.abs(over)))
    return slope_m3_per_pa_s * softness_pa * rounded


def pressure(
    opening_pa: Numbers, slope_m3_per_pa_s: Numbers, flow_m3_s: Numbers, softness_pa: Numbers
) -> Numbers:
    """Which pressure drives this flow through the valve: the inverse of `flow`?

    p = p0 + s ln(exp(Q/(k s)) - 1), and so p0 + Q/k well above the knee.
    Parameters: as `flow`; `flow_m3_s` above 0.
    Returns Pa.

    Example: `pressure(400e3, 1e-8, 0.0005, 5e3)` is 449999.8.
    """
    over = flow_m3_s / (slope_m3_per_pa_s * softness_pa)
    return opening_pa + softness_pa * (over + np.log(-np.expm1(-over)))


@dataclass(frozen=True)
class Knee:
    """Where a course of pressure over flow bends: its place, and both slopes in Pa per unit."""

    flow: float
    pressure_pa: float
    slope_below: float
    slope_above: float


def knee(flow_given: Floats, pressure_pa: Floats) -> Knee:
    """At which flow, and pressure, does the valve take over?

    The continuous line of two straight parts that fits best by least squares,
    p = p1 + g (q - q1) + h max(q - q1, 0), its bend sought on a grid between the second and the
    last but one value and then between the grid's neighbours.
    Parameters: `flow_given`, at least 5 different values, of the pump (its speed will do, the
    bend is then found in rpm); `pressure_pa` at each.
    Returns the bend; whether there is one is for `slope_above` against `slope_below` to tell.
    Raises ValueError for fewer than 5 different flows.
    Source: segmented regression, any textbook of statistics; the grid is our own.

    Example: for 0, 1, .. 6 L/min and 0, 100, 200, 300, 310, 320, 330 kPa the bend is at 3 L/min.
    """
    places = np.unique(flow_given)
    if len(places) < 5:
        raise ValueError(f"a bend needs 5 different flows, {len(places)} were given")
    low, high = places[1], places[-2]
    for _ in range(6):
        grid = np.linspace(low, high, 41)
        misfits = [_bent(flow_given, pressure_pa, place)[0] for place in grid]
        best = int(np.argmin(misfits))
        low, high = grid[max(best - 1, 0)], grid[min(best + 1, 40)]
    place = float(grid[best])
    start, slope, change = _bent(flow_given, pressure_pa, place)[1]
    return Knee(place, float(start), float(slope), float(slope + change))


def _bent(flow_given: Floats, pressure_pa: Floats, place: float) -> tuple[float, Floats]:
    """Misfit and (pressure at the bend, slope below, change of slope) with the bend there."""
    over = flow_given - place
    design = np.column_stack([np.ones_like(over), over, np.maximum(over, 0.0)])
    found = np.linalg.lstsq(design, pressure_pa, rcond=None)[0]
    return float(np.sum((pressure_pa - design @ found) ** 2)), found
