"""The readings that a test would add, as a question to the virtual engine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from gaugewright.causes.judging import Race
from gaugewright.causes.noise import is_cold
from gaugewright.causes.observation import TRIM, Held, Observed, Seen
from gaugewright.causes.tests import TRIM_QUANTITIES, Test, TestCondition
from gaugewright.engine.held import ACTIONS

LIKE_SPEED = 0.3
COLD_DEGC, HOT_DEGC = 20.0, 90.0
READABLE = ("oil-pressure", "crankcase-pressure", "manifold-pressure", "engine-speed", TRIM)
REFERENCE = {
    "oil-pressure": "atmosphere",
    "crankcase-pressure": "atmosphere",
    "manifold-pressure": "vacuum",
}


def undone(race: Race, test: Test) -> tuple[TestCondition, ...]:
    """The test's conditions with those readings that were not read in them yet."""
    found = []
    for one in test.conditions:
        if not set(one.did) <= set(ACTIONS):
            continue
        read = _read_in(race, one) if test.lasting is None else set()
        wanted = tuple(q for q in _items_of(one) if q not in read)
        if wanted:
            found.append(replace(one, quantities=wanted))
    return tuple(found)


def _read_in(race: Race, condition: TestCondition) -> set[str]:
    """What was read while the engine was held like this."""
    places = [k for k, h in enumerate(race.seen.holds) if not h.gone and _alike(h, condition)]
    return {item.quantity for item in race.seen.items if item.place in places}


def _alike(held: Held, condition: TestCondition) -> bool:
    """Was the engine held as the test holds it?"""
    asked_ = _as_held(condition, None)
    did = held.did - {"nothing", "speed-raised"}
    same = did == asked_.did - {"nothing", "speed-raised"} and same_speed(held, asked_)
    return same and is_cold(held) == is_cold(asked_)


def _items_of(condition: TestCondition) -> tuple[str, ...]:
    trims = (*TRIM_QUANTITIES, TRIM)
    names = [TRIM if q in trims else q for q in condition.quantities]
    raised = condition.speed_rpm is not None
    kept = [q for q in names if q in READABLE and not (raised and q == "engine-speed")]
    return tuple(dict.fromkeys(kept))


def _as_held(one: TestCondition, lasting: str | None) -> Held:
    return Held(
        visit="",
        condition="",
        did=frozenset(one.did) & frozenset(ACTIONS),
        speed_rpm=one.speed_rpm,
        raised=one.speed_rpm is not None,
        oil_degc=COLD_DEGC if one.oil == "cold" else HOT_DEGC,
        oil_u=3.0,
        length_s=one.for_s or 15.0,
        gone=() if lasting is None else (lasting,),
    )


def question_of(conditions: Sequence[TestCondition], lasting: str | None) -> Observed:
    """A test's conditions as readings still without a value."""
    none = np.zeros(0)
    items = [
        Seen(place, q, REFERENCE.get(q), 0.0, 0.0, none, ())
        for place, one in enumerate(conditions)
        for q in _items_of(one)
    ]
    holds = tuple(_as_held(one, lasting) for one in conditions)
    return Observed(holds, tuple(items), np.zeros((len(items), len(items))))


def joined(questions: list[Observed]) -> tuple[Observed, list[list[int]]]:
    """All questions as one, equal conditions once, and where each one's readings went."""
    holds: list[Held] = []
    items: dict[tuple[Held, str], int] = {}
    seen: list[Seen] = []
    places = []
    for question in questions:
        mine = []
        for item in question.items:
            held = question.holds[item.place]
            if held not in holds:
                holds.append(held)
            key = (held, item.quantity)
            if key not in items:
                items[key] = len(seen)
                seen.append(
                    Seen(
                        holds.index(held),
                        item.quantity,
                        item.reference,
                        0.0,
                        0.0,
                        item.gradient,
                        (),
                    )
                )
            mine.append(items[key])
        places.append(mine)
    return Observed(tuple(holds), tuple(seen), np.zeros((len(seen), len(seen)))), places


def same_speed(one: Held, other: Held) -> bool:
    """Are both idling, or both held at about one speed?"""
    if one.raised != other.raised:
        return False
    if not one.raised or one.speed_rpm is None or other.speed_rpm is None:
        return True
    return abs(one.speed_rpm / other.speed_rpm - 1.0) < LIKE_SPEED
