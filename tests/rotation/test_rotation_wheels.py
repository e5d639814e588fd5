"""Cycles from toothed wheels, square and analogue, against a made truth."""

from __future__ import annotations

import numpy as np
import pytest
from made_pulses import column, counts, entry, hunting, recorded, turned, vehicle, wheel

from gaugewright.rotation.rotate import find_rotation
from gaugewright.rotation.wheels import Wheel

RATE = 50_000.0


def found(values, quantity="crank", cycle="four-stroke", **more):
    signal = entry(quantity, **more)
    return find_rotation(recorded(column(values, RATE)), [signal], vehicle(cycle=cycle))


def made(positions, missing, kind, rpm=820.0, swing=0.05, seconds=6.0, noise=0.02):
    speed = hunting(seconds, RATE, rpm, swing)
    phase = turned(speed, RATE)
    values = wheel(phase, positions, missing, kind, speed)
    return speed, values + np.random.default_rng(3).normal(0.0, noise, len(values))


@pytest.mark.parametrize(
    ("positions", "missing", "degrees", "edges", "ratio"),
    [(60, 2, 6.0, 58, 3.0), (36, 1, 10.0, 35, 2.0), (36, 2, 10.0, 34, 3.0), (24, 0, 15.0, 24, 1.0)],
)
def test_geometry_of_published_wheels(positions, missing, degrees, edges, ratio):
    # check values W1 to W3 (crank-sensor reference page for 6, 10 degrees and 24; rest computed)
    wheel_made = Wheel(positions, missing)
    assert (wheel_made.degrees, wheel_made.edges, wheel_made.gap_ratio) == (degrees, edges, ratio)
    assert Wheel(60, 1).gap_ratio != ratio or ratio == 2.0


@pytest.mark.parametrize("kind", ["square", "reluctance"])
@pytest.mark.parametrize("wheel_of", [(60, 2), (36, 1), (36, 2), (24, 0)])
def test_speed_and_cycles_of_published_wheels(kind, wheel_of):
    positions, missing = wheel_of
    speed, values = made(positions, missing, kind)
    result = found(values, teeth=positions, missing=missing, turns="crank")
    assert result.notes == ()
    rotation = result.rotation
    assert rotation.source == "crank"
    assert rotation.good.all()
    assert len(rotation.good) == pytest.approx(speed.mean() / 120.0 * 6.0, abs=1.5)
    assert rotation.speed_rpm.mean() == pytest.approx(speed.mean(), rel=6e-3)


@pytest.mark.parametrize(
    ("wheel_of", "tooth_ms", "gap_ms"), [((60, 2), 1.25, 3.75), ((36, 1), 2.08333, 4.16667)]
)
def test_tooth_and_gap_times_at_800_rpm(wheel_of, tooth_ms, gap_ms):
    # check values W5, W6 (geometry, computed): 60-2 1.2500 and 3.7500 ms, 36-1 2.08333, 4.16667
    from gaugewright.rotation.teeth import teeth_of

    speed = hunting(2.0, RATE, 800.0)
    values = wheel(turned(speed, RATE), *wheel_of)
    intervals = np.diff(teeth_of(np.arange(len(values)) / RATE, values, 1.0 / RATE)) * 1e3
    assert np.median(intervals) == pytest.approx(tooth_ms, abs=0.02)
    assert intervals.max() == pytest.approx(gap_ms, abs=0.021)
    assert len(intervals) / 2.0 == pytest.approx(
        (wheel_of[0] - wheel_of[1]) * 800.0 / 60.0, rel=0.01
    )


@pytest.mark.parametrize("kind", ["square", "reluctance"])
def test_a_reluctance_wheel_from_cranking_to_full_speed(kind):
    t = np.arange(round(10.0 * RATE)) / RATE
    speed = np.interp(t, [0, 2, 3, 6, 6.8, 8, 10], [200, 200, 850, 850, 6000, 6000, 850])
    values = wheel(turned(speed, RATE), 60, 2, kind, speed)
    values += np.random.default_rng(1).normal(0.0, 0.004, len(values))
    result = found(values, teeth=60, missing=2, turns="crank")
    assert result.rotation.good.all()
    assert len(result.rotation.good) == pytest.approx(turned(speed, RATE)[-1] / 2.0, abs=1.5)


def test_a_cam_wheel_turns_once_a_cycle():
    speed, values = made(36, 1, "square", rpm=820.0)
    as_cam = found(values, teeth=36, missing=1, turns="cam").rotation
    assert as_cam.speed_rpm.mean() == pytest.approx(2.0 * speed.mean(), rel=6e-3)
    assert found(values, quantity="cam", teeth=36, missing=1).rotation.source == "cam"


def test_a_two_stroke_turns_once_a_cycle():
    speed, values = made(36, 1, "square")
    rotation = found(values, cycle="two-stroke", teeth=36, missing=1, turns="crank").rotation
    assert rotation.degrees == 360.0
    assert rotation.speed_rpm.mean() == pytest.approx(speed.mean(), rel=6e-3)


@pytest.mark.parametrize(("rpm", "unsure"), [(820.0, False), (200.0, True)])
def test_silent_turns_are_said_where_the_cam_would_fit_better(rpm, unsure):
    _, values = made(36, 1, "square", rpm=rpm, seconds=12.0)
    result = found(values, teeth=36, missing=1)
    assert ("wheel-turns-unsure" in counts(result.notes)) is unsure
    assert result.rotation.source == "crank"


def test_a_gap_that_is_not_there_is_said_and_the_teeth_are_counted():
    speed, values = made(36, 0, "square")
    result = found(values, teeth=36, missing=1, turns="crank")
    assert "wheel-gap-missing" in counts(result.notes)
    assert result.rotation.speed_rpm.mean() == pytest.approx(speed.mean(), rel=6e-3)


def test_silent_teeth_are_taken_from_the_gap_with_a_note():
    speed, values = made(60, 2, "reluctance")
    result = found(values, turns="crank")
    assert "60 positions with 2 missing" in result.notes[0].text
    assert result.rotation.speed_rpm.mean() == pytest.approx(speed.mean(), rel=6e-3)


def test_missed_and_stray_teeth_are_counted_and_cost_nothing():
    values = made(60, 2, "square", swing=0.0, noise=0.0)[1]
    period = 60.0 / 820.0 / 60.0
    for tooth in range(80, 4000, 457):
        first = round(tooth * period * RATE)
        values[first : first + round(0.5 * period * RATE) + 2] = 0.0
    for tooth in range(205, 4000, 500):
        first = round((tooth + 0.75) * period * RATE)
        values[first - 4 : first + 4] = 5.0
    result = found(values, teeth=60, missing=2, turns="crank")
    assert counts(result.notes) == {"pulses-missed": 9, "pulses-spurious": 8}
    assert result.rotation.good.all()
    assert result.rotation.speed_rpm == pytest.approx(820.0, rel=3e-3)


def test_no_teeth_is_said():
    result = found(np.zeros(10_000), teeth=60, missing=2)
    assert result.rotation is None
    assert result.notes[0].text == "run/signal holds no wheel: 0 teeth passed"


def test_teeth_that_nobody_states_and_no_gap_shows():
    _, values = made(24, 0, "square")
    result = found(values, turns="crank")
    assert result.rotation is None
    assert result.notes[0].code == "teeth-unknown"
