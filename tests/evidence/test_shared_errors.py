"""Shared errors carried as covariance, against the guide's worked example."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.sensing.shared import SharedErrors, plus

# JCGM 100:2008, H.2: five simultaneous observations of V (V), I (A) and phase (rad).
VOLTS = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
AMPERES = 1e-3 * np.array([19.663, 19.639, 19.640, 19.685, 19.678])
PHASE = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def book(observed: np.ndarray) -> SharedErrors:
    return SharedErrors().with_block("means", np.cov(observed) / observed.shape[1])


def gradients() -> tuple[dict[str, dict[str, np.ndarray]], dict[str, float]]:
    v, i, p = VOLTS.mean(), AMPERES.mean(), PHASE.mean()
    values = {"R": v / i * np.cos(p), "X": v / i * np.sin(p), "Z": v / i}
    ways = {
        "R": np.array([np.cos(p) / i, -v * np.cos(p) / i**2, -v * np.sin(p) / i]),
        "X": np.array([np.sin(p) / i, -v * np.sin(p) / i**2, v * np.cos(p) / i]),
        "Z": np.array([1 / i, -v / i**2, 0.0]),
    }
    return {name: {"means": way} for name, way in ways.items()}, values


def test_resistance_and_reactance_with_their_correlations() -> None:
    shared, (ways, values) = book(np.array([VOLTS, AMPERES, PHASE])), gradients()
    u = {name: np.sqrt(shared.between(way, way)) for name, way in ways.items()}
    assert [values[n] for n in "RXZ"] == pytest.approx([127.732, 219.847, 254.260], abs=1e-3)
    assert [u[n] for n in "RXZ"] == pytest.approx([0.071, 0.2956, 0.2363], abs=5e-4)
    together = {a + b: shared.between(ways[a], ways[b]) / (u[a] * u[b]) for a, b in ("RX", "RZ")}
    together["XZ"] = shared.between(ways["X"], ways["Z"]) / (u["X"] * u["Z"])
    assert [together[p] for p in ("RX", "RZ", "XZ")] == pytest.approx(
        [-0.588, -0.485, 0.993], abs=1e-3
    )


def test_assuming_them_independent_misses_the_guide() -> None:
    apart = np.diag(np.diag(np.cov(np.array([VOLTS, AMPERES, PHASE])))) / 5
    ways, _ = gradients()
    u = np.sqrt(SharedErrors().with_block("means", apart).between(ways["R"], ways["R"]))
    assert u != pytest.approx(0.071, abs=5e-3)


def test_an_offset_cancels_in_a_difference_and_a_gain_only_where_the_readings_are_alike() -> None:
    # True value = indicated + offset + gain times indicated: readings of 95 and 85.
    shared = SharedErrors().with_block("sensor", np.diag([4.0, 0.01**2]))
    one, other = {"sensor": np.array([1.0, 95.0])}, {"sensor": np.array([1.0, 85.0])}
    difference = plus(one, other, -1.0)
    assert shared.between(one, one) == pytest.approx(4 + 0.95**2)
    assert np.sqrt(shared.between(difference, difference)) == pytest.approx(0.1)
    assert shared.between(plus(one, one, -1.0), plus(one, one, -1.0)) == 0.0
