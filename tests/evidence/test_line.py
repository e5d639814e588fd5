"""The line with errors in both directions, against published fits and Fieller's closed form."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.evidence.line import Line, Scatter, line_through, slope_interval

# Pearson's data with York's weights: D. York et al., Am. J. Phys. 72 (2004) 367, as in the tests
# of the R package bfsl; standard deviations are 1/sqrt(weight).
PEARSON_X = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
PEARSON_Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WEIGHT_X = np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1])
WEIGHT_Y = np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500])

# Deming regression on ten points: R package SimplyAgree, vignette.
DEMING_X = np.array([7, 8.3, 10.5, 9, 5.1, 8.2, 10.2, 10.3, 7.1, 5.9])
DEMING_Y = np.array([7.9, 8.2, 9.6, 9, 6.5, 7.3, 10.2, 10.6, 6.3, 5.2])

# NIST StRD, Norris: certified intercept, slope, their standard deviations, residual deviation.
NORRIS_X = """.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 .4 .6 775.5 666.9 338.0
447.5 11.6 556.0 228.1 995.8 887.6 120.2 .3 .3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1
448.9 .5"""
NORRIS_Y = """.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 .3 .1 778.1 668.8 339.3
448.9 10.8 557.7 228.3 998.0 888.8 119.6 .3 .6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4
449.2 .2"""


def independent(x: np.ndarray, y: np.ndarray, vx: np.ndarray, vy: np.ndarray) -> Scatter:
    none = np.zeros((len(x), len(x)))
    return Scatter(x, y, np.diag(vx), np.diag(vy), none)


def pearson(weight_y: np.ndarray = WEIGHT_Y) -> Scatter:
    return independent(PEARSON_X, PEARSON_Y, 1 / WEIGHT_X, 1 / weight_y)


def deming(var_x: float, var_y: float) -> Line:
    ones = np.ones(len(DEMING_X))
    return line_through(independent(DEMING_X, DEMING_Y, var_x * ones, var_y * ones))


def test_pearsons_data_with_yorks_weights() -> None:
    found = line_through(pearson())
    assert found.intercept == pytest.approx(5.47991022, abs=1e-6)
    assert found.slope == pytest.approx(-0.480533407, abs=1e-6)
    assert found.chi2 == pytest.approx(11.86635, abs=1e-5)
    assert found.dof == 8


def test_its_standard_errors_are_the_unscaled_ones() -> None:
    # bfsl: .294970735, .0579850090, covariance -.0164725.
    errors = line_through(pearson()).covariance
    assert np.sqrt(errors[0, 0]) == pytest.approx(0.294970735, abs=1e-6)
    assert np.sqrt(errors[1, 1]) == pytest.approx(0.0579850090, abs=1e-6)
    assert errors[0, 1] == pytest.approx(-0.0164725, abs=1e-6)


def test_the_scaled_convention_is_another_number_and_not_ours() -> None:
    # Scaled by the root of the reduced chi-squared: .3592465, .0706203 (weighted-fit literature).
    found = line_through(pearson())
    stretch = np.sqrt(found.chi2 / found.dof)
    scaled = stretch * np.sqrt(np.diag(found.covariance))
    assert scaled == pytest.approx([0.3592465, 0.0706203], abs=1e-5)
    assert np.sqrt(found.covariance[1, 1]) < 0.9 * 0.0706203


def test_it_is_not_ordinary_least_squares() -> None:
    # Ordinary least squares on the same points: 5.76119, -.539577.
    steep, level = np.polyfit(PEARSON_X, PEARSON_Y, 1)
    assert (level, steep) == pytest.approx((5.76119, -0.539577), abs=1e-5)
    assert abs(line_through(pearson()).slope - steep) > 0.05


def test_a_wrong_weight_is_noticed() -> None:
    wrong = WEIGHT_Y.copy()
    wrong[4] = 30.0
    assert line_through(pearson(wrong)).slope != pytest.approx(-0.480533407, abs=1e-6)


def test_deming_with_either_convention_of_the_error_ratio() -> None:
    # SimplyAgree: var(x)/var(y) = 4, var(y)/var(x) = 4, and 1.
    wide_x, wide_y, alike = deming(4, 1), deming(1, 4), deming(1, 1)
    assert (wide_x.intercept, wide_x.slope) == pytest.approx((-0.08974, 1.00119), abs=1e-4)
    assert (wide_y.intercept, wide_y.slope) == pytest.approx((0.81271, 0.89060), abs=1e-4)
    assert (alike.intercept, alike.slope) == pytest.approx((0.39093, 0.94229), abs=1e-4)
    assert abs(wide_x.slope - wide_y.slope) > 0.1


def test_with_exact_abscissae_it_is_nists_certified_line() -> None:
    x, y = np.array(NORRIS_X.split(), float), np.array(NORRIS_Y.split(), float)
    found = line_through(independent(x, y, np.zeros(36), np.ones(36)))
    assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-6)
    assert found.slope == pytest.approx(1.00211681802045, rel=1e-9)
    scatter = np.sqrt(found.chi2 / found.dof)
    assert scatter == pytest.approx(0.884796396144373, rel=1e-9)
    errors = scatter * np.sqrt(np.diag(found.covariance))
    assert errors == pytest.approx([0.232818234301152, 4.29796848199937e-4], rel=1e-9)


def fieller(points: Scatter, factor: float) -> tuple[float, float]:
    """Fieller's interval of dy/dx: both roots of his quadratic, the denominator being sure."""
    way = np.array([-1.0, 1.0])
    dx, dy = way @ points.x, way @ points.y
    vx, vy, vxy = way @ points.xx @ way, way @ points.yy @ way, way @ points.xy @ way
    roots = np.roots(
        [
            dx**2 - factor**2 * vx,
            -2 * (dx * dy - factor**2 * vxy),
            dy**2 - factor**2 * vy,
        ]
    )
    return float(roots.min()), float(roots.max())


@pytest.mark.parametrize("shared", [0.0, 0.06])
@pytest.mark.parametrize("rise", [1.0, 0.2, -1.3])
def test_two_points_give_fiellers_interval(rise: float, shared: float) -> None:
    x = np.array([0.0, 10.0])
    own = np.diag([1.0, 1.4])
    points = Scatter(x, 90 + rise * x, own, 2 * own, shared * np.ones((2, 2)) + 0.3 * np.eye(2))
    low, high = slope_interval(points, line_through(points).slope, 1.96)
    assert (low, high) == pytest.approx(fieller(points, 1.96), rel=1e-9)
    assert low < rise < high


def test_an_interval_without_end_is_called_so() -> None:
    # The abscissae differ by 1 with an uncertainty of 1.4: less than 1.96 of it.
    points = Scatter(
        np.array([0.0, 1.0]), np.array([0.0, 3.0]), np.eye(2), 0.1 * np.eye(2), np.zeros((2, 2))
    )
    low, high = slope_interval(points, 3.0, 1.96)
    assert np.isinf(high)
    assert low == pytest.approx(fieller(points, 1.96)[1], rel=1e-9)


def test_an_error_common_to_all_points_moves_no_slope() -> None:
    x, y = np.array([0.0, 4.0, 9.0]), np.array([1.0, 5.2, 9.8])
    own, common = 0.04 * np.eye(3), 25.0 * np.ones((3, 3))
    alone = line_through(Scatter(x, y, own, own, 0 * own))
    moved = line_through(Scatter(x, y, own + common, own + common, 0 * own))
    assert moved.slope == pytest.approx(alone.slope, abs=1e-6)
    assert moved.covariance[1, 1] == pytest.approx(alone.covariance[1, 1], rel=1e-4)


def test_one_point_is_refused() -> None:
    one = np.eye(1)
    with pytest.raises(ValueError, match="two points"):
        line_through(Scatter(np.ones(1), np.ones(1), one, one, one))
