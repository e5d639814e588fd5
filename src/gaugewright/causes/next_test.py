"""The next best test: the one after which the way to a call is shortest.

Whether a test is worth its time at all is told by how far it is expected to bring down the entropy
of the hypotheses, and the cost of calling the wrong cause, for each minute it takes.  What a look
shows comes from a table; what a reading shows comes from the virtual engine, drawn from what the
readings so far leave open.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaugewright.causes.catalogue import NAMES, NONE_OF_THESE, NOTHING, Hypothesis
from gaugewright.causes.judging import Race, cause_sums, word_of
from gaugewright.causes.observation import Seen
from gaugewright.causes.outcomes import Foreseen, foreseen
from gaugewright.causes.tests import Test, chances, stop_rule, tests_for
from gaugewright.causes.way import SETTLED, Way, held_by, minutes_of, way_of
from gaugewright.evidence.results import CauseWeight, NextTest, Split

Floats = npt.NDArray[np.float64]

WRONG_CALL_MIN = 120.0
"""What calling the wrong cause costs, in minutes of work done for nothing (judgement)."""
LATER = 0.8
"""How much of the way after a test counts: what is learnt meanwhile shortens it (judgement)."""
LEAST_BITS = 0.02
LEAST_SAVED, LEAST_BITS_PER_MIN = 0.05, 0.006
"""A test is worth its time from so much of a wrong call's minutes, or so many bits, a minute."""
MOST_LISTED = 12
LEAST_LEFT = 0.002
"""A cause of less than this is not told of an outcome."""
SPLITS = 4
LEAST_CHANCE = 0.04
ABSENT_PA = 15e3
"""Oil pressure on the gauge below which an idling engine has none (judgement)."""

DONE = (
    "One cause stands at 95 % or more: put it right and repeat the same readings, rather than "
    "test on."
)
OUTSIDE = (
    "None of the causes on the list explains these readings: check the readings, then look for "
    "what the list lacks."
)
NOTHING_SHOWN = (
    "Nothing in these readings points to a cause, which rules none out; what is left to test would "
    "hardly change that."
)
NOTHING_WORTH = "No test that is left is expected to tell enough for its time."


@dataclass(frozen=True)
class Advice:
    """The tests worth their time, the best first, and why there is none."""

    tests: tuple[NextTest, ...]
    stop_rule: str | None


def advice(race: Race) -> Advice:
    """What to do next."""
    absent = _pressure_absent(race)
    halt = stop_rule(race.view, absent)
    sums = cause_sums(race.probability)
    most = max(sums, key=lambda c: sums[c])
    if halt is None and sums[most] >= SETTLED:
        return Advice((), end_of((most,)))
    open_ = tests_for(race.view, absent, _crankcase(race))
    views = foreseen(race, open_)
    way = way_of(open_)
    worth = [w for test in open_ if (w := _worth(race, test, views.get(test.name), way))]
    ranked = sorted(worth, key=lambda one: one.minutes + LATER * one.left)
    found = _short([one.told for one in ranked if _pays(one)])
    return Advice(found, halt or (None if found else NOTHING_WORTH))


@dataclass(frozen=True)
class Worth:
    """A test, its minutes all in all, and how many the way to a call is expected to take after."""

    told: NextTest
    minutes: float
    left: float


def end_of(leader: Hypothesis) -> str:
    """Why no test is sought once this hypothesis is settled, as a sentence."""
    ends: dict[Hypothesis, str] = {(NONE_OF_THESE,): OUTSIDE, (NOTHING,): NOTHING_SHOWN}
    return ends.get(leader, DONE)


def _short(ranked: list[NextTest]) -> tuple[NextTest, ...]:
    """The best for their time, and in any case the one that tells most."""
    found = ranked[:MOST_LISTED]
    if found:
        telling = max(ranked, key=lambda one: one.expected_bits)
        found = found if telling in found else [*found[:-1], telling]
    return tuple(found)


def _pays(one: Worth) -> bool:
    """Is it worth its time, by what it saves of wrong calls or by what it tells at all?"""
    saved = (one.told.expected_cost or 0.0) > LEAST_SAVED * one.minutes
    return saved or one.told.expected_bits > LEAST_BITS_PER_MIN * one.minutes


def _pressure_absent(race: Race) -> bool:
    """Was oil pressure read in the running engine, and truly absent?"""
    read = [
        _on_gauge(race, item) + 2.0 * np.sqrt(item.own)
        for item in race.seen.items
        if item.quantity == "oil-pressure"
    ]
    return bool(read) and max(read) < ABSENT_PA


def _crankcase(race: Race) -> list[float]:
    """What the crankcase stood at in the running engine, nothing touched, Pa on a gauge."""
    holds = race.seen.holds
    return [
        _on_gauge(race, item)
        for item in race.seen.items
        if item.quantity == "crankcase-pressure"
        and not holds[item.place].gone
        and not holds[item.place].did - {"nothing", "speed-raised"}
    ]


def _on_gauge(race: Race, item: Seen) -> float:
    """A pressure against the outside air, Pa."""
    outside = float(np.asarray(race.leading.question.healthy.middle.air.barometer_pa))
    return item.value - (outside if item.reference == "vacuum" else 0.0)


def _worth(race: Race, test: Test, view: Foreseen | None, way: Way) -> Worth | None:
    """What this test is expected to bring; None where it can't tell anything."""
    if test.kind == "look":
        hypotheses = tuple(race.probability)
        prior = np.array([race.probability[h] for h in hypotheses])
        table = chances(test, hypotheses)
        chance = table @ prior
        after = table * prior / chance[:, None]
        saws = test.outcomes
    elif view is not None:
        hypotheses, prior = view.hypotheses, view.prior
        chance, after = view.chance, view.after
        saws = view.saws
    else:
        return None
    weighed = sum(race.probability.get(h, 0.0) for h in hypotheses)
    bits = weighed * float(entropy(prior) - chance @ entropy(after))
    if bits < LEAST_BITS:
        return None
    holds, rest = held_by(hypotheses), _others(race, hypotheses)
    before, later = rest + weighed * prior @ holds, rest + weighed * after @ holds
    told = NextTest(
        test=test.name,
        expected_bits=bits,
        minutes=test.minutes + test.parts_minutes,
        expected_cost=WRONG_CALL_MIN * float(chance @ later.max(axis=1) - before.max()),
        effort=test.effort,
        how=test.how,
        splits=_splits(saws, chance, after, view, lambda row: rest + weighed * row @ holds),
        cautions=test.cautions,
        not_when=test.not_when,
    )
    return Worth(told, minutes_of(test), float(chance @ way.left(later)))


def _others(race: Race, hypotheses: Sequence[Hypothesis]) -> Floats:
    """What each cause has by the hypotheses that a test says nothing of, (c,)."""
    moved = set(hypotheses)
    others = tuple(h for h in race.probability if h not in moved)
    if not others:
        return np.zeros(len(NAMES))
    return np.array([race.probability[h] for h in others]) @ held_by(others)


def entropy(probability: Floats) -> Floats:
    """In bits, (..., h) -> (...)."""
    share = probability / probability.sum(axis=-1, keepdims=True)
    return np.asarray(-np.sum(share * np.log2(np.maximum(share, 1e-12)), axis=-1))


def _splits(
    saws: Sequence[str],
    chance: Floats,
    after: Floats,
    view: Foreseen | None,
    causes_of: Callable[[Floats], Floats],
) -> tuple[Split, ...]:
    """The outcomes that are likely enough to be told; `causes_of`: of hypotheses, (h,) -> (c,)."""
    if view is not None:
        rows = view.groups()
    else:
        rows = [(saw, float(c), row) for saw, c, row in zip(saws, chance, after, strict=True)]
    rows = sorted((row for row in rows if row[1] >= LEAST_CHANCE), key=lambda row: -row[1])
    return tuple(Split(saw, c, _leaves(causes_of(row))) for saw, c, row in rows[:SPLITS])


def _leaves(causes: Floats) -> tuple[CauseWeight, ...]:
    kept = [(name, float(p)) for name, p in zip(NAMES, causes, strict=True) if p > LEAST_LEFT]
    kept.sort(key=lambda pair: -pair[1])
    return tuple(CauseWeight(name, p, word_of(p)) for name, p in kept)
