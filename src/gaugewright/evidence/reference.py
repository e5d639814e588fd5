"""The reference check: how far the gauge moves for each unit of crankcase pressure.

One means that the bearings never felt the change.  It is true of nearly every engine and never
by itself an excuse: how much of a shortfall it explains is a separate answer.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaugewright.evidence.case import Case, Situation
from gaugewright.evidence.courses import Point, pieces
from gaugewright.evidence.held import Held
from gaugewright.evidence.level import coverage_factor
from gaugewright.evidence.line import Line, Scatter, line_through, slope_interval
from gaugewright.evidence.pump import held_by_relief
from gaugewright.evidence.results import Caveat, Effect, LimitCheck, ReferenceCheck
from gaugewright.evidence.slopes import together
from gaugewright.evidence.stretch import UNSETTLED
from gaugewright.quantities.catalogue import QUANTITIES
from gaugewright.sensing.shared import SharedErrors

Floats = npt.NDArray[np.float64]

NEAR_SPEED = 0.2
"""Conditions within this share of the first one's speed are compared (J)."""
WIDEST = 0.8
MOVED = 3.0
UNKNOWN_SPEED_SHARE = 0.03
"""Oil pressures of two idles of unknown speed differ by about this share each (J)."""
UNMOVED_PA = 1e-3
"""A crankcase that moved by less than this moved by nothing but rounding."""


def reference_checks(
    case: Case, oil_pump: str | None, limits: list[LimitCheck]
) -> tuple[list[ReferenceCheck], list[Caveat]]:
    """One check for each state in which gauge and crankcase pressure are known."""
    found: list[ReferenceCheck] = []
    caveats: list[Caveat] = []
    states = dict.fromkeys((s.visit, s.state) for s in case.situations)
    for visit, state in states:
        situations = [s for s in case.situations if (s.visit, s.state) == (visit, state)]
        points = _points(case, situations)
        if not points:
            caveats.append(_nothing(visit))
            continue
        check = _check(case, visit, points, oil_pump)
        found.append(_explained(case, check, situations, limits))
    return found, caveats


def _nothing(visit: str) -> Caveat:
    return Caveat(
        "no-reference-check",
        "oil pressure and crankcase pressure were not both read in one running condition",
        visit,
    )


def _points(case: Case, situations: list[Situation]) -> list[Point]:
    points: list[Point] = []
    for situation in situations:
        if not _held(situation):
            continue
        point = _point(case, situation)
        if point is None or point.gauge.bound or point.crankcase.bound:
            continue
        if not (point.gauge.level.has_interval and point.crankcase.level.has_interval):
            continue
        if points and not _near(points[0], point):
            continue
        if point.gauge.level.speed_rpm is None and "speed-raised" in situation.did:
            continue
        points += pieces(case, point) or [point]
    return points


def _near(first: Point, other: Point) -> bool:
    one, two = first.gauge.level.speed_rpm, other.gauge.level.speed_rpm
    if one is None or two is None:
        return one is two
    return abs(two - one) <= NEAR_SPEED * one


def _point(case: Case, situation: Situation) -> Point | None:
    gauges = situation.sources.get(("oil-pressure", "atmosphere"), ())
    crankcases = situation.sources.get(("crankcase-pressure", "atmosphere"), ())
    if not gauges or not crankcases:
        return None
    gauge = min(gauges, key=lambda s: case.uncertainty(s.held)[0])
    crankcase = min(crankcases, key=lambda s: case.uncertainty(s.held)[0])
    pair = [
        held
        for held in situation.held("oil-pressure", "crankcase")
        if set(held.labels) == set(gauge.held.labels) | set(crankcase.held.labels)
    ]
    return Point(situation, gauge.held, crankcase.held, pair[0] if pair else None)


def scatter_of(case: Case, points: list[Point]) -> Scatter:
    """Gauge over crankcase at one speed and one oil temperature, with the full covariance."""
    degc = points[0].situation.warmth.degc
    gauges = [case.at_warmth(p.situation, p.gauge, degc) for p in points]
    crankcases = [p.crankcase for p in points]
    y, own_y = _levels("oil-pressure", gauges)
    x, own_x = _levels("crankcase-pressure", crankcases)
    across = np.diag(_cross(points, own_x, own_y))
    shared = case.book
    yy = own_y + _shared(shared, gauges, gauges)
    xx = own_x + _shared(shared, crankcases, crankcases)
    xy = across + _shared(shared, crankcases, gauges)
    return Scatter(x, y, xx, yy, xy)


def _shared(book: SharedErrors, rows: list[Held], columns: list[Held]) -> Floats:
    return np.array([[book.between(a.gradient, b.gradient) for b in columns] for a in rows])


def _levels(quantity: str, group: list[Held]) -> tuple[Floats, Floats]:
    levels = [held.level for held in group]
    if any(level.speed_rpm is None for level in levels):
        values = np.array([level.value for level in levels])
        own = np.array([float(level.scale[0, 0]) for level in levels])
        share = UNKNOWN_SPEED_SHARE if quantity == "oil-pressure" else 0.0
        return values, np.diag(own + (share * values) ** 2)
    speed = float(np.mean([float(level.speed_rpm or 0) for level in levels]))
    return together(quantity, levels, speed)


def _cross(points: list[Point], own_x: Floats, own_y: Floats) -> Floats:
    """Covariance of gauge and crankcase noise, from the scatter of their difference."""
    found = np.zeros(len(points))
    for k, point in enumerate(points):
        if point.between is None:
            continue
        own = float(point.between.level.scale[0, 0])
        y, x = float(point.gauge.level.scale[0, 0]), float(point.crankcase.level.scale[0, 0])
        limit = 0.98 * np.sqrt(min(x, own_x[k, k]) * min(y, own_y[k, k]))
        found[k] = float(np.clip(0.5 * (y + x - own), -limit, limit))
    return found


def _explained(
    case: Case, check: ReferenceCheck, situations: list[Situation], limits: list[LimitCheck]
) -> ReferenceCheck:
    """The check with the crankcase's effect as found, and how much of a low gauge that explains."""
    held = [point for s in situations if _held(s) and (point := _point(case, s)) is not None]
    if not held:
        return check
    effect = _effect(case, held[0])
    return replace(check, effect=effect, explains=_explains(held[0], effect, limits))


def _held(situation: Situation) -> bool:
    """Did the engine run, held one way?"""
    return situation.running and not UNSETTLED & set(situation.did)


def _check(case: Case, visit: str, points: list[Point], oil_pump: str | None) -> ReferenceCheck:
    base = ReferenceCheck(
        visit=visit,
        slope=None,
        standard_uncertainty=None,
        low=None,
        high=None,
        verdict="undecided",
        effect=None,
        explains="undecided",
        conditions=tuple(dict.fromkeys(p.situation.condition for p in points)),
    )
    if len(points) < 2:
        return replace(base, flags=("one-condition-only",))
    scatter = scatter_of(case, points)
    if np.ptp(scatter.x) <= UNMOVED_PA:
        return replace(base, flags=("crankcase-hardly-moved",))
    line = line_through(scatter)
    factor = coverage_factor(_dof(points, scatter))
    low, high = slope_interval(scatter, line.slope, factor)
    flags = _doubts(points, scatter, oil_pump)
    bounded = bool(np.isfinite(low) and np.isfinite(high))
    verdict = _verdict(low, high) if bounded and not flags else "undecided"
    return replace(
        base,
        slope=line.slope,
        standard_uncertainty=(high - low) / (2 * factor) if bounded else _linear(line),
        low=low if np.isfinite(low) else None,
        high=high if np.isfinite(high) else None,
        verdict=verdict,
        flags=flags,
    )


def _linear(line: Line) -> float | None:
    variance = float(line.covariance[1, 1])
    return float(np.sqrt(variance)) if variance > 0 else None


def _dof(points: list[Point], scatter: Scatter) -> float | None:
    """Effective degrees of freedom of the slope: the own noise against all the rest."""
    own = np.array([float(p.gauge.level.scale[0, 0]) for p in points])
    dofs = np.array([p.gauge.level.dof for p in points])
    total = float(np.sum(np.diag(scatter.yy)))
    effective = total**2 / float(np.sum(own**2 / dofs)) if own.any() else np.inf
    return None if effective > 1000 else max(effective, 1.0)


def _verdict(low: float, high: float) -> str:
    if low <= 1.0 <= high and low > 0.0 and high - low <= WIDEST:
        return "follows the crankcase"
    if low > 1.0:
        return "real loss as well"
    if high < 0.5:
        return "does not follow the crankcase"
    return "undecided"


def _doubts(points: list[Point], scatter: Scatter, oil_pump: str | None) -> tuple[str, ...]:
    """Why a slope must not be given a verdict."""
    flags = []
    far, near = int(np.argmax(scatter.x)), int(np.argmin(scatter.x))
    spread = scatter.xx[far, far] + scatter.xx[near, near] - 2 * scatter.xx[far, near]
    if np.ptp(scatter.x) < MOVED * np.sqrt(max(float(spread), 0.0)):
        flags.append("crankcase-hardly-moved")
    if oil_pump in ("variable", "controlled"):
        flags.append("pressure-held-by-a-computer")
    level = points[0].gauge.level
    if any(point.gauge.level.speed_rpm is None for point in points):
        flags.append("speed-unknown")
    if held_by_relief(level):
        flags.append("near-relief-ceiling")
    return tuple(flags)


def _effect(case: Case, point: Point) -> Effect | None:
    """The crankcase's gauge pressure as found; None where its signal rests on a stop."""
    if point.crankcase.bound or not point.crankcase.level.has_interval:
        return None
    factor = QUANTITIES["crankcase-pressure"].findings_factor
    u, dof = case.uncertainty(point.crankcase)
    half = coverage_factor(dof) * u * factor
    value = point.crankcase.level.value * factor
    return Effect(value, value - half, value + half, "kPa")


def _explains(point: Point, effect: Effect | None, limits: list[LimitCheck]) -> str:
    """How much of a low gauge the crankcase explains, by the limits of the same condition."""
    where = (point.situation.visit, point.situation.condition)
    checks = [c for c in limits if (c.visit, c.condition) == where and "min" in c.limit_value]
    gauges = {c.limit: c.verdict for c in checks if c.seen_by == "gauge"}
    bearings = {c.limit: c.verdict for c in checks if c.seen_by == "bearings"}
    low = [name for name, verdict in gauges.items() if verdict == "falls short"]
    if not gauges:
        return "undecided"
    if not low:
        settled = all(verdict in ("meets", "exceeds") for verdict in gauges.values())
        return "nothing" if settled else "undecided"
    seen = {bearings.get(name) for name in low}
    if seen == {"meets"}:
        return "all of it"
    if seen == {"falls short"} and effect is not None:
        if effect.high < 0:
            return "part of it"
        return "nothing" if effect.low >= 0 or effect.value >= 0 else "undecided"
    return "undecided"
