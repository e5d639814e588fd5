"""Hoses: the wave equation on a grid as an eigenvalue problem; sound from equations of state."""

from __future__ import annotations

import numpy as np
from scipy.linalg import eigh

from gaugewright.physics import pressure_line
from validation.physics.compared import Compared


def resonance(length_m: float, bore_m: float, density: float, speed: float, end: float) -> float:
    """The lowest frequency of a line open at one end, with a compliance `end` at the other.

    Linear finite elements for pressure: stiffness A/rho p', mass A/(rho c^2) p, and the end's
    compliance as a mass of its own.
    """
    cells = 200
    step = length_m / cells
    area = np.pi * bore_m**2 / 4.0
    stiff, mass = np.zeros((cells + 1, cells + 1)), np.zeros((cells + 1, cells + 1))
    for k in range(cells):
        part = np.ix_([k, k + 1], [k, k + 1])
        stiff[part] += area / density / step * np.array([[1.0, -1.0], [-1.0, 1.0]])
        mass[part] += area * step / (density * speed**2) / 6.0 * np.array([[2.0, 1.0], [1.0, 2.0]])
    mass[-1, -1] += end
    lowest = eigh(stiff[1:, 1:], mass[1:, 1:], eigvals_only=True, subset_by_index=[0, 0])[0]
    return float(np.sqrt(lowest) / (2.0 * np.pi))


def hoses() -> list[Compared]:
    """Air hose with a sensor's cavity, oil hose hard at its end, oil hose with a bubble."""
    rows = []
    air, oil = pressure_line.sound_speed(293.15), pressure_line.liquid_wave_speed(870.0)
    for name, length, bore, density, speed, end in (
        ("air hose, cavity", 1.5, 0.004, 1.2, air, 2e-6 / (1.4 * 101325.0)),
        ("air hose, hard end", 1.0, 0.004, 1.2, air, 0.0),
        ("oil hose, bubble", 1.0, 0.004, 870.0, oil, 1e-7 / (1.4 * 200e3)),
        ("oil hose, tiny bubble", 0.5, 0.005, 870.0, oil, 1e-9 / (1.4 * 300e3)),
    ):
        yields = pressure_line.line_compliance(length, bore, density, speed)
        ours = float(pressure_line.first_resonance(length, speed, yields, end))
        rows.append(Compared(name, ours, resonance(length, bore, density, float(speed), end), 1e-4))
    mass = pressure_line.inertance(1.0, 0.004, 870.0)
    soft = pressure_line.gas_compliance(1e-7, 200e3)
    lumped = float(pressure_line.lumped_resonance(mass, soft))
    other = resonance(1.0, 0.004, 870.0, float(oil), 1e-7 / (1.4 * 200e3))
    rows.append(Compared("oil hose, bubble, as one mass on one spring", lumped, other, 5e-3))
    return rows


def sound() -> list[Compared]:
    """The speed of sound in real air."""
    from CoolProp.CoolProp import PropsSI

    rows = []
    for kelvin in (263.15, 293.15, 363.15):
        other = float(PropsSI("A", "T", kelvin, "P", 101325.0, "Air"))
        ours = float(pressure_line.sound_speed(kelvin))
        rows.append(Compared(f"sound in air, {kelvin:g} K", ours, other, 3e-3))
    return rows


def compare() -> list[Compared]:
    """All of it."""
    return [*hoses(), *sound()]
