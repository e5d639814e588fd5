"""The ideal analyst's regression: AR(1) plus white noise, estimated by restricted likelihood.

The covariance of n cycle means is s^2 ((1 - w) R + w I), R the correlation of an AR(1) process
of memory phi.  Its inverse is Q M^-1 / s^2 with Q = R^-1 (tridiagonal) and
M = (1 - w) I + w Q, so that every step is a banded solve.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.optimize import minimize

from validation.noise import Floats

STARTS = ((0.0, -1.0), (1.5, -1.0), (1.0, 1.5))


@dataclass(frozen=True)
class Fit:
    """Generalised least squares at the most likely noise: coefficients and covariance."""

    coefficients: Floats
    covariance: Floats
    memory: float
    white: float
    sd: float


def _banded(count: int, memory: float, white: float) -> tuple[Floats, Floats]:
    """Q and M in upper banded form (2, n)."""
    scale = 1.0 / (1.0 - memory**2)
    middle = np.full(count, (1.0 + memory**2) * scale)
    middle[0] = middle[-1] = scale
    if count == 1:
        middle[0] = 1.0
    beside = np.full(count, -memory * scale)
    beside[0] = 0.0
    precision = np.vstack([beside, middle])
    mixed = white * precision
    mixed[1] += 1.0 - white
    return precision, mixed


def _times(banded: Floats, columns: Floats) -> Floats:
    """A symmetric tridiagonal matrix times columns (n, k)."""
    product = banded[1][:, None] * columns
    product[:-1] += banded[0][1:, None] * columns[1:]
    product[1:] += banded[0][1:, None] * columns[:-1]
    return product


def _pieces(
    design: Floats, values: Floats, memory: float, white: float
) -> tuple[float, Floats, Floats, float]:
    """Restricted deviance, coefficients, unscaled covariance and s^2 at one noise model."""
    count, terms = design.shape
    precision, mixed = _banded(count, memory, white)
    factor = cholesky_banded(mixed)
    both = np.column_stack([design, values])
    weighed = _times(precision, cho_solve_banded((factor, False), both))
    normal = design.T @ weighed[:, :terms]
    inverse = np.linalg.inv(normal)
    coefficients = inverse @ (design.T @ weighed[:, terms])
    left = float(values @ weighed[:, terms] - coefficients @ (design.T @ weighed[:, terms]))
    variance = max(left, 1e-300) / (count - terms)
    log_mixed = 2.0 * float(np.sum(np.log(factor[1])))
    log_precision = -(count - 1) * float(np.log1p(-(memory**2)))
    deviance = (count - terms) * np.log(variance) + log_mixed - log_precision
    deviance += float(np.linalg.slogdet(normal)[1])
    return float(deviance), coefficients, inverse, variance


def fit(design: Floats, values: Floats) -> Fit:
    """Coefficients of `values` (n,) on `design` (n, p) with noise estimated from the same data."""
    span = np.abs(design).max(axis=0)
    scaled = design / span
    centre = float(values.mean())
    spread = float(values.std()) or 1.0
    shifted = (values - centre) / spread

    def deviance(at: Floats) -> float:
        memory, white = 0.985 * np.tanh(at[0]), 1.0 / (1.0 + np.exp(-at[1]))
        penalty = 0.01 * float(at[0] ** 2 + at[1] ** 2)
        return _pieces(scaled, shifted, float(memory), float(white))[0] + penalty

    tried = [(deviance(np.array(start)), start) for start in STARTS]
    best = minimize(
        deviance,
        np.array(min(tried)[1]),
        method="Nelder-Mead",
        options={"maxfev": 60, "xatol": 0.03, "fatol": 0.02},
    )
    memory = float(0.985 * np.tanh(best.x[0]))
    white = float(1.0 / (1.0 + np.exp(-best.x[1])))
    _, coefficients, inverse, variance = _pieces(scaled, shifted, memory, white)
    coefficients = coefficients * spread / span
    coefficients[0] += centre / span[0] if np.allclose(design[:, 0], span[0]) else 0.0
    covariance = inverse * variance * spread**2 / np.outer(span, span)
    return Fit(coefficients, covariance, memory, white, float(np.sqrt(variance)) * spread)
