"""Lanes for the browser: the bins are those of the samples, in the unit shown, on one clock."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.store.lane import Clock, StoredLane
from gaugewright.store.overview import build
from gaugewright.web.lanes import HEAD, Drawn, answer

RATE = 1000.0


def stored(values: np.ndarray, time_s: np.ndarray | None = None) -> StoredLane:
    clock = Clock(len(values), RATE) if time_s is None else Clock(len(values), None, time_s)
    return StoredLane("made/x", "x", "oil-pressure", "atmosphere", "Pa", clock, build(values))


def samples(count: int = 200_000) -> np.ndarray:
    rng = np.random.default_rng(4)
    return (rng.normal(0.0, 1.0, count).cumsum() * 50.0 + 1e5).astype(np.float32)


@pytest.mark.parametrize(("begin", "span"), [(0.0, 200.0), (31.0, 100.0), (77.7, 1.6)])
def test_columns_are_the_least_the_greatest_and_the_mean_of_their_samples(
    begin: float, span: float
) -> None:
    values = samples()
    rows = Drawn(stored(values), factor=1e-3).window(begin, begin + span, 100)
    edges = (begin + span * np.arange(101) / 100) * RATE
    slack = span / 100 * RATE * 0.5 + 1
    for k in (0, 37, 99):
        inner = values[int(edges[k] + slack) : int(edges[k + 1] - slack)] * 1e-3
        outer = values[max(int(edges[k] - slack), 0) : int(edges[k + 1] + slack)] * 1e-3
        assert outer.min() - 1e-4 <= rows[k, 0] <= rows[k, 2] <= rows[k, 1] <= outer.max() + 1e-4
        if inner.size:
            assert rows[k, 0] <= inner.min() + 1e-4
            assert rows[k, 1] >= inner.max() - 1e-4


def test_a_falling_scale_turns_least_and_greatest_round() -> None:
    values = samples(1000)
    rows = Drawn(stored(values), factor=-1.0, offset=2e5).window(0.0, 1.0, 1)
    assert rows[0, 0] == pytest.approx(2e5 - values.max(), rel=1e-6)
    assert rows[0, 1] == pytest.approx(2e5 - values.min(), rel=1e-6)


def test_a_lane_of_another_clock_stands_where_the_page_has_it() -> None:
    values = np.zeros(1000, dtype=np.float32)
    values[500] = 1.0
    rows = Drawn(stored(values), shift_s=3.0).window(3.0, 4.0, 1000)
    assert int(np.nanargmax(rows[:, 1])) == 500


def test_where_nothing_was_recorded_there_is_nothing_to_draw() -> None:
    rows = Drawn(stored(samples(1000))).window(-5.0, 5.0, 10)
    assert np.isnan(rows[:5]).all()
    assert np.isfinite(rows[5]).all()


def test_the_answer_holds_what_was_asked_for_and_every_lane_in_turn() -> None:
    one, two = Drawn(stored(samples())), Drawn(stored(samples()[::-1].copy()))
    body = answer([one, two], 10.0, 30.0, 64)
    assert HEAD.unpack_from(body) == (10.0, 30.0, 64, 2)
    values = np.frombuffer(body, "<f4", offset=HEAD.size).reshape(2, 64, 3)
    np.testing.assert_array_equal(values[1], two.window(10.0, 30.0, 64))


@pytest.mark.parametrize(("finish", "columns"), [(1.0, 10), (0.5, 10), (2.0, 0), (2.0, 10**6)])
def test_a_window_that_is_none_is_refused(finish: float, columns: int) -> None:
    with pytest.raises(ValueError, match="window"):
        answer([Drawn(stored(samples(1000)))], 1.0, finish, columns)


def test_an_empty_lane_has_a_range_to_be_drawn_in() -> None:
    assert Drawn(stored(np.full(100, np.nan, dtype=np.float32))).range == (0.0, 1.0)


def test_slow_samples_without_an_even_beat_stand_at_their_instants() -> None:
    time = np.array([0.0, 0.1, 0.5, 0.9])
    rows = Drawn(stored(np.array([1.0, 2.0, 3.0, 4.0], dtype=np.float32), time)).window(0, 1, 10)
    assert np.flatnonzero(np.isfinite(rows[:, 2])).tolist() == [0, 1, 5, 9]
