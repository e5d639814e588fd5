"""Oil through holes, gaps, valve and pick-up: packages, profiles and root finding."""

from __future__ import annotations

import numpy as np
from fluids.flow_meter import flow_meter_discharge
from scipy.integrate import quad
from scipy.optimize import brentq

from gaugewright.physics import leakage, pick_up, pump, relief_valve
from validation.physics.bearings import slot
from validation.physics.compared import Compared

DENSE = 825.0


def holes() -> list[Compared]:
    """A hole between two rooms: fluids' discharge of a meter in a pipe that is hugely wider."""
    rows = []
    for difference in (2e4, 1e5, 4e5, 8e5):
        other = flow_meter_discharge(
            D=1.0, Do=0.0015, P1=1e5 + difference, P2=1e5, rho=DENSE, C=0.7, expansibility=1.0
        )
        ours = leakage.orifice_flow(0.7 * np.pi / 4.0 * 0.0015**2, difference, DENSE)
        name = f"hole, {difference / 1000:g} kPa"
        rows.append(Compared(name, float(ours), float(other) / DENSE, 3e-5))
    return rows


def gaps() -> list[Compared]:
    """Slip through a pump's gaps: velocity profiles of three slots, added up."""
    sizes = ((0.03, 60e-6, 0.008), (0.012, 45e-6, 0.004), (0.05, 35e-6, 0.012))
    conductance = sum(width * gap**3 / (12.0 * long) for width, gap, long in sizes)
    rows = []
    for viscosity, difference in ((0.009, 3e5), (0.25, 5e5)):
        other = sum(width * slot(gap, difference / long, viscosity) for width, gap, long in sizes)
        ours = float(pump.slip_flow(conductance, difference, viscosity))
        rows.append(Compared(f"slip at {viscosity * 1000:g} mPa s", ours, other, 1e-8))
    return rows


def valve() -> list[Compared]:
    """The relief valve as many small ones, their opening pressures spread about the middle.

    The spread is that of the logistic distribution with the softness as its scale.
    """
    opening, slope, soft = 4.3e5, 8e-9, 6e3
    rows = []
    for pressure in (4.1e5, 4.28e5, 4.3e5, 4.4e5, 5.5e5):

        def passes(at: float, p: float = pressure) -> float:
            share = 1.0 / (4.0 * soft * np.cosh((at - opening) / (2.0 * soft)) ** 2)
            return float(slope * (p - at) * share)

        low = opening - 60.0 * soft
        other, _ = quad(passes, low, pressure, points=[opening], epsabs=1e-16, limit=200)
        ours = float(relief_valve.flow(opening, slope, pressure, soft))
        rows.append(Compared(f"relief at {pressure / 1000:g} kPa", ours, other, 1e-7))
    return rows


def suction() -> list[Compared]:
    """What the pick-up passes at most: root of head less losses."""
    rows = []
    for head, viscosity in ((66e3, 0.009), (40e3, 0.4), (5e3, 2.5)):
        linear = 3e8 * viscosity
        other = float(
            brentq(lambda q, h=head, r=linear: h - r * q - 1.5e10 * q * q, 0.0, 1.0, xtol=1e-18)
        )
        ours = float(pick_up.greatest_flow(head, linear, 1.5e10))
        rows.append(Compared(f"pick-up at {viscosity * 1000:g} mPa s", ours, other, 1e-9))
    return rows


def compare() -> list[Compared]:
    """All of it."""
    return [*holes(), *gaps(), *valve(), *suction()]
