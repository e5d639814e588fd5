"""How warm the oil was: measured, from the coolant, from a neighbour, or unknown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made import Stretch, case_of, hand, recording

from gaugewright.evidence.case import Case, Situation
from gaugewright.evidence.warmth import steepness
from gaugewright.physics.oil import grade_line

IDLE = Stretch("as found", 95.0)


def first(case: Case) -> Situation:
    return case.situations[0]


def error(case: Case, situation: Situation) -> float:
    warmth = situation.warmth
    shared = case.book.between(warmth.gradient, warmth.gradient)
    return float(np.sqrt(warmth.variance + shared))


def test_measured() -> None:
    warmth = first(case_of(recording(replace(IDLE, oil_degc=88.0)))).warmth
    assert warmth.known
    assert warmth.degc == pytest.approx(88.0)


def test_warm_coolant_stands_in_with_12_k_and_its_doubt() -> None:
    case = case_of(recording(replace(IDLE, coolant_degc=85.0)))
    assert first(case).warmth.degc == pytest.approx(97.0)
    assert error(case, first(case)) == pytest.approx(5.0, abs=0.1)
    assert "oil-temperature-from-coolant" in first(case).warmth.flags


def test_cold_coolant_says_nothing_of_the_oil() -> None:
    case = case_of(recording(replace(IDLE, coolant_degc=40.0)))
    assert not first(case).warmth.known


def test_measured_oil_wins_over_coolant() -> None:
    case = case_of(recording(replace(IDLE, coolant_degc=85.0, oil_degc=90.0)))
    assert first(case).warmth.degc == pytest.approx(90.0)


def test_noted_beside_a_hand_reading() -> None:
    noted = hand("oil-pressure", 95e3, oil_degc=92.0)
    case = case_of(hand=(noted,), noted={("first", "as found"): [92.0]})
    assert first(case).warmth.degc == 92.0


def test_a_neighbour_lends_its_temperature_with_half_a_kelvin_a_minute() -> None:
    later = Stretch("later", 93.0, length_s=238.0)
    run = recording(replace(IDLE, oil_degc=88.0, length_s=58.0), later)
    case = case_of(run)
    borrowed = case.situations[1]
    # From the middle of the one (30 s) to that of the other (180 s): 2.5 minutes.
    assert borrowed.warmth.degc == pytest.approx(88.0)
    assert error(case, borrowed) == pytest.approx(0.5 * 2.5, abs=0.1)
    assert "oil-temperature-from-neighbour" in borrowed.warmth.flags


def test_two_unknown_stretches_differ_by_half_a_kelvin_a_minute() -> None:
    later = Stretch("later", 93.0, length_s=238.0)
    case = case_of(recording(replace(IDLE, length_s=58.0), later))
    one, other = (s.warmth.gradient for s in case.situations)
    from gaugewright.sensing.shared import plus

    apart = plus(one, other, -1.0)
    assert np.sqrt(case.book.between(apart, apart)) == pytest.approx(0.5 * 2.5, abs=0.1)
    assert not case.situations[0].warmth.known


def test_pressure_follows_viscosity_to_its_power() -> None:
    case = case_of(recording(replace(IDLE, oil_degc=100.0)))
    situation = first(case)
    [held] = situation.held("oil-pressure", "atmosphere")
    oil = grade_line("5W-30").at
    moved = case.at_warmth(situation, held, 80.0)
    assert moved.level.value == pytest.approx(
        held.level.value * (oil(80.0) / oil(100.0)) ** 0.9, rel=2e-3
    )
    assert moved.level.value != pytest.approx(held.level.value * oil(80.0) / oil(100.0), rel=2e-3)


def test_the_crankcases_share_does_not_thin() -> None:
    """84 of the gauge's 95 kPa go with the oil, the crankcase's 11 do not."""
    case = case_of(recording(Stretch("as found", 95.0, 11.0, oil_degc=100.0)))
    situation = first(case)
    [held] = situation.held("oil-pressure", "atmosphere")
    oil = grade_line("5W-30").at
    thicker = (oil(80.0) / oil(100.0)) ** 0.9
    moved = case.at_warmth(situation, held, 80.0)
    assert moved.level.value - held.level.value == pytest.approx(84.0e3 * (thicker - 1), rel=0.01)


def test_steepness_is_the_logarithmic_derivative() -> None:
    # ASTM D341 two-point line through 32 cSt at 40 and 5.4 at 100 degC: 8.533 cSt at 80 and
    # 15.186 at 60 degC, a mean steepness of ln(15.186/8.533)/20 between them.
    from gaugewright.physics.oil import viscosity_line

    oil = viscosity_line(32.0, 40.0, 5.4, 100.0).at
    mean = np.mean([steepness(oil, at) for at in np.arange(60.5, 80.0, 1.0)])
    assert mean == pytest.approx(np.log(15.186 / 8.533) / 20, rel=1e-3)
