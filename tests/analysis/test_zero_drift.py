"""Two engine-off zeros of one sensor that differ by more than their scatter: it has drifted."""

from dataclasses import dataclass

import numpy as np
import pytest

from gaugewright.analysis.zeros import _drift, _Observed
from gaugewright.sensing.zero import Zero


@dataclass(frozen=True)
class Nothing:
    """A signal that nobody looks at."""


def observed(indicated: float, variance: float, block: str = "sensor: curve") -> _Observed:
    zero = Zero(indicated, variance, 1000, at_stop=False)
    gradient = {block: np.ones(2)}
    return _Observed(Nothing(), zero, 0.0, None, gradient, "first", "off")  # type: ignore[arg-type]


def test_a_drift_is_added_to_each_zero() -> None:
    """1.7 kPa apart: their sample variance, 1.7^2 / 2, less what scatter explains."""
    found = [observed(-5180.0, 100.0), observed(-3460.0, 100.0)]
    assert _drift(found[0], found) == pytest.approx(1720.0**2 / 2.0 - 100.0)


def test_zeros_within_their_scatter_have_not_drifted() -> None:
    found = [observed(-20.0, 100.0), observed(-10.0, 100.0)]
    assert _drift(found[0], found) == 0.0


def test_one_zero_and_another_sensors_say_nothing_of_drift() -> None:
    found = [observed(-5180.0, 100.0), observed(0.0, 100.0, "other: curve")]
    assert _drift(found[0], found) == 0.0
