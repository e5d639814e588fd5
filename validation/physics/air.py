"""The standard atmosphere by integrating the hydrostatic equation, and by two packages."""

from __future__ import annotations

from typing import Any

from ambiance import Atmosphere
from fluids import ATMOSPHERE_1976
from scipy.integrate import solve_ivp

from gaugewright.physics import atmosphere
from validation.physics.compared import Compared, each

GRAVITY = 9.80665
AIR = 8314.32 / 28.964420
"""J/(kg K) with ISO 2533's own universal constant and molar mass."""
HEIGHTS = [-1500.0, -300.0, 250.0, 500.0, 1000.0, 1609.0, 2240.0, 3000.0, 4300.0, 8000.0]


def hydrostatic(heights_m: list[float]) -> list[float]:
    """dp/dH = -g p/(R T) from sea level, T falling by 6.5 K per km; Pa at geopotential heights."""

    def slope(height: float, pressure: Any) -> Any:
        return -GRAVITY * pressure / (AIR * (288.15 - 6.5 * height / 1000.0))

    def reached(height: float) -> float:
        run = solve_ivp(slope, (0.0, height), [101325.0], method="DOP853", rtol=1e-12, atol=1e-7)
        return float(run.y[0, -1])

    return [reached(height) for height in heights_m]


def compare() -> list[Compared]:
    """Pressure at geopotential and at geometric heights, and the height of a pressure."""
    names = [f"{height:g} m" for height in HEIGHTS]
    level = hydrostatic(HEIGHTS)
    ours = [atmosphere.pressure(height) for height in HEIGHTS]
    above_sea = [atmosphere.pressure_at_altitude(height) for height in HEIGHTS]
    back = [atmosphere.height(pressure) for pressure in level]
    heights = zip(names, back, HEIGHTS, strict=True)
    return [
        *each("integrated, geopotential", names, ours, level, 1e-6),
        *(Compared(f"height of {n}", a, b, 1e-6, 1000.0) for n, a, b in heights),
        *each("ambiance, above sea", names, above_sea, Atmosphere(HEIGHTS).pressure, 1e-6),
        *each("fluids, above sea", names, above_sea, _fluids(), 1e-6),
    ]


def _fluids() -> list[float]:
    return [float(ATMOSPHERE_1976(height).P) for height in HEIGHTS]
