"""What was read, as one vector with its covariance, for the virtual engine to predict.

Every source counts once, against the reference it was measured against; differences of two
sources would count them twice.  Readings that share a sensor, a gauge or a barometer keep that
as covariance.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaugewright.engine.held import ACTIONS
from gaugewright.evidence.case import Case, GaugeZero, Situation, chosen
from gaugewright.evidence.held import Held as Level
from gaugewright.job.words import BLOCKING, LASTING

Floats = npt.NDArray[np.float64]

WARM_COOLANT_DEGC = 70.0
OIL_BEHIND_K, COOLANT_ONLY_K = 3.0, 6.0
"""How far the oil lags a coolant that is still cold, and its standard uncertainty (judgement)."""
COLD_BELOW_DEGC = 50.0
"""Below this the oil is called cold."""
WARMING_DEGC = 60.0
"""Below this an engine idles as fast as its maker has it warm up (common practice, no source)."""
COLD_DEGC, COLD_UNKNOWN_K = 20.0, 12.0
"""What a condition called cold is taken for where nobody measured it (judgement)."""
NEIGHBOUR_K = 6.0
"""How far a condition without a temperature lies from its neighbours' (judgement)."""
PER_K = {"oil-pressure": 0.024, "manifold-pressure": 0.006, "air-flow": 0.009}
"""How much a reading moves with each kelvin of oil, as a share of it (judgement; oil pressure
computed from a 5W-30 at 90 degC)."""
DIED_RPM = 350.0
"""Below this the engine died in the stretch: what was read then is no mean of a running engine."""
RAISED_SHARE = 1.35
"""Above so many times the visit's slowest condition the speed was held, whatever was marked."""
TRIM = "fuel-trim"
"""Short and long trim together: what the mixture needed."""
ONE_TRIM_SHARE = 0.35
"""Where only one of the two trims was read: standard uncertainty of the other, as a share of it
(judgement: which of the two holds the need changes within a minute)."""
ONE_TRIM_POINTS = 2.0
SIMPLE = ("manifold-pressure", "engine-speed", "air-flow")
NOT_HERE = frozenset({"snap", "cranking", "engine-off"})
IDLE_ONLY = "engine-speed"


MARGIN = "margin of a sound engine"
"""What a maker's limit says of the sound engine: it lies above it by a usual factor."""
ZERO = "zero of the gauge"
"""What a gauge of oil pressure shows with the engine off."""
ZERO_SHIFT_PA = 2.5e3
"""How far a sound gauge's zero wanders beside what is stated of it (judgement)."""
ALL = "everything mended"
"""The history of an engine that no cause has."""
USUAL_MARGIN, MARGIN_SPREAD, LIMIT_SPREAD = 1.75, 0.28, 0.15
"""A sound engine's oil pressure over its maker's least: usual factor, spread of its logarithm
common to a maker's limits, and of each (judgement)."""


@dataclass(frozen=True)
class Held:
    """One condition as the virtual engine is to be held.

    `speed_rpm`: read, None where unknown; `raised`: held by foot.  `oil_degc` with the standard
    uncertainty it shares with the others, None where nobody knows; `length_s`: how long the kept
    stretch is.  `gone`: lasting actions done before it.  `paced`: a cold engine idles as fast as
    its maker has it warm up, which tells nothing; it is held at the speed that was read.
    """

    visit: str
    condition: str
    did: frozenset[str]
    speed_rpm: float | None
    raised: bool
    oil_degc: float | None
    oil_u: float
    length_s: float
    gone: tuple[str, ...]
    paced: bool = False

    @property
    def at_speed(self) -> bool:
        """Is it held at the speed that was read, whatever its governor wants?"""
        return self.raised or self.paced


@dataclass(frozen=True)
class Seen:
    """One reading: house units (Pa, rpm, kg/s, per cent).

    `straight`: a gauge of oil pressure while the crankcase is shut: it moves by the crankcase's
    pressure, which may be as large as its own, so that it is not weighed by its logarithm.
    `beside`: a second instrument read beside the first, whose faults it does not share.
    `zeroed`: brought right by its own zero.
    """

    place: int
    quantity: str
    reference: str | None
    value: float
    own: float
    gradient: Floats
    labels: tuple[str, ...]
    scale: float = 1.0
    straight: bool = False
    beside: bool = False
    zeroed: bool = False


@dataclass(frozen=True)
class Observed:
    """Readings (m,) in their conditions, with covariance (m, m)."""

    holds: tuple[Held, ...]
    items: tuple[Seen, ...]
    covariance: Floats

    @property
    def values(self) -> Floats:
        """The readings as one vector (m,)."""
        return np.array([item.value for item in self.items])

    def without(self, index: int) -> Observed:
        """All but one reading."""
        kept = [i for i in range(len(self.items)) if i != index]
        return replace(
            self,
            items=tuple(self.items[i] for i in kept),
            covariance=self.covariance[np.ix_(kept, kept)],
        )


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
        _blurred(case, s, item)
        for place, s in enumerate(usable)
        for item in _items(case, s, place, holds[place].at_speed)
    ]
    return Observed(holds, tuple(items), _covariance(case, items))


@dataclass(frozen=True)
class Least:
    """A maker's least oil pressure on a gauge, Pa, and the state it holds for."""

    pressure_pa: float
    speed_rpm: float | None
    oil_degc: float | None


def with_zeros(seen: Observed, zeros: Iterable[GaugeZero]) -> Observed:
    """The readings, those of a zeroed gauge marked so, and each gauge's first zero as a reading."""
    known = {zero.label: zero for zero in reversed(list(zeros))}
    right = {label for label, zero in known.items() if zero.used}
    items = [replace(item, zeroed=bool(right & set(item.labels))) for item in seen.items]
    none = np.zeros_like(items[0].gradient)
    for label, zero in known.items():
        own = zero.variance + ZERO_SHIFT_PA**2
        items.append(Seen(0, ZERO, None, zero.off_pa, own, none, (label,)))
    count = len(seen.items)
    covariance = np.diag([item.own for item in items])
    covariance[:count, :count] = seen.covariance
    return Observed(seen.holds, tuple(items), covariance)


def with_limits(seen: Observed, limits: Iterable[Least], visit: str) -> Observed:
    """The readings, and what the maker's limits say of a sound engine, as readings of that."""
    holds, items = list(seen.holds), list(seen.items)
    for limit in limits:
        holds.append(
            Held(
                visit=visit,
                condition="the maker's limit",
                did=frozenset(),
                speed_rpm=limit.speed_rpm,
                raised=limit.speed_rpm is not None,
                oil_degc=limit.oil_degc,
                oil_u=0.0,
                length_s=0.0,
                gone=(ALL,),
            )
        )
        margin = float(np.log(USUAL_MARGIN))
        none = np.zeros_like(items[0].gradient) if items else np.zeros(0)
        items.append(Seen(len(holds) - 1, MARGIN, None, margin, 0.0, none, (), limit.pressure_pa))
    count = len(items) - len(seen.items)
    covariance = np.zeros((len(items), len(items)))
    covariance[: len(seen.items), : len(seen.items)] = seen.covariance
    shared = np.full((count, count), MARGIN_SPREAD**2) + np.eye(count) * LIMIT_SPREAD**2
    covariance[len(seen.items) :, len(seen.items) :] = shared
    return Observed(tuple(holds), tuple(items), covariance)


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
    warm = _warmth(case, situation)
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
        paced=not raised and _warms_up(warm, situation.speed_rpm),
    )


def _warms_up(warm: _Warm, speed_rpm: float | None) -> bool:
    return warm.degc is not None and warm.degc < WARMING_DEGC and speed_rpm is not None


@dataclass(frozen=True)
class _Warm:
    """Oil temperature of a condition, None where nobody knows; its uncertainty shared with the
    other conditions, and its own."""

    degc: float | None
    shared_k: float
    own_k: float


def _warmth(case: Case, situation: Situation) -> _Warm:
    """Read; else by a cold coolant; else by the word "cold"; else as its neighbours."""
    warmth = situation.warmth
    borrowed = "oil-temperature-from-neighbour" in warmth.flags
    if warmth.known and not borrowed:
        shared = case.book.between(warmth.gradient, warmth.gradient)
        return _Warm(warmth.degc, float(np.sqrt(max(warmth.variance + shared, 0.0))), 0.0)
    coolant = situation.held("coolant-temperature", None)
    if coolant and coolant[0].level.value < WARM_COOLANT_DEGC:
        return _Warm(coolant[0].level.value - OIL_BEHIND_K, 0.0, COOLANT_ONLY_K)
    if "cold" in situation.condition.lower():
        return _Warm(COLD_DEGC, 0.0, COLD_UNKNOWN_K)
    return _Warm(warmth.degc if warmth.known else None, 0.0, NEIGHBOUR_K)


def _blurred(case: Case, situation: Situation, item: Seen) -> Seen:
    """The reading with what its condition's unknown oil temperature leaves open."""
    warm = _warmth(case, situation)
    steep = PER_K.get(item.quantity, 0.0)
    base = item.value if item.reference != "vacuum" else item.value - (case.barometer_pa or 1e5)
    if item.quantity == "manifold-pressure":
        base = item.value
    shut = item.quantity == "oil-pressure" and item.reference != "crankcase"
    straight = shut and bool(set(situation.did) & set(BLOCKING))
    return replace(item, own=item.own + (steep * warm.own_k * base) ** 2, straight=straight)


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
