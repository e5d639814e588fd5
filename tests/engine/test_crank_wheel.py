"""Toothed wheels against check values W1 to W3 and W5 to W7."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine.crank_wheel import CAM, ToothedWheel, tooth_times, wheel_volts
from gaugewright.engine.turning import Turning

RATE_HZ = 200e3


def even(speed_rpm, seconds=2.0):
    at = np.linspace(0.0, seconds, 300)
    return Turning(at, at * speed_rpm / 120.0, np.full(300, float(speed_rpm)))


def sampled(wheel, speed_rpm, seconds=2.0):
    time_s = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    turning = even(speed_rpm, seconds)
    return time_s, wheel_volts(wheel, turning.angle(time_s), turning.speed(time_s))


def rising(time_s, volts, level):
    return time_s[1:][(volts[1:] > level) & (volts[:-1] <= level)]


@pytest.mark.parametrize(
    ("positions", "missing", "ratio"), [(60, 2, 3.0), (36, 1, 2.0), (36, 2, 3.0), (24, 0, 1.0)]
)
@pytest.mark.parametrize("kind", ["square", "reluctance"])
def test_edges_and_gap(positions, missing, ratio, kind):
    """W1 to W3: 58, 35, 34, 24 edges a turn; the gap from edge to edge 3, 2, 3, 1 positions."""
    wheel = ToothedWheel(positions, missing, kind)
    time_s, volts = sampled(wheel, 600.0)
    edges = rising(time_s, volts, 2.5 if kind == "square" else 0.3 * volts.max())
    assert len(edges) == pytest.approx(20 * (positions - missing), abs=2)
    apart = np.diff(edges)
    tooth = np.median(apart)
    assert tooth == pytest.approx(0.1 / positions, abs=2.0 / RATE_HZ)
    widest = np.sort(apart)[-15:] if missing else apart
    assert np.mean(widest) / tooth == pytest.approx(
        ratio, rel=0.06 if kind == "reluctance" else 0.01
    )


@pytest.mark.parametrize(
    ("positions", "missing", "tooth_ms", "gap_ms", "mean_hz"),
    [(60, 2, 1.2500, 3.7500, 773.33), (36, 1, 2.08333, 4.16667, 466.67)],
)
def test_periods_at_800_rpm(positions, missing, tooth_ms, gap_ms, mean_hz):
    """W5 and W6."""
    times = tooth_times(ToothedWheel(positions, missing, "square"), even(800.0, 6.0))
    apart = 1e3 * np.diff(times)
    assert np.median(apart) == pytest.approx(tooth_ms, abs=1e-5)
    assert apart.max() == pytest.approx(gap_ms, abs=1e-5)
    turn = positions - missing
    assert turn / (times[3 * turn] - times[2 * turn]) == pytest.approx(mean_hz, abs=0.005)


def test_a_ring_of_100_teeth():
    """W7: two edges for each tooth, 200 a turn."""
    time_s, volts = sampled(ToothedWheel(100, 0, "square"), 600.0)
    both = np.flatnonzero(np.diff(volts) != 0.0)
    assert len(both) == pytest.approx(20 * 200, abs=2)
    assert np.diff(time_s[both]) * 3600.0 == pytest.approx(1.8, abs=0.02)


def test_reluctance_grows_with_speed():
    """Induced voltage is the flux's rate of change: in proportion to speed."""
    slow, fast = sampled(ToothedWheel(), 400.0)[1], sampled(ToothedWheel(), 1600.0)[1]
    assert fast.max() / slow.max() == pytest.approx(4.0, rel=0.01)
    assert np.percentile(slow, 97) == pytest.approx(1.0, rel=0.1), "2.5 V at 1000 rpm"
    assert np.mean(slow) == pytest.approx(0.0, abs=0.01)


def test_the_camshaft_turns_half_as_fast():
    time_s, volts = sampled(CAM, 600.0)
    edges = rising(time_s, volts, 2.5)
    assert np.diff(edges) == pytest.approx(0.2, abs=2.0 / RATE_HZ)
    assert set(np.unique(volts)) == {0.0, 5.0}
