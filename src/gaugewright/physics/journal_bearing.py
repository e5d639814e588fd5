"""Journal bearings: load against film, friction, and the oil they let through.

Radial clearance throughout (half of bush bore minus journal diameter): a book's diametral
clearance is twice it, and the usual way to be wrong by 2, by 4 or by 8.
"""

from __future__ import annotations

import numpy as np

from gaugewright.physics.bearing_chart import Film, film
from gaugewright.physics.numbers import Numbers


def unit_load(load_n: Numbers, radius_m: Numbers, length_m: Numbers) -> Numbers:
    """The load over the bearing's projected area 2 r l, in Pa.

    Example: `unit_load(1200.0, 0.0125, 0.0125)` is 3.84e6.
    """
    return load_n / (2.0 * radius_m * length_m)


def sommerfeld(
    radius_m: Numbers,
    clearance_m: Numbers,
    viscosity_pas: Numbers,
    speed_rpm: Numbers,
    unit_load_pa: Numbers,
) -> Numbers:
    """How far is the oil's carrying ahead of the load?

    S = (r/c)^2 mu N / P with N in revolutions per second.
    Parameters: radius and radial clearance in m, dynamic viscosity in Pa s, rpm, Pa; above 0.
    Returns the Sommerfeld number.
    Source: definition used with the finite-bearing charts.

    Example: `sommerfeld(0.0125, 15e-6, 0.055, 1100.0, 3.84e6)` is 0.182.
    """
    ratio = radius_m / clearance_m
    return ratio * ratio * viscosity_pas * speed_rpm / (60.0 * unit_load_pa)


def petroff_force(
    viscosity_pas: Numbers, area_m2: Numbers, surface_m_s: Numbers, clearance_m: Numbers
) -> Numbers:
    """What drag has a centred journal, in N?

    F = mu A v / c, with A = pi d l.
    Source: Petroff; good for light load and high speed.

    Example: `petroff_force(0.05, 0.0182, 1.596, 19.05e-6)` is 76.2.
    """
    return viscosity_pas * area_m2 * surface_m_s / clearance_m


def petroff_friction(sommerfeld_number: Numbers) -> Numbers:
    """The friction variable f r/c of a centred journal: 2 pi^2 S.

    Source: Petroff's equation in the charts' variables.

    Example: `petroff_friction(0.135)` is 2.66 (the loaded journal's is 3.48).
    """
    return 2.0 * np.pi**2 * sommerfeld_number


def petroff_torque(
    viscosity_pas: Numbers,
    radius_m: Numbers,
    length_m: Numbers,
    clearance_m: Numbers,
    speed_rpm: Numbers,
) -> Numbers:
    """What torque turns a centred journal, in N m?

    T = 4 pi^2 r^3 l mu N / c, N in revolutions per second.
    Source: Petroff.

    Example: `petroff_torque(0.010, 0.025, 0.018, 30e-6, 3000.0)` is 0.185.
    """
    turning = 4.0 * np.pi**2 * viscosity_pas * speed_rpm / 60.0
    return turning * radius_m * radius_m * radius_m * length_m / clearance_m


def friction_variable(
    sommerfeld_number: Numbers, eccentricity: Numbers, attitude_deg: Numbers
) -> Numbers:
    """The friction variable f r/c of a full film, from where the journal lies.

    f r/c = 2 pi^2 S / sqrt(1 - e^2) + (e/2) sin(phi): the shear all round and the pressure on
    the eccentric journal.
    Source: full-film friction (from memory; the table's own friction agrees within 1.3 %).

    Example: `friction_variable(0.121, 0.6, 50.6)` is 3.217.
    """
    shear = petroff_friction(sommerfeld_number) / np.sqrt(1.0 - eccentricity * eccentricity)
    return shear + 0.5 * eccentricity * np.sin(np.radians(attitude_deg))


def friction_torque(friction: Numbers, clearance_m: Numbers, load_n: Numbers) -> Numbers:
    """What torque turns a loaded journal, in N m?

    T = (f r/c) c W, for f W r.
    Parameters: `friction` is f r/c, from `film` or `petroff_friction`.

    Example: `friction_torque(5.4, 15e-6, 1200.0)` is 0.0972.
    """
    return friction * clearance_m * load_n


def carried_flow(
    flow_variable: Numbers,
    radius_m: Numbers,
    clearance_m: Numbers,
    speed_rpm: Numbers,
    length_m: Numbers,
) -> Numbers:
    """How much oil does the turning journal draw into its film, in m3/s?

    Q = (Q/(r c N l)) r c N l, N in revolutions per second; what leaves at the sides is
    `Film.side_share` of it.

    Example: `carried_flow(5.1, 0.0125, 15e-6, 1100.0, 0.0125)` is 2.19e-07.
    """
    return flow_variable * radius_m * clearance_m * speed_rpm / 60.0 * length_m


def short_bearing_side_flow(eccentricity: Numbers) -> Numbers:
    """What does a short bearing lose at its sides, as Qs/(r c N l)?

    2 pi e.  Source: short-bearing theory (from memory); 1 % above the table at l/d 1/4.

    Example: `short_bearing_side_flow(0.6)` is 3.77.
    """
    return 2.0 * np.pi * eccentricity


def fed_flow(
    supply_pa: Numbers,
    radius_m: Numbers,
    clearance_m: Numbers,
    land_m: Numbers,
    viscosity_pas: Numbers,
    eccentricity: Numbers = 0.0,
) -> Numbers:
    """How much oil does a pressure-fed main bearing with a groove round its middle let out?

    Q = pi ps r c^3 / (3 mu l') (1 + 1.5 e^2): both half-bearings together.
    Parameters: `supply_pa` at the groove over the surroundings of the ends (the crankcase);
    `land_m` l' the length of one half-bearing; `eccentricity` 0 to 1.
    Returns m3/s.
    Source: pressure-fed bearings in machine-design textbooks (from memory); equals laminar flow
    through two annular slots.

    Example: `fed_flow(300e3, 0.025, 30e-6, 0.009, 0.010) * 60e3` is 0.14137 L/min.
    """
    cube = clearance_m * clearance_m * clearance_m
    centred = np.pi * supply_pa * radius_m * cube / (3.0 * viscosity_pas * land_m)
    return centred * (1.0 + 1.5 * eccentricity * eccentricity)


def running_film(
    radius_m: Numbers,
    clearance_m: Numbers,
    length_m: Numbers,
    viscosity_pas: Numbers,
    speed_rpm: Numbers,
    load_n: Numbers,
) -> Film:
    """How does a bearing of this size run under this load?

    Parameters as above; `length_m` at least half of the radius (l/d 1/4).
    Returns the film of `bearing_chart.film`.

    Example: `running_film(0.0125, 15e-6, 0.0125, 0.055, 1100.0, 1200.0).friction` is 5.3.
    """
    load = unit_load(load_n, radius_m, length_m)
    number = sommerfeld(radius_m, clearance_m, viscosity_pas, speed_rpm, load)
    return film(number, length_m / (2.0 * radius_m))
