"""All equations of an engine at once: Newton's steps from where it is likely to be near.

`settling` cannot miss a root, but looks at each engine some fifty times.  From a point that is near
enough a few steps with all unknowns together do: the slopes are taken once, by small differences,
and mended from what each step left (the inverse by the rank-one update of C. G. Broyden, Math.
Comput. 19, 1965, from memory).  What does not come to rest so is told, and left to `settling`.
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


@dataclass(frozen=True)
class Way:
    """How n engines go to their rest; the last axis of every array is theirs.

    `x`: unknowns (m, n) over `UNIT`: gallery, crankcase and manifold pressure, and speed where a
    stop is given.  `left` (m, n) of the equations at x, and what else is seen there.  `inverse`
    (m, m, n): how far to go for each unit left.
    """

    x: Floats
    left: Floats
    place: Floats
    pump_nm: Floats
    over: Floats
    inverse: Floats

    def some(self, which: npt.NDArray[np.intp]) -> Way:
        """Of some of the engines."""
        return Way(**{name: array[..., which] for name, array in vars(self).items()})

    def with_some(self, which: npt.NDArray[np.intp], new: Way) -> Way:
        """The same with some of the engines further on."""
        whole = {name: array.copy() for name, array in vars(self).items()}
        for name, array in whole.items():
            array[..., which] = getattr(new, name)
        return Way(**whole)


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
    way = _carried(system, start, Way(x, *_looked(system, start, x), inverse), turns)
    left = np.abs(way.left).max(axis=0)
    gallery, crankcase, manifold = way.x[:3] * UNIT[:3, None]
    return replace(
        start,
        speed_rpm=way.x[3] * UNIT[3] if len(x) == 4 else start.speed_rpm,
        place=way.place,
        manifold_pa=manifold,
        crankcase_pa=crankcase,
        gallery_pa=gallery,
        pump_nm=way.pump_nm,
        left=np.where(np.isfinite(left), left, np.inf),
        stalled=way.over > TOO_LEAN,
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


def _carried(system: System, point: Point, way: Way, turns: int) -> Way:
    """The way after some more steps; those that want no more are left where they are."""
    low, high = _bounds(system, way.x.shape)
    for turn in range(turns):
        going = ~(np.abs(way.left).max(axis=0) < TOLERANCE)
        wanting = np.count_nonzero(going)
        if not wanting:
            return way
        if wanting < WORTH_PARTING * going.size:
            rest = np.flatnonzero(going)
            fewer, some = taken((system, point), rest, going.size)
            return way.with_some(rest, _carried(fewer, some, way.some(rest), turns - turn))
        way = _stepped(system, point, way, low, high)
    return way


def _stepped(system: System, point: Point, way: Way, low: Floats, high: Floats) -> Way:
    """One step for all, and the inverse mended by what it left."""
    x = np.clip(way.x - _times(way.inverse, way.left), low, high)
    seen = _looked(system, point, x)
    return Way(x, *seen, _mended(way.inverse, x - way.x, seen[0] - way.left))


def _mended(inverse: Floats, step: Floats, change: Floats) -> Floats:
    """The inverse that would have told this step for this change."""
    told = _times(inverse, change)
    along = np.einsum("in,in->n", step, told)
    row = np.einsum("in,ijn->jn", step, inverse)
    with np.errstate(all="ignore"):
        mend = np.einsum("in,jn->ijn", step - told, row / along)
    return inverse + np.where(np.isfinite(mend), mend, 0.0)


def _times(matrix: Floats, vector: Floats) -> Floats:
    return np.asarray(np.einsum("ijn,jn->in", matrix, vector))


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
