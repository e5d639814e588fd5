"""Interference, drop-outs and stops are found, and nothing else is taken for them."""

from __future__ import annotations

import numpy as np
import pytest
from made_sensors import column, engine, stepped

from gaugewright.sensing.health import health_of, with_standing

RATE = 20_000.0
FALSE_SHARE = 1e-5


def count(marks):
    return 0 if marks is None else int(np.count_nonzero(marks))


def health(values, rate_hz=RATE, step=0.0, supply=None):
    return health_of(column(values, rate_hz, step=step), supply)


@pytest.mark.parametrize("rate_hz", [10.0, 100.0, 500.0, 2000.0, 20_000.0, 100_000.0])
@pytest.mark.parametrize("step", [0.0, 0.002, 0.02])
def test_a_clean_noisy_signal_is_left_alone(rate_hz, step):
    values = 1.5 + np.random.default_rng(8).normal(0.0, 0.01, 400_000)
    found = health(stepped(values, step) if step else values, rate_hz, step)
    assert count(found.bad) <= FALSE_SHARE * len(values)
    assert found.at_low is None
    assert found.at_high is None


@pytest.mark.parametrize("rate_hz", [200.0, 500.0, 1000.0, 2000.0, 5000.0, 20_000.0])
@pytest.mark.parametrize("step", [0.0, 5.0 / 4096, 5.0 / 256])
def test_an_engines_ripple_is_left_alone(rate_hz, step):
    values = engine(60.0, rate_hz)
    found = health(stepped(values, step) if step else values, rate_hz, step)
    assert count(found.bad) <= max(1, FALSE_SHARE * len(values))
    assert found.at_low is None
    assert found.at_high is None


@pytest.mark.parametrize("rate_hz", [500.0, 1000.0, 2000.0, 5000.0, 20_000.0])
@pytest.mark.parametrize("noise", [0.001, 0.01])
def test_a_pulsed_ripple_is_left_alone(rate_hz, noise):
    t = np.arange(round(60.0 * rate_hz)) / rate_hz
    phase = 27.0 * t + 0.6 * np.sin(2.0 * np.pi * 0.7 * t)
    values = 1.5 + 0.3 * np.maximum(np.sin(2.0 * np.pi * phase), 0.0) ** 12
    values += np.random.default_rng(4).normal(0.0, noise, len(t))
    assert count(health(values, rate_hz).bad) <= max(2, FALSE_SHARE * len(values))


@pytest.mark.parametrize("height", [0.15, 1.0])
@pytest.mark.parametrize("signs", [(1.0,), (-1.0, 1.0)])
def test_single_sample_spikes_are_found(height, signs):
    rng = np.random.default_rng(5)
    values = engine()
    at = rng.choice(len(values), 2000, replace=False)
    values[at] += height * rng.choice(signs, len(at))
    found = health(values)
    assert found.bad[at].mean() > 0.99
    assert count(found.bad) < 6 * len(at)


def test_ringing_bursts_are_found_and_their_removal_does_not_move_the_mean():
    clean = engine()
    values = clean.copy()
    after = np.arange(24)
    burst = 0.8 * np.exp(-after / 8.0) * np.cos(2.0 * np.pi * 8000.0 * after / RATE)
    for first in range(1000, len(values) - 100, 740):
        values[first : first + 24] += burst
    found = health(values)
    for first in range(1000, len(values) - 100, 740):
        assert found.bad[first : first + 12].all()
    filled = np.interp(np.arange(len(values)), np.flatnonzero(~found.bad), values[~found.bad])
    assert filled.mean() == pytest.approx(clean.mean(), abs=1e-4)
    # the check can fail: with the bursts left in, the mean is off by more
    assert values.mean() != pytest.approx(clean.mean(), abs=2e-4)


def test_spikes_at_500_hz_are_found_among_the_ripple():
    rng = np.random.default_rng(6)
    values = engine(60.0, 500.0)
    at = rng.choice(len(values) - 10, 300, replace=False) + 5
    values[at] += rng.choice([-1.0, 1.0], len(at)) * 0.25
    found = health(values, 500.0)
    assert found.bad[at].mean() > 0.95
    assert count(found.bad) < 1.3 * len(at)


def test_a_snap_in_a_slow_column_is_no_interference():
    rng = np.random.default_rng(7)
    values = np.round(800.0 + rng.normal(0.0, 10.0, 900))
    values[400:410] = [900, 1500, 2500, 3000, 2800, 2000, 1500, 1100, 900, 820]
    assert health(values, 5.0, 1.0).bad is None
    values[[200, 300]] = [0.0, 65_535.0]
    assert np.flatnonzero(health(values, 5.0, 1.0).bad).tolist() == [200, 300]


def test_a_step_of_level_is_no_interference():
    rng = np.random.default_rng(7)
    for rate_hz in (5.0, 500.0, 20_000.0):
        values = np.concatenate((np.full(2000, 1.0), np.full(2000, 3.0)))
        values += rng.normal(0.0, 0.01, len(values))
        assert count(health(values, rate_hz).bad) == 0


def test_drop_outs_to_zero_and_to_the_supply_are_found():
    values = engine(20.0)
    for first, level in zip(range(10_000, 390_000, 20_000), [0.0, 5.0] * 10, strict=False):
        values[first : first + 60] = level
    found = health(values, supply=5.0)
    assert found.dropped == 19 * 62
    assert found.at_low is None
    assert found.at_high is None


def test_an_engine_off_zero_is_no_drop_out():
    values = engine(20.0)
    values[:100_000] = np.linspace(0.0, 1.5, 100_000)
    values[:20_000] = 0.0
    assert health(values).dropped == 0


@pytest.mark.parametrize("step", [0.0, 5.0 / 4096, 5.0 / 1024])
@pytest.mark.parametrize("noise", [0.002, 0.01])
def test_a_clipped_ripple_is_a_stop(step, noise):
    whole = engine(noise=noise)
    values = np.minimum(whole, 1.6)
    values = stepped(values, step) if step else values
    found = health(values, step=step)
    assert found.at_low is None
    assert np.array_equal(found.at_high, values == values.max())
    assert found.at_high.mean() == pytest.approx(np.mean(whole > 1.6), abs=0.02)


def test_a_little_clipping_is_seen_too():
    whole = 1.5 + np.random.default_rng(9).normal(0.0, 0.01, 200_000)
    values = stepped(np.minimum(whole, 1.5256), 0.0012)
    found = health(values, step=0.0012)
    assert found.at_high.mean() == pytest.approx(0.005, abs=0.003)


@pytest.mark.parametrize("step", [5.0 / 65_536, 5.0 / 4096, 5.0 / 256])
def test_a_whole_stretch_on_the_rail_is_a_stop(step):
    values = engine(noise=0.02)
    values[:300_000] = 2.4
    found = health(stepped(values, step), step=step)
    assert found.at_high[:300_000].all()
    assert count(found.at_high) == 300_000


def test_an_engine_off_part_on_the_low_rail_is_a_stop():
    values = engine()
    values[:300_000] = 0.49 + (values[:300_000] - 1.5) * 0.1
    values = stepped(np.maximum(values, 0.5), 0.001)
    assert health(values, step=0.001).at_low[:300_000].mean() > 0.6


def test_an_engine_off_part_with_its_usual_noise_is_no_stop():
    values = engine()
    values[:300_000] = 0.5 + np.random.default_rng(1).normal(0.0, 0.01, 300_000)
    found = health(stepped(values, 0.001), step=0.001)
    assert found.at_low is None


@pytest.mark.parametrize("noise", [0.0075, 0.0099])
def test_a_coarse_signal_that_leaves_its_stop_now_and_then(noise):
    # steps twice the noise and more, most of the time on the stop, runs of many seconds
    t = np.arange(100_000) / 500.0
    whole = 0.38 + 0.35 * np.sin(2.0 * np.pi * t / 60.0)
    whole = whole + np.random.default_rng(3).normal(0.0, noise, len(t))
    values = stepped(np.maximum(whole, 0.5), 0.0196)
    found = health(values, 500.0, 0.0196)
    assert found.at_low.mean() == pytest.approx(np.mean(whole < 0.5098), abs=0.01)


def test_an_engine_off_part_in_a_slow_coarse_column_is_no_stop():
    # at 20 Hz ripple passes for noise; the flicker between two steps shows that nothing holds
    rng = np.random.default_rng(226)
    values = np.concatenate((np.full(220, 0.4855), np.full(2600, 2.4)))
    values[220:] += 0.1 * np.sin(2.0 * np.pi * 8.7 * np.arange(2600) / 20.0)
    values += rng.normal(0.0, 0.0023, len(values))
    found = health(stepped(values, 0.00488), 20.0, 0.00488)
    assert found.at_low is None


def test_spikes_past_a_stop_do_not_hide_it():
    rng = np.random.default_rng(29)
    values = stepped(np.minimum(engine(60.0, 500.0), 1.55), 0.00122)
    at = rng.choice(len(values) - 10, 60, replace=False) + 5
    values[at] += 0.5
    values[[5000, 5001, 5002, 5003]] = 3.0
    found = health(values, 500.0, 0.00122)
    assert found.at_high.mean() > 0.2


@pytest.mark.parametrize("noise", [0.0003, 0.001, 0.0018])
@pytest.mark.parametrize("level", [1.5, 1.5024, 1.5012])
def test_a_quiet_coarse_signal_at_its_normal_level_is_no_stop(noise, level):
    step = 5.0 / 1024
    values = level + np.random.default_rng(2).normal(0.0, noise, 400_000)
    for rate_hz in (10.0, 500.0, RATE):
        found = health(stepped(values, step), rate_hz, step)
        assert found.at_low is None
        assert found.at_high is None


@pytest.mark.parametrize("noise", [0.0, 0.3])
def test_a_warm_coolant_in_whole_degrees_is_no_stop(noise):
    t = np.arange(900) / 1.1
    values = np.minimum(16.0 + 0.4 * t, 90.0)
    values = np.round(values + np.random.default_rng(1).normal(0.0, noise, len(t)))
    found = health(values, 1.1, 1.0)
    assert found.bad is None
    assert found.at_low is None
    assert found.at_high is None


def test_missing_samples_are_counted_and_never_marked():
    values = engine(10.0)
    values[500:700] = np.nan
    found = health(values)
    assert found.missing == 200
    assert found.bad is None
    nothing = health(np.full(10, np.nan))
    assert (nothing.missing, nothing.bad) == (10, None)


@pytest.mark.parametrize("size", [0, 1, 2, 5, 20])
def test_short_columns_are_no_trouble(size):
    for rate_hz in (1.0, 500.0, RATE):
        found = health(np.linspace(0.0, 1.0, size), rate_hz)
        assert found.bad is None


def test_steps_that_a_file_rounds_unevenly_still_show_a_stop():
    free = 0.55 + 0.1 * np.random.default_rng(8).standard_normal(40_000)
    written = [np.round(stepped(v, 0.00122), 4) for v in (free, np.clip(free, 0.4978, None))]
    assert health(written[0]).at_low is None
    assert count(health(written[1]).at_low) == np.count_nonzero(written[1] == written[1].min())


def test_a_signal_that_mostly_stands_on_the_end_of_its_range_rests_there():
    values = np.full(433, 52.0)
    values[[40, 200, 310]] = [-7000.0, 9000.0, 4000.0]
    known = health(np.linspace(0.0, 1.0, 433))
    standing = with_standing(known, values, (0.0, 25_000.0), 1.0, 140.0)
    assert np.count_nonzero(standing.at_low) == 430
    assert with_standing(known, values + 2000.0, (0.0, 25_000.0), 1.0, 140.0).at_low is None
    assert with_standing(known, values, (0.0, 25_000.0), 1.0, 10.0).at_low is None
