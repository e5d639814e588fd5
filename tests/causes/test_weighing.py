"""Readings made by the steady engine with a known fault: the right cause leads, and all adds up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest
from made_questions import (
    BLOCKED,
    BUILD,
    CAP_OFF,
    COLD,
    CRANKCASE,
    FAST,
    IDLE,
    OIL,
    SPEED,
    VIEW,
    held,
    question,
    read_of,
    sums_of,
    valued,
    weighed_of,
)

from gaugewright.causes.catalogue import NONE_OF_THESE, pairs
from gaugewright.causes.next_test import entropy
from gaugewright.causes.observation import TRIM, Held, Observed
from gaugewright.causes.stated import Least, with_limits
from gaugewright.causes.weighing import Weighed
from gaugewright.engine.build import Build

Rows = Sequence[tuple[Held, Sequence[str]]]
AIR: Rows = [(IDLE, [CRANKCASE, SPEED, TRIM]), (FAST, [CRANKCASE, TRIM])]
WET: Rows = [
    (IDLE, [OIL, TRIM]),
    (FAST, [OIL]),
    (COLD, [OIL]),
    (held(rpm=2000.0, degc=20.0), [OIL]),
]
SHUT: Rows = [*AIR, (BLOCKED, [CRANKCASE])]
STEP: Rows = [(IDLE, [OIL]), (held(rpm=2000.0), [OIL]), (held(rpm=3200.0), [OIL])]

SINGLES = (
    "nothing-wrong", "oil-level-low", "oil-thin", "fuel-in-oil", "pickup-restricted",
    "filter-restricted", "relief-valve-open", "worn-bearings", "ventilation-regulator-torn",
    "breather-blocked", "crankcase-open", "intake-leak", "worn-rings", NONE_OF_THESE,
)  # fmt: skip
FEW = [(name,) for name in SINGLES]
TELLING: Mapping[str, Rows] = {
    "fuel-in-oil": WET,
    "pickup-restricted": WET,
    "filter-restricted": WET,
    "relief-valve-open": WET,
    "ventilation-regulator-torn": AIR,
    "breather-blocked": AIR,
    "crankcase-open": AIR,
    "intake-leak": AIR,
}
"""Conditions in which the trade's table of signatures parts a cause from the others.  Worn rings
are not among them: what fills a shut crankcase is a course, too unsure to lead by itself."""
NOT_FROM = {"pickup-restricted": "oil-level-low"}
"""Where only what is looked at parts two causes: the dipstick decides (trade's table)."""


def adds_up(one: Weighed) -> None:
    total = sum(h.probability for h in one.hypotheses)
    assert total == pytest.approx(1.0)
    assert all(h.probability >= 0.0 for h in one.hypotheses)
    ranked = [h.probability for h in one.hypotheses]
    assert ranked == sorted(ranked, reverse=True)


@pytest.mark.parametrize("cause", TELLING)
def test_the_right_cause_leads_among_fourteen(cause: str) -> None:
    seen = read_of(question(TELLING[cause]), {cause: 0.8}, seed=3, spread=0.3)
    one = weighed_of(seen, among=FEW)
    adds_up(one)
    first, second = one.hypotheses[:2]
    assert first.causes == (cause,)
    assert first.probability > 0.4
    assert first.probability > 1.5 * second.probability


def test_a_shut_crankcase_speaks_for_worn_rings() -> None:
    seen = read_of(question(SHUT), {"worn-rings": 0.9}, seed=3, spread=0.3)
    one = weighed_of(seen, among=FEW)
    [rings] = [h for h in one.hypotheses if h.causes == ("worn-rings",)]
    [sound] = [h for h in one.hypotheses if h.causes == ("nothing-wrong",)]
    assert rings.log_readings > sound.log_readings + 1.0


@pytest.mark.slow
@pytest.mark.parametrize("seed", [3, 11])
@pytest.mark.parametrize("cause", TELLING)
def test_the_right_cause_leads_among_all(cause: str, seed: int) -> None:
    rows = [*WET, *AIR, (BLOCKED, [CRANKCASE])]
    one = weighed_of(read_of(question(rows), {cause: 0.8}, seed=seed, spread=0.5))
    adds_up(one)
    sums = sums_of(one)
    assert max(sums, key=sums.__getitem__) in (cause, NOT_FROM.get(cause))


@pytest.mark.slow
@pytest.mark.parametrize(
    "pair",
    [("breather-blocked", "relief-valve-open"), ("intake-leak", "relief-valve-open")],
)
def test_two_faults_fit_best_together(pair: tuple[str, str]) -> None:
    """Each shows in readings that the other hardly touches: no other hypothesis fits as well.

    Two faults are rare before anything is read, so that the louder of them may lead by itself.
    """
    rows = [
        (IDLE, [OIL, CRANKCASE, SPEED, TRIM]),
        (FAST, [OIL, CRANKCASE, TRIM]),
        (COLD, [OIL]),
        (CAP_OFF, [OIL, CRANKCASE]),
    ]
    faults = {name: 0.65 for name in pair}
    one = weighed_of(read_of(question(rows), faults, seed=2, spread=0.3))
    adds_up(one)
    best = max(one.hypotheses, key=lambda h: h.log_readings)
    assert set(best.causes) == set(pair)
    sums = sums_of(one)
    assert max(sums, key=sums.__getitem__) == pair[0]
    assert sums[pair[1]] > 1.5 * sum(h.before for h in one.hypotheses if pair[1] in h.causes)


def test_two_faults_are_found_among_a_few() -> None:
    rows = [(IDLE, [OIL, SPEED, TRIM]), (FAST, [OIL, TRIM]), (COLD, [OIL])]
    names = ("intake-leak", "relief-valve-open", "breather-blocked", "worn-bearings")
    among = [(n,) for n in names] + [p for p in pairs() if set(p) <= set(names)]
    seen = read_of(question(rows), dict.fromkeys(names[:2], 0.9), seed=2, spread=0.3)
    one = weighed_of(seen, among=among)
    adds_up(one)
    assert set(one.hypotheses[0].causes) == set(names[:2])


def test_a_stuck_step_is_found_where_the_pump_has_one() -> None:
    build = Build(oil_pump="two-stage")
    among = [*FEW, ("pump-control-stuck",), ("worn-pump",)]
    seen = read_of(question(STEP), {"pump-control-stuck": 0.8}, build, seed=3, spread=0.3)
    one = weighed_of(seen, build, replace(VIEW, oil_pump="two-stage"), among=among)
    assert one.hypotheses[0].causes == ("pump-control-stuck",)


def bits(one: Weighed) -> float:
    return entropy(np.array([h.probability for h in one.hypotheses]))


def part(observed: Observed, keep: Sequence[int]) -> Observed:
    """Only these readings."""
    found = observed
    for index in sorted(set(range(len(observed.items))) - set(keep), reverse=True):
        found = found.without(index)
    return found


def test_what_was_not_observed_is_no_evidence() -> None:
    """Taking conditions away never fails, and leaves more open: down to the odds themselves."""
    rows = [(IDLE, [OIL, CRANKCASE, TRIM]), (FAST, [OIL, CRANKCASE, TRIM]), (COLD, [OIL])]
    seen = read_of(question(rows), {"breather-blocked": 0.6}, seed=3, spread=0.3)
    left = [bits(weighed_of(part(seen, range(n)), among=FEW)) for n in (7, 2, 0)]
    assert left == sorted(left)
    nothing = weighed_of(part(seen, ()), among=FEW)
    assert {h.causes: h.probability for h in nothing.hypotheses} == pytest.approx(
        {h.causes: h.before for h in nothing.hypotheses}
    )
    adds_up(weighed_of(seen.without(0).without(4), among=FEW[:4]))


def test_a_reading_that_says_nothing_of_the_causes_moves_nothing() -> None:
    """A reading so unsure that it could be anything leaves the odds as they were."""
    seen = read_of(question([(IDLE, [CRANKCASE])]), {"breather-blocked": 0.6})
    blind = Observed(seen.holds, seen.items, np.array([[1e14]]))
    one = weighed_of(blind, among=FEW)
    for h in one.hypotheses:
        assert h.probability == pytest.approx(h.before, rel=0.02, abs=0.002)


def test_what_was_told_counts_beside_what_was_read() -> None:
    """Odds after = odds before x evidence: told evidence moves two causes by its ratio."""
    seen = read_of(question([(IDLE, [OIL])]), {"oil-thin": 0.6})
    among = [("oil-thin",), ("worn-bearings",)]
    plain = weighed_of(seen, among=among)
    told = weighed_of(seen, among=among, told={("oil-thin",): np.log(3.0)})
    before, after = ({h.causes: h.probability for h in one.hypotheses} for one in (plain, told))
    ratio = after[among[0]] / after[among[1]] / (before[among[0]] / before[among[1]])
    assert ratio == pytest.approx(3.0)


def test_the_makers_limit_anchors_a_sound_engine() -> None:
    """Oil pressure below its limit speaks against a sound engine, well above it for one."""
    among = [("nothing-wrong",), ("worn-bearings",), ("oil-thin",)]
    chances = []
    for least in (30e3, 80e3, 200e3):
        seen = read_of(question([(IDLE, [OIL])]), {})
        whole = with_limits(seen, [Least(least, None, 90.0)], "first")
        one = weighed_of(whole, among=among)
        chances.append(sums_of(one)["nothing-wrong"])
    assert chances[0] > chances[1] > chances[2]
    assert chances[0] > 1.5 * chances[2]


def test_a_cause_the_engine_cannot_have_keeps_a_trace_and_no_more() -> None:
    seen = read_of(question([(IDLE, [OIL])]), {})
    one = weighed_of(seen, among=[*FEW[:5], ("pump-control-stuck",)])
    by_name = {h.causes[0]: h for h in one.hypotheses}
    assert BUILD.oil_pump == VIEW.oil_pump == "fixed"
    assert 0.0 < by_name["pump-control-stuck"].probability < 0.02
    adds_up(one)


def test_none_of_these_leads_where_no_cause_fits() -> None:
    """Readings that no fault of the catalogue gives: a good pressure, a far too strong vacuum in
    the crankcase and trims the wrong way round."""
    rows = question([(IDLE, [OIL, CRANKCASE, TRIM]), (FAST, [OIL, CRANKCASE, TRIM])])
    seen = read_of(rows, {})
    odd = np.array([1.0, 6.0, 0.0, 0.3, -3.0, 0.0]) * seen.values
    odd += np.array([0.0, 0.0, -25.0, 0.0, 0.0, 25.0])
    one = weighed_of(valued(seen, odd), among=FEW)
    assert one.hypotheses[0].causes == (NONE_OF_THESE,)
    plain = weighed_of(seen, among=FEW)
    sums = sums_of(plain)
    assert sums[NONE_OF_THESE] < 0.8 * sums["nothing-wrong"]


def test_a_leading_hypothesis_whose_draws_were_refused_is_named() -> None:
    seen = read_of(question(AIR), {"breather-blocked": 0.6}, seed=3, spread=0.3)
    one = weighed_of(seen, among=FEW)
    for h in one.hypotheses:
        refused = h.drawn is not None and h.drawn.refused and h.probability > 0.02
        assert (h.causes in one.refused) == refused
