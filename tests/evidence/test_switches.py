"""Switch checks: shares of time that can be counted on the fingers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import KPA, Stretch, case_of, hand, recording

from gaugewright.evidence.case import Case
from gaugewright.evidence.results import SwitchCheck
from gaugewright.evidence.switches import LampSwitch, lit_share, switch_checks

LAMP = LampSwitch("lamp", "oil-pressure", 35 * KPA, 10 * KPA, 0.0, 0.0)


def test_share_of_time_below() -> None:
    pressure = np.array([40.0, 30.0, 30.0, 40.0, 20.0])
    assert lit_share(pressure, np.ones(5), 35.0, 0.0) == pytest.approx(0.6)
    assert lit_share(pressure, np.array([1, 1, 1, 1, 6.0]), 35.0, 0.0) == pytest.approx(0.8)


def test_the_lamp_lights_only_after_its_delay() -> None:
    # Below for 2 s and for 1 s of 5 s: after a delay of 1.5 s it is lit for 0.5 s.
    pressure = np.array([40.0, 30.0, 30.0, 40.0, 20.0])
    assert lit_share(pressure, np.ones(5), 35.0, 1.5) == pytest.approx(0.1)
    assert lit_share(pressure, np.ones(5), 35.0, 2.0) == 0.0


def check(case: Case, lamp: LampSwitch = LAMP, seen: tuple[str, ...] = ()) -> SwitchCheck:
    [found] = switch_checks(case, (lamp,), frozenset(seen))
    return found


def dipping() -> Case:
    """Below 35 kPa for a quarter of the time: 20 kPa then, 60 kPa otherwise."""
    run = recording(Stretch("as found", 60.0, 0.0), crankcase=False, hunt_rpm=0.0)
    oil = run.signals[0]
    low = np.where(oil.time_s % 8 < 2, 20 * KPA, 60 * KPA)
    return case_of(replace(run, signals=(replace(oil, values=low),)))


def test_share_in_a_condition() -> None:
    found = check(dipping())
    assert found.lamp_on_share == pytest.approx(0.25, abs=0.05)
    assert found.explains_lamp == "cannot say"


@pytest.mark.parametrize(("gauge", "answer"), [(15.0, "yes"), (120.0, "no"), (36.0, "cannot say")])
def test_whether_it_explains_a_lamp_that_was_seen(gauge: float, answer: str) -> None:
    case = case_of(recording(Stretch("as found", gauge, 0.0)))
    assert check(case, seen=("first",)).explains_lamp == answer
    assert check(case).explains_lamp == "cannot say"
    assert check(case, seen=("another",)).explains_lamp == "cannot say"


def test_tolerance_makes_the_share_an_interval() -> None:
    found = check(case_of(recording(Stretch("as found", 40.0, 0.0))))
    assert (found.lamp_on_share, found.share_low, found.share_high) == (0.0, 0.0, 1.0)


def test_pressure_lost_on_the_way_closes_it_earlier() -> None:
    lossy = replace(LAMP, offset_pa=30 * KPA, tolerance_pa=1 * KPA)
    found = check(case_of(recording(Stretch("as found", 58.0, 0.0))), lossy)
    assert found.lamp_on_share == 1.0


def test_a_hand_reading_is_all_or_nothing() -> None:
    assert check(case_of(hand=(hand("oil-pressure", 20e3),))).lamp_on_share == 1.0


def test_not_with_the_engine_off() -> None:
    off = Stretch("off", 0.0, 0.0, rpm=0.0, length_s=6.0, did=("engine-off",))
    found = switch_checks(case_of(recording(off, Stretch("as found", 95.0))), (LAMP,), frozenset())
    assert [c.condition for c in found] == ["as found"]


def test_a_wrong_closing_pressure_gives_another_share() -> None:
    assert check(dipping(), replace(LAMP, closes_pa=70 * KPA)).lamp_on_share > 0.9
