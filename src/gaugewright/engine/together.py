"""All equations of an engine at once: Newton's steps from where it is likely to be near.

`settling` cannot miss a root, but looks at each engine dozens of times.  From a point that is near
enough a few steps with all unknowns together do: the slopes are taken once, by small differences,
and mended by what each step left (the second of the updates of C. G. Broyden, Math. Comput. 19,
1965, 577-593, from memory).  What does not come to rest so is told, and left to `settling`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.engine.settling import (
    AIR_KG_S,
    FASTEST,
    GAS_KG_S,
    LEAST_CRANKCASE_PA,
    LEAST_MANIFOLD,
    MOST_GALLERY_PA,
    MOST_MANIFOLD,
    MOST_OVER_PA,
    OIL_M3_S,
    SLOWEST,
    TOLERANCE,
    TOO_LEAN,
    TORQUE_NM,
    Point,
)
from gaugewright.engine.system import System
from gaugewright.engine.variants import taken
from gaugewright.physics.numbers import Floats

UNIT = np.array([1e5, 100.0, 1e4, 100.0])
"""Gallery, crankcase and manifold in Pa, speed in rpm: what each moves by from engine to engine."""
ASIDE = np.array([1.0, 0.05, 1.0, 0.02])
"""How far aside the slopes are looked for, in Pa, Pa, Pa and rpm."""
TURNS = 6
"""Steps that are tried."""
WORTH_PARTING = 0.6
"""The rest is carried on alone once it is less than this share."""
TINY = 1e-12

Which = npt.NDArray[np.intp]


@dataclass(frozen=True)
class At:
    """Where n engines are; the last axis of every array is theirs.

    `x`: unknowns (m, n) over `UNIT`: gallery, crankcase and manifold pressure, and speed where any
    is at a stop.  `left` (m, n) of the equations there, and what else is seen.
    """

    x: Floats
    left: Floats
    place: Floats
    pump_nm: Floats
    over: Floats

    def some(self, which: Which) -> At:
        """Some of the engines."""
        return At(*(array[..., which] for array in vars(self).values()))

    def with_some(self, which: Which, new: At) -> At:
        """The same with some of the engines further on."""
        whole = {name: array.copy() for name, array in vars(self).items()}
        for name, array in whole.items():
            array[..., which] = getattr(new, name)
        return At(**whole)

    @property
    def worst(self) -> Floats:
        """The most that is left of any equation, (n,)."""
        return np.asarray(np.abs(self.left).max(axis=0))


@dataclass(frozen=True)
class Slopes:
    """How far to go for what is left: an inverse (m, m, n), mended by what each step has shown.

    What a step of x changed in what is left, `changes`, would now call for just that step:
    `mends` times what is left along `changes` come on top.
    """

    inverse: Floats
    mends: tuple[Floats, ...] = ()
    changes: tuple[Floats, ...] = ()

    def some(self, which: Which) -> Slopes:
        """Of some of the engines."""
        mends, changes = (
            tuple(one[..., which] for one in rows) for rows in (self.mends, self.changes)
        )
        return Slopes(self.inverse[..., which], mends, changes)

    def away(self, left: Floats) -> Floats:
        """How far from rest with this much left, (m, n)."""
        found = np.einsum("ijn,jn->in", self.inverse, left)
        for mend, change in zip(self.mends, self.changes, strict=True):
            found += mend * np.einsum("in,in->n", change, left)
        return np.asarray(found)

    def mended(self, step: Floats, told: Floats, change: Floats) -> Slopes:
        """The same after a step of x that changed what is left, and was `told` for that change."""
        size = np.einsum("in,in->n", change, change)
        mend = (step - told) / np.where(size == 0.0, np.inf, size)
        return Slopes(self.inverse, (*self.mends, mend), (*self.changes, change))


def slopes_inverted(system: System, point: Point) -> Floats:
    """How far each unknown is from rest for each unit left of each equation, (m, m, n).

    m is 4 where any of them is at a stop, else the speed of all is given and m is 3.
    """
    x = _unknowns(point)
    m = len(x)
    aside = ASIDE[:m] / UNIT[:m]
    tried = x[:, None, :] + np.concatenate([np.zeros((m, 1)), np.diag(aside)], axis=1)[:, :, None]
    left = _looked(system, point, tried)[0]
    return inverted((left[:, 1:] - left[:, :1]) / aside[None, :, None])


def inverted(matrix: Floats) -> Floats:
    """The inverses of n matrices, (m, m, n), by elimination without pivoting.

    Each equation falls in its own unknown when the others follow, so that no pivot is nothing; one
    that is yet gives steps so long that the engine counts as not come to rest.
    """
    m = len(matrix)
    whole = np.concatenate([matrix, np.broadcast_to(np.eye(m)[:, :, None], matrix.shape)], axis=1)
    for k in range(m):
        pivot = whole[k, k]
        whole[k] /= np.where(np.abs(pivot) < TINY, TINY, pivot)
        others = [i for i in range(m) if i != k]
        whole[others] -= whole[others, k, None] * whole[k]
    return np.asarray(whole[:, m:])


def come_to_rest(system: System, start: Point, inverse: Floats, turns: int = TURNS) -> Point:
    """Where these engines come to rest, at their stops or at the speeds where they start.

    `inverse` as `slopes_inverted` gives it, of themselves or of engines near them.
    Returns the point with what is left; where that is too much it is not to be relied on.
    """
    x = _unknowns(start)
    at = _carried(system, start, At(x, *_looked(system, start, x)), Slopes(inverse), turns)
    gallery, crankcase, manifold = at.x[:3] * UNIT[:3, None]
    return replace(
        start,
        speed_rpm=at.x[3] * UNIT[3] if len(x) == 4 else start.speed_rpm,
        place=at.place,
        manifold_pa=manifold,
        crankcase_pa=crankcase,
        gallery_pa=gallery,
        pump_nm=at.pump_nm,
        left=np.where(np.isfinite(at.worst), at.worst, np.inf),
        stalled=at.over > TOO_LEAN,
    )


def _unknowns(point: Point) -> Floats:
    rows = [point.gallery_pa, point.crankcase_pa, point.manifold_pa]
    if np.isfinite(point.stop).any():
        rows.append(point.speed_rpm)
    return np.asarray(np.stack(rows) / UNIT[: len(rows), None])


def _looked(system: System, point: Point, x: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """What is left of the equations (m, ...), place, pump's torque and mixture at x (m, ..., n)."""
    gallery, crankcase, manifold = (row * unit for row, unit in zip(x[:3], UNIT[:3], strict=True))
    speed = x[3] * UNIT[3] if len(x) == 4 else point.speed_rpm
    oil = system.oil(speed, crankcase, gallery)
    if system.build.throttled:
        side = system.air(speed, manifold, crankcase)
        flows, place, over = side.flows, side.throttle_m2, side.over
        torque = system.left_nm(speed, manifold, side.work_w, oil.pump_nm)
        air = torque / TORQUE_NM
    else:
        flows = system.diesel_air(speed, manifold, crankcase)
        place, over = system.diesel_place(speed, manifold, oil.pump_nm), np.zeros_like(manifold)
        air = flows.manifold_balance / AIR_KG_S
    rows = [oil.balance / OIL_M3_S, flows.crankcase_balance / GAS_KG_S, air]
    if len(x) == 4:
        rows.append(_off_stop(system, point, place, speed))
    return np.stack(rows), place, oil.pump_nm, over


def _off_stop(system: System, point: Point, place: Floats, speed_rpm: Floats) -> Floats:
    """How far off its stop each is, or off the speed where it starts."""
    least, most = system.stops
    off = (place - point.stop) / np.subtract(most, least)
    return np.where(np.isfinite(point.stop), off, speed_rpm / point.speed_rpm - 1.0)


def _carried(system: System, point: Point, at: At, slopes: Slopes, turns: int) -> At:
    """Where they are after some more steps; those that want no more stay where they are."""
    bounds = _bounds(system, at.x.shape)
    away = slopes.away(at.left)
    for turn in range(turns):
        going = ~(at.worst < TOLERANCE)
        wanting = np.count_nonzero(going)
        if not wanting:
            return at
        if wanting < WORTH_PARTING * going.size:
            rest = np.flatnonzero(going)
            fewer, some = taken((system, point), rest, going.size)
            further = _carried(fewer, some, at.some(rest), slopes.some(rest), turns - turn)
            return at.with_some(rest, further)
        x = np.clip(at.x - away, *bounds)
        new = At(x, *_looked(system, point, x))
        next_away = slopes.away(new.left)
        slopes = slopes.mended(x - at.x, next_away - away, new.left - at.left)
        along = np.einsum("in,in->n", slopes.changes[-1], new.left)
        at, away = new, next_away + slopes.mends[-1] * along
    return at


def _bounds(system: System, shape: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Least and most of each unknown, (m, n), as `settling` has them."""
    m, n = shape
    one = np.ones(n)
    outside = system.engine.air.barometer_pa * one
    aim = system.idle_rpm(n)
    thin, thick = (LEAST_MANIFOLD, MOST_MANIFOLD) if system.build.throttled else (0.3, 1.05)
    low = [0.0 * one, LEAST_CRANKCASE_PA * one, thin * outside, SLOWEST * aim]
    high = [MOST_GALLERY_PA * one, outside + MOST_OVER_PA, thick * outside, FASTEST * aim]
    unit = UNIT[:m, None]
    return np.stack(low[:m]) / unit, np.stack(high[:m]) / unit
