"""A run as a whole: what it holds, its chances, and that our own rotation finds its speed."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.engine.build import Build
from gaugewright.engine.crank_wheel import ToothedWheel
from gaugewright.engine.held import Held
from gaugewright.engine.ignition import PickUp
from gaugewright.engine.parameters import changed
from gaugewright.engine.plan import Plan, Step, planned
from gaugewright.engine.run import run
from gaugewright.engine.scene import Fitted
from gaugewright.engine.sound import sound
from gaugewright.engine.uneven import Uneven
from gaugewright.job.model import SignalEntry, Vehicle
from gaugewright.recording.types import Column
from gaugewright.rotation.ignition import rotation_from_ignition
from gaugewright.rotation.wheels import rotation_from_wheel

FOUR = Build()
THREE = Build(cylinders=3, firing_order=(1, 2, 3))
DIESEL = Build(fuel="diesel", ignition="compression", metering="none")
WHOLE = planned(
    [
        (1.5, "engine-off"),
        (5.0, "start"),
        (3.0, Held()),
        (2.0, Held(did=frozenset({"filler-cap-off"}))),
        (2.0, Held(speed_rpm=2500.0)),
        (3.0, "snap"),
        (3.5, "engine-off"),
    ]
)


def lived(plan, build=FOUR, engine=None, rate_hz=1000.0, seed=4, **more):
    return run(build, engine or sound(build), plan, rate_hz, seed, **more)


@pytest.mark.parametrize("build", [FOUR, THREE, DIESEL])
def test_every_lane_is_whole(build):
    found = lived(WHOLE, build)
    assert len(found.time_s) == 20000
    assert ("ignition_v" in found.lanes) == (build is not DIESEL)
    for name, values in found.lanes.items():
        assert values.shape == found.time_s.shape, name
        unread = name.startswith("trim") and build.metering == "none"
        assert np.isnan(values).all() if unread else np.isfinite(values).all(), name


def test_the_seed_is_all_chance():
    once, again, other = lived(WHOLE), lived(WHOLE), lived(WHOLE, seed=5)
    for name, values in once.lanes.items():
        assert np.array_equal(values, again.lanes[name]), name
    assert not np.array_equal(once.lanes["oil_gauge_pa"], other.lanes["oil_gauge_pa"])


def test_a_lane_is_the_same_whichever_others_are_asked_for():
    every = lived(WHOLE)
    for name in ("oil_gauge_pa", "ignition_v", "cylinder_3_pa"):
        alone = lived(WHOLE, lanes=[name])
        assert set(alone.lanes) == {name}
        assert np.array_equal(alone.lanes[name], every.lanes[name])


def test_standing_it_shows_the_outside_air():
    found = lived(planned([(2.0, "engine-off")]))
    outside = float(sound(FOUR).air.barometer_pa)
    for name in ("crankcase_pa", "manifold_pa", "cylinder_1_pa", "cylinder_2_pa"):
        assert found.lanes[name] == pytest.approx(outside, abs=1.0)
    for name in ("oil_gauge_pa", "speed_rpm", "crank_v", "starter_a", "air_kg_s"):
        assert found.lanes[name] == pytest.approx(0.0, abs=1.0)
    assert np.all(found.lanes["lamp"] == 1.0)
    assert len(found.firings_s) == 0


def test_it_starts_idles_and_stops():
    found = lived(WHOLE)
    speed, time_s = found.lanes["speed_rpm"], found.time_s
    assert speed[time_s < 1.4].max() == 0.0
    cranking = (time_s > 1.7) & (found.lanes["starter_a"] > 0.0)
    assert 180.0 < speed[cranking].mean() < 330.0
    assert speed[(time_s > 7.5) & (time_s < 9.5)].mean() == pytest.approx(800.0, rel=0.02)
    assert speed[-500:].max() == 0.0
    assert np.all(found.lanes["lamp"][(time_s > 6.0) & (time_s < 16.0)] == 0.0)


def test_a_run_goes_on_where_another_ended():
    first = lived(planned([(4.0, Held())], from_s=0.0))
    second = lived(planned([(2.0, Held())], from_s=4.0), start=first.end)
    assert second.time_s[0] == 4.0
    for name in ("manifold_pa", "crankcase_pa", "speed_rads"):
        assert second.slow[name][0] == pytest.approx(first.slow[name][-1], rel=1e-12)
    again = lived(planned([(2.0, Held())], from_s=4.0), start=first.end)
    assert np.array_equal(again.lanes["speed_rpm"], second.lanes["speed_rpm"])


def test_a_snap_fills_the_manifold_and_races_the_engine():
    found = lived(planned([(2.0, Held()), (5.0, "snap"), (4.0, Held())]))
    assert found.lanes["manifold_pa"].max() > 95e3
    assert 1800.0 < found.lanes["speed_rpm"].max() < 5000.0
    assert found.slow["manifold_pa"].min() < 25e3, "the lifted throttle draws deep vacuum"
    assert found.slow["cut"].max() == 1.0


def test_cranking_shows_the_weak_cylinder():
    weak = Uneven(FOUR.firing_order, compression=(1.0, 1.0, 0.7, 1.0))
    found = lived(planned([(4.0, "cranking")]), rate_hz=4000.0, uneven=weak)
    assert found.lanes["speed_rpm"][found.time_s > 1.0].max() < 400.0
    late = (found.firings_s > 1.5) & (found.firings_s < 3.9)
    firings, order = found.firings_s[late], found.firing_cylinders[late].tolist()
    peaks = [found.lanes["starter_a"][np.abs(found.time_s - at) < 0.03].max() for at in firings]
    means = {c: np.mean([p for p, o in zip(peaks, order, strict=True) if o == c]) for c in order}
    assert min(means, key=means.get) == 3
    others = [mean for cylinder, mean in means.items() if cylinder != 3]
    assert means[3] < 0.95 * min(others)
    assert np.ptp(others) < 0.05 * np.mean(others)
    squeezed = [found.lanes[f"cylinder_{c}_pa"][found.time_s > 2.0].max() for c in (1, 2, 3, 4)]
    assert squeezed[2] / squeezed[0] == pytest.approx(0.7, abs=0.02)


def test_the_battery_gives_way_under_the_starter():
    found = lived(planned([(1.0, "engine-off"), (5.0, "start")]))
    volts = found.lanes["battery_v"]
    assert volts[:500] == pytest.approx(12.6)
    assert 7.0 < volts.min() < 9.5
    assert volts[-500:] == pytest.approx(14.1)


@pytest.mark.parametrize("speed", [None, 1500.0, 2500.0])
def test_our_rotation_finds_the_speed_from_sparks(speed):
    found = lived(planned([(8.0, Held(speed_rpm=speed))]), rate_hz=20e3, lanes=["ignition_v"])
    vehicle = Vehicle(cylinders=4, cycle="four-stroke", ignition="coil-on-plug")
    entry = SignalEntry(column="spark", quantity="ignition", unit="V")
    column = Column("spark", found.time_s, found.lanes["ignition_v"], 1.0 / 20e3, 0.0, "V")
    rotation, _ = rotation_from_ignition("made/spark", column, entry, vehicle)
    assert rotation is not None
    # Each end of a cycle is found to one period of the ringing.
    check_speed(rotation, found, within=2.2 / 8000.0 * (speed or 800.0) / 120.0 + 0.0005)


@pytest.mark.parametrize("kind", ["reluctance", "square"])
@pytest.mark.parametrize(("positions", "missing"), [(60, 2), (36, 1)])
def test_our_rotation_finds_the_speed_from_wheels(kind, positions, missing):
    fitted = Fitted(crank=ToothedWheel(positions, missing, kind))
    plan = planned([(6.0, Held())])
    found = lived(plan, rate_hz=20e3, lanes=["crank_v"], fitted=fitted)
    vehicle = Vehicle(cylinders=4, cycle="four-stroke", ignition="coil-on-plug")
    entry = SignalEntry(
        column="wheel", quantity="crank", unit="V", teeth=positions, missing=missing
    )
    column = Column("wheel", found.time_s, found.lanes["crank_v"], 1.0 / 20e3, 0.0, "V")
    rotation, _ = rotation_from_wheel("made/wheel", column, entry, vehicle)
    assert rotation is not None
    check_speed(rotation, found, within=0.001)


def check_speed(rotation, found, within):
    """Every good cycle's speed against the angle the engine truly turned meanwhile."""
    angle = np.interp(rotation.edges_s, found.cycle_starts_s, np.arange(len(found.cycle_starts_s)))
    inside = (rotation.edges_s[:-1] > found.cycle_starts_s[0]) & (
        rotation.edges_s[1:] < found.cycle_starts_s[-1]
    )
    true = 120.0 * np.diff(angle) / np.diff(rotation.edges_s)
    good = rotation.good & inside
    assert good.sum() > 0.9 * inside.sum() > 30
    assert np.max(np.abs(rotation.speed_rpm[good] / true[good] - 1.0)) < within


def test_misfires_are_seen_in_the_speed_within_the_cycle():
    engine = changed(sound(FOUR), {"air.restless": 0.0})
    plan = planned([(12.0, Held())])
    even = lived(plan, engine=engine).slow["speed_rads"]
    misfiring = changed(engine, {"air.misfire_share": 0.05})
    uneven = lived(plan, engine=misfiring).slow
    assert np.abs(np.diff(even)).max() < 0.3
    missed = uneven["work_j"][:-1] == 0.0
    assert np.mean(missed) == pytest.approx(0.05, abs=0.03)
    assert np.diff(uneven["speed_rads"])[missed].max() < -0.8


def test_a_lean_engine_is_restless():
    def unrest(engine):
        return lived(planned([(12.0, Held())]), engine=engine).slow["work_j"][100:].std()

    rich = sound(FOUR)
    lean = changed(rich, {"air.leak_m2": 6e-6, "air.trim_reach": 0.1})
    assert unrest(lean) > 2.0 * unrest(rich)


def test_multi_strike_and_wasted_sparks_reach_the_pick_up():
    wasted = Build(ignition="wasted-spark")
    plan = planned([(4.0, Held())])
    pick_up = Fitted(PickUp(missed=0.0, scatter=0.0, strikes=3, others=0.0, shape="square"))
    volts = lived(plan, wasted, rate_hz=20e3, lanes=["ignition_v"], fitted=pick_up)
    high = volts.lanes["ignition_v"] > 1.0
    assert high.mean() > 2.0 * 2.5e-3 * 800.0 / 120.0


@pytest.mark.parametrize(
    ("what", "text"),
    [
        (lambda: lived(WHOLE, lanes=["boost_pa"]), 'found the lane "boost_pa"'),
        (lambda: lived(WHOLE, DIESEL, lanes=["ignition_v"]), 'found the lane "ignition_v"'),
        (
            lambda: lived(WHOLE, engine=changed(sound(FOUR), {"oil.fuel_share": np.zeros(3)})),
            "found 3 variants of an engine; a run is of one",
        ),
        (lambda: Plan(()), "found a plan without a step"),
        (lambda: Plan((Step(2.0, 1.0),)), "found a step from 2.0 to 1.0 s"),
        (lambda: Plan((Step(0.0, 1.0), Step(2.0, 3.0))), "let each begin where the one before"),
        (lambda: Plan((Step(0.0, 1.0, move="push"),)), 'found the move "push"'),  # type: ignore[arg-type]
        (
            lambda: lived(planned([(2.0, Held(load_nm=500.0))])),
            "this engine doesn't run as the plan's first step holds it",
        ),
    ],
)
def test_what_cannot_be_run_is_said(what, text):
    with pytest.raises(ValueError, match=text):
        what()
