"""Regression through noise that remembers: coefficients with an honest spread.

The scatter of an engine's cycles is a slow wander plus a fresh part each cycle: a first-order
autoregression plus white noise, an ARMA(1,1).  How much of each is not known and is not
guessed either: the restricted likelihood is formed on a grid of both parameters and every
result is averaged over it, so that ten cycles give a wider interval than a thousand.

Sources: restricted likelihood after Patterson and Thompson, Biometrika 58 (1971) 545-554;
whitening of an ARMA process by its innovations, Brockwell and Davis, Time Series: Theory and
Methods, chapter 8.  The grid and its weights are ours; validation/ shows what they are worth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

PERSISTENCE = (0.0, 0.15, 0.3, 0.45, 0.6, 0.72, 0.82, 0.89, 0.94, 0.97, 0.985)
WHITE_SHARE = (0.0, 0.35, 0.65, 0.85, 0.95)
COVERAGE = 0.95
QUANTILE_STEPS = 60


@dataclass(frozen=True)
class Whitener:
    """An ARMA(1,1) as a filter: e = (1 - phi B) / (1 + theta B), and its start."""

    phi: float
    theta: float
    start: float
    log_prior: float

    @property
    def inflation(self) -> float:
        """Long-run variance over that of independent values of the same size, for large n."""
        total = 1.0 + self.start
        return float(((1 + self.theta) / (1 - self.phi)) ** 2 / total)


@dataclass(frozen=True)
class Regression:
    """Coefficients (p,), their scale matrix (p, p) and its degrees of freedom.

    value +- t(dof) * sqrt(scale) holds the truth of the first coefficient 95 times in 100.
    `inflation` is how much autocorrelation widened its variance; `residual_sd` the scatter of
    the data about the fit.
    """

    coefficients: Floats
    scale: Floats
    dof: float
    inflation: float
    residual_sd: float


@lru_cache(maxsize=1)
def whiteners() -> tuple[Whitener, ...]:
    """The grid of noise models, each with its prior weight."""
    return tuple(
        _whitener(phi, white) for phi in PERSISTENCE for white in (WHITE_SHARE if phi else (0.0,))
    )


def _whitener(phi: float, white: float) -> Whitener:
    slow = 1.0 - white
    fresh = slow * (1 - phi**2) + white * (1 + phi**2)
    mixed = -phi * white
    theta = 0.0 if mixed == 0 else _invertible_root(fresh / mixed)
    innovation = mixed / theta if theta else fresh
    cells = 1 if phi == 0 else len(WHITE_SHARE)
    spacing = _spacing(phi)
    return Whitener(phi, theta, 1.0 / innovation - 1.0, float(np.log(spacing / cells)))


def _invertible_root(ratio: float) -> float:
    """The root inside the unit circle of theta^2 - ratio theta + 1 = 0."""
    return float((ratio - np.sign(ratio) * np.sqrt(ratio**2 - 4.0)) / 2.0)


def _spacing(phi: float) -> float:
    """Prior weight of one persistence: its share of the grid, long memory leaning heavier (J)."""
    grid = np.array(PERSISTENCE)
    middles = np.concatenate([[-0.075], (grid[1:] + grid[:-1]) / 2, [1.0]])
    place = int(np.flatnonzero(grid == phi)[0])
    return float(middles[place + 1] - middles[place]) * (1.0 + phi)


def regress_many(design: Floats, series: Floats) -> list[Regression]:
    """Regress each column of `series` (n, m) on the same `design` (n, p), p < n.

    The first coefficient of the design is the one whose interval is made exact.
    """
    middle = series.mean(axis=0)
    size = np.sqrt(np.mean(design**2, axis=0))
    grams = _whitened_grams(np.column_stack([design / size, series - middle]))
    width = design.shape[1]
    scaled = [_averaged(grams, width, width + k, len(design)) for k in range(series.shape[1])]
    return [_unscaled(found, size, float(middle[k])) for k, found in enumerate(scaled)]


def _unscaled(found: Regression, size: Floats, middle: float) -> Regression:
    """Back from unit columns and a centred series; the first column is one throughout."""
    coefficients = found.coefficients / size
    coefficients[0] += middle
    return replace(found, coefficients=coefficients, scale=found.scale / np.outer(size, size))


def _whitened_grams(columns: Floats) -> list[tuple[Whitener, Floats, float]]:
    """For each noise model the Gram matrix of the whitened columns, and log |V|."""
    found = []
    for model in whiteners():
        white = _whitened(model, columns) if model.phi else columns
        ring = (-model.theta) ** np.arange(min(len(columns), 4000), dtype=float)
        pull = white[: len(ring)].T @ ring
        size = 1.0 + model.start * float(ring @ ring)
        gram = white.T @ white - (model.start / size) * np.outer(pull, pull)
        found.append((model, gram, float(np.log(size))))
    return found


def _whitened(model: Whitener, columns: Floats) -> Floats:
    """The filter (1 - phi B) / (1 + theta B) from a start of zero, as a banded solve."""
    from scipy.linalg.lapack import dtbtrs

    fresh = columns.copy()
    fresh[1:] -= model.phi * columns[:-1]
    band = np.ones((2, len(columns)))
    band[1] = model.theta
    white, _ = dtbtrs(band, fresh, uplo="L")
    return np.asarray(white, dtype=np.float64)


def _averaged(
    grams: list[tuple[Whitener, Floats, float]], width: int, column: int, count: int
) -> Regression:
    """One series averaged over the noise models by their restricted likelihood."""
    dof = count - width
    fits = [_conditional(gram, width, column) for _, gram, _ in grams]
    log_weight = np.array(
        [
            model.log_prior - 0.5 * (log_size + log_det + dof * np.log(max(rss, 1e-300)))
            for (model, _, log_size), (_, _, rss, log_det) in zip(grams, fits, strict=True)
        ]
    )
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    betas = np.array([beta for beta, _, _, _ in fits])
    scales = np.array([inverse * (rss / dof) for _, inverse, rss, _ in fits])
    inflation = float(weight @ np.array([model.inflation for model, _, _ in grams]))
    return _mixture(weight, betas, scales, float(dof), inflation, fits[0][2])


def _conditional(gram: Floats, width: int, column: int) -> tuple[Floats, Floats, float, float]:
    """Generalised least squares for one noise model: beta, (X'X)^-1, RSS, log |X'X|."""
    normal = gram[:width, :width]
    inverse = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    pull = gram[:width, column]
    beta: Floats = inverse @ pull
    rss = max(float(gram[column, column] - pull @ beta), 0.0)
    return beta, inverse, rss, float(np.linalg.slogdet(normal)[1])


def _mixture(
    weight: Floats, betas: Floats, scales: Floats, dof: float, inflation: float, rss: float
) -> Regression:
    from scipy.special import stdtrit

    mean = weight @ betas
    off = betas - mean
    scale = np.einsum("g,gij->ij", weight, scales) + np.einsum("g,gi,gj->ij", weight, off, off)
    half = _half_width(weight, off[:, 0], np.sqrt(scales[:, 0, 0]), dof)
    if half > 0 and scale[0, 0] > 0:
        wanted = half / float(stdtrit(dof, 0.5 + COVERAGE / 2))
        scale = scale * (wanted**2 / scale[0, 0])
    return Regression(mean, scale, dof, inflation, float(np.sqrt(max(rss, 0.0) / dof)))


def _half_width(weight: Floats, centre: Floats, spread: Floats, dof: float) -> float:
    """Half the width of the central 95 % of a mixture of Student's t, by bisection."""
    from scipy.special import stdtr

    spread = np.maximum(spread, 1e-300)
    low, high = 0.0, float(np.max(np.abs(centre) + 700.0 * spread))
    for _ in range(QUANTILE_STEPS):
        middle = 0.5 * (low + high)
        held = stdtr(dof, (middle - centre) / spread) - stdtr(dof, (-middle - centre) / spread)
        low, high = (middle, high) if float(weight @ held) < COVERAGE else (low, middle)
    return 0.5 * (low + high)
