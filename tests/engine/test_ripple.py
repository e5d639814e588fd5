"""What repeats with the angle and what doesn't: no mean of its own, the right order, its causes."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine import ripple
from gaugewright.engine.build import Build
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import changed
from gaugewright.engine.plan import planned
from gaugewright.engine.run import run
from gaugewright.engine.sound import sound
from gaugewright.engine.uneven import Uneven

FOUR = Build()
ENGINE = changed(sound(FOUR), {"air.restless": 0.0})
THREE = Build(cylinders=3, firing_order=(1, 2, 3))
RATE_HZ = 10e3


def lane(name, engine=ENGINE, build=FOUR, seconds=8.0, rate_hz=RATE_HZ, **more):
    found = run(build, engine, planned([(seconds, Held())]), rate_hz, 1, lanes=[name], **more)
    late = found.time_s > 2.0
    return found, found.time_s[late], found.lanes[name][late]


def strongest_per_turn(found, values):
    """The frequency with the most power, in events for each turn of the crank."""
    angle = np.interp(
        found.time_s[-len(values) :],
        found.cycle_starts_s,
        2.0 * np.arange(len(found.cycle_starts_s)),
    )
    turns = np.arange(6.0, 70.0, 1.0 / 64.0)
    even = np.interp(turns, angle - angle[0], values)
    power = np.abs(np.fft.rfft((even - even.mean()) * np.hanning(len(even)))) ** 2
    return np.fft.rfftfreq(len(even), 1.0 / 64.0)[np.argmax(power)]


@pytest.mark.parametrize("cylinders", [3, 4, 6, 8])
def test_shapes_have_no_mean(cylinders):
    for table in (ripple.manifold_table(cylinders), ripple.ring_table(cylinders)):
        assert np.mean(0.5 * (table[1:] + table[:-1])) == pytest.approx(0.0, abs=1e-12)
        assert table[0] == pytest.approx(table[-1], abs=1e-12)


def test_pistons_of_four_cylinders_leave_their_second_order():
    """Crank radius squared over four rod lengths: 4 r / (4 l) of the half stroke, twice a turn."""
    table = ripple.piston_table(FOUR, 10.0)
    second = 0.5 * 4.0 / (4.0 * 3.3)
    assert np.ptp(table) == pytest.approx(2.0 * second, rel=0.05)
    assert np.ptp(ripple.piston_table(THREE, 10.0)) < 0.15 * np.ptp(table)


def test_orders():
    """Manifold and crankcase pulse with the firings, the gallery with the pump's lobes."""
    for name, order in (("manifold_pa", 2.0), ("crankcase_pa", 2.0), ("oil_gauge_pa", 10.0)):
        found, _, values = lane(name)
        assert strongest_per_turn(found, values) == pytest.approx(order, abs=0.05), name


def test_random_ripple_grows_with_free_air():
    def unrest(share):
        engine = changed(ENGINE, {"oil.air_share": share})
        _, _, values = lane("oil_over_crankcase_pa", engine)
        slow = np.convolve(values, np.ones(750) / 750.0, "same")[1000:-1000]
        return slow.std() / slow.mean()

    sound_oil, foamy = unrest(0.0), unrest(0.08)
    assert sound_oil < 0.005
    assert foamy > 4.0 * sound_oil


def test_worn_rings_of_one_cylinder_pulse_once_a_cycle():
    engine = changed(ENGINE, {"crankcase.ring_m2": 1e-6})
    found, time_s, even = lane("crankcase_pa", engine, THREE)
    worn = Uneven(THREE.firing_order, rings=(1.0, 4.0, 1.0))
    _, _, uneven = lane("crankcase_pa", engine, THREE, uneven=worn)
    which = found.firing_cylinders[np.searchsorted(found.firings_s, time_s) - 1]
    swings = {number: np.ptp((uneven - even)[which == number]) for number in (1, 2, 3)}
    assert swings[2] > 50.0
    assert swings[1] == swings[3] == 0.0


def test_a_bad_contact_lights_the_lamp_for_its_share():
    engine = changed(ENGINE, {"indication.lamp_forced": 0.3})
    _, _, lit = lane("lamp", engine, seconds=300.0, rate_hz=100.0)
    assert lit.mean() == pytest.approx(0.3, abs=0.1)
    assert 10 < np.sum(np.diff(lit) > 0.0) < 600
    assert lane("lamp")[2].max() == 0.0
