"""Limit checks: the maker's gauge first, the bearings' below it, and what is left undecided."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import KPA, Stretch, case_of, hand, limit, recording, signal

from gaugewright.evidence.case import Case
from gaugewright.evidence.limits import limit_checks
from gaugewright.evidence.results import LimitCheck
from gaugewright.evidence.visiting import Bounds
from gaugewright.sensing.shared import SharedErrors

FOUND = Stretch("as found", 95.0, 11.0)


def checks(case: Case, *limits: Bounds, switches: tuple[float, float] | None = None):
    return limit_checks(case, limits or (limit(),), switches)[0]


def by(found: list[LimitCheck], side: str) -> LimitCheck:
    [one] = [check for check in found if check.seen_by == side]
    return one


def test_the_gauge_comes_first_and_the_bearings_never_acquit() -> None:
    """The gauge falls short at 85 although the bearings get 97: it still falls short."""
    found = checks(case_of(recording(Stretch("as found", 85.0, -12.0))))
    assert [(c.seen_by, c.verdict) for c in found] == [
        ("gauge", "falls short"),
        ("bearings", "meets"),
    ]


def test_a_pass_of_the_gauge_is_not_one_of_the_bearings() -> None:
    found = checks(case_of(recording(FOUND)))
    assert by(found, "gauge").verdict == "meets"
    assert by(found, "bearings").verdict == "falls short"


def test_bearings_are_held_against_the_limit_less_a_sound_crankcase() -> None:
    bearings = by(checks(case_of(recording(FOUND)), limit(crankcase_pa=-2000.0)), "bearings")
    assert bearings.limit_value == {"min": pytest.approx(92.0)}
    assert bearings.value == pytest.approx(84.0, abs=0.3)


def test_silent_on_the_crankcase_is_flagged_when_a_usual_one_changes_the_verdict() -> None:
    close = recording(Stretch("as found", 92.0, 0.0))
    silent = by(checks(case_of(close), limit(crankcase_pa=None)), "bearings")
    assert silent.verdict == "meets"
    assert "crankcase-of-a-sound-engine-unknown" in silent.flags
    stated = by(checks(case_of(close), limit(crankcase_pa=0.0)), "bearings")
    assert stated.flags == ()
    far = by(checks(case_of(recording(Stretch("a", 150.0))), limit(crankcase_pa=None)), "bearings")
    assert "crankcase-of-a-sound-engine-unknown" not in far.flags


def test_probability_and_guard_band_agree_with_value_and_uncertainty() -> None:
    # JCGM 106:2012, 7.2.2, with the normal distribution or Student's t.
    from scipy.stats import norm

    book = SharedErrors().with_block("sensor", (2 * KPA) ** 2)
    run = recording(FOUND, gradient=lambda v: {"sensor": np.ones(1)})
    gauge = by(checks(case_of(run, book=book), limit(93.0)), "gauge")
    z = (gauge.value - 93.0) / gauge.standard_uncertainty
    assert gauge.probability_of_meeting == pytest.approx(norm.cdf(z), abs=1e-3)
    assert gauge.guard_band == pytest.approx(1.645 * gauge.standard_uncertainty, rel=1e-2)
    assert gauge.verdict == "too close to call"


@pytest.mark.parametrize(
    ("least", "most", "verdict"),
    [
        (90, 350, "meets"),
        (100, 350, "falls short"),
        (20, 90, "exceeds"),
        (95, 350, "too close to call"),
    ],
)
def test_either_end_of_a_limit(least: float, most: float, verdict: str) -> None:
    assert by(checks(case_of(recording(FOUND)), limit(least, most)), "gauge").verdict == verdict


def test_a_stretch_at_another_speed_did_not_visit_the_limits_state() -> None:
    [found] = checks(case_of(recording(replace(FOUND, rpm=1500.0))))
    assert found.verdict == "not measured"
    assert found.condition is None
    assert found.value is None


def test_the_level_is_brought_to_the_limits_speed() -> None:
    """Held at 850 rpm, wanted at 830: 84 kPa at the bearings less 84 x 0.8 x ln(850/830)."""
    run = recording(replace(FOUND, rpm=850.0), hunt_rpm=25.0)
    gauge = by(checks(case_of(run)), "gauge")
    assert gauge.at["engine-speed"].value == 830.0
    assert gauge.value == pytest.approx(95 - 84 * 0.8 * np.log(850 / 830), abs=0.5)


def test_without_a_speed_the_speed_found_is_said() -> None:
    gauge = by(checks(case_of(recording(FOUND)), limit(speed_rpm=None)), "gauge")
    assert gauge.at["engine-speed"].value == pytest.approx(830.0, abs=3)


def test_only_conditions_with_the_set_up_it_asks_for() -> None:
    cap_off = Stretch("cap off", 85.0, 1.0, did=("filler-cap-off",))
    case = case_of(recording(FOUND, cap_off))
    assert {c.condition for c in checks(case)} == {"as found"}
    asked = limit(did=frozenset({"filler-cap-off"}))
    assert {c.condition for c in checks(case, asked)} == {"cap off"}


def test_a_stage_of_the_pump_that_the_limit_names() -> None:
    case = case_of(recording(FOUND))
    low, high = limit(stage="low"), limit(stage="high")
    assert by(checks(case, low, switches=(2100, 2200)), "gauge").verdict == "meets"
    assert checks(case, high, switches=(2100, 2200))[0].verdict == "not measured"


def test_the_level_is_brought_to_the_limits_temperature() -> None:
    """Warmer oil than the limit's is thinner: at the limit's temperature it would show more."""
    run = recording(replace(FOUND, crankcase_kpa=0.0, oil_degc=90.0))
    gauge = by(checks(case_of(run), limit(oil_degc=80.0)), "gauge")
    # A 5W-30 is (1.78 / 0.63) times as thick at 60 as at 100 degC: 2.6 % a kelvin (common
    # practice, no source), to the power 0.9 over 10 K: 1.26.
    assert gauge.value == pytest.approx(95 * 1.26, rel=0.03)
    assert gauge.at["oil-temperature"].value == 80.0
    same = by(checks(case_of(run), limit(oil_degc=90.0)), "gauge")
    # The exponent's 0.15 counts only over a distance: 95 x 1.26 x 0.15 x ln(1.29).
    apart = np.sqrt(gauge.standard_uncertainty**2 - (1.26 * same.standard_uncertainty) ** 2)
    assert apart == pytest.approx(95 * 1.26 * 0.15 * np.log(1.29), rel=0.15)


@pytest.mark.parametrize(
    ("gauge", "verdict"), [(200.0, "meets"), (95.0, "too close to call"), (40.0, "falls short")]
)
def test_unknown_oil_gives_a_verdict_only_if_both_sides_agree(gauge: float, verdict: str) -> None:
    case = case_of(recording(Stretch("as found", gauge, 0.0)))
    found = by(checks(case, limit(oil_degc=80.0)), "gauge")
    assert found.verdict == verdict
    assert "oil-temperature-unknown" in found.flags


def test_a_limit_without_a_temperature_asks_for_none() -> None:
    assert by(checks(case_of(recording(FOUND))), "gauge").flags == ()


def test_disagreeing_instruments_give_no_verdict() -> None:
    run = recording(FOUND)
    second = signal("oil-pressure", run.signals[0].time_s, run.signals[0].values + 40e3, "second")
    found = checks(case_of(replace(run, signals=(*run.signals, second))))
    assert {c.verdict for c in found} == {"too close to call"}
    assert all("instruments-disagree" in c.flags for c in found)


def stopped(side: str) -> Case:
    run = recording(FOUND, crankcase=False)
    at = {side: np.arange(len(run.signals[0].time_s)) % 20 == 0}
    return case_of(replace(run, signals=(replace(run.signals[0], **at),)))


@pytest.mark.parametrize(
    ("side", "least", "most", "verdict", "ends"),
    [
        ("at_high", 90, None, "meets", (1.0, 1.0)),  # at least 95 against a least of 90
        ("at_high", 100, None, "too close to call", (0.0, 1.0)),
        ("at_low", 100, None, "falls short", (0.0, 0.0)),  # at most 95 against 100
        ("at_low", 90, None, "too close to call", (0.0, 1.0)),
        ("at_low", None, 100, "meets", (1.0, 1.0)),
        ("at_high", None, 90, "exceeds", (0.0, 0.0)),
        ("at_high", 90, 350, "too close to call", (0.0, 1.0)),
    ],
)
def test_at_a_stop_a_verdict_only_if_both_ends_agree(
    side: str, least: float, most: float, verdict: str, ends: tuple[float, float]
) -> None:
    found = by(checks(stopped(side), limit(least, most)), "gauge")
    assert found.verdict == verdict
    low, high = found.probability_low, found.probability_high
    if found.probability_of_meeting is not None:
        low = high = found.probability_of_meeting
    assert (low, high) == pytest.approx(ends, abs=1e-6)
    assert "at-stop" in found.flags


def test_hand_readings_take_part() -> None:
    noted = hand("oil-pressure", 80e3, speed_rpm=835.0)
    found = by(checks(case_of(hand=(noted,))), "gauge")
    assert found.verdict == "falls short"


def test_without_a_crankcase_the_bearings_are_not_known_and_that_is_said() -> None:
    found, caveats = limit_checks(case_of(recording(FOUND, crankcase=False)), (limit(),), None)
    assert [c.seen_by for c in found] == ["gauge"]
    assert [c.code for c in caveats] == ["crankcase-not-measured"]


def test_a_limit_on_the_crankcase_itself() -> None:
    asked = limit(-4.0, 1.0, quantity="crankcase-pressure", name="ventilation")
    [found] = checks(case_of(recording(FOUND)), asked)
    assert (found.seen_by, found.verdict) == ("gauge", "exceeds")


def test_the_engine_must_run() -> None:
    off = Stretch("off", 0.0, 0.0, rpm=0.0, length_s=6.0, did=("engine-off",))
    assert {c.condition for c in checks(case_of(recording(off, FOUND)))} == {"as found"}
