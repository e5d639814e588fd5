"""The quantisation step seen in values."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.recording.steps import step_of

RANDOM = np.random.default_rng(21)


@pytest.mark.parametrize("step", [1.0, 0.1, 0.25, 5 / 1023, 10 / 4096, 1e-4, 50.0])
@pytest.mark.parametrize("spread", [4, 40])
def test_step_of_a_quantised_signal(step: float, spread: float) -> None:
    values = step * np.round(RANDOM.normal(700, spread, 6000))
    assert step_of(values) == pytest.approx(step, rel=1e-6)


def test_step_seen_through_the_rounding_of_the_text() -> None:
    values = np.round(5 / 1023 * np.round(RANDOM.normal(500, 30, 6000)), 4)
    assert step_of(values) == pytest.approx(5 / 1023, rel=0.01)


def test_step_of_a_long_column_and_with_missing_values() -> None:
    values = 0.02 * np.round(RANDOM.normal(100, 20, 300_000))
    values[::7] = np.nan
    assert step_of(values) == pytest.approx(0.02)


def test_step_where_some_levels_are_never_visited() -> None:
    levels = np.array([0, 3, 4, 7, 9, 10, 14, 15, 21, 22, 30, 31, 36], dtype=float)
    assert step_of(0.5 * RANDOM.choice(levels, 500)) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "values",
    [
        RANDOM.normal(0, 1, 5000),
        RANDOM.uniform(0, 1, 60),
        np.full(100, 3.3),
        np.where(np.arange(100) % 2, 5.0, 0.0),
        np.full(50, np.nan),
        np.empty(0),
        np.sqrt(np.arange(400.0)),
    ],
)
def test_no_step_is_seen(values: np.ndarray) -> None:
    assert step_of(values) == 0.0
