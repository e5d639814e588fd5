"""Sensors, hoses and disturbances, each against its own definition."""

from __future__ import annotations

import math

import numpy as np
import pytest

from gaugewright.engine.instruments.disturbances import (
    dropped_out,
    hum,
    noise,
    sparks_in,
    spikes,
)
from gaugewright.engine.instruments.hoses import Hose, air_hose, delayed, oil_hose, snubbed, through
from gaugewright.engine.instruments.sensors import Sensor, lagged, output, shown, volts

OIL = Sensor(0.0, 1e6)


def test_ends_of_the_range_give_the_ends_of_the_output() -> None:
    assert volts(OIL, np.array([0.0, 5e5, 1e6])) == pytest.approx([0.5, 2.5, 4.5])


def test_a_ratiometric_sensor_goes_with_its_supply() -> None:
    # Computed beforehand: at 4.90 V supply a true 100 kPa on a 0 to 1000 kPa sensor shows
    # 95.5 kPa to who believes in 5 V (trade notes; common practice).
    out = volts(Sensor(0.0, 1e6, ratiometric=True), np.array([1e5]), supply_v=4.90)
    believed_kpa = (out[0] - 0.5) / 4.0 * 1000.0
    assert believed_kpa == pytest.approx(95.5, abs=0.05)


def test_a_sensor_that_is_not_ratiometric_does_not() -> None:
    assert volts(OIL, np.array([1e5]), supply_v=4.90) == pytest.approx([0.9])


def test_zero_and_gain_errors() -> None:
    wrong = Sensor(0.0, 1e6, zero=2000.0, gain=1.01)
    assert shown(wrong, np.array([0.0, 5e5])) == pytest.approx([2000.0, 507000.0])


def test_the_smooth_deviation_is_the_job_formats() -> None:
    # accuracy x (A cos wp + B sin wp) with w = 90 degrees over the range: A at the foot, B at the
    # top, and the root of the half of each in the middle.
    bent = Sensor(0.0, 1e6, bend=(3000.0, -1000.0))
    off = shown(bent, np.array([0.0, 5e5, 1e6])) - np.array([0.0, 5e5, 1e6])
    assert off == pytest.approx([3000.0, 2000.0 / math.sqrt(2.0), -1000.0])


def test_deviations_at_two_pressures_are_correlated_by_their_distance() -> None:
    rng = np.random.default_rng(5)
    at = np.array([0.0, 1e6 / 3.0])
    offs = [shown(Sensor(0.0, 1e6, bend=(a, b)), at) - at for a, b in rng.normal(size=(4000, 2))]
    found = np.corrcoef(np.array(offs).T)[0, 1]
    assert found == pytest.approx(math.cos(math.radians(30.0)), abs=0.02)


def test_a_warm_body_shifts_the_zero() -> None:
    drifting = Sensor(0.0, 1e6, zero_per_k=100.0, warm_from_degc=20.0)
    assert shown(drifting, 0.0, 80.0) == pytest.approx(6000.0)


def test_the_output_stays_between_ground_and_supply() -> None:
    out = volts(OIL, np.array([-1e6, 3e6]), supply_v=4.9)
    assert out == pytest.approx([0.0, 4.9])


def test_a_step_shows_63_percent_after_one_lag() -> None:
    step = np.concatenate([np.zeros(100), np.ones(2000)])
    late = lagged(step, 1e-3, 0.25)
    assert late[99] == 0.0
    # The step is straight between two samples: on average half an interval late.
    at_lag = np.interp(99.5e-3 + 0.25, np.arange(2100) * 1e-3, late)
    assert at_lag == pytest.approx(1.0 - math.exp(-1.0), abs=2e-4)


def test_a_ramp_is_late_by_the_lag_whatever_the_interval() -> None:
    for interval in (1e-3, 0.05, 0.4):
        time = np.arange(0.0, 20.0, interval)
        late = lagged(time, interval, 0.3)
        assert time[-1] - late[-1] == pytest.approx(0.3, rel=1e-9)


def test_the_sensors_noise_has_its_size() -> None:
    rng = np.random.default_rng(1)
    out = output(Sensor(0.0, 1e6, noise_v=0.004), np.full(20_000, 1e5), 1e-4, rng)
    assert np.std(out) == pytest.approx(0.004, rel=0.03)
    assert np.mean(out) == pytest.approx(0.9, abs=0.0002)


def test_a_hose_rings_at_its_frequency_and_dies_away_by_its_damping() -> None:
    interval, ring = 1e-4, Hose(0.0, 32.0, 0.05)
    step = np.concatenate([np.zeros(10), np.ones(5000)])
    rung = through(step, interval, ring)
    crossings = np.flatnonzero(np.diff(np.sign(rung[10:] - 1.0)) != 0)
    spacing = np.mean(np.diff(crossings)) * interval
    damped_hz = 32.0 * math.sqrt(1.0 - 0.05**2)
    assert 0.5 / spacing == pytest.approx(damped_hz, rel=0.01)
    # A damped second-order system's first overshoot: exp(-pi z / sqrt(1 - z2)).
    assert rung.max() - 1.0 == pytest.approx(math.exp(-math.pi * 0.05 / damped_hz * 32.0), rel=0.01)


def test_hoses_come_from_the_pressure_lines_physics() -> None:
    # Computed beforehand: an air hose is 2.9 ms late for each metre and its quarter wave is 86 Hz;
    # 1 m of oil of 4 mm bore with 0.1 mL of air at 200 kPa absolute rings near 32 Hz.
    air = air_hose(1.0, 0.004, end_m3=0.0)
    assert air.delay_s == pytest.approx(2.9e-3, abs=0.05e-3)
    assert air.natural_hz == pytest.approx(86.0, abs=0.5)
    assert oil_hose(1.0, 0.004, 1e-7, 200e3).natural_hz == pytest.approx(32.0, abs=0.7)


def test_a_hose_of_oil_rings_where_the_physics_says() -> None:
    hose = oil_hose(1.0, 0.004, 1e-7, 200e3)
    bare = Hose(0.0, hose.natural_hz, 0.02)
    kick = np.zeros(20_000)
    kick[100] = 1.0
    spectrum = np.abs(np.fft.rfft(through(kick, 1e-3, bare)))
    assert np.fft.rfftfreq(20_000, 1e-3)[np.argmax(spectrum)] == pytest.approx(32.0, abs=0.7)


def test_a_hose_keeps_the_mean_and_starts_settled() -> None:
    rng = np.random.default_rng(2)
    values = 1e5 + rng.normal(scale=1000.0, size=20_000)
    rung = through(values, 1e-3, Hose(3e-3, 60.0, 0.1))
    assert rung[0] == pytest.approx(values[0], rel=1e-3)
    assert np.mean(rung) == pytest.approx(np.mean(values), abs=20.0)


def test_a_delay_moves_everything_by_it() -> None:
    time = np.arange(2000) * 1e-3
    late = delayed(np.sin(20.0 * time), 1e-3, 0.0437)
    assert late[100:] == pytest.approx(np.sin(20.0 * (time[100:] - 0.0437)), abs=1e-4)


def test_a_snubber_takes_the_ripple_and_leaves_the_mean() -> None:
    time = np.arange(20_000) * 1e-4
    through_it = snubbed(1e5 + 3000.0 * np.sin(2.0 * np.pi * 30.0 * time), 1e-4, 0.1)
    held = through_it[10_000:]
    # First order: the height falls to 1 / sqrt(1 + (w tau)^2).
    left = 3000.0 / math.hypot(1.0, 2.0 * math.pi * 30.0 * 0.1)
    assert np.ptp(held) / 2.0 == pytest.approx(left, rel=0.02)
    assert np.mean(held) == pytest.approx(1e5, abs=20.0)


def test_noise_has_its_size_and_no_memory() -> None:
    made = noise(20_000, 2.5, np.random.default_rng(3))
    assert np.std(made) == pytest.approx(2.5, rel=0.03)
    assert abs(np.corrcoef(made[1:], made[:-1])[0, 1]) < 0.03


def test_hum_stands_at_the_mains_frequency() -> None:
    time = np.arange(10_000) * 1e-3
    spectrum = np.abs(np.fft.rfft(hum(time, 0.03))) / 5000.0
    assert np.argmax(spectrum) == 500
    assert spectrum[500] == pytest.approx(0.03, rel=1e-6)


def test_spikes_come_in_step_with_the_sparks() -> None:
    rng = np.random.default_rng(4)
    time = np.arange(50_000) * 2e-5
    sparks = np.arange(0.02, 0.98, 0.0365)
    left = spikes(time, sparks, 0.5, rng)
    assert sparks_in(time, left, 0.2) == pytest.approx(sparks, abs=2.1e-5)
    far = np.abs(time[:, None] - sparks[None, :]).min(axis=1) > 6.1e-3
    quiet = far & (time < sparks[0]) if not far.any() else far
    assert np.all(left[quiet] == 0.0)


def test_no_sparks_leave_nothing() -> None:
    assert not spikes(np.arange(10.0), np.empty(0), 1.0, np.random.default_rng(0)).any()


def test_drop_outs_come_as_often_and_as_long_as_stated() -> None:
    rng = np.random.default_rng(6)
    lost = dropped_out(np.ones(600_000), 1e-3, 60.0, rng, length_s=0.02)
    gone = lost == 0.0
    starts = np.count_nonzero(gone[1:] & ~gone[:-1])
    assert starts == pytest.approx(600, abs=80)
    assert np.mean(gone) == pytest.approx(0.02, rel=0.2)
