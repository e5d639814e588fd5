"""The model's own error, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from made_questions import (
    BLOCKED,
    CRANKCASE,
    FAST,
    IDLE,
    MANIFOLD,
    OIL,
    OUTSIDE_PA,
    SPEED,
    question,
    seen,
    valued,
)

from gaugewright.causes.noise import model_error, noise_of, wide_noises_of
from gaugewright.causes.observation import TRIM, Observed, Seen


def alone(item: Seen) -> float:
    """The model's error of one reading at idle, in its own unit."""
    [error] = model_error(Observed((IDLE,), (item,), np.zeros((1, 1))), OUTSIDE_PA)
    return float(error)


def test_a_share_and_a_floor_in_quadrature() -> None:
    """5 % of 200 kPa is 10 kPa, beside 2 kPa; 12 % of 10 points is 1.2, beside 1.5."""
    assert alone(seen(0, OIL, 200e3)) == pytest.approx(np.hypot(10e3, 2e3))
    assert alone(seen(0, TRIM, -10.0)) == pytest.approx(np.hypot(1.2, 1.5))
    assert alone(seen(0, CRANKCASE, 0.0)) == pytest.approx(250.0)


def test_the_share_is_of_what_a_gauge_would_show() -> None:
    told = Seen(0, OIL, "vacuum", 200e3 + OUTSIDE_PA, 0.0, np.zeros(0), ())
    assert alone(told) == pytest.approx(alone(seen(0, OIL, 200e3)))


def test_a_course_is_less_sure_than_a_mean() -> None:
    both = valued(question([(IDLE, [CRANKCASE]), (BLOCKED, [CRANKCASE])]), np.array([5e3, 5e3]))
    mean, course = model_error(both, OUTSIDE_PA)
    assert mean == pytest.approx(np.hypot(0.12 * 5e3, 250.0))
    assert course == pytest.approx(np.hypot(0.35 * (5e3 + 2.5e3), 250.0))


def test_the_readings_own_covariance_stays_whole() -> None:
    """Oil pressure is weighed by its logarithm: d ln p = dp / p."""
    shared = valued(question([(IDLE, [OIL, CRANKCASE])]), np.array([1e5, -2e3]))
    own = np.array([[9e6, 4e5], [4e5, 1e5]])
    told = noise_of(Observed(shared.holds, shared.items, own), OUTSIDE_PA).covariance
    oil, crankcase = model_error(shared, OUTSIDE_PA)
    assert told[0, 0] == pytest.approx((9e6 + oil**2) / 1e10)
    assert told[1, 1] == pytest.approx(1e5 + crankcase**2)
    assert told[0, 1] == told[1, 0] == pytest.approx(4e5 / 1e5)


def test_a_cause_from_outside_is_held_to_less_in_every_condition_alike() -> None:
    """Small or large, it blurs every reading, and two readings of one quantity together."""
    rows = valued(
        question([(IDLE, [OIL, CRANKCASE, MANIFOLD, SPEED, TRIM]), (FAST, [OIL])]),
        np.array([1e5, -2e3, 35e3, 800.0, 4.0, 3e5]),
    )
    near = noise_of(rows, OUTSIDE_PA).covariance
    added = [one.covariance - near for one in wide_noises_of(rows, OUTSIDE_PA)]
    blurred = [more for more in added if np.any(more)]
    small, large = blurred[0], blurred[-1]
    assert np.all(np.diag(small) > 0.0)
    assert np.all(np.diag(large) > 4.0 * np.diag(near))
    for more in blurred:
        together = more / np.sqrt(np.outer(np.diag(more), np.diag(more)))
        assert 0.5 < together[0, 5] < 1.0
        assert together[0, 1] == together[2, 3] == 0.0
    assert large == pytest.approx(small * (large[0, 0] / small[0, 0]))
