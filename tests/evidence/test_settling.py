"""Transitions at the ends of a marked stretch are left out; clean stretches are left alone."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.evidence.settling import settled

CYCLE_S = 0.145
TIME = CYCLE_S * np.arange(200)


def scatter(seed: int, size: float = 0.5) -> np.ndarray:
    return size * np.random.default_rng(seed).standard_normal(len(TIME))


def kept(values: np.ndarray, speed: np.ndarray | None = None) -> slice:
    first, last = settled(TIME, [values], speed)
    return slice(first, last)


@pytest.mark.parametrize("size", [-30.0, 12.0, 60.0])
@pytest.mark.parametrize("seed", range(4))
def test_an_exponential_of_1_2_s_is_left_out(size: float, seed: int) -> None:
    values = 95 + size * np.exp(-TIME / 1.2) + scatter(seed)
    stretch = kept(values)
    bias = np.mean(size * np.exp(-TIME[stretch] / 1.2))
    assert abs(bias) < 0.15
    assert stretch.stop - stretch.start > 140
    assert abs(np.mean(size * np.exp(-TIME / 1.2))) > 0.4


@pytest.mark.parametrize("seed", range(4))
def test_a_step_at_the_end_is_left_out(seed: int) -> None:
    values = 95 + np.where(TIME[-1] - 1.0 < TIME, 15.0, 0.0) + scatter(seed)
    stretch = kept(values)
    assert TIME[stretch.stop - 1] <= TIME[-1] - 1.0 + CYCLE_S
    assert stretch.start == 0


def test_a_clean_stretch_keeps_all_its_cycles() -> None:
    cut = [200 - (s.stop - s.start) for s in (kept(95 + scatter(seed)) for seed in range(60))]
    assert np.median(cut) == 0
    assert np.mean(np.array(cut) > 0) <= 0.1


def test_a_slow_course_is_part_of_the_condition() -> None:
    cut = [kept(95 + 0.4 * TIME + scatter(seed)) for seed in range(20)]
    assert np.mean([s.stop - s.start < 200 for s in cut]) <= 0.15


def test_hunting_is_part_of_the_condition() -> None:
    whole = 0
    for seed in range(20):
        speed = 830 + 25 * np.sin(2 * np.pi * TIME / 3.1 + seed)
        values = 95 * (speed / 830) ** 0.8 + scatter(seed)
        stretch = kept(values, speed)
        whole += stretch.stop - stretch.start == 200
    assert whole >= 16


def test_a_handful_of_cycles_is_left_alone() -> None:
    time = CYCLE_S * np.arange(12)
    assert settled(time, [np.exp(-time)], None) == (0, 12)
