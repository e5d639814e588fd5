"""How long the way to a call is, against sums done by hand."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from gaugewright.causes import catalogue
from gaugewright.causes.tests import every_test
from gaugewright.causes.way import GIVEN_UP_MIN, OVERHEAD_MIN, Way, held_by, minutes_of, way_of

TESTS = {test.name: test for test in every_test()}


def left(probability: list[float], minutes: list[float]) -> float:
    return float(Way(np.array(minutes)).left(np.array([probability]))[0])


def test_the_likelier_for_its_minutes_comes_first() -> None:
    # 0.6 in 10 min and 0.4 in 20: the first test, and in four of ten jobs the second after it
    assert left([0.6, 0.4], [10.0, 20.0]) == pytest.approx(0.6 * 10.0 + 0.4 * 30.0)
    # 0.4 in 5 min is worth more for its time than 0.6 in 30
    assert left([0.6, 0.4], [30.0, 5.0]) == pytest.approx(0.4 * 5.0 + 0.6 * 35.0)


def test_no_other_order_is_shorter() -> None:
    rng = np.random.default_rng(4)
    for _ in range(50):
        p, minutes = rng.dirichlet(np.ones(5)), rng.uniform(1.0, 40.0, 5)
        best = min(
            float(np.sum(p[list(order)] * np.cumsum(minutes[list(order)])))
            for order in permutations(range(5))
        )
        assert left(list(p), list(minutes)) == pytest.approx(best if p.max() < 0.95 else 0.0)


def test_a_settled_cause_needs_no_way_and_none_is_endless() -> None:
    assert left([0.96, 0.04], [10.0, 20.0]) == 0.0
    assert left([0.5, 0.5], [np.inf, 10.0]) == pytest.approx(0.5 * 10.0 + 0.5 * GIVEN_UP_MIN)


def test_causes_that_share_a_job_are_shared_out() -> None:
    assert left([0.9, 0.9], [10.0, 20.0]) == left([0.5, 0.5], [10.0, 20.0])


def test_a_cause_is_decided_by_its_quickest_clear_look() -> None:
    minutes = dict(zip(catalogue.NAMES, way_of(every_test()).minutes, strict=True))
    assert minutes["indication-fault"] == minutes_of(TESTS["lamp-and-switch"])
    assert minutes["oil-level-low"] == TESTS["dipstick"].minutes + OVERHEAD_MIN
    assert minutes["worn-bearings"] == minutes_of(TESTS["filter-cut"])
    assert np.isinf(minutes["nothing-wrong"])
    assert np.isinf(minutes["none-of-these"])
    without = way_of([test for test in every_test() if test.name != "lamp-and-switch"])
    then = dict(zip(catalogue.NAMES, without.minutes, strict=True))
    assert then["indication-fault"] == minutes_of(TESTS["second-gauge"])


def test_which_causes_a_hypothesis_holds() -> None:
    held = held_by((("oil-thin",), ("oil-thin", "worn-bearings")))
    assert held.sum(axis=1).tolist() == [1.0, 2.0]
    assert held[:, catalogue.NAMES.index("oil-thin")].tolist() == [1.0, 1.0]
