"""Cycles from a sampled speed, from a pressure's ripple, and the choice between sources."""

from __future__ import annotations

import numpy as np
import pytest
from made_pulses import column, counts, entry, hunting, instants, recorded, sparked, turned, vehicle

from gaugewright.rotation.ripple import rotation_from_ripple
from gaugewright.rotation.rotate import find_rotation

RATE = 20_000.0


def sampled(rpm, rate_hz, unit="rpm", step=1.0):
    return column(np.round(np.asarray(rpm) / step) * step, rate_hz, "speed", unit, step)


@pytest.mark.parametrize("rate_hz", [1.0, 5.0, 50.0])
def test_cycles_of_a_sampled_speed(rate_hz):
    t = np.arange(round(120.0 * rate_hz)) / rate_hz
    rpm = 900.0 + 200.0 * np.sin(2.0 * np.pi * t / 40.0)
    rotation = find_rotation(
        recorded(sampled(rpm, rate_hz)), [entry("engine-speed", "speed")], vehicle()
    ).rotation
    assert rotation.source == "engine-speed"
    assert rotation.refresh_s == pytest.approx(1.0 / rate_hz)
    truth = np.trapezoid(rpm, t) / 120.0
    assert len(rotation.good) == pytest.approx(truth, abs=1.0)
    middles = 0.5 * (rotation.edges_s[1:] + rotation.edges_s[:-1])
    course = 900.0 + 200.0 * np.sin(2.0 * np.pi * middles / 40.0)
    assert rotation.speed_rpm == pytest.approx(course, abs=4.0)


def test_zeros_with_the_engine_off_and_gaps_hold_no_cycles():
    rpm = np.full(600, 850.0)
    rpm[:100] = 0.0
    rpm[500:] = 0.0
    rpm[300:340] = np.nan
    rotation = find_rotation(
        recorded(sampled(rpm, 5.0)), [entry("engine-speed", "speed")], vehicle()
    ).rotation
    middles = 0.5 * (rotation.edges_s[1:] + rotation.edges_s[:-1])
    good = middles[rotation.good]
    assert good.min() > 19.9
    assert good.max() < 100.1
    assert not np.any((good > 60.1) & (good < 67.9))


def test_a_stopped_engine_has_no_speed():
    result = find_rotation(
        recorded(sampled(np.zeros(50), 5.0)), [entry("engine-speed", "speed")], vehicle()
    )
    assert result.rotation is None
    assert counts(result.notes) == {"no-speed": 0}


def test_an_impossible_speed_column_is_refused():
    result = find_rotation(
        recorded(sampled(np.full(50, 65535.0), 5.0)), [entry("engine-speed", "speed")], vehicle()
    )
    assert result.rotation is None
    assert counts(result.notes) == {"speed-impossible": 0}


def test_ignition_is_taken_before_a_column_and_a_silent_one_falls_back():
    speed = hunting(20.0, RATE, 850.0)
    at = instants(turned(speed, RATE), RATE, 2.0)
    slow = sampled(np.full(100, 850.0), 5.0)
    signals = [entry("engine-speed", "speed"), entry("ignition", "spark")]
    car = vehicle(ignition="coil-on-plug")
    good = find_rotation(
        recorded(column(sparked(at, len(speed), RATE), RATE, "spark"), slow), signals, car
    )
    assert good.rotation.source == "ignition"
    silent = find_rotation(recorded(column(np.zeros(1000), RATE, "spark"), slow), signals, car)
    assert silent.rotation.source == "engine-speed"
    assert "no-pulses" in counts(silent.rotation.notes)


def rippled(speed, rate_hz, noise, depth=(4.0, 1.5)):
    phase = turned(speed, rate_hz) * 2.0
    rng = np.random.default_rng(5)
    ripple = sum(d * np.sin(2.0 * np.pi * (k + 1) * phase + k) for k, d in enumerate(depth))
    return 100.0 + ripple + rng.normal(0.0, noise, len(speed))


@pytest.mark.parametrize("rpm", [650.0, 1500.0, 3000.0])
def test_speed_from_the_ripple_of_four_cylinders(rpm):
    # check values W9, W10 (service page): four cylinders fire 100 times a second at 3000 rpm
    speed = hunting(20.0, 1000.0, rpm, 0.02, 0.1)
    pressure = rippled(speed, 1000.0, 2.0)
    rotation = rotation_from_ripple(np.arange(len(speed)) / 1000.0, pressure, vehicle())
    assert rotation.source == "ripple"
    assert counts(rotation.notes) == {"speed-from-ripple": 0}
    assert "low confidence" in rotation.notes[0].text
    assert np.nanmean(rotation.speed_rpm) == pytest.approx(speed.mean(), rel=5e-3)


def test_the_ripple_of_other_cylinders_is_another_speed():
    # wrong on purpose: three cylinders' firing rate taken for four would pass unnoticed otherwise
    speed = hunting(20.0, 1000.0, 1500.0)
    pressure = rippled(speed, 1000.0, 1.0)
    rotation = rotation_from_ripple(np.arange(len(speed)) / 1000.0, pressure, vehicle(cylinders=3))
    assert np.nanmean(rotation.speed_rpm) == pytest.approx(2000.0, rel=5e-3)


@pytest.mark.parametrize("depth", [(0.0, 0.0), (4.0, 0.0)])
def test_noise_or_a_single_line_is_no_ripple(depth):
    speed = hunting(20.0, 1000.0, 900.0)
    pressure = rippled(speed, 1000.0, 1.0, depth)
    assert rotation_from_ripple(np.arange(len(speed)) / 1000.0, pressure, vehicle()) is None


def test_too_short_or_too_slow_for_a_ripple():
    t = np.arange(50) / 10.0
    assert rotation_from_ripple(t, np.sin(t), vehicle()) is None
    assert rotation_from_ripple(t[:1], t[:1], vehicle()) is None
