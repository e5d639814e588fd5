"""The calibration line against certified data and the guides' worked examples."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.sensing.line import fit_line

# NIST StRD Norris (linear, lower difficulty); check value S1
NORRIS_X = [.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, .4, .6, 775.5,
            666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, .3, .3, 556.8, 339.1,
            887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, .5]  # fmt: skip
NORRIS_Y = [.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, .3, .1, 778.1,
            668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, .3, .6, 557.6, 339.3,
            888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, .2]  # fmt: skip

# JCGM 100:2008, H.3, table H.6: thermometer readings and corrections; check value S20
H3_T = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
H3_B = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]

# EURACHEM/CITAC QUAM:2012, A5: cadmium calibration, three readings at each; check value S14
A5_C = np.repeat([0.1, 0.3, 0.5, 0.7, 0.9], 3)
A5_A = [
    0.028,
    0.029,
    0.029,
    0.084,
    0.083,
    0.081,
    0.135,
    0.131,
    0.133,
    0.180,
    0.181,
    0.183,
    0.215,
    0.230,
    0.216,
]

# Handbook of Chemometrics A, chapter 8, example 1; check value S15
MASSART_X = [0, 10, 20, 30, 40, 50]
MASSART_Y = [4, 21.2, 44.6, 61.8, 78, 105.2]


def scaled(line):
    """Standard errors of intercept and slope by the scatter of the points."""
    spread = line.residual_sd
    return spread * np.sqrt(line.variance_at(0.0)), spread * np.sqrt(line.slope_variance)


def test_norris_at_the_certified_digits():
    line = fit_line(NORRIS_X, NORRIS_Y)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-10)
    assert scaled(line) == pytest.approx((0.232818234301152, 4.29796848199937e-4), rel=1e-9)
    assert line.dof == 34


def test_norris_with_one_wrong_point_fails_at_these_digits():
    wrong = [*NORRIS_Y[:-1], 0.3]
    assert fit_line(NORRIS_X, wrong).slope != pytest.approx(1.00211681802045, rel=1e-6)


def test_the_thermometer_calibration_of_the_guide():
    # printed: y1 -0.1712 (0.0029), y2 0.00218 (0.00067), r -0.930, s 0.0035; b(30) -0.1494
    # (0.0041); data read, results from memory, both agree with an independent computation
    line = fit_line(np.array(H3_T) - 20.0, H3_B)
    errors = scaled(line)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert errors[0] == pytest.approx(0.0029, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert errors[1] == pytest.approx(0.00067, abs=5e-6)
    assert line.correlation == pytest.approx(-0.930, abs=5e-4)
    assert line.residual_sd == pytest.approx(0.0035, abs=5e-5)
    at_30 = line.level + line.slope * (10.0 - line.centre)
    assert at_30 == pytest.approx(-0.1494, abs=5e-5)
    assert line.residual_sd * np.sqrt(line.variance_at(10.0)) == pytest.approx(0.0041, abs=5e-5)


def test_leaving_the_correlation_out_fails_at_the_printed_digits():
    line = fit_line(np.array(H3_T) - 20.0, H3_B)
    first, second = scaled(line)
    assert np.hypot(first, 10.0 * second) != pytest.approx(0.0041, abs=5e-4)


def test_the_cadmium_calibration_of_quam():
    line = fit_line(A5_C, A5_A)
    errors = scaled(line)
    assert line.slope == pytest.approx(0.2410, abs=5e-5)
    assert errors[1] == pytest.approx(0.0050, abs=5e-5)
    assert line.intercept == pytest.approx(0.0087, abs=5e-5)
    assert errors[0] == pytest.approx(0.0029, abs=5e-5)
    assert line.residual_sd == pytest.approx(0.005486, abs=5e-7)
    assert line.correlation == pytest.approx(-0.8704, abs=5e-5)
    reading = np.mean([0.0712, 0.0716])
    found = (reading - line.intercept) / line.slope
    assert found == pytest.approx(0.260, abs=5e-4)
    spread = line.residual_sd / line.slope
    variance = 1.0 / 2.0 + line.variance_at(found)
    assert spread * np.sqrt(variance) == pytest.approx(0.018, abs=5e-4)


@pytest.mark.parametrize(
    ("reading", "count", "x", "error"),
    [(15.0, 1, 6.09381, 1.767278), (90.0, 1, 43.93983, 1.767747), (90.0, 5, 43.93983, 1.141204)],
)
def test_inverse_prediction_of_the_handbook(reading, count, x, error):
    line = fit_line(MASSART_X, MASSART_Y)
    found = (reading - line.intercept) / line.slope
    assert found == pytest.approx(x, abs=5e-6)
    spread = line.residual_sd / line.slope
    assert spread * np.sqrt(1.0 / count + line.variance_at(found)) == pytest.approx(error, abs=5e-7)


def test_weights_follow_the_points_uncertainties():
    # a point of no weight leaves the line of the others
    line = fit_line([0.0, 1.0, 2.0, 1.0], [0.0, 1.0, 2.0, 9.0], [1.0, 1.0, 1.0, 1e6])
    assert (line.intercept, line.slope) == pytest.approx((0.0, 1.0), abs=1e-9)
    assert line.level_variance == pytest.approx(1.0 / 3.0)


def test_points_at_one_abscissa_hold_no_line():
    with pytest.raises(ValueError, match="one abscissa"):
        fit_line([1.0, 1.0], [0.0, 1.0])
