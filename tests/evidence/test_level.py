"""Levels of series whose level is known by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import stdtrit

from gaugewright.evidence.lateness import delay_of, evidence_of_delay
from gaugewright.evidence.level import coverage_factor, fit_level, fit_levels

CYCLE_S = 0.145
TIME = CYCLE_S * np.arange(200)
LENGTH = np.full(200, CYCLE_S)
HUNTING = 830 + 25 * np.sin(2 * np.pi * TIME / 4.1)


def scatter(seed: int = 1, size: float = 0.5) -> np.ndarray:
    return size * np.random.default_rng(seed).standard_normal(len(TIME))


def test_a_steady_level_is_its_mean() -> None:
    values = 95 + scatter()
    level = fit_level(values, TIME, LENGTH)
    assert level.value == pytest.approx(values.mean(), abs=0.02)
    assert level.low < 95 < level.high
    assert level.behaviour == "steady"
    assert level.cycles == 200


def test_a_drifting_level_is_that_of_mid_time() -> None:
    level = fit_level(95 + 0.2 * (TIME - TIME[-1] / 2) + scatter(), TIME, LENGTH)
    assert level.value == pytest.approx(95.0, abs=0.15)
    assert level.drift == pytest.approx(0.2, abs=0.02)
    assert level.behaviour == "drifting"


def test_a_bent_course_is_read_at_mid_time_not_at_its_mean() -> None:
    course = (TIME / TIME[-1] * 2 - 1) ** 2
    level = fit_level(95 + 8 * course + scatter(), TIME, LENGTH)
    assert level.value == pytest.approx(95.0, abs=0.3)
    assert np.mean(95 + 8 * course) > 97


def test_hunting_is_explained_by_speed_and_not_counted_as_noise() -> None:
    level = fit_level(95 + 0.1 * (HUNTING - 830) + scatter(), TIME, LENGTH, HUNTING)
    blind = fit_level(95 + 0.1 * (HUNTING - 830) + scatter(), TIME, LENGTH)
    assert level.slope == pytest.approx(0.1, abs=0.01)
    assert level.behaviour == "hunting"
    assert level.standard_uncertainty < 0.5 * blind.standard_uncertainty
    assert level.speed_rpm == pytest.approx(HUNTING.mean())


def test_the_level_moves_along_its_slope_and_is_less_sure_there() -> None:
    level = fit_level(95 + 0.1 * (HUNTING - 830) + scatter(), TIME, LENGTH, HUNTING)
    here, there = level.at(level.speed_rpm), level.at(850.0)
    assert there[0] == pytest.approx(here[0] + level.slope * (850 - level.speed_rpm))
    assert there[1] > here[1]


def test_support_is_the_middle_of_the_cycle_speeds() -> None:
    level = fit_level(95 + scatter(), TIME, LENGTH, HUNTING)
    assert level.support_rpm == pytest.approx(tuple(np.percentile(HUNTING, [5, 95])))


def test_wild_cycles_are_left_out_and_counted() -> None:
    values = 95 + scatter()
    values[[20, 90, 140]] += (40, -60, 300)
    level = fit_level(values, TIME, LENGTH)
    assert level.outlying == 3
    assert level.value == pytest.approx(95.0, abs=0.15)
    assert abs(values.mean() - 95) > 1


def test_cycles_without_value_take_no_part() -> None:
    values = 95 + scatter()
    values[50:80] = np.nan
    assert fit_level(values, TIME, LENGTH).cycles == 170


def test_one_cycle_has_a_value_and_no_interval() -> None:
    level = fit_level(np.array([95.0]), np.array([1.0]), np.array([0.15]))
    assert level.value == 95.0
    assert np.isinf(level.high)


def test_two_cycles_have_students_interval() -> None:
    # Two values 1 apart: u = 0.5, t of one degree of freedom 12.706 (any table).
    level = fit_level(np.array([95.0, 96.0]), np.array([0.1, 0.2]), np.array([0.1, 0.1]))
    assert level.high - level.value == pytest.approx(0.5 * 12.706, rel=1e-4)


def test_no_value_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="no cycle"):
        fit_level(np.full(5, np.nan), TIME[:5], LENGTH[:5])


def test_columns_are_fitted_each_for_itself() -> None:
    pair = np.column_stack([95 + scatter(1), -5 + scatter(2)])
    one, other = fit_levels(pair, TIME, LENGTH, HUNTING)
    assert one.value == pytest.approx(fit_level(pair[:, 0], TIME, LENGTH, HUNTING).value)
    assert other.value == pytest.approx(-5.0, abs=0.15)


@pytest.mark.parametrize("late_s", [0.0, 0.4, 0.9])
def test_the_delay_of_a_sampled_speed_is_found(late_s: float) -> None:
    values = 95 + 0.1 * (HUNTING - 830) + scatter()
    shown = 830 + 25 * np.sin(2 * np.pi * (TIME - late_s) / 4.1)
    assert delay_of([evidence_of_delay(TIME, values, TIME, shown)])[0] == pytest.approx(
        late_s, abs=0.06
    )


def test_a_speed_that_explains_nothing_has_no_delay() -> None:
    assert not delay_of([evidence_of_delay(TIME, 95 + scatter(), TIME, 830 + scatter(3, 10.0))])[1]


def test_coverage_factors_are_the_tables() -> None:
    # Student's t at 97.5 %: 1.960 for endless, 2.228 for 10 degrees of freedom (any table).
    assert coverage_factor(None) == pytest.approx(1.960, abs=5e-4)
    assert coverage_factor(10) == pytest.approx(2.228, abs=5e-4)
    assert coverage_factor(10) == pytest.approx(stdtrit(10, 0.975))
    assert coverage_factor(9) != pytest.approx(2.228, abs=5e-4)


@pytest.mark.parametrize("late", [False, True])
def test_levels_hold_the_truth_though_the_noise_remembers(late: bool) -> None:
    """80 hunting stretches with an autoregressive wander: 95 % give or take 5 for chance."""
    held = 0
    for seed in range(80):
        rng = np.random.default_rng([seed, 11])
        wander = np.zeros(200)
        for k in range(1, 200):
            wander[k] = 0.7 * wander[k - 1] + 0.4 * rng.standard_normal()
        shown = 830 + 25 * np.sin(2 * np.pi * (TIME - 0.4 * late) / 4.1)
        values = 95 + 0.1 * (HUNTING - 830) + wander + 0.3 * rng.standard_normal(200)
        level = fit_level(values, TIME, LENGTH, shown, sampled_speed=late)
        here = 95 + 0.1 * (level.speed_rpm - 830)
        held += level.low <= here <= level.high
    assert held / 80 >= 0.88
