"""Cycle means of functions whose mean is known by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import Stretch, recording, signal, turning

from gaugewright.evidence.cycles import cycle_table, mean_between, turning_of

TIME = np.arange(0, 10.0001, 0.01)


def test_mean_of_a_straight_line_is_its_middle_wherever_the_edges_fall() -> None:
    line = signal("oil-pressure", TIME, 3 + 2 * TIME)
    start, end = np.array([0.0, 1.2345, 7.003]), np.array([1.0, 3.2345, 7.0117])
    assert mean_between(line, start, end) == pytest.approx(3 + (start + end), rel=1e-12)


def test_ripple_vanishes_over_whole_cycles() -> None:
    period = 0.1457
    ripple = signal("oil-pressure", TIME, 95 + 20 * np.sin(2 * np.pi * TIME / period))
    edges = 0.337 + period * np.arange(60)
    assert mean_between(ripple, edges[:-1], edges[1:]) == pytest.approx(95.0, abs=0.05)
    part = mean_between(ripple, edges[:-1], edges[:-1] + 0.5 * period)
    assert np.max(np.abs(part - 95.0)) > 4.0


def test_cycles_without_samples_have_no_value() -> None:
    holed = (TIME < 4.0) | (TIME > 5.0)
    gap = signal("oil-pressure", TIME[holed], np.ones(holed.sum()), interval_s=0.01)
    start = np.array([-2.0, 0.0, 3.9, 4.2, 5.1, 9.5])
    means = mean_between(gap, start, start + 0.8)
    assert np.isnan(means).tolist() == [True, False, True, True, False, True]


def test_samples_marked_bad_or_missing_take_no_part() -> None:
    values = np.where((TIME > 2) & (TIME < 2.02), 1e6, 7.0)
    spoilt = signal("oil-pressure", TIME, values, bad=values > 100)
    missing = signal("oil-pressure", TIME, np.where(values > 100, np.nan, values))
    edges = np.arange(0.0, 9.0, 0.15)
    for held in (spoilt, missing):
        assert mean_between(held, edges[:-1], edges[1:]) == pytest.approx(7.0)
    plain = signal("oil-pressure", TIME, values)
    assert np.nanmax(mean_between(plain, edges[:-1], edges[1:])) > 1000


def test_a_recording_borrows_the_rotation_of_one_beside_it_on_the_jobs_clock() -> None:
    first = recording(Stretch("as found", 95.0))
    second = replace(first, name="other", rotation=None, offset_s=-2.5)
    [span] = second.spans
    rotation, shift = turning_of(second, (first, second), span)
    assert rotation is first.rotation
    assert shift == pytest.approx(2.5)
    table = cycle_table(second, (first, second), span)
    assert table.turning
    assert table.start_s[:5] == pytest.approx(first.rotation.edges_s[:5] + 2.5)
    elsewhere = replace(second, visit="second")
    assert turning_of(elsewhere, (first, elsewhere), span) is None
    other_condition = replace(span, condition="cap off")
    assert turning_of(second, (first, second), other_condition) is None


def test_without_rotation_windows_stand_for_cycles() -> None:
    table = cycle_table(recording(Stretch("as found", 95.0), speed_known=False))
    assert not table.turning
    assert table.speed_rpm is None
    assert np.diff(table.start_s) == pytest.approx(table.end_s[0] - table.start_s[0])


def test_speed_of_a_cycle_is_two_turns_over_its_length() -> None:
    # 720 degrees in 0.15 s are 800 rpm.
    made = turning(TIME, np.full(len(TIME), 800.0))
    assert np.diff(made.edges_s) == pytest.approx(0.15)
    assert made.speed_rpm == pytest.approx(800.0)


@pytest.mark.parametrize("seed", range(12))
def test_a_part_of_the_cycles_has_the_means_they_have_in_the_whole(seed: int) -> None:
    """Only the samples that a part reaches are looked at: holes at its ends change nothing."""
    rng = np.random.default_rng(seed)
    values = 90 + rng.standard_normal(len(TIME))
    bad = np.zeros(len(TIME), dtype=bool)
    for begin in rng.integers(0, len(TIME), 12):
        bad[begin : begin + rng.integers(1, 60)] = True
        values[begin + 70 : begin + 70 + rng.integers(1, 40)] = np.nan
    held = signal("oil-pressure", TIME, values, bad=bad)
    start = np.arange(-0.5, 10.3, 0.07)
    whole = mean_between(held, start, start + 0.15)
    for _ in range(20):
        first, last = sorted(rng.integers(0, len(start), 2))
        part = mean_between(held, start[first : last + 1], start[first : last + 1] + 0.15)
        np.testing.assert_allclose(part, whole[first : last + 1], rtol=1e-9)
