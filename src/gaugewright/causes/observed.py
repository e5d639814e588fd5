"""What was read, as one vector with its covariance, for the virtual engine to predict.

Every source counts once, against the reference it was measured against; differences of two
sources would count them twice.  Readings that share a sensor, a gauge or a barometer keep that
as covariance.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaugewright.causes.observation import TRIM, Held, Observed, Seen
from gaugewright.causes.warmth import blurred, warms_up, warmth_of
from gaugewright.engine.held import ACTIONS
from gaugewright.evidence.case import Case, Situation, chosen
from gaugewright.evidence.held import Held as Level
from gaugewright.job.words import LASTING

Floats = npt.NDArray[np.float64]

DIED_RPM = 350.0
"""Below this the engine died in the stretch: what was read then is no mean of a running engine."""
RAISED_SHARE = 1.35
"""Above so many times the visit's slowest condition the speed was held, whatever was marked."""
ONE_TRIM_SHARE = 0.35
"""Where only one of the two trims was read: standard uncertainty of the other, as a share of it
(judgement: which of the two holds the need changes within a minute)."""
ONE_TRIM_POINTS = 2.0
SIMPLE = ("manifold-pressure", "engine-speed", "air-flow")
IDLE_ONLY = "engine-speed"


def observed(case: Case, visits: Iterable[str]) -> Observed:
    """What was read in these visits while the engine ran in a way the virtual engine knows."""
    wanted = set(visits)
    usable = [s for s in case.situations if s.visit in wanted and _usable(s)]
    slowest = {v: _slowest(usable, v) for v in wanted}
    usable = [s for s in usable if not _untold(s, usable, slowest)]
    usable = [s for s in usable if not _raised(s, slowest) or s.speed_rpm is not None]
    gone = _gone(case, wanted)
    holds = tuple(_held(case, s, _raised(s, slowest), gone[s.visit, s.state]) for s in usable)
    items = [
        blurred(case, s, item)
        for place, s in enumerate(usable)
        for item in _items(case, s, place, holds[place].at_speed)
    ]
    return Observed(holds, tuple(items), _covariance(case, items))


def _usable(situation: Situation) -> bool:
    did = set(situation.did) - {"nothing"} - set(LASTING)
    known = did <= set(ACTIONS)
    speed = situation.speed_rpm
    ran = situation.running and not (speed is not None and speed < DIED_RPM)
    return ran and known and "repaired" not in situation.did


def _untold(situation: Situation, others: list[Situation], slowest: dict[str, float]) -> bool:
    """Was this read by hand alone, at idle, beside another idle, so that nobody tells what was
    done to the engine in it?"""
    marked = any(s.kept is not None for group in situation.sources.values() for s in group)
    if marked or _raised(situation, slowest):
        return False
    same = [
        s
        for s in others
        if (s.visit, s.state) == (situation.visit, situation.state)
        and not _raised(s, slowest)
        and not set(s.did) - {"nothing"}
    ]
    return bool(same) and same[0] is not situation


def _slowest(situations: list[Situation], visit: str) -> float:
    speeds = [s.speed_rpm for s in situations if s.visit == visit and s.speed_rpm is not None]
    return min(speeds, default=np.inf)


def _raised(situation: Situation, slowest: dict[str, float]) -> bool:
    speed = situation.speed_rpm
    if "speed-raised" in situation.did:
        return True
    return speed is not None and speed > RAISED_SHARE * slowest[situation.visit]


def _gone(case: Case, visits: set[str]) -> dict[tuple[str, int], tuple[str, ...]]:
    """The lasting actions done before or at each state of a visit."""
    found: dict[tuple[str, int], tuple[str, ...]] = {}
    for visit in visits:
        done: tuple[str, ...] = ()
        states = sorted({s.state for s in case.situations if s.visit == visit})
        for state in states:
            here = [s for s in case.situations if (s.visit, s.state) == (visit, state)]
            done += tuple(w for s in here for w in s.did if w in LASTING and w not in done)
            found[visit, state] = done
    return found


def _held(case: Case, situation: Situation, raised: bool, gone: tuple[str, ...]) -> Held:
    warm = warmth_of(case, situation)
    levels = [s.held.level for group in situation.sources.values() for s in group]
    return Held(
        visit=situation.visit,
        condition=situation.condition,
        did=frozenset(situation.did) & frozenset(ACTIONS),
        speed_rpm=situation.speed_rpm,
        raised=raised,
        oil_degc=warm.degc,
        oil_u=warm.shared_k,
        length_s=max((level.length_s for level in levels), default=0.0),
        gone=gone,
        paced=not raised and warms_up(warm, situation.speed_rpm),
    )


def _items(case: Case, situation: Situation, place: int, at_speed: bool) -> list[Seen]:
    found = [
        item
        for quantity in ("oil-pressure", "crankcase-pressure")
        for item in _pressure(case, situation, quantity, place)
    ]
    for quantity in SIMPLE:
        if quantity == IDLE_ONLY and at_speed:
            continue
        reference = _first_reference(situation, quantity)
        level, agree = chosen(case, situation.held(quantity, reference))
        if level is not None and agree:
            found.append(_seen(case, level, place))
    return [*found, *_trims(case, situation, place)]


def _pressure(case: Case, situation: Situation, quantity: str, place: int) -> list[Seen]:
    """One item for each reference a pressure was measured against with instruments of its own."""
    found, used = [], set[str]()
    for reference in ("atmosphere", "vacuum", "crankcase"):
        own = tuple(h for h in situation.held(quantity, reference) if not set(h.labels) & used)
        whole = tuple(h for h in own if _measured_so(case, situation, h, reference))
        if quantity == "oil-pressure" and len(whole) > 1:
            several = _several(case, whole, place)
            found += several
            used |= {label for item in several for label in item.labels}
            continue
        level, agree = chosen(case, whole)
        if level is None or not agree or level.bound is not None:
            continue
        used |= set(level.labels)
        found.append(_seen(case, level, place))
    return found


def _several(case: Case, levels: tuple[Level, ...], place: int) -> list[Seen]:
    """One item for each instrument: the recorded one first, the others beside it.

    Whether they agree says whether the test itself is at fault.
    """
    found: list[Seen] = []
    for level in sorted(levels, key=lambda one: one.by_hand):
        mine = {label for item in found for label in item.labels}
        if level.bound is None and not mine & set(level.labels):
            found.append(replace(_seen(case, level, place), beside=bool(found)))
    return found


def _measured_so(case: Case, situation: Situation, level: Level, reference: str) -> bool:
    """Was it measured against this reference, rather than brought to it?"""
    return any(
        source.held.labels == level.labels
        and (source.held.quantity, source.held.reference) == (level.quantity, reference)
        and (source.held.visit, source.held.state, source.held.condition)
        == (situation.visit, situation.state, situation.condition)
        for source in case.gathered.sources
    )


def _first_reference(situation: Situation, quantity: str) -> str | None:
    if quantity != "manifold-pressure":
        return None
    for reference in ("vacuum", "atmosphere"):
        if situation.held(quantity, reference):
            return reference
    return "vacuum"


def _seen(case: Case, level: Level, place: int) -> Seen:
    own = float(level.level.scale[0, 0])
    return Seen(
        place=place,
        quantity=level.quantity,
        reference=level.reference,
        value=level.level.value,
        own=own if np.isfinite(own) else (0.1 * level.level.value) ** 2,
        gradient=case.book.vector(level.gradient),
        labels=level.labels,
    )


def _trims(case: Case, situation: Situation, place: int) -> list[Seen]:
    """Both trims added up; one alone with the other's uncertainty."""
    short, _ = chosen(case, situation.held("fuel-trim-short", None))
    long, _ = chosen(case, situation.held("fuel-trim-long", None))
    read = [_seen(case, level, place) for level in (short, long) if level is not None]
    if not read:
        return []
    value, own = sum(one.value for one in read), sum(one.own for one in read)
    if len(read) == 1:
        own += (ONE_TRIM_SHARE * abs(value)) ** 2 + ONE_TRIM_POINTS**2
    gradient = np.sum([one.gradient for one in read], axis=0)
    labels = tuple(label for one in read for label in one.labels)
    return [Seen(place, TRIM, None, value, own, gradient, labels)]


def _covariance(case: Case, items: list[Seen]) -> Floats:
    if not items:
        return np.zeros((0, 0))
    gradients = np.stack([item.gradient for item in items])
    shared = gradients @ case.book.covariance @ gradients.T
    return np.asarray(shared + np.diag([item.own for item in items]))
