"""Where an engine settles: its four equations, each with one root, solved one within another.

Each equation falls in its own unknown when the others follow: oil left over as the gallery's
pressure rises; gas gathered as the crankcase's rises; torque wanting as the manifold's rises;
throttle wanting as the speed rises.  So every root is bracketed and none can be missed, however
torn, blocked or worn the engine is.  The rounds are repeated until all four hold at once.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from gaugewright.engine.air_path import past_rings
from gaugewright.engine.roots import falling_root
from gaugewright.engine.system import AirSide, System
from gaugewright.engine.variants import taken
from gaugewright.physics.numbers import Floats

Bools = npt.NDArray[np.bool_]

AIR_KG_S, GAS_KG_S, TORQUE_NM, OIL_M3_S = 3e-3, 5e-5, 20.0, 1.5e-4
"""What an idling engine's own flows and torque are; what is left is told as a share of them."""
TOLERANCE = 1e-6
ACCEPTED = 1e-4
"""Shares: what each root is driven to, and what is accepted of all four at the end."""
LEAST_MANIFOLD, MOST_MANIFOLD = 0.06, 0.985
"""Bounds of manifold over outside pressure."""
LEAST_CRANKCASE_PA, MOST_OVER_PA = 8e3, 150e3
MOST_GALLERY_PA = 4e6
SLOWEST, FASTEST = 0.35, 5.0
"""Bounds of the speed over the governor's aim, beyond the stops."""


@dataclass(frozen=True)
class Effort:
    """How many evaluations a root may take, and how many rounds of them are made."""

    evaluations: int
    rounds: int


FEW, MANY = Effort(8, 2), Effort(60, 6)


@dataclass(frozen=True)
class Point:
    """Where an engine is; each (n,).  `place`: throttle in m2, or a diesel's share of fuel."""

    speed_rpm: Floats
    place: Floats
    manifold_pa: Floats
    crankcase_pa: Floats
    gallery_pa: Floats
    pump_nm: Floats
    left: Floats
    stalled: Bools


def settled_point(system: System, count: int) -> Point:
    """Where do these engines settle?"""
    point = _settled(system, count, FEW)
    stuck = np.flatnonzero(~(point.left < ACCEPTED) & ~point.stalled)
    if stuck.size:
        fewer = taken(system, stuck, count)
        point = _put(point, stuck, _settled(fewer, stuck.size, MANY))
    return point


def _settled(system: System, count: int, effort: Effort) -> Point:
    point = _at_speed(system, first_guess(system, count), effort)
    if system.held.speed_rpm is not None:
        return point
    least, most = system.stops
    beyond = np.flatnonzero((point.place < least) | (point.place > most))
    if not beyond.size:
        return point
    fewer = taken(system, beyond, count)
    return _put(point, beyond, _at_stop(fewer, taken(point, beyond, count), effort))


def first_guess(system: System, count: int) -> Point:
    """A point an ordinary engine is near to."""
    one = np.ones(count)
    outside = system.engine.air.barometer_pa * one
    closed = system.held.does("vent-port-blocked") or system.build.ventilation == "open"
    return Point(
        speed_rpm=system.idle_rpm(count),
        place=0.0 * one,
        manifold_pa=(0.34 if system.build.throttled else MOST_MANIFOLD) * outside,
        crankcase_pa=outside + (3000.0 if closed else -1500.0),
        gallery_pa=150e3 * one,
        pump_nm=0.5 * one,
        left=np.inf * one,
        stalled=one < 0.0,
    )


def _at_stop(system: System, point: Point, effort: Effort) -> Point:
    """The governor on a stop: the speed at which the stop's throttle is the one wanted."""
    least, most = system.stops
    aim = system.idle_rpm(point.speed_rpm.size)
    fast = point.place < least
    stop = np.where(fast, least, most)
    unit = np.asarray(most) - least
    found = [point]

    def wanting(speed_rpm: Floats) -> Floats:
        found[0] = _at_speed(system, replace(found[0], speed_rpm=speed_rpm), effort)
        return np.asarray((stop - found[0].place) / unit)

    low, high = np.where(fast, aim, SLOWEST * aim), np.where(fast, FASTEST * aim, aim)
    start = np.where(fast, 1.1 * aim, 0.97 * aim)
    speed = falling_root(wanting, low, high, start, TOLERANCE, effort.evaluations)
    wanted = wanting(speed)
    return replace(found[0], left=np.maximum(found[0].left, np.abs(wanted)))


def _at_speed(system: System, point: Point, effort: Effort) -> Point:
    """Everything else at a given speed."""
    for _ in range(effort.rounds):
        point = _oil_settled(system, point, effort)
        settle = _air_settled if system.build.throttled else _diesel_settled
        point = settle(system, point, effort)
    return _with_left(system, point)


def _oil_settled(system: System, point: Point, effort: Effort) -> Point:
    def left(gallery_pa: Floats) -> Floats:
        flows = system.oil(point.speed_rpm, point.crankcase_pa, gallery_pa)
        return np.asarray(flows.balance / OIL_M3_S)

    one = np.ones_like(point.gallery_pa)
    gallery = falling_root(
        left, 0.0 * one, MOST_GALLERY_PA * one, point.gallery_pa, TOLERANCE, effort.evaluations
    )
    pump = system.oil(point.speed_rpm, point.crankcase_pa, gallery).pump_nm
    return replace(point, gallery_pa=gallery, pump_nm=pump)


def _crankcase_settled(
    system: System, speed_rpm: Floats, manifold_pa: Floats, start: Floats, effort: Effort
) -> Floats:
    blow_by = past_rings(system.engine, speed_rpm, manifold_pa)

    def left(crankcase_pa: Floats) -> Floats:
        return system.gas_left(blow_by, manifold_pa, crankcase_pa) / GAS_KG_S

    low = np.full_like(start, LEAST_CRANKCASE_PA)
    high = system.engine.air.barometer_pa + np.full_like(start, MOST_OVER_PA)
    return falling_root(left, low, high, start, TOLERANCE, effort.evaluations)


def _air_settled(system: System, point: Point, effort: Effort) -> Point:
    outside = system.engine.air.barometer_pa * np.ones_like(point.manifold_pa)
    crankcase = [point.crankcase_pa]

    def at(manifold_pa: Floats) -> AirSide:
        crankcase[0] = _crankcase_settled(
            system, point.speed_rpm, manifold_pa, crankcase[0], effort
        )
        return system.air(point.speed_rpm, manifold_pa, crankcase[0])

    def wanting(manifold_pa: Floats) -> Floats:
        work = at(manifold_pa).work_w
        left = system.left_nm(point.speed_rpm, manifold_pa, work, point.pump_nm)
        return np.asarray(-left / TORQUE_NM)

    manifold = falling_root(
        wanting,
        LEAST_MANIFOLD * outside,
        MOST_MANIFOLD * outside,
        point.manifold_pa,
        TOLERANCE,
        effort.evaluations,
    )
    side = at(manifold)
    return replace(
        point, manifold_pa=manifold, crankcase_pa=crankcase[0], place=side.throttle_m2
    )


def _diesel_settled(system: System, point: Point, effort: Effort) -> Point:
    outside = system.engine.air.barometer_pa * np.ones_like(point.manifold_pa)
    crankcase = [point.crankcase_pa]

    def left(manifold_pa: Floats) -> Floats:
        crankcase[0] = _crankcase_settled(
            system, point.speed_rpm, manifold_pa, crankcase[0], effort
        )
        flows = system.diesel_air(point.speed_rpm, manifold_pa, crankcase[0])
        return flows.manifold_balance / AIR_KG_S

    manifold = falling_root(
        left, 0.3 * outside, 1.05 * outside, point.manifold_pa, TOLERANCE, effort.evaluations
    )
    left(manifold)
    place = system.diesel_place(point.speed_rpm, manifold, point.pump_nm)
    return replace(point, manifold_pa=manifold, crankcase_pa=crankcase[0], place=place)


def _with_left(system: System, point: Point) -> Point:
    """The point with what is left of its equations; stalled where no air is enough."""
    blow_by = past_rings(system.engine, point.speed_rpm, point.manifold_pa)
    gas = system.gas_left(blow_by, point.manifold_pa, point.crankcase_pa) / GAS_KG_S
    oil = system.oil(point.speed_rpm, point.crankcase_pa, point.gallery_pa)
    left = np.maximum(np.abs(gas), np.abs(oil.balance / OIL_M3_S))
    stalled = np.zeros(left.shape, dtype=bool)
    if system.build.throttled:
        work = system.air(point.speed_rpm, point.manifold_pa, point.crankcase_pa).work_w
        torque = system.left_nm(point.speed_rpm, point.manifold_pa, work, oil.pump_nm) / TORQUE_NM
        at_most = point.manifold_pa > 0.98 * MOST_MANIFOLD * system.engine.air.barometer_pa
        stalled = at_most & (torque < -TOLERANCE)
        left = np.maximum(left, np.abs(torque))
    else:
        flows = system.diesel_air(point.speed_rpm, point.manifold_pa, point.crankcase_pa)
        left = np.maximum(left, np.abs(flows.manifold_balance / AIR_KG_S))
    return replace(point, left=np.asarray(left), stalled=stalled)


def _put(whole: Point, where: npt.NDArray[np.intp], some: Point) -> Point:
    """The whole with these members put in."""
    values: dict[str, npt.NDArray[np.generic]] = {}
    for one in fields(Point):
        filled = getattr(whole, one.name).copy()
        filled[where] = getattr(some, one.name)
        values[one.name] = filled
    return Point(**values)  # type: ignore[arg-type]

