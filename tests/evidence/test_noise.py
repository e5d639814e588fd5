"""The noise that remembers: an independent dense computation, published factors, coverage."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import stdtrit

from gaugewright.evidence.noise import (
    Whitener,
    _conditional,
    _whitened_grams,
    regress_many,
    whiteners,
)


def dense(count: int, phi: float, white: float) -> np.ndarray:
    """Covariance of a first-order autoregression plus white noise, of variance one together."""
    lag = np.abs(np.subtract.outer(np.arange(count), np.arange(count)))
    return (1 - white) * phi**lag + white * np.eye(count)


def white_share(model: Whitener) -> float:
    """The white share that this filter means, from its long-run variance by hand.

    Total long-run variance over the variance is (1 - w) (1 + phi)/(1 - phi) + w.
    """
    if model.phi == 0.0:
        return 0.0
    alone = (1 + model.phi) / (1 - model.phi)
    return (alone - model.inflation) / (alone - 1)


def autoregression(phi: float) -> Whitener:
    """A pure first-order autoregression of variance one: its innovation has 1 - phi^2."""
    return Whitener(phi, 0.0, phi**2 / (1 - phi**2), 0.0)


@pytest.mark.parametrize(
    ("count", "rho", "factor"),
    [
        (10, 0.5, 2.600391),
        (25, 0.25, 1.631111),
        (50, 0.8, 8.200011),
        (100, 0.8, 8.600000),
        (100, 0.9, 17.200048),
        (100, -0.3, 0.542012),
    ],
)
def test_the_dense_covariance_is_the_published_one(count: int, rho: float, factor: float) -> None:
    # Variance of a mean over that of independent values, 1 + 2 sum (1 - k/n) rho^k: time-series
    # notes.  This checks the oracle that the filter is checked against below.
    ones = np.ones(count)
    assert ones @ dense(count, rho, 0.0) @ ones / count == pytest.approx(factor, abs=1e-6)


@pytest.mark.parametrize(("rho", "factor"), [(0.5, 3.0), (0.8, 9.0), (0.9, 19.0), (0.25, 1.6667)])
def test_inflation_for_many_values(rho: float, factor: float) -> None:
    # (1 + rho)/(1 - rho): a university's notes on Markov chains.
    assert autoregression(rho).inflation == pytest.approx(factor, abs=5e-5)


def test_a_wrong_memory_misses_the_published_factor() -> None:
    assert autoregression(0.49).inflation != pytest.approx(3.0, abs=0.05)


def test_the_grid_holds_white_noise_and_every_mixture() -> None:
    assert whiteners()[0].inflation == pytest.approx(1.0)
    shares = {round(white_share(model), 6) for model in whiteners()}
    assert {0.0} < shares
    assert all(0.0 <= share < 1.0 for share in shares)


@pytest.mark.parametrize("count", [7, 40, 160])
def test_the_filter_is_the_dense_computation(count: int) -> None:
    """X' V^-1 X and log |V| from the filter, against a dense inverse, for every noise model."""
    rng = np.random.default_rng(3)
    columns = np.column_stack([np.ones(count), np.arange(count) / count, rng.normal(size=count)])
    for model, gram, log_size in _whitened_grams(columns):
        innovation = 1.0 / (1.0 + model.start)
        covariance = dense(count, model.phi, white_share(model)) / innovation
        expected = columns.T @ np.linalg.solve(covariance, columns)
        assert gram == pytest.approx(expected, rel=1e-7, abs=1e-9 * np.abs(expected).max())
        assert log_size == pytest.approx(np.linalg.slogdet(covariance)[1], abs=1e-7)


# NIST StRD, Longley: certified slopes and their standard deviations, residual deviation.
LONGLEY = [15.0618722713733, -0.0358191792925910, -2.02022980381683, -1.03322686717359,
           -0.0511041056535807, 1829.15146461355]  # fmt: skip
LONGLEY_SD = [84.9149257747669, 0.0334910077722432, 0.488399681651699, 0.214274163161675,
              0.226073200069370, 455.478499142212]  # fmt: skip


def white_noise_fit(longley: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Slopes, their errors and the scatter where the first model, white noise, is held for true."""
    employed, causes = longley[:, 0], longley[:, 1:]
    design = np.column_stack([np.ones(len(causes)), causes - causes.mean(axis=0)])
    size = np.sqrt(np.mean(design**2, axis=0))
    columns = np.column_stack([design / size, employed - employed.mean()])
    _, gram, _ = _whitened_grams(columns)[0]
    beta, inverse, rss, _ = _conditional(gram, 7, 7)
    scatter = np.sqrt(rss / (len(employed) - 7))
    return (beta / size)[1:], (scatter * np.sqrt(np.diag(inverse)) / size)[1:], scatter


def test_white_noise_known_is_nists_certified_regression() -> None:
    from statsmodels.datasets import longley

    slopes, errors, scatter = white_noise_fit(longley.load_pandas().data.to_numpy())
    assert slopes == pytest.approx(LONGLEY, rel=1e-7)
    assert errors == pytest.approx(LONGLEY_SD, rel=1e-7)
    assert scatter == pytest.approx(304.854, abs=5e-4)


def test_one_wrong_figure_misses_nists_digits() -> None:
    from statsmodels.datasets import longley

    data = longley.load_pandas().data.to_numpy()
    data[3, 2] += 1.0
    assert white_noise_fit(data)[0] != pytest.approx(LONGLEY, rel=1e-7)


def made(rng: np.random.Generator, count: int, series: int, phi: float, white: float) -> np.ndarray:
    """Series (count, series) of a slow wander of variance one plus white noise, drawn dense."""
    root = np.linalg.cholesky(dense(count, phi, white) + 1e-12 * np.eye(count))
    return root @ rng.standard_normal((count, series))


def share_held(design: np.ndarray, series: np.ndarray, truth: float) -> float:
    held = 0
    for found in regress_many(design, series):
        half = stdtrit(found.dof, 0.975) * np.sqrt(found.scale[0, 0])
        held += abs(found.coefficients[0] - truth) <= half
    return held / series.shape[1]


KINDS = [(30, 0.0, 0.0), (100, 0.6, 0.0), (120, 0.85, 0.6), (200, 0.9, 0.3), (150, 0.8, 0.5)]


def test_intervals_hold_the_truth() -> None:
    """Five kinds of stretch, 200 of each: 95 % over all, none far off by itself.

    Over all, chance alone moves 95 % by 1.4 (two standard deviations); the wide proof is in
    validation/.
    """
    shares = []
    for kind, (count, phi, white) in enumerate(KINDS):
        rng = np.random.default_rng([kind, 4])
        time = np.linspace(-1, 1, count)
        series = 95.0 + 2.0 * time[:, None] + 3.0 * made(rng, count, 200, phi, white)
        shares.append(share_held(np.column_stack([np.ones(count), time]), series, 95.0))
    assert 0.93 <= np.mean(shares) <= 0.98
    assert min(shares) >= 0.88


def test_taking_the_scatter_as_independent_would_hold_far_less() -> None:
    rng = np.random.default_rng(5)
    series = made(rng, 100, 400, 0.8, 0.0)
    plain = series.std(axis=0, ddof=1) / 10.0
    assert np.mean(np.abs(series.mean(axis=0)) <= 1.98 * plain) < 0.75
    assert share_held(np.ones((100, 1)), series, 0.0) > 0.88


def test_white_noise_costs_little() -> None:
    """Of 500 independent values the mean is known to 1/sqrt(500), give or take what is unsure."""
    series = np.random.default_rng(6).standard_normal((500, 60))
    found = regress_many(np.ones((500, 1)), series)
    width = np.median([np.sqrt(f.scale[0, 0]) for f in found])
    assert 1.0 / np.sqrt(500) <= width * 1.02 <= 1.35 / np.sqrt(500)


def test_ten_values_give_a_wider_interval_than_a_thousand() -> None:
    rng = np.random.default_rng(7)
    few = regress_many(np.ones((10, 1)), rng.standard_normal((10, 100)))
    many = regress_many(np.ones((1000, 1)), rng.standard_normal((1000, 100)))
    spread = [np.median([stdtrit(f.dof, 0.975) * np.sqrt(f.scale[0, 0]) for f in part])
              for part in (few, many)]  # fmt: skip
    assert spread[0] > 1.2 * np.sqrt(100) * spread[1]


def test_units_and_zero_do_not_matter() -> None:
    rng = np.random.default_rng(8)
    time = np.linspace(0, 1, 60) - 0.5
    design = np.column_stack([np.ones(60), time])
    series = made(rng, 60, 1, 0.7, 0.3) + time[:, None]
    [plain] = regress_many(design, series)
    [moved] = regress_many(design * [1, 1000], 6894.757 * series + 1e6)
    assert moved.coefficients[0] == pytest.approx(6894.757 * plain.coefficients[0] + 1e6, rel=1e-9)
    assert moved.coefficients[1] == pytest.approx(6.894757 * plain.coefficients[1], rel=1e-6)
    assert np.sqrt(moved.scale[0, 0]) == pytest.approx(6894.757 * np.sqrt(plain.scale[0, 0]))


def test_a_course_is_not_counted_as_noise() -> None:
    time = np.linspace(-1, 1, 100)
    noise = 0.1 * np.random.default_rng(9).standard_normal(100)
    with_course = np.column_stack([np.ones(100), time])
    [sloping] = regress_many(with_course, (5 * time + noise)[:, None])
    [still] = regress_many(with_course, noise[:, None])
    assert sloping.scale[0, 0] == pytest.approx(still.scale[0, 0], rel=1e-6)
    assert sloping.coefficients[1] == pytest.approx(5.0, abs=0.1)
