"""What is predicted of each reading, against the steady engine asked one condition at a time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_questions import (
    BLOCKED,
    BUILD,
    CAP_OFF,
    COLD,
    CRANKCASE,
    FAST,
    IDLE,
    MANIFOLD,
    OIL,
    OUTSIDE_PA,
    SPEED,
    Floats,
    question,
    sound_engines,
)

from gaugewright.causes.model import Variants, asked, engine_of, predictions
from gaugewright.causes.noise import COURSE_SHARE
from gaugewright.causes.observation import Observed, Seen
from gaugewright.causes.stated import Least, with_limits
from gaugewright.engine import held as engine_held
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.parameters import changed
from gaugewright.engine.plan import planned
from gaugewright.engine.run import run
from gaugewright.engine.sound import sound
from gaugewright.engine.steady import Solved, solve

ROWS = [
    (IDLE, [OIL, CRANKCASE, MANIFOLD, SPEED, "air-flow"]),
    (FAST, [OIL, CRANKCASE]),
    (CAP_OFF, [OIL, CRANKCASE, SPEED]),
    (COLD, [OIL]),
]
HOLDS = {
    "idle": engine_held.Held(),
    "2500 rpm": engine_held.Held(did=frozenset({"speed-raised"}), speed_rpm=2500.0, for_s=15.0),
    "filler-cap-off": engine_held.Held(did=frozenset({"filler-cap-off"})),
}


def variants(causes: tuple[str, ...], count: int, seed: int = 1) -> Variants:
    rng = np.random.default_rng(seed)
    z = 0.7 * rng.standard_normal((count, sound_engines().count))
    return Variants(causes, rng.random((count, len(causes))), z)


def told(one: Solved, item: Seen) -> Floats:
    of: dict[str, Floats] = {
        OIL: one.gauge_pa,
        CRANKCASE: one.crankcase_over_pa,
        MANIFOLD: one.manifold_pa,
        SPEED: one.speed_rpm,
        "air-flow": one.metered_kg_s,
    }
    return np.asarray(of[item.quantity][0])


def test_blocks_together_are_what_each_engine_alone_would_be() -> None:
    observed, healthy = question(ROWS[:3]), sound_engines()
    blocks = [
        variants((), 3),
        variants(("worn-bearings",), 4),
        variants(("breather-blocked", "fuel-in-oil"), 3),
    ]
    found = predictions(asked(observed, healthy), blocks)
    for block, values in zip(blocks, found, strict=True):
        assert values.shape == (block.count, len(observed.items))
        for n in range(block.count):
            engine = changed(healthy.middle, healthy.values(block.z[n : n + 1]))
            for k, cause in enumerate(block.causes):
                engine = FAULTS[cause].applied(BUILD, engine, block.severity[n, k])
            for j, item in enumerate(observed.items):
                hold = HOLDS[observed.holds[item.place].condition]
                warm = replace(hold, oil_degc=90.0 + float(healthy.oil_k(block.z[n : n + 1])[0]))
                alone = told(solve(BUILD, engine, [warm]), item)
                assert values[n, j] == pytest.approx(alone[0], rel=1e-4, abs=1.0 if j else 1e-3)


def test_a_reading_against_a_vacuum_differs_by_the_barometer() -> None:
    three = tuple(Seen(0, OIL, r, 0.0, 0.0, np.zeros(0), ()) for r in
                  ("atmosphere", "vacuum", "crankcase"))  # fmt: skip
    two = tuple(Seen(0, CRANKCASE, r, 0.0, 0.0, np.zeros(0), ()) for r in ("atmosphere", "vacuum"))
    manifold = tuple(Seen(0, MANIFOLD, r, 0.0, 0.0, np.zeros(0), ()) for r in
                     ("atmosphere", "vacuum"))  # fmt: skip
    observed = Observed((IDLE,), (*three, *two, *manifold), np.zeros((7, 7)))
    [values] = predictions(asked(observed, sound_engines()), [variants(("breather-blocked",), 5)])
    gauge, absolute, bearings, case, case_absolute, depth, manifold_pa = values.T
    assert absolute - gauge == pytest.approx(OUTSIDE_PA)
    assert gauge - bearings == pytest.approx(case)
    assert case_absolute - case == pytest.approx(OUTSIDE_PA)
    assert manifold_pa - depth == pytest.approx(OUTSIDE_PA)


def test_a_wrong_gauge_is_wrong_and_the_engine_is_not() -> None:
    observed = question([(IDLE, [OIL, CRANKCASE])])
    z = np.zeros((1, sound_engines().count))
    ask = asked(observed, sound_engines())
    right, wrong = predictions(
        ask,
        [Variants((), np.zeros((1, 0)), z), Variants(("test-fault",), np.array([[0.0]]), z)],
    )
    assert wrong[0, 0] == pytest.approx(0.97 * right[0, 0] - 8e3, rel=1e-6)
    assert wrong[0, 1] == pytest.approx(right[0, 1])


def test_a_fault_that_was_put_right_is_gone_and_others_stay() -> None:
    after = replace(IDLE, gone=("oil-changed",))
    observed = question([(IDLE, [OIL]), (after, [OIL])])
    z = np.zeros((1, sound_engines().count))
    grave = np.array([[0.7]])
    names = ((), ("oil-thin",), ("worn-bearings",))
    blocks = [Variants(n, grave[:, : len(n)], z) for n in names]
    sound_, thin, worn = (v[0] for v in predictions(asked(observed, sound_engines()), blocks))
    assert thin[0] < 0.9 * sound_[0]
    assert thin[1] == pytest.approx(sound_[1])
    assert worn[0] == pytest.approx(worn[1])
    assert worn[1] < 0.9 * sound_[1]


def test_a_limit_is_predicted_of_the_sound_engine_whatever_the_cause() -> None:
    """Logarithm of the sound engine's gauge over the limit, at the limit's own state."""
    limit = Least(100e3, 900.0, 100.0)
    observed = with_limits(question([(IDLE, [OIL])]), [limit], "first")
    healthy = sound_engines()
    z = np.zeros((1, healthy.count))
    found = predictions(
        asked(observed, healthy),
        [Variants((), np.zeros((1, 0)), z), Variants(("worn-bearings",), np.array([[1.0]]), z)],
    )
    hold = engine_held.Held(
        did=frozenset({"speed-raised"}), speed_rpm=900.0, oil_degc=100.0, for_s=5.0
    )
    gauge = solve(BUILD, sound(BUILD), [hold]).gauge_pa[0, 0]
    assert found[0][0, 1] == pytest.approx(np.log(gauge / 100e3), abs=1e-3)
    assert found[1][0, 1] == found[0][0, 1]
    assert found[1][0, 0] < 0.8 * found[0][0, 0]


def test_idle_pressure_is_told_for_the_speed_that_was_read() -> None:
    """Below its relief valve a pump gives pressure nearly in proportion to speed (published
    hydraulics: flow with speed, clearances laminar)."""
    slow, fast = (replace(IDLE, speed_rpm=rpm) for rpm in (760.0, 840.0))
    observed = question([(slow, [OIL]), (fast, [OIL])])
    z = np.zeros((1, sound_engines().count))
    [values] = predictions(asked(observed, sound_engines()), [Variants((), np.zeros((1, 0)), z)])
    power = np.log((values[0, 1] + 2600) / (values[0, 0] + 2600)) / np.log(840.0 / 760.0)
    assert power == pytest.approx(0.9, abs=0.05)


def test_a_blocked_stretch_is_a_course_from_where_it_came() -> None:
    brief, long_ = (replace(BLOCKED, length_s=s) for s in (0.5, 600.0))
    observed = question([(IDLE, [CRANKCASE]), (brief, [CRANKCASE]), (long_, [CRANKCASE])])
    ask = asked(observed, sound_engines())
    assert ask.starts[0] is None
    assert ask.holds[ask.starts[1] or -1].did == frozenset()
    z = np.zeros((1, sound_engines().count))
    [values] = predictions(ask, [Variants((), np.zeros((1, 0)), z)])
    idle, soon, late = values[0]
    usual = sound_engines().middle
    settled = solve(BUILD, usual, [engine_held.Held(did=BLOCKED.did)])
    assert idle < soon < late
    assert late == pytest.approx(settled.crankcase_over_pa[0, 0], rel=0.01)


def test_a_blocked_stretch_fills_as_the_engine_in_time_does() -> None:
    """The mean over 8 s, a second left out, of the engine run in time; within the share of how far
    it moved that the model's error gives a course."""
    plan = planned([(4.0, engine_held.Held()), (9.0, engine_held.Held(did=BLOCKED.did))])
    lived = run(BUILD, sound(BUILD), plan, 200.0, 3, lanes=("crankcase_pa",))
    time = np.asarray(lived.time_s)
    inside = (time > 5.0) & (time < 13.0)
    level = np.asarray(lived.lanes["crankcase_pa"]) - OUTSIDE_PA
    mean, start = level[inside].mean(), level[time < 4.0].mean()
    z = np.zeros((1, sound_engines().count))
    ask = asked(question([(BLOCKED, [CRANKCASE])]), sound_engines())
    [values] = predictions(ask, [Variants((), np.zeros((1, 0)), z)])
    assert mean - start > 3000.0
    assert values[0, 0] == pytest.approx(mean, abs=COURSE_SHARE * (mean - start))


def test_an_engine_that_stalls_predicts_nothing() -> None:
    observed = question([(IDLE, [OIL])])
    healthy = sound_engines()
    z = np.zeros((1, healthy.count))
    z[0, healthy.names.index("air.friction")] = 14.0
    z[0, healthy.names.index("air.breathing")] = -14.0
    [values] = predictions(asked(observed, healthy), [Variants((), np.zeros((1, 0)), z)])
    assert np.isnan(values).all()


def test_no_readings_and_no_engines_are_legal() -> None:
    nothing = Observed((), (), np.zeros((0, 0)))
    ask = asked(nothing, sound_engines())
    assert predictions(ask, []) == []
    [values] = predictions(ask, [variants((), 4)])
    assert values.shape == (4, 0)


def test_engine_of_leaves_out_what_was_mended() -> None:
    block = variants(("oil-thin",), 3)
    healthy = sound_engines()
    assert np.all(np.asarray(engine_of(healthy, block).oil.thinned) < 0.9)
    assert np.all(np.asarray(engine_of(healthy, block, ("oil-changed",)).oil.thinned) == 1.0)
