"""What the bench works out: a condition brought to another speed and oil temperature.

Every number comes from the evidence room: the same regression, viscosity and covariance as the
limit checks and the matches.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.analysis.questions import questions_of
from gaugewright.evidence.case import Case, Situation, combined
from gaugewright.evidence.conformity import chance_of_meeting, verdict_of
from gaugewright.evidence.held import Held
from gaugewright.evidence.level import coverage_factor
from gaugewright.evidence.limits import at_limit
from gaugewright.evidence.matches import pairs
from gaugewright.evidence.reference import reference_checks
from gaugewright.evidence.results import Findings
from gaugewright.evidence.slopes import together
from gaugewright.evidence.visiting import Bounds, visits
from gaugewright.sensing.shared import plus
from gaugewright.web.recording_case import Read, weighed

Floats = npt.NDArray[np.float64]

GRID = 49
COOLEST, HOTTEST = 40.0, 130.0
"""Oil temperatures that can be asked for, degC (our judgement)."""
SLOWEST, QUICKEST = 0.75, 1.3
"""Speeds that can be asked for, as shares of the condition's own and the limit's (J)."""


@dataclass(frozen=True)
class Bench:
    """One visit on the bench: its case, the limits that can be asked, and the reference check."""

    case: Case
    findings: Findings
    limits: tuple[Bounds, ...]
    situations: tuple[Situation, ...]
    switches_rpm: tuple[float, float] | None


@dataclass(frozen=True)
class Ask:
    """What is asked: a condition, another one to match it with, a limit, and the state."""

    situation: Situation
    other: Situation | None
    limit: Bounds | None
    speed_rpm: float
    degc: float


@dataclass(frozen=True)
class Would:
    """What one reading would be at a speed and a temperature, house units.

    `half` is half of the 95 % interval.  `beyond`: the speed was not visited by the stretch.
    """

    value: float
    u: float
    dof: float | None
    half: float
    beyond: bool


@dataclass(frozen=True)
class Course:
    """The same over all speeds at one temperature: (n,) each."""

    speed_rpm: Floats
    value: Floats
    half: Floats
    support_rpm: tuple[float, float] | None


def bench_of(read: Read, visit: str) -> Bench:
    """One visit put on the bench.  Raises KeyError where the visit has no recording."""
    sensed = read.of_visit(visit)
    if not sensed:
        raise KeyError(visit)
    findings, case = weighed(read, sensed[0])
    asked = questions_of(read.job)
    checks, _ = reference_checks(case, asked.oil_pump, list(findings.limit_checks))
    limits = tuple(x for x in asked.limits if x.quantity == "oil-pressure" and _for_gauge(x))
    return Bench(
        case=case,
        findings=replace(findings, reference_checks=tuple(checks)),
        limits=limits,
        situations=tuple(s for s in case.situations if _can_be_asked(s)),
        switches_rpm=asked.pump_switches_rpm,
    )


def _for_gauge(limit: Bounds) -> bool:
    return limit.reference in (None, "atmosphere")


def _can_be_asked(situation: Situation) -> bool:
    """Did the engine run, and is its oil pressure known at a speed?"""
    held = situation.held("oil-pressure", "atmosphere")
    return situation.running and bool(held) and held[0].level.speed_rpm is not None


def held_of(case: Case, situation: Situation, reference: str) -> Held | None:
    """The oil pressure of a condition against a reference: the one known best."""
    held = situation.held("oil-pressure", reference)
    return min(held, key=lambda h: case.uncertainty(h)[0]) if held else None


def limit_for(bench: Bench, situation: Situation) -> Bounds | None:
    """The limit whose state this condition visited, else none."""
    return next((x for x in bench.limits if visits(situation, x, bench.switches_rpm)), None)


def reach_of(situation: Situation, limit: Bounds | None) -> tuple[float, float]:
    """The speeds that can be asked for: about the condition's own and the limit's, whole tens."""
    speeds = [situation.speed_rpm or 0.0]
    speeds += [limit.speed_rpm] if limit is not None and limit.speed_rpm is not None else []
    low, high = SLOWEST * min(speeds), QUICKEST * max(speeds)
    return 10.0 * np.floor(low / 10.0), 10.0 * np.ceil(high / 10.0)


def would_be(
    bench: Bench, situation: Situation, reference: str, speed: float, degc: float
) -> Would | None:
    """What the gauge ("atmosphere") or the bearings ("crankcase") would have at this state."""
    held = held_of(bench.case, situation, reference)
    if held is None or not held.level.has_interval:
        return None
    judged = at_limit(bench.case, situation, _bounds(speed, degc), held)
    low, high = held.level.support_rpm or (speed, speed)
    half = coverage_factor(judged.dof) * judged.u
    return Would(judged.value, judged.u, judged.dof, half, not low <= speed <= high)


def _bounds(speed: float, degc: float) -> Bounds:
    """A limit that asks for nothing but this state."""
    return Bounds(
        name="",
        quantity="oil-pressure",
        reference="atmosphere",
        least=None,
        most=None,
        speed_rpm=speed,
        tolerance_rpm=None,
        oil_degc=degc,
        stage=None,
        did=frozenset(),
        crankcase_pa=None,
    )


def course_of(bench: Bench, ask: Ask, reference: str) -> Course | None:
    """What it would be over all speeds, at the asked temperature."""
    situation, degc = ask.situation, ask.degc
    low, high = reach_of(situation, ask.limit)
    speeds = np.linspace(low, high, GRID)
    found = [would_be(bench, situation, reference, float(s), degc) for s in speeds]
    kept = [w for w in found if w is not None]
    held = held_of(bench.case, situation, reference)
    if len(kept) < len(found) or held is None:
        return None
    values, halves = (np.array([getattr(w, key) for w in kept]) for key in ("value", "half"))
    return Course(speeds, values, halves, held.level.support_rpm)


def verdict(would: Would, limit: Bounds) -> tuple[str, float]:
    """The verdict of a value against a limit's ends, and the probability of meeting them."""
    ends = would.value, would.u, would.dof, limit.least, limit.most
    return verdict_of(*ends), chance_of_meeting(*ends)


def others_of(bench: Bench, situation: Situation) -> tuple[Situation, ...]:
    """The conditions that this one can be matched with."""
    mates = [
        two if one is situation else one
        for one, two in pairs(bench.case)
        if one is situation or two is situation
    ]
    return tuple(s for s in bench.situations if any(s is mate for mate in mates))


def matched(bench: Bench, ask: Ask) -> Would | None:
    """The other condition's gauge reading less this one's, both at the speed and temperature."""
    if ask.other is None:
        return None
    one = held_of(bench.case, ask.situation, "atmosphere")
    two = held_of(bench.case, ask.other, "atmosphere")
    if one is None or two is None or one.level.speed_rpm is None or two.level.speed_rpm is None:
        return None
    case = bench.case
    degc = _common_warmth(ask)
    one, two = (case.at_warmth(s, h, degc) for s, h in ((ask.situation, one), (ask.other, two)))
    values, own = together("oil-pressure", [one.level, two.level], ask.speed_rpm)
    way = np.array([-1.0, 1.0])
    gradient = plus(two.gradient, one.gradient, -1.0)
    dof = min(one.level.dof, two.level.dof)
    u, left = combined(float(way @ own @ way), case.book.between(gradient, gradient), dof)
    beyond = any(_outside(held, ask.speed_rpm) for held in (one, two))
    return Would(float(way @ values), u, left, coverage_factor(left) * u, beyond)


def _common_warmth(ask: Ask) -> float:
    """The temperature both are brought to; where none was measured, only their doubt counts."""
    assert ask.other is not None
    warmths = ask.situation.warmth, ask.other.warmth
    if any(warmth.known for warmth in warmths):
        return ask.degc
    return 0.5 * (warmths[0].degc + warmths[1].degc)


def _outside(held: Held, speed_rpm: float) -> bool:
    low, high = held.level.support_rpm or (speed_rpm, speed_rpm)
    return not low <= speed_rpm <= high
