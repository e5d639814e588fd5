"""Who moves the air or the fuel: the idle governor, the foot, and the fuel cut.

The actuator is the effective area of the throttle; on an engine without one it is the place of
the fuel between its stops, 0 to 1, as in `system`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

AREA_PER_DISPLACEMENT = 7.0e-3
"""m2 of throttle for each m3 of displacement on which the governor's gains rest: about what a
sound engine idles on."""
PROPORTIONAL, INTEGRAL_PER_S = 1.2, 0.6
"""Gains of the idle governor: share of that area for a speed that is off by its whole self
(judgement: settles in a few seconds; three times as much hunts)."""
LEARNS_AS_FOR = 0.12
"""However far the speed is off, the integral moves as for this share of it at most: an overrun
is no lesson."""
FUEL_PLACE = 1.2
"""On which part of its range of fuel a diesel's governor's gains rest."""
FOOT_LAG_S, FOOT_INTEGRAL_PER_S = 0.25, 0.45
FOOT_EAGER, FOOT_EAGER_FUEL = 0.35, 1.5
"""How much further a foot goes for a speed that is off by its whole self: on a throttle, which
gives an engine that is slow more air for each turn by itself, and on fuel (judgement)."""
FOOT_LEARNS_WITHIN = 0.06
"""A foot corrects what it has learnt only while the speed is off by no more than this share."""
FOOT_UNREST, FOOT_UNREST_S = 0.012, 0.8
"""Scatter of the foot (share of the opening) and how fast it forgets itself (judgement)."""
CUT_OVER_RPM = (350.0, 700.0)
"""With the foot off, fuel is cut above the second over the idle's aim until the speed has
fallen below the first (judgement)."""
SNAP_EVERY_S, SNAP_OPEN_S, SNAP_MOST_RPM = 2.5, 0.45, 4200.0
WIDE_OPEN_PER_DISPLACEMENT = 0.30
"""m2 of throttle, wide open, for each m3 of displacement."""
PLATE_LAG_S = 0.04


@dataclass
class Actuator:
    """What it stands at, and what moves it has in mind.

    `place`: area in m2, or fuel; `integral`: of the governor or foot, in the same unit;
    `unrest`: the foot's own, a share; `cut`: whether fuel is cut.
    """

    place: float
    integral: float
    unrest: float = 0.0
    cut: bool = False


@dataclass(frozen=True)
class Stops:
    """The governor's least and most, the unit its gains rest on, the place of a pedal on the
    floor, and how eager a foot on it is."""

    least: float
    most: float
    unit: float
    wide_open: float
    eager: float = FOOT_EAGER


def idle(now: Actuator, stops: Stops, off: float, gain: float, seconds: float) -> None:
    """One step of the idle governor.

    Parameters: `off` how far the speed is below its aim, as a share of it.
    PI between the stops; the integral stays within them too.
    """
    near = min(max(off, -LEARNS_AS_FOR), LEARNS_AS_FOR)
    now.integral += INTEGRAL_PER_S * gain * near * seconds * stops.unit
    now.integral = min(max(now.integral, stops.least), stops.most)
    place = now.integral + PROPORTIONAL * gain * off * stops.unit
    now.place = min(max(place, stops.least), stops.most)


def by_foot(
    now: Actuator,
    known: float,
    off: float,
    seconds: float,
    push: float,
    unrest: float,
    eager: float = FOOT_EAGER,
) -> None:
    """One step of a foot that holds a speed.

    Parameters: `known` the place at which the speed stays; `push` a standard normal number.
    The integral is what the foot has learnt beside `known`.
    """
    if abs(off) < FOOT_LEARNS_WITHIN:
        now.integral += FOOT_INTEGRAL_PER_S * off * seconds * known
    now.integral = min(max(now.integral, -0.6 * known), 1.5 * known)
    keep = math.exp(-seconds / FOOT_UNREST_S)
    now.unrest = keep * now.unrest + math.sqrt(1.0 - keep * keep) * FOOT_UNREST * unrest * push
    aim = known * (1.0 + eager * min(max(off, -0.5), 0.8) + now.unrest)
    aim = max(aim + now.integral, 0.2 * known)
    now.place += (aim - now.place) * (1.0 - math.exp(-seconds / FOOT_LAG_S))


def thrown(now: Actuator, stops: Stops, since_s: float, speed_rpm: float, seconds: float) -> bool:
    """One step of a snap; whether the pedal is down."""
    down = since_s % SNAP_EVERY_S < SNAP_OPEN_S and speed_rpm < SNAP_MOST_RPM
    aim = stops.wide_open if down else stops.least
    now.place += (aim - now.place) * (1.0 - math.exp(-seconds / PLATE_LAG_S))
    return down


def fuel_cut(now: Actuator, over_rpm: float) -> None:
    """Cut the fuel, or give it back, with the foot off and this much over the idle's aim."""
    back, cut = CUT_OVER_RPM
    now.cut = over_rpm > (back if now.cut else cut)
