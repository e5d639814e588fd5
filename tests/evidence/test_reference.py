"""The reference check: slopes known by hand, each verdict and each answer at least once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import KPA, Stretch, case_of, hand, limit, recording

from gaugewright.evidence.case import Case
from gaugewright.evidence.limits import limit_checks
from gaugewright.evidence.reference import reference_checks
from gaugewright.evidence.results import LimitCheck, ReferenceCheck
from gaugewright.sensing.shared import SharedErrors


def moved(slope: float, found_kpa: float = 11.0, to_kpa: float = 1.0, gauge_kpa: float = 95.0):
    """As found and with the crankcase brought elsewhere: the gauge follows by this slope."""
    return (
        Stretch("as found", gauge_kpa, found_kpa),
        Stretch(
            "cap off",
            gauge_kpa + slope * (to_kpa - found_kpa),
            to_kpa,
            did=("filler-cap-off",),
        ),
    )


def check(case: Case, pump: str | None = None, limits: tuple = ()) -> ReferenceCheck:
    judged: list[LimitCheck] = limit_checks(case, limits, None)[0] if limits else []
    [found] = reference_checks(case, pump, judged)[0]
    return found


@pytest.mark.parametrize(
    ("slope", "verdict"),
    [
        (1.0, "follows the crankcase"),
        (1.9, "real loss as well"),
        (0.0, "does not follow the crankcase"),
    ],
)
def test_slope_and_verdict(slope: float, verdict: str) -> None:
    found = check(case_of(recording(*moved(slope))))
    assert found.low < slope < found.high
    assert found.slope == pytest.approx(slope, abs=0.15)
    assert found.verdict == verdict
    assert found.conditions == ("as found", "cap off")


def test_an_interval_wider_than_its_bound_is_undecided() -> None:
    # The crankcase moved by 2.5 kPa, the gauge is uncertain by 0.6 in each stretch: wider than 0.8.
    book = SharedErrors()
    stretches = moved(1.0, 3.5, 1.0)
    noted = (
        hand("oil-pressure", 95e3, uncertainty=600.0, speed_rpm=830.0),
        hand("oil-pressure", 92.5e3, "cap off", uncertainty=600.0, speed_rpm=830.0),
    )
    without_oil = recording(*stretches)
    crankcase_only = replace(without_oil, signals=without_oil.signals[1:])
    found = check(case_of(crankcase_only, hand=noted, book=book))
    assert found.high - found.low > 0.8
    assert found.verdict == "undecided"


def test_a_crankcase_that_hardly_moved_is_undecided() -> None:
    found = check(case_of(recording(*moved(1.0, 1.001, 1.0))))
    assert found.verdict == "undecided"
    assert "crankcase-hardly-moved" in found.flags


@pytest.mark.parametrize("pump", ["controlled", "variable"])
def test_where_a_computer_holds_the_pressure_it_is_undecided(pump: str) -> None:
    found = check(case_of(recording(*moved(1.0))), pump)
    assert found.verdict == "undecided"
    assert "pressure-held-by-a-computer" in found.flags


def test_near_the_relief_ceiling_it_is_undecided() -> None:
    """A gauge that does not go with speed though the speed hunts by 4 % is held by its valve."""
    run = recording(*moved(1.0, gauge_kpa=420.0), hunt_rpm=35.0)
    oil, crankcase = run.signals
    rng = np.random.default_rng(4)
    held = np.where(oil.time_s < 27.0, 420.0, 410.0) * KPA
    flat = replace(oil, values=held + 400 * rng.standard_normal(len(held)))
    found = check(case_of(replace(run, signals=(flat, crankcase))))
    assert found.verdict == "undecided"
    assert "near-relief-ceiling" in found.flags


def test_one_condition_alone_gives_effect_and_no_slope() -> None:
    found = check(case_of(recording(moved(1.0)[0])))
    assert found.slope is None
    assert found.verdict == "undecided"
    assert found.effect.low < 11.0 < found.effect.high


def test_effect_is_the_crankcases_gauge_pressure_as_found() -> None:
    effect = check(case_of(recording(*moved(1.0)))).effect
    assert effect.value == pytest.approx(11.0, abs=0.1)
    assert effect.unit == "kPa"


def test_two_levels_have_fiellers_interval() -> None:
    """Hand readings of stated uncertainty: the interval is Fieller's, in closed form."""
    u_y, u_x, t = 300.0, 250.0, 1.959964
    noted = (
        hand("oil-pressure", 95e3, uncertainty=u_y, oil_degc=90.0, speed_rpm=830.0),
        hand("oil-pressure", 85e3, "cap off", uncertainty=u_y, oil_degc=90.0, speed_rpm=830.0),
        hand("crankcase-pressure", 11e3, uncertainty=u_x, speed_rpm=830.0),
        hand("crankcase-pressure", 1e3, "cap off", uncertainty=u_x, speed_rpm=830.0),
    )
    found = check(case_of(hand=noted))
    dx, dy, vx, vy = -10e3, -10e3, 2 * u_x**2, 2 * u_y**2
    low, high = sorted(np.roots([dx**2 - t**2 * vx, -2 * dx * dy, dy**2 - t**2 * vy]))
    # The oil's noted temperatures are uncertain too: never narrower, and a little wider.
    assert found.low <= low + 1e-4
    assert found.high >= high - 1e-4
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.45)


def test_a_shared_gain_of_the_gauge_moves_the_slope_by_no_more_than_itself() -> None:
    book = SharedErrors().with_block("sensor", 0.05**2)
    shared = {"gradient": lambda value: {"sensor": np.array([value])}}
    found = check(case_of(recording(*moved(1.0), **shared), book=book))
    plain = check(case_of(recording(*moved(1.0))))
    assert found.standard_uncertainty == pytest.approx(
        np.hypot(plain.standard_uncertainty, 0.05), rel=0.1
    )


def test_without_a_crankcase_there_is_no_check_and_the_reason_is_said() -> None:
    case = case_of(recording(*moved(1.0), crankcase=False))
    found, caveats = reference_checks(case, None, [])
    assert found == []
    assert [c.code for c in caveats] == ["no-reference-check"]


def test_one_check_for_each_state() -> None:
    fresh = tuple(
        replace(s, name=f"{s.name} again", did=("oil-changed",) if k == 0 else s.did)
        for k, s in enumerate(moved(1.0))
    )
    found, _ = reference_checks(case_of(recording(*moved(1.0), *fresh)), None, [])
    assert [c.conditions for c in found] == [
        ("as found", "cap off"),
        ("as found again", "cap off again"),
    ]


def test_within_a_stretch_a_slow_course_of_the_crankcase_tells() -> None:
    stretch = Stretch("as found", 95.0, 6.0, length_s=60.0)
    run = recording(stretch)
    course = 5 * KPA * np.linspace(-1, 1, len(run.signals[0].time_s))
    both = tuple(replace(s, values=s.values + course) for s in run.signals)
    found = check(case_of(replace(run, signals=both)))
    assert found.low < 1.0 < found.high
    assert found.slope == pytest.approx(1.0, abs=0.3)


def explains(found_kpa: float, gauge_kpa: float, least_kpa: float = 90.0) -> str:
    stretches = moved(1.0, found_kpa, found_kpa + 10, gauge_kpa)
    return check(case_of(recording(*stretches)), limits=(limit(least_kpa),)).explains


@pytest.mark.parametrize(
    ("crankcase", "gauge", "answer"),
    [
        (-12.0, 85.0, "all of it"),  # gauge 85 short of 90, bearings 97 meet
        (-3.0, 80.0, "part of it"),  # gauge 80, bearings 83: both short, effect below zero
        (8.0, 80.0, "nothing"),  # gauge 80, bearings 72: the crankcase only lifts the gauge
        (8.0, 110.0, "nothing"),  # the gauge is not low
        (-3.0, 90.0, "undecided"),  # the gauge is too close to call
    ],
)
def test_how_much_of_a_low_gauge_it_explains(crankcase: float, gauge: float, answer: str) -> None:
    assert explains(crankcase, gauge) == answer


def test_without_a_limit_nobody_knows_whether_the_gauge_is_low() -> None:
    assert check(case_of(recording(*moved(1.0)))).explains == "undecided"


def test_a_gauge_on_the_wrong_unit_is_noticed() -> None:
    """Read 1.45 times too high the same readings give no slope of one: the check can fail."""
    run = recording(*moved(1.0))
    oil, crankcase = run.signals
    wrong = check(
        case_of(replace(run, signals=(replace(oil, values=1.45 * oil.values), crankcase)))
    )
    assert wrong.low > 1.0
