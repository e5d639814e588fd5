"""Matches: brought to one speed, sharing errors, and refused where they mean nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import KPA, Stretch, case_of, hand, recording

from gaugewright.evidence.case import Case
from gaugewright.evidence.matches import matches
from gaugewright.evidence.results import Match
from gaugewright.sensing.shared import SharedErrors

FOUND = Stretch("as found", 95.0, 11.0)
CAP_OFF = Stretch("cap off", 85.0, 1.0, did=("filler-cap-off",))


def told(case: Case, reference: str = "atmosphere", **more: object) -> list[Match]:
    made, _ = matches(case, more.get("switches"))
    return [m for m in made if (m.quantity, m.reference) == ("oil-pressure", reference)]


def codes(case: Case, switches: tuple[float, float] | None = None) -> set[str]:
    return {caveat.code for caveat in matches(case, switches)[1]}


def test_to_minus_from_within_a_state() -> None:
    [match] = told(case_of(recording(FOUND, CAP_OFF)))
    assert (match.from_, match.to) == ("as found", "cap off")
    assert match.low < -10.0 < match.high
    assert match.difference == pytest.approx(-10.0, abs=0.6)
    assert not match.extrapolated
    [bearings] = told(case_of(recording(FOUND, CAP_OFF)), "crankcase")
    assert bearings.low < 0.0 < bearings.high


def test_speeds_are_made_equal_before_they_are_compared() -> None:
    """850 rpm against 830 rpm: 0.8 x 84 x ln(850/830) of the difference is speed alone."""
    quicker = replace(FOUND, name="quicker", rpm=850.0, gauge_kpa=95 + 84 * 0.8 * 0.0238)
    [match] = told(case_of(recording(FOUND, quicker, hunt_rpm=20.0)))
    assert match.at["engine-speed"].value == pytest.approx(840.0, abs=2)
    assert match.low < 0.0 < match.high
    assert abs(match.difference) < 0.7


def test_every_condition_is_compared_with_the_first_of_its_state() -> None:
    third = replace(CAP_OFF, name="dipstick out", did=("dipstick-tube-open",))
    made = told(case_of(recording(FOUND, CAP_OFF, third)))
    assert [(m.from_, m.to) for m in made] == [
        ("as found", "cap off"),
        ("as found", "dipstick out"),
    ]


def test_a_lasting_action_begins_a_new_state() -> None:
    changed = replace(FOUND, name="fresh oil", did=("oil-changed",), gauge_kpa=110.0)
    after = replace(CAP_OFF, name="cap off again", gauge_kpa=100.0)
    made = told(case_of(recording(FOUND, CAP_OFF, changed, after)))
    assert [(m.from_, m.to) for m in made] == [
        ("as found", "cap off"),
        ("fresh oil", "cap off again"),
    ]


def test_equal_names_are_compared_across_visits() -> None:
    later = recording(replace(FOUND, gauge_kpa=103.0), visit="second", name="later", seed=2)
    [match] = told(case_of(recording(FOUND), later))
    assert (match.from_visit, match.visit) == ("first", "second")
    assert match.difference == pytest.approx(8.0, abs=0.7)


def sharing(block: np.ndarray) -> tuple[SharedErrors, dict[str, object]]:
    """True value = indicated + offset + gain times indicated, both shared by the sensor."""
    book = SharedErrors().with_block("sensor", block)
    return book, {"gradient": lambda value: {"sensor": np.array([1.0, value])}}


def test_an_offset_of_the_one_sensor_cancels() -> None:
    book, shared = sharing(np.diag([(5 * KPA) ** 2, 0.0]))
    [plain] = told(case_of(recording(FOUND, CAP_OFF)))
    [match] = told(case_of(recording(FOUND, CAP_OFF, **shared), book=book))
    assert match.standard_uncertainty == pytest.approx(plain.standard_uncertainty, rel=0.02)


def test_a_gain_keeps_only_its_share_of_the_difference() -> None:
    book, shared = sharing(np.diag([0.0, 0.1**2]))
    [plain] = told(case_of(recording(FOUND, CAP_OFF)))
    [match] = told(case_of(recording(FOUND, CAP_OFF, **shared), book=book))
    assert match.standard_uncertainty == pytest.approx(
        np.hypot(plain.standard_uncertainty, 1.0), rel=0.05
    )


def test_no_speed_no_match_and_the_reason_said() -> None:
    case = case_of(recording(FOUND, CAP_OFF, speed_known=False))
    assert told(case) == []
    assert "speed-unknown" in codes(case)


def test_a_hand_reading_without_speed_makes_no_match() -> None:
    noted = (hand("oil-pressure", 95e3), hand("oil-pressure", 85e3, condition="cap off"))
    case = case_of(hand=noted)
    assert told(case) == []
    assert "speed-unknown" in codes(case)


def test_a_hand_reading_with_its_speed_makes_one() -> None:
    noted = (
        hand("oil-pressure", 95e3, speed_rpm=830.0),
        hand("oil-pressure", 85e3, condition="cap off", speed_rpm=830.0),
    )
    [match] = told(case_of(hand=noted))
    assert match.difference == pytest.approx(-10.0)
    # Two independent readings of 0.3 kPa each, and at most a minute's unknown warming.
    assert match.standard_uncertainty >= 0.3 * np.sqrt(2) * 0.999


def test_across_the_pumps_step_no_match_is_given_only_the_reason() -> None:
    fast = replace(FOUND, name="fast", rpm=2600.0, gauge_kpa=300.0, did=("speed-raised",))
    case = case_of(recording(FOUND, fast))
    assert told(case, switches=(2100.0, 2200.0)) == []
    assert "pump-stage-between" in codes(case, (2100.0, 2200.0))
    both_low = case_of(recording(FOUND, CAP_OFF))
    assert len(told(both_low, switches=(2100.0, 2200.0))) == 1


def test_far_apart_in_speed_is_said_to_be_an_extrapolation() -> None:
    fast = replace(FOUND, name="fast", rpm=1500.0, gauge_kpa=140.0, did=("speed-raised",))
    [match] = told(case_of(recording(FOUND, fast)))
    [near] = told(case_of(recording(FOUND, CAP_OFF)))
    assert match.extrapolated
    assert match.standard_uncertainty > 5 * near.standard_uncertainty


def test_engine_off_and_cranking_are_not_matched() -> None:
    off = Stretch("off", 0.0, 0.0, rpm=0.0, length_s=5.0, did=("engine-off",))
    made = told(case_of(recording(off, FOUND, CAP_OFF)))
    assert [(m.from_, m.to) for m in made] == [("as found", "cap off")]


def test_matches_are_meant_at_equal_oil_temperature() -> None:
    """5 K warmer oil explains a lower pressure; a SAE 5W-30 loses about 2.3 % a kelvin of its
    viscosity near 90 degC, of pressure 0.9 times that: common practice, no source."""
    cool = replace(FOUND, crankcase_kpa=0.0, oil_degc=88.0)
    warm = replace(cool, name="later", oil_degc=93.0, gauge_kpa=95.0 * (1 - 5 * 0.9 * 0.024))
    [match] = told(case_of(recording(cool, warm)))
    assert match.low < 0.0 < match.high
    assert abs(match.difference) < 2.0
    [blind] = told(case_of(recording(replace(cool, oil_degc=None), replace(warm, oil_degc=None))))
    assert blind.difference == pytest.approx(-10.3, abs=0.7)
    assert "oil-temperature-unknown" in blind.flags
