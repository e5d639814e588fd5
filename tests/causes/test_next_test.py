"""The next test: entropies, Bayes on a look, what a reading would tell, and when to stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from made_questions import (
    BLOCKED,
    CAP_OFF,
    COLD,
    CRANKCASE,
    FAST,
    IDLE,
    OIL,
    SPEED,
    VIEW,
    question,
    race_from,
    read_of,
    valued,
)
from scipy.stats import entropy as scipy_entropy

from gaugewright.causes import next_test
from gaugewright.causes import tests as doing
from gaugewright.causes.catalogue import NAMES, Hypothesis
from gaugewright.causes.judging import Race
from gaugewright.causes.next_test import Advice, advice, entropy
from gaugewright.causes.observation import TRIM, Held
from gaugewright.causes.outcomes import Foreseen, foreseen
from gaugewright.causes.tests import KNOCK, NO_PRESSURE, cautions, chances, every_test
from gaugewright.causes.view import Observed as Saw
from gaugewright.causes.way import held_by, minutes_of, way_of
from gaugewright.evidence.results import NextTest

BY_NAME = {one.name: one for one in every_test()}
AMONG: list[Hypothesis] = [("nothing-wrong",), ("oil-thin",), ("fuel-in-oil",),
                           ("worn-bearings",), ("breather-blocked",),
                           ("indication-fault",)]  # fmt: skip


def test_entropy_is_that_of_the_textbook() -> None:
    rng = np.random.default_rng(1)
    for size in (1, 2, 7, 200):
        chance = rng.dirichlet(np.full(size, 0.3))
        assert entropy(chance) == pytest.approx(scipy_entropy(chance, base=2), abs=1e-9)
    assert entropy(np.array([0.5, 0.5, 0.0])) == pytest.approx(1.0)
    assert entropy(np.array([1.0, 0.0])) == 0.0
    assert entropy(np.array([2.0, 2.0])) == pytest.approx(1.0)


@pytest.fixture(scope="module")
def race() -> Race:
    """Oil pressure at idle alone: much is open."""
    seen = read_of(question([(IDLE, [OIL])]), {"oil-thin": 0.6}, seed=3, spread=0.3)
    return race_from(seen, among=AMONG)


@pytest.fixture(scope="module")
def told(race: Race) -> Advice:
    return advice(race)


def by_hand(race: Race, name: str) -> tuple[float, float]:
    """(bits, fewer wrong calls) of a look, by Bayes' rule one outcome after the other."""
    names = list(race.probability)
    prior = [race.probability[h] for h in names]
    table = chances(BY_NAME[name], names)
    left, right = 0.0, 0.0
    for k in range(table.shape[0]):
        joint = [p * table[k, i] for i, p in enumerate(prior)]
        chance = sum(joint)
        left += chance * scipy_entropy([j / chance for j in joint], base=2)
        right += max(joint)
    return scipy_entropy(prior, base=2) - left, right - max(prior)


def worth(race: Race, test: doing.Test) -> NextTest | None:
    found = next_test._worth(race, test, None, way_of(every_test()))
    return None if found is None else found.told


def test_a_look_is_worth_what_bayes_says(race: Race) -> None:
    for name in ("smell-the-oil", "dipstick", "lamp-and-switch"):
        one = worth(race, BY_NAME[name])
        bits, fewer = by_hand(race, name)
        if one is None:
            assert bits < 0.02
            continue
        assert one.expected_bits == pytest.approx(bits)
        assert one.expected_cost == pytest.approx(120.0 * fewer, abs=1e-9)
        assert one.expected_bits > 0.0


def test_the_splits_of_a_look_are_its_outcomes_by_their_chance(race: Race) -> None:
    one = worth(race, BY_NAME["smell-the-oil"])
    assert one is not None
    names = list(race.probability)
    prior = np.array([race.probability[h] for h in names])
    chance = chances(BY_NAME["smell-the-oil"], names) @ prior
    outcomes = dict(zip(BY_NAME["smell-the-oil"].outcomes, chance, strict=True))
    for split in one.splits:
        assert split.chance == pytest.approx(outcomes[split.saw])
    fuel = next(s for s in one.splits if s.saw == "fuel")
    before = race.probability["fuel-in-oil",]
    assert next(c for c in fuel.leaves if c.cause == "fuel-in-oil").probability > 2.0 * before


def test_a_look_that_tells_nothing_is_not_proposed(race: Race) -> None:
    test = BY_NAME["smell-the-oil"]
    assert test.rows is not None
    same = {name: test.rows.background for name in NAMES}
    dumb = replace(test, rows=replace(test.rows, of_cause=same))
    assert worth(race, dumb) is None
    table = chances(dumb, AMONG)
    assert table == pytest.approx(np.tile(table[:, :1], len(AMONG)))


def views(race: Race) -> dict[str, Foreseen]:
    return foreseen(race, doing.tests_for(race.view))


def test_every_foreseen_outcome_is_a_distribution(race: Race) -> None:
    found = views(race)
    assert {"speed-raised", "filler-cap-off", "oil-changed", "cold-idle"} <= set(found)
    for view in found.values():
        assert view.chance.sum() == pytest.approx(1.0)
        assert view.after.sum(axis=1) == pytest.approx(np.ones(len(view.chance)))
        assert view.prior.sum() == pytest.approx(1.0)
        assert sum(chance for _, chance, _ in view.groups()) == pytest.approx(1.0)


def test_what_is_foreseen_leaves_on_average_what_was_known_before(race: Race) -> None:
    """The mean of the odds after is the odds before, as far as so few draws allow."""
    for name, view in views(race).items():
        assert view.chance @ view.after == pytest.approx(view.prior, abs=0.06), name


def test_bits_are_never_negative_and_less_than_is_open(race: Race, told: Advice) -> None:
    whole = entropy(np.array(list(race.probability.values())))
    assert told.tests
    for one in told.tests:
        assert 0.02 <= one.expected_bits <= whole
        assert one.expected_cost is not None
        assert one.expected_cost > 0.0
        assert one.minutes > 0.0
        assert 0.0 < sum(s.chance for s in one.splits) <= 1.0 + 1e-9


def way_left(race: Race, name: str) -> float:
    """Minutes to a call with this look first, by Bayes' rule one outcome after the other."""
    open_ = doing.tests_for(race.view)
    names = list(race.probability)
    prior = np.array([race.probability[h] for h in names])
    left = minutes_of(BY_NAME[name])
    for row in chances(BY_NAME[name], names):
        joint = row * prior
        causes = (joint / joint.sum()) @ held_by(tuple(names))
        left += 0.8 * joint.sum() * float(way_of(open_).left(causes[None, :])[0])
    return left


def test_the_list_is_short_and_ranked_by_how_short_the_way_gets(race: Race, told: Advice) -> None:
    assert 1 <= len(told.tests) <= next_test.MOST_LISTED
    looks = [one.test for one in told.tests if BY_NAME[one.test].kind == "look"]
    left = [way_left(race, name) for name in looks]
    assert len(left) > 2
    assert left[:-1] == sorted(left[:-1])
    assert told.stop_rule is None


def test_what_a_test_cannot_move_stands_in_what_it_would_leave(race: Race) -> None:
    """A reading says nothing of none-of-these: its share is still there after every outcome."""
    odds = {h: 0.7 * p for h, p in race.probability.items()} | {("none-of-these",): 0.3}
    open_ = replace(race, probability=odds)
    told = next(t for t in advice(open_).tests if BY_NAME[t.test].kind == "condition" and t.splits)
    for split in told.splits:
        left = {one.cause: one.probability for one in split.leaves}
        assert left["none-of-these"] == pytest.approx(0.3)
    before = next((t for t in advice(race).tests if t.test == told.test), None)
    assert before is not None
    assert told.expected_bits < before.expected_bits


def test_every_test_comes_with_its_cautions(told: Advice) -> None:
    for one in told.tests:
        assert one.cautions == BY_NAME[one.test].cautions
        assert one.not_when == BY_NAME[one.test].not_when
        if BY_NAME[one.test].runs:
            assert one.cautions
    assert len(cautions()) > 5


def named(found: Advice) -> set[str]:
    return {one.test for one in found.tests}


def test_a_test_already_read_is_not_proposed() -> None:
    rows: Sequence[tuple[Held, Sequence[str]]] = [
        (IDLE, [OIL, CRANKCASE, SPEED, TRIM]),
        (FAST, [OIL, CRANKCASE, TRIM]),
        (CAP_OFF, [OIL, CRANKCASE, SPEED, TRIM]),
        (BLOCKED, [OIL, CRANKCASE, SPEED, TRIM]),
        (COLD, [OIL, CRANKCASE]),
    ]
    seen = read_of(question(rows), {"oil-thin": 0.3}, seed=3, spread=0.3)
    race = race_from(seen, among=AMONG[:4])
    read = {"hot-idle", "speed-raised", "filler-cap-off", "vent-port-blocked", "cold-idle",
            "crankcase-two-speeds", "trims-two-speeds", "trims-with-vent-blocked"}  # fmt: skip
    assert not read & set(views(race))
    assert "oil-changed" in views(race)
    assert not read & named(advice(race))


def test_a_look_already_answered_is_not_proposed(race: Race) -> None:
    smelt = replace(race.view, seen=(Saw("first", "oil-smell", "none"),))
    assert "smell-the-oil" not in named(advice(replace(race, view=smelt)))


def stopped(kpa: float, reference: str = "atmosphere") -> Advice:
    rows = question([(IDLE, [OIL])])
    item = replace(rows.items[0], reference=reference)
    lift = 101325.0 if reference == "vacuum" else 0.0
    seen = valued(replace(rows, items=(item,)), np.array([1e3 * kpa + lift]))
    return advice(race_from(seen, among=AMONG))


@pytest.mark.parametrize("reference", ["atmosphere", "vacuum", "crankcase"])
def test_no_oil_pressure_stops_every_test_that_runs_the_engine(reference: str) -> None:
    found = stopped(3.0, reference)
    assert found.stop_rule == NO_PRESSURE
    assert all(not BY_NAME[name].runs for name in named(found))


@pytest.mark.parametrize("reference", ["atmosphere", "vacuum"])
def test_a_vent_is_not_shut_on_a_crankcase_under_pressure(reference: str) -> None:
    def found(kpa: float) -> set[str]:
        rows = question([(IDLE, [OIL, CRANKCASE])])
        oil, case = rows.items
        lift = 101325.0 if reference == "vacuum" else 0.0
        items = (oil, replace(case, reference=reference))
        seen = valued(replace(rows, items=items), np.array([120e3, 1e3 * kpa + lift]))
        race = race_from(seen, among=AMONG)
        return {test.name for test in doing.tests_for(race.view, False, next_test._crankcase(race))}

    shutting = {"vent-port-blocked", "trims-with-vent-blocked"}
    assert shutting <= found(-2.0)
    assert not shutting & found(6.0)


def test_a_low_oil_pressure_is_not_none() -> None:
    assert stopped(30.0).stop_rule != NO_PRESSURE


def test_a_knock_stops_every_test_that_runs_the_engine(race: Race) -> None:
    knocks = replace(race, view=replace(VIEW, seen=(Saw("first", "noise", "knock under load"),)))
    found = advice(knocks)
    assert found.stop_rule == KNOCK
    assert all(not BY_NAME[name].runs for name in named(found))


def sure(race: Race, chance: float) -> Race:
    rest = (1.0 - chance) / (len(AMONG) - 1)
    return replace(race, probability={h: chance if h == ("oil-thin",) else rest for h in AMONG})


def test_at_95_percent_nothing_is_tested_on(race: Race) -> None:
    found = advice(sure(race, 0.95))
    assert found.tests == ()
    assert found.stop_rule is not None
    assert "95 %" in found.stop_rule
    assert advice(sure(race, 0.80)).tests


def test_a_knock_outranks_being_sure(race: Race) -> None:
    knocks = replace(VIEW, seen=(Saw("first", "noise", "knock under load"),))
    assert advice(replace(sure(race, 0.99), view=knocks)).stop_rule == KNOCK


def worthless(*_all: object) -> None:
    return None


def test_nothing_worth_its_time_is_said(race: Race, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(next_test, "_worth", worthless)
    found = advice(race)
    assert found.tests == ()
    assert found.stop_rule == next_test.NOTHING_WORTH
