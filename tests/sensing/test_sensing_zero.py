"""An engine-off zero narrows curve and points, and the intervals that result cover."""

from __future__ import annotations

import numpy as np
import pytest
from made_sensors import codes, column, entry, plain, recorded, sensor, stepped

from gaugewright.sensing.calibration import calibrate
from gaugewright.sensing.shared import SharedErrors
from gaugewright.sensing.signals import sense
from gaugewright.sensing.zero import Zero, observe_zero, zero_of


def sensed(values, stated, rate_hz=1000.0, step=0.0):
    calibration, book = calibrate(stated, SharedErrors())
    signal = sense(
        recorded(column(values, rate_hz, step=step)), entry(), stated, calibration, "first"
    )
    return signal, book


def test_a_zero_is_learned_where_it_was_taken_and_less_far_away():
    # by hand: the curve's two values a distance d apart correlate by cos(90 deg d/range)
    stated = sensor(accuracy="50 mbar", range=("0 bar", "10 bar"))
    calibration, book = calibrate(stated, SharedErrors())
    gradient = calibration.gradient(0.0)
    narrowed, notes = observe_zero(book, gradient, Zero(3e3, 0.0, 1000, False))
    assert notes == ()
    assert narrowed.correction(calibration.gradient(0.0)) == pytest.approx(-3e3)
    for p in (1e5, 5e5, 9e5):
        share = np.cos(0.5 * np.pi * p / 1e6)
        there = calibration.gradient(p)
        assert narrowed.correction(there) == pytest.approx(-3e3 * share, rel=2e-2)
        left = narrowed.between(there, there)
        assert left == pytest.approx(25e6 * (1.0 - share**2), rel=2e-2, abs=1e3)


def test_an_absolute_zero_shares_with_the_barometer():
    stated = sensor(
        (("0.5 V", "0 bar"), ("4.5 V", "4 bar")), reference="vacuum", accuracy="10 mbar"
    )
    calibration, book = calibrate(stated, SharedErrors())
    book = book.with_block("barometer", 800.0**2)
    zero = Zero(99_000.0, 0.0, 1000, False)
    barometer = {"barometer": np.ones(1)}
    gradient = calibration.gradient(99_000.0)
    narrowed, _ = observe_zero(book, gradient, zero, 98_000.0, barometer)
    # the 1000 Pa between them is shared out by the variances 1000^2 and 800^2
    weight = 1000.0**2 / (1000.0**2 + 800.0**2)
    assert narrowed.correction(gradient) == pytest.approx(-1000.0 * weight, rel=1e-6)
    assert narrowed.correction(barometer) == pytest.approx(1000.0 * (1.0 - weight), rel=1e-6)
    assert narrowed.between(barometer, barometer) < 800.0**2


def test_the_variance_of_a_zero_has_its_autocorrelation():
    # AR(1), rho 0.9: the variance of a mean grows by (1 + rho)/(1 - rho) = 19 (check value S13)
    rng = np.random.default_rng(7)
    ratios = []
    for _ in range(40):
        noise = rng.normal(0.0, 0.002, 20_000)
        values = np.empty_like(noise)
        last = 0.0
        for i, e in enumerate(noise):
            last = 0.9 * last + e
            values[i] = last
        signal, _ = sensed(values + 0.5, sensor(point_uncertainty="1 mbar"))
        zero = zero_of(signal, [(0.0, 20.0)])
        ratios.append(zero.variance / (np.var(signal.values) / len(values)))
    assert np.mean(ratios) == pytest.approx(19.0, rel=0.15)


def test_a_zero_leaves_out_bad_and_missing_samples():
    rng = np.random.default_rng(2)
    values = 0.5 + rng.normal(0.0, 0.001, 10_000)
    values[100:200] = np.nan
    values[5000] = 4.0
    signal, _ = sensed(values, sensor(point_uncertainty="1 mbar"))
    zero = zero_of(signal, [(0.0, 10.0)])
    assert zero.indicated == pytest.approx(0.0, abs=20.0)
    assert zero_of(signal, [(20.0, 30.0)]) is None
    assert zero_of(signal, [(0.11, 0.15)]) is None


def test_a_zero_on_a_stop_is_not_used():
    rng = np.random.default_rng(3)
    values = np.concatenate((np.full(5000, 0.49), np.full(20_000, 1.5)))
    values = stepped(np.maximum(values + rng.normal(0.0, 0.01, len(values)), 0.5), 0.001)
    signal, book = sensed(values, sensor(accuracy="50 mbar"), step=0.001)
    zero = zero_of(signal, [(0.0, 5.0)])
    assert zero.at_stop
    after, notes = observe_zero(book, signal.gradient(zero.indicated), zero)
    assert after is book
    assert codes(notes) == {"zero-at-stop": 0}


def test_a_noisy_zero_at_the_ranges_end_is_no_stop():
    rng = np.random.default_rng(3)
    values = np.concatenate((np.full(5000, 0.5), np.full(20_000, 1.5)))
    values = stepped(values + rng.normal(0.0, 0.01, len(values)), 0.001)
    signal, _ = sensed(values, sensor(accuracy="50 mbar", range=("0 bar", "10 bar")), step=0.001)
    assert not zero_of(signal, [(0.0, 5.0)]).at_stop


@pytest.mark.parametrize("factor", [1.0, 0.5])
def test_intervals_after_a_zero_cover(factor):
    # 4000 sensors drawn from the definitions of the job format; 95 % of the intervals for the
    # pressure itself and for a difference must hold the truth (binomial: 93.9 to 96.1 %, 3 sd);
    # factor 0.5 states half the accuracy and must fail
    rng = np.random.default_rng(2031)
    count, accuracy, point, common = 4000, 5e3, 2e3, 1e3
    outputs = np.array([0.5, 1.0, 2.2])
    stated = plain(
        [0.5, 4.5],
        [0.0, 1e6],
        accuracy=factor * accuracy,
        point_uncertainty=point,
        points_common=common,
        range=(0.0, 1e6),
    )
    calibration, book = calibrate(stated, SharedErrors())
    indicated = calibration.pressure(outputs)
    tilt = indicated / 1e6
    e = rng.normal(0.0, point, (2, count))
    a, b = rng.normal(0.0, accuracy, (2, count))
    angle = 0.5 * np.pi * indicated[:, None] / 1e6
    error = (
        np.outer(1.0 - tilt, e[0])
        + np.outer(tilt, e[1])
        + rng.normal(0.0, common, count)
        + a * np.cos(angle)
        + b * np.sin(angle)
    )
    true_zero, noise = 0.0, 300.0
    held = np.zeros(3)
    for k in range(count):
        # what is indicated when the truth is nothing: the error there, sign turned
        shown = true_zero - error[0, k] + rng.normal(0.0, noise)
        zero = Zero(shown, noise**2, 100, False)
        after, _ = observe_zero(book, calibration.gradient(0.0), zero)
        low, high = (calibration.gradient(float(p)) for p in indicated[1:])
        difference = {name: high[name] - low[name] for name in low}
        truths = (error[1, k], error[2, k], error[2, k] - error[1, k])
        for i, (gradient, truth) in enumerate(zip((low, high, difference), truths, strict=True)):
            width = 1.96 * np.sqrt(after.between(gradient, gradient))
            held[i] += abs(truth - after.correction(gradient)) <= width
    shares = held / count
    assert np.all(np.abs(shares - 0.95) < 0.0105) == (factor == 1.0)
