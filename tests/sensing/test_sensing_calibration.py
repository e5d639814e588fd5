"""A sensor's line, the blocks of its shared errors, and what they do to readings."""

from __future__ import annotations

import numpy as np
import pytest
from made_sensors import codes, plain, sensor

from gaugewright.errors import InputError
from gaugewright.sensing.calibration import calibrate
from gaugewright.sensing.shared import SharedErrors, plus


def variance(book, gradient):
    return book.between(gradient, gradient)


def test_two_points_make_a_line():
    calibration, _ = calibrate(sensor(point_uncertainty="20 mbar"), SharedErrors())
    assert calibration.pressure([0.5, 2.5, 4.5]) == pytest.approx([0.0, 5e5, 1e6])
    assert calibration.dof == 0


def test_the_points_errors_reach_the_line_by_interpolation():
    # by hand: at a point its own 2 kPa, midway 2/sqrt(2), at twice the span beyond sqrt(2^2+1)
    calibration, book = calibrate(sensor(point_uncertainty="20 mbar"), SharedErrors())
    found = [variance(book, calibration.gradient(p)) for p in (0.0, 5e5, 1e6, 2e6)]
    assert np.sqrt(found) == pytest.approx([2e3, 2e3 / np.sqrt(2.0), 2e3, 2e3 * np.sqrt(5.0)])


def test_weights_of_a_fit_of_many_points():
    # w_i(V) written out: 1/n + (V - mean)(V_i - mean)/Sxx
    outputs, values = np.array([0.5, 1.5, 2.0, 4.5]), np.array([0.0, 2.5e5, 3.76e5, 1e6])
    calibration, book = calibrate(plain(outputs, values, point_uncertainty=3e3), SharedErrors())
    away = outputs - outputs.mean()
    for output in (0.7, 2.3, 4.4):
        weights = 0.25 + (output - outputs.mean()) * away / (away @ away)
        gradient = calibration.gradient(float(calibration.pressure(output)))
        assert variance(book, gradient) == pytest.approx(9e6 * (weights @ weights), rel=1e-9)


def test_the_curve_is_the_size_of_the_accuracy_and_turns_a_quarter_over_the_range():
    stated = sensor(accuracy="50 mbar", range=("0 bar", "8 bar"))
    calibration, book = calibrate(stated, SharedErrors())
    zero, half, full = (calibration.gradient(p) for p in (0.0, 4e5, 8e5))
    assert [variance(book, g) for g in (zero, half, full)] == pytest.approx([25e6] * 3)
    assert book.between(zero, full) == pytest.approx(0.0, abs=1e-3)
    assert book.between(zero, half) == pytest.approx(25e6 * np.cos(np.pi / 4.0))


def test_a_silent_range_is_the_span_of_the_points():
    calibration, _ = calibrate(sensor(accuracy="50 mbar"), SharedErrors())
    assert calibration.span == pytest.approx(1e6)
    assert calibration.range_low is None


def test_what_all_points_share_cancels_in_a_difference():
    calibration, book = calibrate(sensor(points_common="30 mbar"), SharedErrors())
    low, high = calibration.gradient(1e5), calibration.gradient(4e5)
    assert variance(book, low) == pytest.approx(9e6)
    assert variance(book, plus(high, low, -1.0)) == pytest.approx(0.0, abs=1e-6)


def test_nothing_stated_is_one_percent_and_said():
    calibration, book = calibrate(sensor(range=("0 bar", "8 bar")), SharedErrors())
    assert codes(calibration.notes) == {"calibration-unstated": 0}
    assert calibration.notes[0].text == (
        "oil transducer states no uncertainty at all: 1 % of its range was taken"
    )
    assert np.sqrt(variance(book, calibration.gradient(3e5))) == pytest.approx(8e3)
    assert calibrate(sensor(), SharedErrors())[0].accuracy == pytest.approx(1e4)


def test_a_stated_zero_is_not_silent():
    calibration, book = calibrate(sensor(accuracy="0 bar"), SharedErrors())
    assert calibration.notes == ()
    assert calibration.gradient(1e5) == {}
    assert book.blocks == {}


OUTPUTS = np.linspace(0.5, 4.5, 9)
GOOD = (OUTPUTS - 0.5) * 2.5e5 + 1e3 * np.array([1, -1, 0.5, -0.5, 1, -1, 0.5, 0, -0.5])


def test_points_that_fit_are_left_as_stated():
    calibration, _ = calibrate(plain(OUTPUTS, GOOD, point_uncertainty=1e3), SharedErrors())
    assert calibration.notes == ()
    assert calibration.point_sd == 1e3
    assert calibration.dof == 7


def test_lack_of_fit_is_said_and_widens_the_points():
    calibration, _ = calibrate(plain(OUTPUTS, GOOD, point_uncertainty=2e2), SharedErrors())
    assert codes(calibration.notes) == {"calibration-lack-of-fit": 0}
    assert calibration.point_sd == pytest.approx(2e2 * np.sqrt(calibration.chi2 / 7.0))
    assert "widened" in calibration.notes[0].text


def test_silent_points_are_believed_as_far_as_they_scatter():
    calibration, _ = calibrate(plain(OUTPUTS, GOOD, accuracy=0.0), SharedErrors())
    residuals = GOOD - np.polyval(np.polyfit(OUTPUTS, GOOD, 1), OUTPUTS)
    scatter = np.sqrt(residuals @ residuals / 7.0)
    # Student's t with 7 degrees of freedom over the normal: 2.3646 / 1.9600 (any table)
    assert calibration.point_sd == pytest.approx(scatter * 2.3646 / 1.9600, rel=1e-4)
    assert codes(calibration.notes) == {"calibration-scatter": 0}


def test_a_sealed_sensor_reads_against_vacuum():
    stated = sensor(
        reference="sealed", sealed_at="1.013 bar", accuracy="1 mbar", range=("0 bar", "8 bar")
    )
    calibration, _ = calibrate(stated, SharedErrors())
    assert calibration.reference == "vacuum"
    assert calibration.pressure(0.5) == pytest.approx(101_300.0)
    assert (calibration.range_low, calibration.range_high) == pytest.approx((101_300.0, 901_300.0))


@pytest.mark.parametrize(
    ("points", "sentence"),
    [
        (
            (("0.5 V", "0 bar"), ("0.5 V", "10 bar")),
            'job.toml, sensor "oil transducer", points: 2 point(s) at one output hold no line; '
            "give two points at different outputs.",
        ),
        (
            (("0.5 V", "1 bar"), ("4.5 V", "1 bar")),
            'job.toml, sensor "oil transducer", points: every point has the same value 1 bar; '
            "give two points at different values.",
        ),
    ],
)
def test_points_that_hold_no_line_are_refused(points, sentence):
    with pytest.raises(InputError) as refused:
        calibrate(sensor(points), SharedErrors())
    assert refused.value.text == sentence


def test_covariance_carries_through_as_in_the_guide():
    # JCGM 100:2008, H.2 (check value S19): five simultaneous sets; printed R 127.732 (0.071),
    # X 219.847 (0.295), Z 254.260 (0.236), r(R,X) -0.588, r(R,Z) -0.485, r(X,Z) 0.993
    sets = np.array([
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ])  # fmt: skip
    volt, ampere, phi = sets.mean(axis=1)
    book = SharedErrors().with_block("set", np.cov(sets) / 5.0)
    ratio = volt / ampere
    slopes = {
        "R": [np.cos(phi) / ampere, -ratio * np.cos(phi) / ampere, -ratio * np.sin(phi)],
        "X": [np.sin(phi) / ampere, -ratio * np.sin(phi) / ampere, ratio * np.cos(phi)],
        "Z": [1.0 / ampere, -ratio / ampere, 0.0],
    }
    gradients = {name: {"set": np.array(slope)} for name, slope in slopes.items()}
    u = {name: np.sqrt(variance(book, gradient)) for name, gradient in gradients.items()}
    assert ratio * np.cos(phi) == pytest.approx(127.732, abs=5e-4)
    assert ratio * np.sin(phi) == pytest.approx(219.847, abs=5e-4)
    assert (u["R"], u["X"], u["Z"]) == pytest.approx((0.071, 0.295, 0.236), abs=1e-3)
    pairs = {("R", "X"): -0.588, ("R", "Z"): -0.485, ("X", "Z"): 0.993}
    for (a, b), printed in pairs.items():
        found = book.between(gradients[a], gradients[b]) / (u[a] * u[b])
        assert found == pytest.approx(printed, abs=1e-3)
    assert np.hypot(u["R"], u["X"]) != pytest.approx(u["Z"], abs=1e-2)
