"""Two clocks brought together by a signal that both recordings hold."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.recording.alignment import offset_between
from gaugewright.recording.types import Floats


def speed(seed: int, seconds: float = 60.0) -> tuple[Floats, Floats]:
    """A hunting engine speed on a fine clock."""
    random = np.random.default_rng(seed)
    noise = random.normal(size=int(seconds * 1000))
    course = np.convolve(noise, np.hanning(1500), "same")
    return np.arange(course.size) / 1000, 850 + 25 * course / course.std()


def logged(
    course: tuple[Floats, Floats], rate_hz: float, start: float, end: float, seed: int
) -> tuple[Floats, Floats]:
    random = np.random.default_rng(seed)
    time_s = np.arange(start, end, 1 / rate_hz)
    return time_s, np.interp(time_s, *course) + random.normal(0, 3, time_s.size)


@pytest.mark.parametrize("offset", [-12.34, -0.5, 0.0, 0.0371, 3.21, 40.0])
def test_offset_is_found_within_its_uncertainty(offset: float) -> None:
    course = speed(1)
    time_a, a = logged(course, 50, 3, 50, 2)
    time_b, b = logged(course, 10, 8, 55, 3)
    found, uncertainty = offset_between(time_a, a, time_b - offset, 0.1 * b - 7)
    assert uncertainty < 0.02
    assert abs(found - offset) < 3 * uncertainty


def test_uncertainty_covers_the_truth() -> None:
    """Coverage over 100 simulated pairs; 87 of 100 is four standard errors below 95 %."""
    inside = 0
    for seed in range(100):
        course = speed(1000 + seed, 40)
        time_a, a = logged(course, 25, 2, 33, seed)
        time_b, b = logged(course, 20, 5, 38, 500 + seed)
        found, uncertainty = offset_between(time_a, a, time_b - 1.7, b)
        inside += abs(found - 1.7) < 1.96 * uncertainty
    assert inside >= 87


def test_missing_values_do_not_harm() -> None:
    course = speed(4)
    time_a, a = logged(course, 50, 3, 50, 5)
    time_b, b = logged(course, 20, 8, 55, 6)
    a[100:130] = np.nan
    b[::9] = np.nan
    found, uncertainty = offset_between(time_a, a, time_b - 2.0, b)
    assert abs(found - 2.0) < 3 * uncertainty


def test_signals_that_agree_nowhere() -> None:
    time_a, a = logged(speed(7), 20, 0, 50, 8)
    time_b, b = logged(speed(9), 20, 0, 50, 10)
    with pytest.raises(ValueError, match=r"agree at no shift|several shifts fit|edge of their"):
        offset_between(time_a, a, time_b, b)


def test_a_signal_that_repeats_itself() -> None:
    time_s = np.arange(0, 30, 0.05)
    with pytest.raises(ValueError, match="several shifts fit almost equally well"):
        offset_between(time_s, np.sin(6 * time_s), time_s, np.sin(6 * time_s + 1))


def test_clocks_that_do_not_overlap_where_asked() -> None:
    course = speed(11)
    time_a, a = logged(course, 20, 0, 20, 12)
    time_b, b = logged(course, 20, 0, 20, 13)
    with pytest.raises(ValueError, match="do not overlap with an offset of at most 5 s"):
        offset_between(time_a, a, time_b + 100, b, within_s=5)


def test_a_signal_that_never_changes_or_hardly_exists() -> None:
    time_s = np.arange(0, 30, 0.05)
    with pytest.raises(ValueError, match="the second signal never changes"):
        offset_between(time_s, np.sin(time_s), time_s, np.ones_like(time_s))
    with pytest.raises(ValueError, match="the first signal has only 5 values"):
        offset_between(time_s[:5], np.sin(time_s[:5]), time_s, np.sin(time_s))
