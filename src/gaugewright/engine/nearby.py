"""Where engines settle, the quick way first: from an engine near by, or from a fair guess.

An engine that differs little from one already settled is a few steps of `together` away, by the
slopes of that one.  An engine by itself starts from a guess and its own slopes.  What does not come
to rest so, or rests beyond a stop, or stalls, is left to the brackets of `settling`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.engine.settling import (
    Point,
    first_guess,
    put,
    released,
    settled_point,
    with_crankcase_at_rest,
)
from gaugewright.engine.system import System
from gaugewright.engine.together import come_to_rest, slopes_inverted
from gaugewright.engine.variants import taken
from gaugewright.physics.numbers import Floats

Which = npt.NDArray[np.intp]

CLOSE = 1e-5
"""What may be left of any equation after the quick way, as a share: a tenth of what `settling`
accepts, so that slopes are no worse than by whole solves."""
ROUNDS = 4
"""How often an engine by itself is given fresh slopes."""


@dataclass(frozen=True)
class Near:
    """Engines already settled, and which of them each of n engines is near to, (n,)."""

    system: System
    point: Point
    of: Which

    @property
    def count(self) -> int:
        """How many are settled."""
        return self.point.place.size

    def slopes(self) -> Floats:
        """For each of the n engines the slopes of the one it is near to, (m, m, n)."""
        return slopes_inverted(self.system, self.point)[..., self.of]


def settled(system: System, count: int) -> Point:
    """Where do these engines settle, each by itself?"""
    point = first_guess(system, count)
    stuck = np.arange(count)
    for turn in range(ROUNDS):
        fewer, some = taken((system, point), stuck, count)
        if turn:
            some = with_crankcase_at_rest(fewer, some)
        some = _quick(fewer, some, Near(fewer, some, np.arange(stuck.size)))
        point = some if stuck.size == count else put(point, stuck, some)
        stuck = _unsettled(point)
        if not stuck.size:
            return point
    return put(point, stuck, settled_point(taken(system, stuck, count), stuck.size))


def settled_near(system: System, near: Near) -> Point:
    """Where do these engines settle that differ little from others already settled?"""
    count = near.of.size
    start = taken(near.point, near.of, near.count)
    start = replace(start, stop=_same_stop(system, near))
    point = _quick(system, start, near)
    stuck = _unsettled(point)
    if not stuck.size:
        return point
    return put(point, stuck, settled(taken(system, stuck, count), stuck.size))


def _same_stop(system: System, near: Near) -> Floats:
    """The stop at which the one near by is, where the engine itself has it."""
    theirs = near.point.stop
    at_least = theirs <= near.system.stops[0]
    least, most = system.stops
    own = np.where(at_least[near.of], least, most)
    return np.where(np.isfinite(theirs)[near.of], own, np.nan)


def _unsettled(point: Point) -> Which:
    return np.flatnonzero(~(point.left < CLOSE))


def _quick(system: System, start: Point, near: Near) -> Point:
    """At the governor's aim, or at the stop where it starts, or at the stop it is found beyond."""
    aim = system.idle_rpm(start.place.size)
    start = replace(start, speed_rpm=np.where(np.isfinite(start.stop), start.speed_rpm, aim))
    point = come_to_rest(system, start, near.slopes())
    settled = (point.left < CLOSE) & ~np.isfinite(point.stop)
    beyond = system.beyond(np.where(settled, point.place, np.nan))
    if beyond.size:
        fewer, some = taken((system, point), beyond, point.place.size)
        low, high = fewer.stops
        some = replace(some, stop=np.where(some.place < low, low, high))
        point = put(point, beyond, come_to_rest(fewer, some, slopes_inverted(fewer, some)))
    return released(system, point)
