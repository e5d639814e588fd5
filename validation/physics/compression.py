"""The cylinder: crank and rod closed as a linkage, gas worked by its energy balance, step by step.

The piston's place is the root of the linkage's two equations; pressures come from integrating the
gas's energy over the volume, not from p V^n; work and means are integrals over the angle.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.integrate import quad, solve_ivp
from scipy.optimize import root

from gaugewright.physics import blow_by, breathing, cylinder
from validation.physics import gas
from validation.physics.compared import Compared, each

Floats = npt.NDArray[np.float64]
CRANK, ROD, BORE = 0.043, 0.143, 0.086
ANGLES = [5.0, 30.0, 75.0, 90.0, 132.0, 180.0, 215.0, 300.0]
SWEPT = np.pi / 4.0 * BORE**2 * 2.0 * CRANK


def pin_below(angle_deg: float, crank_m: float = CRANK, rod_m: float = ROD) -> float:
    """How far the piston is below its highest place: the root of the linkage's closure."""
    th = np.radians(angle_deg)
    big = np.array([crank_m * np.sin(th), crank_m * np.cos(th)])

    def open_by(unknown: Any) -> list[float]:
        height, lean = unknown
        return [
            big[0] - rod_m * np.sin(lean),
            big[1] + rod_m * np.cos(lean) - height,
        ]

    closed = root(open_by, [rod_m, 0.1], tol=1e-13)
    if not closed.success:
        raise RuntimeError(f"the linkage does not close at {angle_deg} degrees")
    return crank_m + rod_m - float(closed.x[0])


def volume(angle_deg: float, ratio: float, crank_m: float = CRANK, rod_m: float = ROD) -> float:
    """Volume over the clearance volume from the linkage."""
    return 1.0 + (ratio - 1.0) * pin_below(angle_deg, crank_m, rod_m) / (2.0 * crank_m)


def squeezed(from_pa: float, ratio: float, exponent: float) -> Any:
    """Pressure against volume (1 at the top, `ratio` at the start): cv dT = -p dV, integrated."""
    heat = 1.0 / (exponent - 1.0)

    def slope(space: float, state: Any) -> list[float]:
        return [-state[0] / (heat * space)]

    run = solve_ivp(
        slope, (ratio, 1.0), [1.0], method="DOP853", rtol=1e-11, atol=1e-13, dense_output=True
    )
    return lambda space: from_pa * run.sol(space)[0] * ratio / space


def linkage() -> list[Compared]:
    """Piston travel, volumes, mean piston speed."""
    names = [f"{angle:g} deg" for angle in ANGLES]
    travel = [pin_below(angle) for angle in ANGLES]
    spaces = [volume(angle, 10.5) for angle in ANGLES]
    ours = cylinder.volume_ratio(np.array(ANGLES), 10.5, ROD / CRANK)
    way, _ = quad(lambda th: abs(_speed(th)), 0.0, 360.0, epsabs=1e-9, points=[180.0])
    speed = cylinder.mean_piston_speed(2.0 * CRANK, 3000.0)
    return [
        *each("piston", names, cylinder.piston_travel(np.array(ANGLES), CRANK, ROD), travel, 1e-8),
        *each("volume", names, ours, spaces, 1e-8),
        Compared("mean piston speed, m/s", float(speed), way * 3000.0 / 60.0, 1e-6),
        Compared("displacement", float(cylinder.swept_volume(BORE, 2 * CRANK)), SWEPT, 1e-12),
    ]


def _speed(angle_deg: float) -> float:
    """Metres for each degree, by a centred difference."""
    return (pin_below(angle_deg + 0.01) - pin_below(angle_deg - 0.01)) / 0.02


def pressures() -> list[Compared]:
    """The end of compression by the energy balance."""
    rows = []
    for ratio, exponent in ((8.0, 1.25), (10.0, 1.3), (11.5, 1.4), (18.0, 1.35)):
        ours = float(cylinder.polytropic_pressure(95e3, ratio, exponent))
        other = float(squeezed(95e3, ratio, exponent)(1.0))
        rows.append(Compared(f"rc {ratio:g}, n {exponent:g}", ours, other, 1e-8))
    return rows


def real_air() -> list[Compared]:
    """Dry air compressed at constant entropy by CoolProp: what a constant 1.4 leaves out.

    Its heat capacity grows with temperature, so the ideal pressure comes out too high.
    """
    from CoolProp.CoolProp import PropsSI

    rows = []
    for ratio in (4.0, 8.0, 10.0, 12.0):
        entropy = PropsSI("S", "T", 320.0, "P", 95e3, "Air")
        dense = ratio * PropsSI("D", "T", 320.0, "P", 95e3, "Air")
        other = float(PropsSI("P", "S", entropy, "D", dense, "Air"))
        ours = float(cylinder.polytropic_pressure(95e3, ratio, 1.4))
        rows.append(Compared(f"air, rc {ratio:g}, constant 1.4", ours, other, 0.05))
    return rows


@cache
def _space(ratio: float, steps: int = 720) -> tuple[float, ...]:
    """Volume over the clearance volume, from bottom to top, at the middles of equal angles."""
    angles = 180.0 * (np.arange(steps) + 0.5) / steps
    return tuple(volume(180.0 - float(angle), ratio, 1.0, cylinder.ROD_RATIO) for angle in angles)


def closed_work(start_pa: float, ratio: float, exponent: float, rise: float) -> float:
    """The loop's work over the swept volume: the integral of p dV, both strokes."""
    pressure = squeezed(start_pa, ratio, exponent)
    area, _ = quad(lambda v: (rise - 1.0) * float(pressure(v)), 1.0, ratio, epsrel=1e-10)
    return area / (ratio - 1.0)


def work() -> list[Compared]:
    """Efficiency and mean effective pressure by the integral of p dV round the loop."""
    rows = []
    for ratio in (8.0, 10.0):
        start, rise, gamma = 95e3, 3.0, 1.4
        top = float(squeezed(start, ratio, gamma)(1.0))
        heat = top * (rise - 1.0) / (gamma - 1.0)
        other = closed_work(start, ratio, gamma, rise) * (ratio - 1.0) / heat
        ours = float(cylinder.otto_efficiency(ratio, gamma))
        rows.append(Compared(f"Otto efficiency, rc {ratio:g}", ours, other, 1e-7))
    for gross, manifold, ratio in ((250e3, 35e3, 10.0), (900e3, 95e3, 9.0), (60e3, 28e3, 11.0)):
        rise = float(cylinder.pressure_rise_ratio(gross, manifold, ratio))
        back = closed_work(manifold, ratio, cylinder.COMPRESSION_EXPONENT, rise)
        rows.append(Compared(f"work at {manifold / 1000:g} kPa", gross, back, 1e-6))
    return rows


def trace(manifold_pa: float, ratio: float, rise: float) -> tuple[Floats, Floats]:
    """Two strokes with gas enclosed: pressures at equal angles from bottom to top, and back."""
    pressure = squeezed(manifold_pa, ratio, cylinder.COMPRESSION_EXPONENT)
    up = np.array([float(pressure(v)) for v in _space(ratio)])
    return up, rise * up[::-1]


def means() -> list[Compared]:
    """The mean pressure over 720 degrees, from the trace."""
    rows = []
    for ratio in (9.0, 10.0, 11.5):
        ours = float(cylinder.compression_mean(ratio))
        up, _ = trace(1.0, ratio, 1.0)
        rows.append(Compared(f"mean of compression, rc {ratio:g}", ours, float(up.mean()), 1e-6))
    for manifold, rise in ((32e3, 3.1), (95e3, 3.8)):
        factor = float(cylinder.compression_mean(10.0))
        ours = float(cylinder.mean_pressure(manifold, 102e3, rise, factor))
        up, down = trace(manifold, 10.0, rise)
        strokes = [manifold, float(up.mean()), float(down.mean()), 102e3]
        rows.append(
            Compared(f"cycle's mean, {manifold / 1000:g} kPa", ours, float(np.mean(strokes)), 1e-6)
        )
    return rows


def past_the_rings() -> list[Compared]:
    """Blow-by over a cycle with the flux of the maximised throat at each angle."""
    rows = []
    for manifold, rise in ((32e3, 3.1), (95e3, 3.8)):
        up, down = trace(manifold, 10.0, rise)
        strokes = [np.full(36, manifold), up[10::20], down[10::20], np.full(36, 102e3)]
        cycle = np.concatenate(strokes)
        ours = float(blow_by.cycle_flow(2e-7, cycle, 100e3))
        flows = [_ring(float(p), 100e3) for p in cycle]
        name = f"blow-by over a cycle, {manifold / 1000:g} kPa"
        rows.append(Compared(name, ours, 2e-7 * float(np.mean(flows)), 3e-5))
    return rows


def _ring(inside_pa: float, outside_pa: float) -> float:
    high, low = max(inside_pa, outside_pa), min(inside_pa, outside_pa)
    state = gas.perfect(high, blow_by.RING_GAS_K, 1.4, gas.AIR)
    return float(np.sign(inside_pa - outside_pa)) * gas.flux(state, high, low)


def filling() -> list[Compared]:
    """Fresh charge by expanding the enclosed burned gas until it has the manifold's pressure."""
    rows = []
    for manifold, exhaust, ratio in ((30e3, 101e3, 10.0), (60e3, 103e3, 9.0), (130e3, 110e3, 9.5)):
        way = np.log([exhaust, manifold])
        run = solve_ivp(
            lambda _, space: -space / breathing.RESIDUAL_GAMMA, way, [1.0], rtol=1e-11, atol=1e-13
        )
        burned = float(run.y[0, -1])
        other = breathing.FULL_EFFICIENCY * (ratio - burned) / (ratio - 1.0)
        ours = float(breathing.volumetric_efficiency(manifold, exhaust, ratio))
        rows.append(Compared(f"filling at {manifold / 1000:g} kPa", ours, other, 1e-8))
    return rows


def compare() -> list[Compared]:
    """All of it."""
    parts = (linkage, pressures, real_air, work, means, past_the_rings, filling)
    return [row for part in parts for row in part()]
