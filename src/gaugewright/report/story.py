"""What the owner's page tells: the limit that matters most, state by state."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gaugewright.evidence.results import Findings, LimitCheck, Reading
from gaugewright.job import words as job_words
from gaugewright.job.model import Job, Limit

LASTING = frozenset(job_words.LASTING)
QUANTITY_ORDER = ("oil-pressure", "crankcase-pressure", "manifold-pressure", "fuel-pressure")
MEETS, SHORT, EXCEEDS = "meets", "falls short", "exceeds"
OPEN = "too close to call"
FAILS = (SHORT, EXCEEDS)
SPREAD = 1.96


@dataclass(frozen=True)
class State:
    """A visit, or the part of it since a lasting action; `since` names that action."""

    visit: str
    number: int
    conditions: tuple[str, ...]
    since: tuple[str, ...] = ()


@dataclass(frozen=True)
class Side:
    """One quantity as one observer sees it; `verdict` is None where there is no limit."""

    seen_by: str
    value: float
    low: float | None
    high: float | None
    bound: str | None
    unit: str
    verdict: str | None = None
    sure: str | None = None

    @property
    def expanded(self) -> float | None:
        """Half the width of the 95 % interval, None for a one-sided reading."""
        if self.low is None or self.high is None:
            return None
        return 0.5 * (self.high - self.low)


@dataclass(frozen=True)
class Told:
    """One state of the story: what the gauge showed and what the bearings got."""

    state: State
    condition: str | None
    gauge: Side | None
    bearings: Side | None
    crankcase: Reading | None
    at: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Story:
    """The states in order for one limit, or for one quantity that has none."""

    quantity: str
    limit: Limit | None
    told: tuple[Told, ...]


def states_of(job: Job) -> tuple[State, ...]:
    """Every state of the job in order: visits, split by lasting actions."""
    names = [visit.name for visit in job.visits]
    names += [r.visit for r in job.recordings if r.visit and r.visit not in names]
    names += [r.visit for r in job.readings if r.visit and r.visit not in names]
    return tuple(state for name in dict.fromkeys(names) for state in _states_of_visit(job, name))


def _states_of_visit(job: Job, visit: str) -> list[State]:
    states = [State(visit, 0, ())]
    for name, did in _conditions(job, visit):
        since = tuple(sorted(LASTING & did))
        if since:
            states.append(State(visit, len(states), (), since))
        last = states[-1]
        states[-1] = State(visit, last.number, (*last.conditions, name), last.since)
    return [state for state in states if state.conditions] or states[:1]


def _conditions(job: Job, visit: str) -> list[tuple[str, frozenset[str]]]:
    seen: dict[str, frozenset[str]] = {}
    for recording in job.recordings:
        if recording.visit in (visit, None):
            for condition in sorted(recording.conditions, key=lambda c: c.from_.si):
                seen.setdefault(condition.name, frozenset(condition.did))
    for reading in job.readings:
        if reading.visit in (visit, None) and reading.condition:
            seen.setdefault(reading.condition, frozenset())
    return list(seen.items())


def state_holding(
    states: Iterable[State], visit: str | None, condition: str | None
) -> State | None:
    """The state in which a condition was held; the visit's first where it is not known."""
    of_visit = [state for state in states if visit is None or state.visit == visit]
    holding = [state for state in of_visit if condition in state.conditions]
    return next(iter(holding or of_visit), None)


def sureness(check: LimitCheck) -> str | None:
    """How sure a verdict is: "very sure", "sure", or None where it was not given.

    The verdict's own probability, or the less favourable end where only a range is known.
    """
    if check.verdict == "meets":
        chance = _first(check.probability_low, check.probability_of_meeting)
    elif check.verdict in FAILS:
        meeting = _first(check.probability_high, check.probability_of_meeting)
        chance = None if meeting is None else 1.0 - meeting
    else:
        return None
    if chance is None:
        return None
    return "very sure" if chance >= 0.99 else "sure"


def _first(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)


def _rank(check: LimitCheck) -> tuple[int, float]:
    order = {"falls short": 0, "exceeds": 0, "too close to call": 1, "meets": 2}
    chance = check.probability_of_meeting
    return order.get(check.verdict, 3), chance if chance is not None else 0.5


def _side(check: LimitCheck | None, readings: Iterable[Reading]) -> Side | None:
    if check is None or check.value is None:
        return None
    reading = _reading_behind(check, readings)
    bound = reading.bound if reading else None
    spread = SPREAD * (check.standard_uncertainty or 0.0)
    return Side(
        check.seen_by,
        check.value,
        None if bound == "at most" else check.value - spread,
        None if bound == "at least" else check.value + spread,
        bound,
        check.unit,
        check.verdict,
        sureness(check),
    )


def _reading_behind(check: LimitCheck, readings: Iterable[Reading]) -> Reading | None:
    reference = "crankcase" if check.seen_by == "bearings" else "atmosphere"
    return reading_of(readings, check.visit, check.condition, check.quantity, reference)


def reading_of(
    readings: Iterable[Reading],
    visit: str | None,
    condition: str | None,
    quantity: str,
    reference: str | None,
) -> Reading | None:
    """The reading the checks use: of several instruments the combined one."""
    found = [
        r
        for r in readings
        if r.quantity == quantity
        and r.condition == condition
        and (visit is None or r.visit == visit)
        and (reference is None or r.reference == reference)
    ]
    return max(found, key=lambda r: len(r.signals), default=None)


def _unprovoked(job: Job, limit: Limit | None, visit: str, condition: str | None) -> bool:
    did = dict(_conditions(job, visit)).get(condition or "", frozenset())
    allowed = LASTING | {"nothing", "speed-raised"} | set(limit.did if limit else ())
    return did <= allowed


def _told(job: Job, findings: Findings, limit: Limit, state: State, states: list[State]) -> Told:
    here = [
        check
        for check in findings.limit_checks
        if check.limit == limit.name
        and state_holding(states, check.visit, check.condition) == state
        and check.value is not None
    ]
    plain = [c for c in here if _unprovoked(job, limit, state.visit, c.condition)] or here
    gauge = min((c for c in plain if c.seen_by != "bearings"), key=_rank, default=None)
    bearings = [c for c in plain if c.seen_by == "bearings"]
    same = [c for c in bearings if gauge is None or c.condition == gauge.condition] or bearings
    below = min(same, key=_rank, default=None)
    first = gauge or below
    if first is None:
        return Told(state, None, None, None, None)
    crankcase = reading_of(
        findings.readings, first.visit, first.condition, "crankcase-pressure", "atmosphere"
    )
    at = tuple((name, value.value) for name, value in first.at.items())
    sides = _side(gauge, findings.readings), _side(below, findings.readings)
    return Told(state, first.condition, *sides, crankcase, at)


def _told_without_limit(
    job: Job, findings: Findings, quantity: str, state: State, states: list[State]
) -> Told:
    here = [
        r
        for r in findings.readings
        if r.quantity == quantity and state_holding(states, r.visit, r.condition) == state
    ]
    plain = [r for r in here if _unprovoked(job, None, state.visit, r.condition)] or here
    gauge = next((r for r in plain if r.reference != "crankcase"), None)
    condition = gauge.condition if gauge else (plain[0].condition if plain else None)
    same = [r for r in plain if r.reference == "crankcase" and r.condition == condition]
    crankcase = reading_of(
        findings.readings, state.visit, condition, "crankcase-pressure", "atmosphere"
    )
    speed = (("engine-speed", gauge.speed.value),) if gauge and gauge.speed else ()
    return Told(
        state,
        condition,
        _read_side(gauge, "gauge"),
        _read_side(next(iter(same), None), "bearings"),
        crankcase,
        speed,
    )


def _read_side(reading: Reading | None, seen_by: str) -> Side | None:
    if reading is None:
        return None
    return Side(seen_by, reading.value, reading.low, reading.high, reading.bound, reading.unit)


def story_of(job: Job, findings: Findings) -> Story | None:
    """The story the owner's page tells, or None when nothing was measured.

    Of several limits the one with the worst verdict at the end is told: what is not in order
    must be the headline.  Without limits it is the oil pressure, or what else was read first.
    """
    states = list(states_of(job))
    stories = []
    for limit in job.limits:
        told = [_told(job, findings, limit, state, states) for state in states]
        measured = tuple(t for t in told if t.gauge or t.bearings)
        if measured:
            stories.append(Story(limit.quantity, limit, measured))
    if stories:
        return min(stories, key=_urgency)
    return _story_without_limit(job, findings, states)


def _urgency(story: Story) -> tuple[int, int, int]:
    now = story.told[-1]
    earlier = any(
        side and side.verdict in FAILS for t in story.told for side in (t.gauge, t.bearings)
    )
    quantity = QUANTITY_ORDER.index(story.quantity) if story.quantity in QUANTITY_ORDER else 9
    return urgency_of(now), 0 if earlier else 1, quantity


def urgency_of(now: Told) -> int:
    """How bad a state is: 0 the gauge fails, 1 the bearings do, 2 or 3 undecided, 4 both meet."""
    gauge = now.gauge.verdict if now.gauge else None
    bearings = now.bearings.verdict if now.bearings else None
    if gauge in FAILS:
        return 0
    if bearings in FAILS:
        return 1
    if gauge != "meets":
        return 2
    return 4 if bearings in ("meets", None) else 3


def _story_without_limit(job: Job, findings: Findings, states: list[State]) -> Story | None:
    there = {reading.quantity for reading in findings.readings}
    order = [q for q in QUANTITY_ORDER if q in there] or sorted(there)
    if not order:
        return None
    told = [_told_without_limit(job, findings, order[0], state, states) for state in states]
    return Story(order[0], None, tuple(t for t in told if t.gauge or t.bearings))
