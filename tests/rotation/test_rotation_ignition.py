"""Cycles from ignition pulses of every kind, against a made truth."""

from __future__ import annotations

import numpy as np
import pytest
from made_pulses import (
    column,
    counts,
    entry,
    hunting,
    instants,
    recorded,
    sparked,
    turned,
    vehicle,
    worst_edge_s,
)

from gaugewright.rotation.ignition import pulses_per_cycle
from gaugewright.rotation.rotate import find_rotation, rotation_of

RATE = 20_000.0
RINGING_S = 0.0003
"""Two periods of 8 kHz and a sample: rung at 20 kHz, a pulse's first peak may go unseen."""
CRANK_TURNS = {"coil-on-plug": 2.0, "wasted-spark": 1.0, "distributor": 0.5}


def found(values, **more):
    signal = entry("ignition", **{k: v for k, v in more.items() if k == "pulses_per_cycle"})
    return find_rotation(
        recorded(column(values, RATE)),
        [signal],
        vehicle(ignition=more.get("ignition", "coil-on-plug")),
    )


def test_pulses_in_a_cycle_follow_the_kind_of_ignition():
    # check value W13: coil-on-plug 1, wasted spark 2, distributor n per 720 degrees
    # (coil-description and distributor pages; coil-on-plug from memory)
    kinds = ("coil-on-plug", "wasted-spark", "distributor")
    per_cycle = [pulses_per_cycle(entry("ignition"), vehicle(ignition=kind))[0] for kind in kinds]
    assert per_cycle == [1.0, 2.0, 4.0]
    two_stroke = vehicle(ignition="wasted-spark", cycle="two-stroke")
    assert pulses_per_cycle(entry("ignition"), two_stroke)[0] == 1.0


def test_a_silent_kind_is_one_with_a_note():
    per_cycle, notes = pulses_per_cycle(entry("ignition"), vehicle())
    assert per_cycle == 1.0
    assert counts(notes) == {"pulses-assumed": 0}
    assert pulses_per_cycle(entry("ignition", pulses_per_cycle=2), vehicle()) == (2.0, ())


@pytest.mark.parametrize(
    ("ignition", "rpm"),
    [("coil-on-plug", 3000.0), ("wasted-spark", 1500.0), ("distributor", 750.0)],
)
def test_speed_from_a_pulse_period_of_40_ms(ignition, rpm):
    # check value W14: 120/T, 60/T, 120/(n T) at T 40 ms, n 4: 3000, 1500, 750 rpm (computed)
    at = np.arange(0.0101, 20.0, 0.04)
    values = sparked(at, round(20.1 * RATE), RATE)
    rotation = found(values, ignition=ignition).rotation
    assert np.nanmedian(rotation.speed_rpm) == pytest.approx(rpm, rel=1e-4)


@pytest.mark.parametrize("ignition", list(CRANK_TURNS))
@pytest.mark.parametrize("rpm", [650.0, 6500.0])
def test_every_kind_at_both_ends_of_the_speeds(ignition, rpm):
    speed = hunting(12.0, RATE, rpm, 0.03)
    at = instants(turned(speed, RATE), RATE, CRANK_TURNS[ignition])
    rotation = found(sparked(at, len(speed), RATE), ignition=ignition).rotation
    assert worst_edge_s(rotation, at) < RINGING_S
    assert rotation.good.all()
    assert np.mean(rotation.speed_rpm) == pytest.approx(speed.mean(), rel=5e-3)


@pytest.mark.parametrize("shape", ["ringing", "square", "spike"])
@pytest.mark.parametrize("height", [0.02, -5.0, 300.0])
def test_any_shape_sign_and_height(shape, height):
    speed = hunting(15.0, RATE, 900.0, 0.05)
    at = instants(turned(speed, RATE), RATE, 2.0)
    values = sparked(at, len(speed), RATE, shape, height, abs(height) / 60.0)
    rotation = found(values).rotation
    assert len(rotation.edges_s) == len(at)
    assert worst_edge_s(rotation, at) < RINGING_S


def test_a_wandering_base_line_larger_than_the_pulses():
    speed = hunting(30.0, RATE, 900.0, 0.05)
    at = instants(turned(speed, RATE), RATE, 2.0)
    t = np.arange(len(speed)) / RATE
    values = sparked(at, len(speed), RATE) + 8.0 * np.sin(2.0 * np.pi * t / 17.0) + 40.0
    rotation = found(values).rotation
    assert len(rotation.edges_s) == len(at)
    assert worst_edge_s(rotation, at) < RINGING_S


@pytest.mark.parametrize("strikes", [2, 3, 4])
def test_further_strikes_belong_to_their_pulse(strikes):
    speed = hunting(20.0, RATE, 800.0, 0.04)
    at = instants(turned(speed, RATE), RATE, 2.0)
    every = np.sort(np.concatenate([at + 0.0025 * k for k in range(strikes)]))
    result = found(sparked(every, len(speed), RATE))
    assert len(result.rotation.edges_s) == len(at)
    assert worst_edge_s(result.rotation, at) < RINGING_S
    assert counts(result.notes)["pulses-merged"] >= len(at) * (strikes - 1)


@pytest.mark.parametrize("ignition", list(CRANK_TURNS))
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_missed_pulses_are_put_in_and_counted(ignition, seed):
    rng = np.random.default_rng(seed)
    speed = hunting(60.0, RATE, 820.0, 0.10)
    at = instants(turned(speed, RATE), RATE, CRANK_TURNS[ignition])
    keep = rng.random(len(at)) > 0.05
    keep[[0, 1, 2, -3, -2, -1]] = True
    result = found(sparked(at[keep], len(speed), RATE), ignition=ignition)
    assert counts(result.notes)["pulses-missed"] == np.count_nonzero(~keep)
    assert "pulses-spurious" not in counts(result.notes)
    assert result.rotation.good.all()
    assert np.mean(result.rotation.speed_rpm) == pytest.approx(speed.mean(), rel=5e-3)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_spurious_pulses_are_taken_out_and_counted(seed):
    rng = np.random.default_rng(seed)
    speed = hunting(60.0, RATE, 820.0, 0.10)
    at = instants(turned(speed, RATE), RATE, 2.0)
    cut = 3 + rng.choice(len(at) - 6, 20, replace=False)
    stray = at[cut] + rng.uniform(0.15, 0.85, 20) * np.diff(at)[cut]
    result = found(sparked(np.sort(np.concatenate((at, stray))), len(speed), RATE))
    assert counts(result.notes)["pulses-spurious"] == 20
    assert "pulses-missed" not in counts(result.notes)
    assert worst_edge_s(result.rotation, at) < RINGING_S


def test_a_snap_from_idle_to_full_speed_is_not_repaired():
    t = np.arange(round(12.0 * RATE)) / RATE
    speed = np.interp(t, [0.0, 4.0, 4.7, 5.5, 8.0, 12.0], [800, 800, 6000, 6000, 800, 800])
    at = instants(turned(speed, RATE), RATE, 2.0)
    result = found(sparked(at, len(t), RATE))
    assert set(counts(result.notes)) <= {"pulses-merged"}
    assert len(result.rotation.edges_s) == len(at)


def test_engine_off_and_cranking_parts_hold_no_good_cycles():
    t = np.arange(round(40.0 * RATE)) / RATE
    speed = np.interp(t, [0, 10, 10.01, 12, 12.5, 30, 30.01, 40], [0, 0, 200, 200, 850, 850, 0, 0])
    at = instants(turned(speed, RATE), RATE, 2.0)
    rotation = found(sparked(at, len(t), RATE)).rotation
    middles = 0.5 * (rotation.edges_s[1:] + rotation.edges_s[:-1])
    assert middles[rotation.good].min() > 11.9
    assert middles[rotation.good].max() < 30.1
    assert np.nanmedian(rotation.speed_rpm) == pytest.approx(850.0, rel=1e-3)


def test_a_stall_and_restart_leaves_one_cycle_that_is_not_good():
    speed = hunting(30.0, RATE, 850.0)
    at = instants(turned(speed, RATE), RATE, 2.0)
    at = at[(at < 10.0) | (at > 20.0)]
    rotation = found(sparked(at, len(speed), RATE)).rotation
    assert np.count_nonzero(~rotation.good) == 1
    assert np.nanmax(np.diff(rotation.edges_s)[rotation.good]) < 0.2


def test_missing_samples_cost_no_pulse():
    speed = hunting(20.0, RATE, 850.0)
    at = instants(turned(speed, RATE), RATE, 2.0)
    values = sparked(at, len(speed), RATE)
    values[1000:90_000:997] = np.nan
    rotation = found(values).rotation
    assert rotation.good.all()
    assert abs(len(rotation.edges_s) - len(at)) <= 1


NOISE = np.random.default_rng(4).normal(0.0, 0.05, 200_000)


@pytest.mark.parametrize("values", [NOISE, np.zeros(1000), np.full(1000, np.nan), np.zeros(1)])
def test_no_pulses_is_said(values):
    result = found(values)
    assert result.rotation is None
    assert counts(result.notes) == {"no-pulses": 0}
    assert result.notes[0].text == (
        "run/signal holds no ignition pulses: nothing in it stands out of its noise"
    )


def test_one_pulse_is_said():
    result = found(sparked([3.0], 200_000, RATE))
    assert result.rotation is None
    assert result.notes[0].code == "one-pulse"
    assert result.notes[0].text == (
        "run/signal holds only one ignition pulse, and no speed can come from it"
    )


def test_a_speed_above_20000_is_refused():
    # a distributor's four pulses a cycle, said to be one every four cycles
    speed = hunting(10.0, RATE, 6000.0)
    at = instants(turned(speed, RATE), RATE, 0.5)
    result = found(sparked(at, len(speed), RATE), ignition="coil-on-plug")
    assert result.rotation is None
    assert counts(result.notes) == {"speed-impossible": 0}
    assert "24000 rpm" in result.notes[0].text
    assert "pulses_per_cycle" in result.notes[0].text


def test_the_check_on_speed_can_fail():
    # wrong on purpose: a wasted spark taken for one pulse a cycle doubles the speed
    at = np.arange(0.0101, 20.0, 0.04)
    rotation = found(sparked(at, round(20.1 * RATE), RATE), ignition="coil-on-plug").rotation
    assert np.nanmedian(rotation.speed_rpm) != pytest.approx(1500.0, rel=0.5)


def test_a_silent_recording_has_no_rotation():
    assert rotation_of(recorded(column(NOISE, RATE)), [], vehicle()) is None
