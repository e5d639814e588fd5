"""Journal bearings: Reynolds' equation on a grid, and slots by their velocity profile."""

from __future__ import annotations

from functools import cache

import numpy as np
from scipy.integrate import dblquad, quad

from gaugewright.physics import bearing_chart, journal_bearing
from validation.physics.compared import Compared
from validation.physics.reynolds import Film, film

RADIUS, CLEARANCE, LAND, THICK = 0.024, 28e-6, 0.0085, 0.011
PUBLISHED = {
    (1.0, 0.1): {"sommerfeld": 1.33, "side_share": 0.150},
    (1.0, 0.2): {"sommerfeld": 0.631, "side_share": 0.280},
    (1.0, 0.4): {"sommerfeld": 0.264, "side_share": 0.497},
    (1.0, 0.6): {"sommerfeld": 0.121, "side_share": 0.680, "friction": 3.22},
    (1.0, 0.8): {"sommerfeld": 0.0446, "side_share": 0.842},
    (1.0, 0.9): {"sommerfeld": 0.0188, "side_share": 0.919},
    (0.5, 0.2): {"sommerfeld": 2.03, "flow": 3.72, "side_share": 0.318},
    (0.5, 0.4): {"sommerfeld": 0.779, "flow": 4.29, "side_share": 0.552},
    (0.5, 0.6): {"sommerfeld": 0.319, "flow": 4.85, "side_share": 0.730},
    (0.5, 0.8): {"sommerfeld": 0.0923, "flow": 5.41, "side_share": 0.874},
    (0.5, 0.9): {"sommerfeld": 0.0313, "flow": 5.69, "side_share": 0.939},
}
"""The classical finite-bearing tables, l/d and eccentricity (from memory): not the package's."""


@cache
def solved(eccentricity: float, ratio: float) -> Film:
    """The grid's answer, once."""
    return film(eccentricity, ratio)


def tables() -> list[Compared]:
    """The published tables against the grid: whether the grid, and the memory, can be trusted."""
    rows = []
    for (ratio, eccentricity), values in PUBLISHED.items():
        other = solved(eccentricity, ratio)
        for what, value in values.items():
            name = f"printed {what}, l/d {ratio:g}, e {eccentricity:g}"
            rows.append(Compared(name, value, float(getattr(other, what)), 0.02))
    return rows


def charts(ratio: float, eccentricities: tuple[float, ...], gate: float) -> list[Compared]:
    """The package's film at the grid's Sommerfeld numbers."""
    rows = []
    names = ("friction", "flow", "side_share")
    for eccentricity in eccentricities:
        other = solved(eccentricity, ratio)
        ours = bearing_chart.film(other.sommerfeld, ratio)
        at = f"l/d {ratio:g}, e {eccentricity:g}"
        rows += [
            Compared(f"{what}, {at}", float(getattr(ours, what)), float(getattr(other, what)), gate)
            for what in names
        ]
        rows.append(Compared(f"eccentricity, {at}", float(ours.eccentricity), eccentricity, gate))
        turned = float(ours.attitude_deg)
        rows.append(Compared(f"attitude, {at}", turned, other.attitude_degrees, gate, 57.3))
    return rows


def all_charts() -> list[Compared]:
    """At the table's own lengths, between its eccentricities, and between its lengths."""
    rows: list[Compared] = []
    for ratio in (1.0, 0.5, 0.25):
        rows += charts(ratio, (0.2, 0.6, 0.8, 0.9), 0.01)
        rows += charts(ratio, (0.3, 0.5, 0.7, 0.85, 0.94), 0.01)
    for ratio in (0.35, 0.7):
        rows += charts(ratio, (0.3, 0.6, 0.8, 0.9), 0.01)
    return rows


def identity() -> list[Compared]:
    """Friction from Sommerfeld number, eccentricity and attitude against the grid's shear."""
    rows = []
    for eccentricity, ratio in ((0.3, 1.0), (0.6, 1.0), (0.8, 0.5), (0.5, 0.25)):
        other = solved(eccentricity, ratio)
        ours = journal_bearing.friction_variable(
            other.sommerfeld, eccentricity, other.attitude_degrees
        )
        name = f"friction identity, l/d {ratio:g}, e {eccentricity:g}"
        rows.append(Compared(name, float(ours), other.friction, 3e-3))
    return rows


def slot(gap_m: float, slope_pa_m: float, viscosity_pas: float) -> float:
    """Flow for each metre of width: the parabola between both walls, integrated."""
    profile, _ = quad(
        lambda y: slope_pa_m / (2.0 * viscosity_pas) * y * (gap_m - y), 0.0, gap_m, epsrel=1e-10
    )
    return profile


def fed_flow(supply_pa: float, eccentricity: float) -> float:
    """Both lands of a grooved bearing: the velocity over gap and circumference."""

    def speed(y: float, theta: float) -> float:
        gap = CLEARANCE * (1.0 + eccentricity * np.cos(theta))
        return float(supply_pa / (2.0 * THICK * LAND) * gap**3 * y * (1.0 - y) * RADIUS)

    total, _ = dblquad(speed, 0.0, 2.0 * np.pi, 0.0, 1.0, epsrel=1e-9)
    return 2.0 * total


def annulus(supply_pa: float) -> float:
    """The concentric case without calling the gap flat: the tube-in-tube solution, both lands."""
    inner, outer = RADIUS, RADIUS + CLEARANCE
    squares = np.longdouble(outer) ** 2 - np.longdouble(inner) ** 2
    quarts = np.longdouble(outer) ** 4 - np.longdouble(inner) ** 4
    shape = quarts - squares**2 / np.log(np.longdouble(outer) / np.longdouble(inner))
    return float(2.0 * np.pi * supply_pa / (8.0 * THICK * LAND) * shape)


def fed() -> list[Compared]:
    """Pressure-fed flow."""
    rows = []
    for eccentricity in (0.0, 0.4, 0.8, 1.0):
        ours = journal_bearing.fed_flow(300e3, RADIUS, CLEARANCE, LAND, THICK, eccentricity)
        other = fed_flow(300e3, eccentricity)
        rows.append(Compared(f"fed flow, e {eccentricity:g}", float(ours), other, 1e-7))
    round_gap = annulus(300e3)
    ours = journal_bearing.fed_flow(300e3, RADIUS, CLEARANCE, LAND, THICK)
    rows.append(Compared("fed flow, gap not flat", float(ours), round_gap, 1e-3))
    return rows


def petroff() -> list[Compared]:
    """A centred journal between curved walls: the exact circular shear flow."""
    speed_rpm, length = 3000.0, 0.018
    inner, outer = RADIUS, RADIUS + CLEARANCE
    omega = 2.0 * np.pi * speed_rpm / 60.0
    shear = inner**2 * outer**2 / ((outer - inner) * (outer + inner))
    other = 4.0 * np.pi * THICK * omega * length * shear
    ours = journal_bearing.petroff_torque(THICK, RADIUS, length, CLEARANCE, speed_rpm)
    return [Compared("Petroff's torque, walls not flat", float(ours), float(other), 3e-3)]


def short_bearing() -> list[Compared]:
    """The short bearing's half film integrated: pressure parabolic across, no flow around."""
    rows = []
    for e in (0.2, 0.6, 0.9):

        def steep(theta: float, e: float = e) -> float:
            return float(e * np.sin(theta) / (1.0 + e * np.cos(theta)) ** 3)

        along, _ = quad(lambda t, f=steep: f(t) * np.cos(t), 0.0, np.pi, epsrel=1e-11)
        aside, _ = quad(lambda t, f=steep: f(t) * np.sin(t), 0.0, np.pi, epsrel=1e-11)
        ratio = 0.2
        other = 1.0 / (2.0 * np.pi * float(np.hypot(along, aside)) * ratio**2)
        ours = bearing_chart.short_bearing_sommerfeld(e, ratio)
        rows.append(Compared(f"short bearing, e {e:g}", float(ours), other, 1e-7))
    return rows


def compare() -> list[Compared]:
    """All of it."""
    return [*tables(), *all_charts(), *identity(), *fed(), *petroff(), *short_bearing()]
