"""Lines and readings against scipy's normals, and against the textbook's conditional normal."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from gaugewright.causes import meeting
from gaugewright.causes.lines import Line
from gaugewright.causes.meeting import Blend, Noise, Part, log_evidences, updated
from gaugewright.causes.model import Asked

RNG = np.random.default_rng(27)
READINGS = 5
VALUES = RNG.standard_normal(READINGS)
LINES = [
    Line(RNG.standard_normal(READINGS), RNG.standard_normal((READINGS, size)), np.zeros(size), 0.4)
    for size in (3, 4, 3, 4, 4)
]
"""Lines of two sizes, mixed, as those of causes alone and of two together are."""


def noise(scale: float) -> Noise:
    """A covariance that is no multiple of another scale's."""
    root = RNG.standard_normal((READINGS, READINGS))
    return Noise(scale * (root @ root.T) + 0.2 * np.eye(READINGS))


NOISES = [noise(0.1), noise(1.0), noise(4.0)]
QUESTION: Asked = SimpleNamespace(values=VALUES)  # type: ignore[assignment]
BLUR = (meeting.SIGNATURE_SHARE * 0.4) ** 2


def whole(line: Line, one: Noise) -> np.ndarray:
    """Covariance of the readings, everything unknown in it."""
    return line.slopes @ line.slopes.T + one.covariance + BLUR * np.eye(READINGS)


def by_scipy(line: Line, one: Noise) -> float:
    return float(multivariate_normal.logpdf(VALUES, line.value, whole(line, one)))


def test_the_evidence_of_a_line_is_the_normals_density() -> None:
    told = [[by_scipy(line, one) for line in LINES] for one in NOISES]
    assert log_evidences(LINES, QUESTION, NOISES) == pytest.approx(np.array(told))
    assert log_evidences([], QUESTION, NOISES).shape == (len(NOISES), 0)


def test_a_blend_has_the_evidence_of_all_and_the_normal_of_the_likeliest() -> None:
    weights = np.log([0.5, 0.3, 0.2])
    blend = Blend(tuple(Part(float(w), one) for w, one in zip(weights, NOISES, strict=True)))
    for line, point in zip(LINES, updated(LINES, QUESTION, blend), strict=True):
        logs = [w + by_scipy(line, one) for w, one in zip(weights, NOISES, strict=True)]
        assert point.log_evidence == pytest.approx(float(np.logaddexp.reduce(logs)))
        best = NOISES[int(np.argmax(logs))]
        gain = line.slopes.T @ np.linalg.inv(whole(line, best))
        assert point.mean == pytest.approx(gain @ (VALUES - line.value))
        left = np.eye(line.slopes.shape[1]) - gain @ line.slopes
        assert point.covariance == pytest.approx(left)


def test_each_reading_is_told_from_all_the_others() -> None:
    [point] = updated(LINES[:1], QUESTION, NOISES[1])
    spread, off = whole(LINES[0], NOISES[1]), VALUES - LINES[0].value
    for k in range(READINGS):
        others = [j for j in range(READINGS) if j != k]
        known = np.linalg.solve(spread[np.ix_(others, others)], spread[others, k])
        assert point.off[k] == pytest.approx(off[k] - known @ off[others])
        assert point.off_variance[k] == pytest.approx(spread[k, k] - known @ spread[others, k])
