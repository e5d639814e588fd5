"""The slow states one by one: governor, foot, trims, filling, gas, foam, galleries."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine import governor, trims
from gaugewright.engine.build import Build
from gaugewright.engine.filling import filled, rooms
from gaugewright.engine.gallery import followed
from gaugewright.engine.held import Held
from gaugewright.engine.parameters import changed
from gaugewright.engine.plan import planned
from gaugewright.engine.run import run
from gaugewright.engine.sound import sound

FOUR = Build()
ENGINE = sound(FOUR)
OUTSIDE = float(ENGINE.air.barometer_pa)


def did(*actions, **more):
    return Held(did=frozenset(actions), **more)


def states(parts, engine=ENGINE, build=FOUR, seed=2, **more):
    return run(build, engine, planned(parts, **more), 100.0, seed, lanes=[]).slow


def between(slow, name, low, high):
    return slow[name][(slow["time_s"] >= low) & (slow["time_s"] < high)]


def test_a_blocked_vent_fills_the_crankcase_in_seconds():
    """dp/dt = m R T / V of what passes the rings, until leaks take it."""
    tight = changed(ENGINE, {"crankcase.leak_m2": 1e-12, "air.restless": 0.0})
    slow = states([(3.0, Held()), (6.0, did("vent-port-blocked"))], tight)
    time_s, pressure = slow["time_s"], slow["crankcase_pa"]
    early = (time_s > 3.1) & (time_s < 6.0)
    rate = np.polyfit(time_s[early], pressure[early], 1)[0]
    case = tight.crankcase
    theory = np.mean(slow["blow_by_kg_s"][early]) * 287.05 * case.gas_k / case.volume_m3
    assert rate == pytest.approx(theory, rel=0.01)
    assert 300.0 < rate < 3000.0


def test_an_open_cap_empties_it_at_once_without_ringing():
    slow = states([(3.0, Held()), (3.0, did("filler-cap-off"))])
    before, after = between(slow, "crankcase_pa", 2, 3), between(slow, "crankcase_pa", 3.1, 6)
    assert before.mean() < OUTSIDE - 2000.0
    assert np.all(np.abs(after - OUTSIDE) < 60.0)
    assert np.all(np.diff(between(slow, "crankcase_pa", 3.0, 3.5)) > -5.0)


def test_unmetered_air_of_an_open_cap_reaches_the_trims_in_seconds():
    slow = states([(5.0, Held()), (14.0, did("filler-cap-off")), (8.0, Held())])
    total = slow["trim_short"] + slow["trim_long"]
    time_s = slow["time_s"]
    settled = total[(time_s > 16) & (time_s < 19)].mean()
    assert settled > 0.15
    assert total[(time_s > 5.0) & (time_s < 5.3)].max() < 0.2 * settled
    assert total[(time_s > 10) & (time_s < 11)].mean() > 0.65 * settled
    assert total[time_s > 24].mean() < 0.2 * settled


def test_the_long_trim_takes_over_in_about_a_minute():
    open_cap = states([(4.0, Held()), (120.0, did("filler-cap-off"))])
    early, late = (between(open_cap, "trim_long", a, a + 4.0) for a in (8.0, 118.0))
    short = between(open_cap, "trim_short", 118.0, 124.0)
    need = early.mean() + between(open_cap, "trim_short", 8.0, 12.0).mean()
    assert early.mean() < 0.3 * need
    assert late.mean() > 0.8 * need
    assert np.abs(short).mean() < 0.2 * need


def test_trims_stay_within_their_reach():
    now = trims.Trims()
    for _ in range(2000):
        trims.moved(now, 0.6, 0.25, 0.04)
    assert now.given == pytest.approx(0.25, abs=1e-4)
    for _ in range(6000):
        trims.moved(now, -0.6, 0.25, 0.04)
    assert now.given == pytest.approx(-0.25, abs=1e-4)


def test_a_governor_with_too_much_gain_hunts():
    def swing(gain):
        engine = changed(ENGINE, {"air.governor_gain": gain})
        slow = states([(20.0, Held())], engine)
        return between(slow, "speed_rads", 10.0, 20.0).std() * 9.549

    assert swing(1.0) < 8.0
    assert swing(3.5) > 25.0


def test_unmetered_air_at_the_stop_surges_against_the_fuel_cut():
    build = Build(metering="manifold-pressure")
    holed = changed(sound(build), {"air.leak_m2": 30e-6})
    slow = states([(3.0, "start"), (20.0, Held())], holed, build)
    late = slow["time_s"] > 8.0
    speed = slow["speed_rads"][late] * 9.549
    cut = slow["cut"][late]
    assert 0.05 < cut.mean() < 0.95
    assert np.sum(np.diff(cut) > 0) >= 3, "cut again and again"
    assert speed.max() > 1300.0
    assert np.ptp(speed) > 200.0


def test_the_governor_stays_within_its_stops():
    stops = governor.Stops(1e-5, 4e-5, 1.4e-5, 6e-4)
    now = governor.Actuator(2e-5, 2e-5)
    for off in (-2.0, 2.0):
        for _ in range(200):
            governor.idle(now, stops, off, 1.0, 0.05)
        assert now.place == (stops.least if off < 0 else stops.most)
        assert stops.least <= now.integral <= stops.most


def test_a_foot_holds_its_speed():
    slow = states([(3.0, Held()), (12.0, Held(speed_rpm=2500.0))])
    speed = between(slow, "speed_rads", 7.0, 15.0) * 9.549
    assert speed.mean() == pytest.approx(2500.0, rel=0.01)
    assert 1.0 < speed.std() < 60.0, "a foot is never quite still"


def test_foam_and_debris_come_within_a_minute():
    """Towards what the steady engine assumes, exp(-t/40 s)."""
    slow = states([(2.0, Held()), (45.0, Held(speed_rpm=3000.0))])
    at = slow["time_s"] - 2.0
    share = slow["settled"][at > 5.0]
    known = 1.0 - (1.0 - 0.8 / 3.0) * np.exp(-at[at > 5.0] / 40.0)
    assert share == pytest.approx(known, abs=0.05)


def test_galleries_fill_before_they_press():
    time_s = np.arange(0.0, 3.0, 0.05)
    aim, pumped = np.full(60, 150e3), np.full(60, 5e-5)
    full, _ = followed(time_s, aim, pumped, 0.0, 4e-5)
    empty, dry = followed(time_s, aim, pumped, 1.0, 4e-5)
    assert full[5] == pytest.approx(150e3, rel=0.01)
    assert empty[time_s < 0.6].max() == 0.0
    assert empty[-1] == pytest.approx(150e3, rel=1e-3)
    assert dry == 0.0


def test_a_step_of_both_rooms_conserves_mass():
    """Implicit Euler: what a room gains is its balance at the new pressure times the time."""
    from gaugewright.engine import air_path

    held, made = did("filler-cap-off"), rooms(ENGINE)

    def flows_at(manifold, crankcase):
        return air_path.flows(FOUR, ENGINE, held, 800.0, 13e-6, manifold, crankcase, 0.5)

    found = filled(flows_at, made, 32e3, OUTSIDE - 3000.0, 0.0375)
    after = flows_at(np.array([found.manifold_pa]), np.array([found.crankcase_pa]))
    gained = made.crankcase_kg_pa * (found.crankcase_pa - OUTSIDE + 3000.0)
    assert gained == pytest.approx(float(after.crankcase_balance[0]) * 0.0375, rel=0.05)
    drawn = made.manifold_kg_pa * (found.manifold_pa - 32e3)
    assert drawn == pytest.approx(float(after.manifold_balance[0]) * 0.0375, rel=0.05)
