"""Sparks against check values W8 to W14 (firing intervals, pulses for each cycle)."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.ignition import PickUp, Sparks, pick_up_volts, sparks
from gaugewright.engine.turning import Turning

QUIET = PickUp(others=0.0, missed=0.0, scatter=0.0)
ORDERS = {3: (1, 2, 3), 4: (1, 3, 4, 2), 5: (1, 2, 4, 5, 3), 6: (1, 5, 3, 6, 2, 4)}
"""W11: firing orders."""
EIGHT = (1, 8, 4, 3, 6, 5, 7, 2)


def even(speed_rpm, seconds=6.0):
    """A crank that turns at one speed."""
    at = np.linspace(0.0, seconds, 500)
    return Turning(at, at * speed_rpm / 120.0, np.full(500, speed_rpm))


def heard(build, speed_rpm, pick_up=QUIET):
    made = sparks(build, even(speed_rpm), pick_up, np.random.default_rng(1))
    return made.at_s[made.heights_v > 0.0]


@pytest.mark.parametrize(
    ("ignition", "speed", "period_s"),
    [
        ("coil-on-plug", 3000.0, 0.040),
        ("wasted-spark", 1500.0, 0.040),
        ("distributor", 750.0, 0.040),
    ],
)
def test_period_of_the_pulses(ignition, speed, period_s):
    """W14: a period of 40 ms is 3000 rpm of one coil, 1500 wasted, 750 of a distributor of 4."""
    apart = np.diff(heard(Build(ignition=ignition), speed))
    assert apart == pytest.approx(period_s, rel=1e-9)


@pytest.mark.parametrize(("count", "degrees"), [(3, 240), (4, 180), (5, 144), (6, 120), (8, 90)])
def test_firing_interval(count, degrees):
    """W8 and W9: even intervals of 720/n; at 3000 rpm 75, 100, 125, 150, 200 sparks a second."""
    build = Build(cylinders=count, firing_order=ORDERS.get(count, EIGHT), ignition="distributor")
    apart = np.diff(heard(build, 3000.0))
    assert apart * 18000.0 == pytest.approx(degrees, rel=1e-9)
    assert 1.0 / apart == pytest.approx(25.0 * count, rel=1e-9)


@pytest.mark.parametrize(
    ("order", "pairs"),
    [((1, 3, 4, 2), [(1, 4), (2, 3)]), ((1, 5, 3, 6, 2, 4), [(1, 6), (2, 5), (3, 4)])],
)
def test_wasted_spark_partners(order, pairs):
    """W12: a coil's two cylinders are 360 degrees apart and hear the same sparks."""
    build = Build(cylinders=len(order), firing_order=order, ignition="wasted-spark")
    for one, other in pairs:
        mine = heard(build, 900.0, PickUp(cylinder=one, others=0.0, missed=0.0, scatter=0.0))
        theirs = heard(build, 900.0, PickUp(cylinder=other, others=0.0, missed=0.0, scatter=0.0))
        assert mine == pytest.approx(theirs, abs=1e-9)


def test_other_cylinders_are_heard_faintly():
    made = sparks(Build(), even(900.0), PickUp(missed=0.0, scatter=0.0), np.random.default_rng(1))
    loud = made.heights_v > 1.0
    assert loud.mean() == pytest.approx(0.25, abs=0.02)
    assert made.heights_v[~loud] == pytest.approx(0.36)


def test_missed_sparks():
    made = sparks(Build(), even(3000.0, 60.0), PickUp(missed=0.1), np.random.default_rng(1))
    assert np.mean(made.heights_v == 0.0) == pytest.approx(0.1, abs=0.01)


def test_strikes_follow_each_other_at_idle_only():
    strikes = PickUp(others=0.0, missed=0.0, scatter=0.0, strikes=3)
    idle, fast = heard(Build(), 800.0, strikes), heard(Build(), 2500.0, strikes)
    assert len(idle) == 3 * len(heard(Build(), 800.0))
    assert len(fast) == len(heard(Build(), 2500.0))
    assert np.diff(idle)[:2] == pytest.approx(1.4e-3)


def test_twice_as_often_until_synchronised():
    """Some engines spark in both turns until they know their angle (trade texts)."""
    doubled = PickUp(others=0.0, missed=0.0, scatter=0.0, doubles=True)
    assert np.diff(heard(Build(), 250.0, doubled)) == pytest.approx(60.0 / 250.0)
    assert np.diff(heard(Build(), 700.0, doubled)) == pytest.approx(120.0 / 700.0)


def test_a_spark_rings():
    """Near 8 kHz (trade texts), dying away: zero crossings every half period."""
    time_s = np.arange(20000) / 1e6
    volts = pick_up_volts(time_s, Sparks(np.array([0.004]), np.array([3.0])), PickUp())
    assert np.all(volts[:4000] == 0.0)
    assert volts.max() == pytest.approx(3.0, rel=0.005)
    ringing = volts[4001:5000]
    crossings = np.flatnonzero(np.diff(np.sign(ringing)))
    assert np.diff(crossings).mean() == pytest.approx(62.5, rel=0.01)
    assert abs(volts[4900:5100]).max() == pytest.approx(3.0 * np.exp(-1.0), rel=0.13)
    assert abs(volts[-5000:]).max() < 0.01


def test_no_spark_in_a_diesel():
    build = Build(ignition="compression", fuel="diesel")
    with pytest.raises(ValueError, match="no spark"):
        sparks(build, even(800.0), QUIET, np.random.default_rng(1))
