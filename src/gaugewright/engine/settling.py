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
from gaugewright.engine.guess import crankcase_guess, gallery_guess, manifold_guess
from gaugewright.engine.roots import Function, Search, Which, falling_root
from gaugewright.engine.system import System
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
TOO_LEAN = 1.33
"""Air over the fuel's need beyond which it misfires and dies (common practice, no source)."""
SLOWEST, FASTEST = 0.35, 5.0
"""Bounds of the speed over the governor's aim, beyond the stops."""


@dataclass(frozen=True)
class Effort:
    """How hard the roots are looked for.

    `evaluations` a root may take; `tolerances` of the rounds made, one after the other; `behind`:
    the share of variants a root may leave unfinished, to be taken up again with more effort.
    `nested`: the crankcase is brought to rest at every step of the manifold, not after it.
    """

    evaluations: int
    tolerances: tuple[float, ...]
    behind: float = 0.0
    nested: bool = False

    def search(self, step: float, tolerance: float) -> Search:
        """One root's search with this effort."""
        return Search(step, tolerance, self.evaluations, self.behind)


EFFORTS = (
    Effort(8, (1e-3, TOLERANCE), behind=0.002),
    Effort(25, (1e-3, 1e-5, TOLERANCE, TOLERANCE, TOLERANCE)),
    Effort(60, (TOLERANCE,) * 9, nested=True),
)
"""Nearly all with a throttle settle at the first; a few at a knee or at a stop want the second, and
so do diesels, whose two rooms of gas hang closely together; a lean engine whose burning hangs on
the crankcase's air wants the third.  Few come here at all: see `nearby`."""


MANIFOLD_STEP_PA, CRANKCASE_STEP_PA, GALLERY_STEP_PA = 100.0, 5.0, 300.0
"""How far off the second point of each root is tried."""


@dataclass(frozen=True)
class Point:
    """Where an engine is; each (n,).

    `place`: throttle in m2, or a diesel's share of fuel; `stop`: where the governor can't go on,
    NaN where it can.
    """

    speed_rpm: Floats
    place: Floats
    manifold_pa: Floats
    crankcase_pa: Floats
    gallery_pa: Floats
    pump_nm: Floats
    left: Floats
    stalled: Bools
    stop: Floats


def settled_point(system: System, count: int) -> Point:
    """Where do these engines settle?"""
    point = _settled(system, first_guess(system, count), EFFORTS[0])
    for effort in EFFORTS[1:]:
        stuck = np.flatnonzero(~(point.left < ACCEPTED) & ~point.stalled)
        if stuck.size:
            fewer = taken(system, stuck, count)
            start = first_guess(fewer, stuck.size) if effort.nested else taken(point, stuck, count)
            point = put(point, stuck, _settled(fewer, start, effort))
    return point


def first_guess(system: System, count: int) -> Point:
    """A point an ordinary engine is near to."""
    one = np.ones(count)
    speed = system.idle_rpm(count)
    manifold = manifold_guess(system, speed)
    return Point(
        speed_rpm=speed,
        place=0.0 * one,
        manifold_pa=manifold,
        crankcase_pa=crankcase_guess(system, speed, manifold),
        gallery_pa=gallery_guess(system, speed),
        pump_nm=0.5 * one,
        left=np.inf * one,
        stalled=one < 0.0,
        stop=np.nan * one,
    )


def _settled(system: System, start: Point, effort: Effort) -> Point:
    """At the governor's aim; where its throttle lies beyond a stop, at that stop."""
    at_stop = np.isfinite(start.stop)
    free = np.flatnonzero(~at_stop)
    point = start
    if free.size:
        point = put(point, free, _free(*_some(system, start, free), effort))
    kept = np.flatnonzero(at_stop)
    if kept.size:
        point = put(point, kept, _rounds(*_some(system, start, kept), effort))
    return released(system, point)


AT_AIM = 1e-4
"""Share of the aim by which a speed at a stop may be on the wrong side of it."""


def released(system: System, point: Point) -> Point:
    """The point; at a stop that the governor would have left again, as not yet settled.

    At the least throttle the speed is above the aim, at the most below it; a stop that was
    taken from a round cut short shows by the other.
    """
    least, most = system.stops
    aim = system.idle_rpm(point.place.size)
    slow = (point.stop <= least) & (point.speed_rpm < (1.0 - AT_AIM) * aim)
    fast = (point.stop >= most) & (point.speed_rpm > (1.0 + AT_AIM) * aim)
    wrong = slow | fast
    return replace(
        point,
        left=np.where(wrong, np.inf, point.left),
        stop=np.where(wrong, np.nan, point.stop),
    )


def _free(system: System, start: Point, effort: Effort) -> Point:
    """At the governor's aim first, then those beyond a stop at it."""
    count = start.place.size
    point = _rounds(system, replace(start, speed_rpm=system.idle_rpm(count)), effort)
    beyond = system.beyond(point.place)
    if not beyond.size:
        return point
    fewer, some = _some(system, point, beyond)
    low, high = fewer.stops
    stop = np.where(some.place < low, low, high)
    return put(point, beyond, _rounds(fewer, replace(some, stop=stop), effort))


def _rounds(system: System, point: Point, effort: Effort) -> Point:
    """Oil and gas in turn, at a given speed, or at the speed a stop leaves."""
    settle = _air_settled if system.build.throttled else _diesel_settled
    for tolerance in effort.tolerances:
        point = _oil_settled(system, point, effort, tolerance)
        point = settle(system, point, effort, tolerance)
    point = _oil_settled(system, point, effort, effort.tolerances[-1])
    return _with_left(system, point)


def _oil_settled(system: System, point: Point, effort: Effort, tolerance: float) -> Point:
    count = point.gallery_pa.size

    def left_of(which: Which | None) -> Function:
        some, at = _some(system, point, which)
        return lambda gallery_pa: np.asarray(
            some.oil(at.speed_rpm, at.crankcase_pa, gallery_pa).balance / OIL_M3_S
        )

    search = effort.search(GALLERY_STEP_PA, tolerance)
    low, high = np.zeros(count), np.full(count, MOST_GALLERY_PA)
    gallery = falling_root(left_of, low, high, point.gallery_pa, search)
    pump = system.oil(point.speed_rpm, point.crankcase_pa, gallery).pump_nm
    return replace(point, gallery_pa=gallery, pump_nm=pump)


def _some(system: System, point: Point, which: Which | None) -> tuple[System, Point]:
    """Some of these systems and where they are."""
    count = point.place.size
    if which is None or which.size == count:
        return system, point
    return taken(system, which, count), taken(point, which, count)


class _Rooms:
    """The two rooms of gas, while their pressures are looked for.

    With a stop for all, the throttle (or a diesel's fuel) is given and the speed is what the air
    makes of it; else the speed is given.
    """

    def __init__(self, system: System, point: Point, effort: Effort, tolerance: float) -> None:
        self.system, self.point = system, point
        self.stop = point.stop if np.isfinite(point.stop).all() else None
        self.effort, self.tolerance = effort, tolerance
        self.crankcase_pa, self.speed_rpm = point.crankcase_pa, point.speed_rpm

    def follow(self, manifold_pa: Floats) -> None:
        """Bring the crankcase to rest at this manifold pressure."""
        blow_by = past_rings(self.system.engine, self.speed_rpm, manifold_pa)
        count = manifold_pa.size

        def left_of(which: Which | None) -> Function:
            all_of = (self.system, np.asarray(blow_by), manifold_pa)
            some, gas, manifold = all_of if which is None else taken(all_of, which, count)
            return lambda crankcase_pa: some.gas_left(gas, manifold, crankcase_pa) / GAS_KG_S

        low = np.full_like(manifold_pa, LEAST_CRANKCASE_PA)
        high = self.system.engine.air.barometer_pa + np.full_like(manifold_pa, MOST_OVER_PA)
        search = self.effort.search(CRANKCASE_STEP_PA, self.tolerance)
        self.crankcase_pa = falling_root(left_of, low, high, self.crankcase_pa, search)

    def root(self, function: Function, low: Floats, high: Floats, start: Floats) -> Floats:
        """The root of a falling function of all, with this effort."""
        search = self.effort.search(MANIFOLD_STEP_PA, self.tolerance)
        return falling_root(lambda which: _within(function, start, which), low, high, start, search)

    def torque_wanting(self, manifold_pa: Floats) -> Floats:
        """Torque still wanting of a throttled engine."""
        if self.stop is not None:
            self._take_speed(manifold_pa, self.stop)
        if self.effort.nested:
            self.follow(manifold_pa)
        work = self.system.air(self.speed_rpm, manifold_pa, self.crankcase_pa).work_w
        left = self.system.left_nm(self.speed_rpm, manifold_pa, work, self.point.pump_nm)
        return np.asarray(-left / TORQUE_NM)

    def _take_speed(self, manifold_pa: Floats, stop: Floats) -> None:
        """The speed at which the cylinders draw just what comes in."""
        flows = self.system.flows(self.speed_rpm, stop, manifold_pa, self.crankcase_pa)
        coming = flows.manifold_balance + flows.cylinders
        aim = self.system.idle_rpm(coming.size)
        speed = self.speed_rpm * coming / np.maximum(flows.cylinders, 1e-9)
        self.speed_rpm = np.clip(speed, SLOWEST * aim, FASTEST * aim)

    def air_left(self, manifold_pa: Floats) -> Floats:
        """What gathers in the manifold of a diesel."""
        if self.effort.nested:
            self.follow(manifold_pa)
        flows = self.system.diesel_air(self.speed_rpm, manifold_pa, self.crankcase_pa)
        return flows.manifold_balance / AIR_KG_S


def with_crankcase_at_rest(system: System, point: Point) -> Point:
    """The same point with what the crankcase settles to at its manifold pressure and speed."""
    rooms = _Rooms(system, point, EFFORTS[1], EFFORTS[1].tolerances[0])
    rooms.follow(point.manifold_pa)
    return replace(point, crankcase_pa=rooms.crankcase_pa)


def _within(function: Function, start: Floats, which: Which | None) -> Function:
    """The function for some members, the others kept where they started."""
    if which is None:
        return function

    def of_some(values: Floats) -> Floats:
        whole = start.copy()
        whole[which] = values
        return function(whole)[which]

    return of_some


def _air_settled(system: System, point: Point, effort: Effort, tolerance: float) -> Point:
    """Both gas rooms of a throttled engine: the torque finds the manifold's pressure."""
    rooms = _Rooms(system, point, effort, tolerance)
    outside = system.engine.air.barometer_pa * np.ones_like(point.manifold_pa)
    low, high = LEAST_MANIFOLD * outside, MOST_MANIFOLD * outside
    manifold = rooms.root(rooms.torque_wanting, low, high, point.manifold_pa)
    rooms.torque_wanting(manifold)
    rooms.follow(manifold)
    place = system.air(rooms.speed_rpm, manifold, rooms.crankcase_pa).throttle_m2
    return replace(
        point,
        speed_rpm=rooms.speed_rpm,
        manifold_pa=manifold,
        crankcase_pa=rooms.crankcase_pa,
        place=place,
    )


def _diesel_settled(system: System, point: Point, effort: Effort, tolerance: float) -> Point:
    """Both gas rooms of a diesel: the manifold's own balance finds its pressure."""
    rooms = _Rooms(system, point, effort, tolerance)
    if rooms.stop is not None:
        rooms.speed_rpm = _diesel_speed(rooms, point.manifold_pa, rooms.stop)
    outside = system.engine.air.barometer_pa * np.ones_like(point.manifold_pa)
    manifold = rooms.root(rooms.air_left, 0.3 * outside, 1.05 * outside, point.manifold_pa)
    rooms.follow(manifold)
    place = system.diesel_place(rooms.speed_rpm, manifold, point.pump_nm)
    return replace(
        point,
        speed_rpm=rooms.speed_rpm,
        manifold_pa=manifold,
        crankcase_pa=rooms.crankcase_pa,
        place=place,
    )


def _diesel_speed(rooms: _Rooms, manifold_pa: Floats, stop: Floats) -> Floats:
    """The speed at which a diesel at its governor's stop has no torque left over."""
    aim = rooms.system.idle_rpm(stop.size)

    def left(speed_rpm: Floats) -> Floats:
        return stop - rooms.system.diesel_place(speed_rpm, manifold_pa, rooms.point.pump_nm)

    return rooms.root(left, SLOWEST * aim, FASTEST * aim, rooms.speed_rpm)


def _with_left(system: System, point: Point) -> Point:
    """The point with what is left of its equations; stalled where no air is enough."""
    blow_by = past_rings(system.engine, point.speed_rpm, point.manifold_pa)
    gas = system.gas_left(blow_by, point.manifold_pa, point.crankcase_pa) / GAS_KG_S
    oil = system.oil(point.speed_rpm, point.crankcase_pa, point.gallery_pa)
    left = np.maximum(np.abs(gas), np.abs(oil.balance / OIL_M3_S))
    least, most = system.stops
    off = np.nan_to_num((point.place - point.stop) / np.subtract(most, least))
    left = np.maximum(left, np.abs(off))
    if not system.build.throttled:
        flows = system.diesel_air(point.speed_rpm, point.manifold_pa, point.crankcase_pa)
        left = np.maximum(left, np.abs(flows.manifold_balance / AIR_KG_S))
        return replace(point, left=np.asarray(left), stalled=_diesel_stalled(system, point))
    side = system.air(point.speed_rpm, point.manifold_pa, point.crankcase_pa)
    torque = system.left_nm(point.speed_rpm, point.manifold_pa, side.work_w, oil.pump_nm)
    torque = torque / TORQUE_NM
    at_most = point.manifold_pa > 0.98 * MOST_MANIFOLD * system.engine.air.barometer_pa
    return replace(
        point,
        left=np.asarray(np.maximum(left, np.abs(torque))),
        stalled=np.asarray((at_most & (torque < -TOLERANCE)) | (side.over > TOO_LEAN)),
    )


def _diesel_stalled(system: System, point: Point) -> Bools:
    """Where all the fuel of its governor is not enough even at the slowest speed looked at."""
    _, most = system.stops
    slowest = point.speed_rpm < 1.001 * SLOWEST * system.idle_rpm(point.place.size)
    return np.asarray((point.stop >= most) & (point.place > most) & slowest)


def put(whole: Point, where: npt.NDArray[np.intp], some: Point) -> Point:
    """The whole with these members put in."""
    values: dict[str, npt.NDArray[np.generic]] = {}
    for one in fields(Point):
        filled = getattr(whole, one.name).copy()
        filled[where] = getattr(some, one.name)
        values[one.name] = filled
    return Point(**values)  # type: ignore[arg-type]
