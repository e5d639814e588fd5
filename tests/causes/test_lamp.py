"""What the lamp says beside a gauge: the signs, and what is left unsaid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from made_questions import COLD, CRANKCASE, FAST, IDLE, OIL, OUTSIDE_PA, question, valued
from scipy.stats import norm

from gaugewright.causes.lamp import idle_gauge, lamp_likelihoods
from gaugewright.causes.observation import Observed

ENGINE, WIRING, GAUGE = ("worn-bearings",), ("indication-fault",), ("test-fault",)
BOTH = ("worn-bearings", "indication-fault")
HYPOTHESES = [ENGINE, WIRING, GAUGE, BOTH]


HOT = replace(IDLE, oil_degc=105.0)
"""As hot as the owner's oil gets."""


def gauge(kpa: float) -> Observed:
    return valued(question([(HOT, [OIL])]), np.array([1e3 * kpa]))


def told(
    words: list[str],
    kpa: float,
    switch: tuple[float, float] | None = (35e3, 3e3),
    least_pa: float | None = None,
) -> dict[tuple[str, ...], float]:
    found = lamp_likelihoods(words, HYPOTHESES, gauge(kpa), OUTSIDE_PA, switch, least_pa)
    assert found is not None
    return dict(zip(HYPOTHESES, np.exp(found), strict=True))


def test_a_lit_lamp_at_a_good_pressure_speaks_for_the_indication() -> None:
    found = told(["on at hot idle"], 120.0)
    assert found[WIRING] > 5.0 * found[ENGINE]
    assert found[BOTH] == found[WIRING]


def test_a_lit_lamp_at_a_low_pressure_speaks_against_it_a_little() -> None:
    found = told(["on at every idle"], 15.0)
    assert found[ENGINE] > found[WIRING] > 0.8 * found[ENGINE]


def test_a_watched_sensor_may_light_the_lamp_not_far_below_the_limit() -> None:
    def for_wiring(kpa: float, least_kpa: float | None) -> float:
        least = None if least_kpa is None else 1e3 * least_kpa
        found = told(["on at hot idle"], kpa, None, least)
        return float(found[WIRING] / found[ENGINE])

    assert for_wiring(90.0, 120.0) < 0.7 * for_wiring(90.0, None)
    assert for_wiring(300.0, 120.0) == pytest.approx(for_wiring(300.0, None), rel=0.02)
    stated = told(["on at hot idle"], 90.0, least_pa=120e3)
    assert stated == told(["on at hot idle"], 90.0)


def test_a_dark_lamp_at_a_low_pressure_speaks_for_the_indication() -> None:
    found = told(["never on"], 10.0)
    assert found[WIRING] > 1.5 * found[ENGINE]


def test_a_dark_lamp_at_a_good_pressure_speaks_against_it() -> None:
    found = told(["never on"], 120.0)
    assert found[ENGINE] > 1.5 * found[WIRING]


def test_a_lit_lamp_at_a_good_pressure_leaves_room_for_a_wrong_gauge() -> None:
    found = told(["flickers at idle"], 70.0)
    assert found[GAUGE] > 1.3 * found[ENGINE]


def test_the_chance_is_that_of_the_pressure_below_the_switch() -> None:
    """A normal for gauge, the owner's own idle, switch and its play; a slip of 12 % either way."""
    spread = np.sqrt(1e3**2 + (0.2 * 38e3) ** 2 + 3e3**2 + 4e3**2)
    chance = norm.cdf((35e3 - 38e3) / spread)
    assert told(["on at hot idle"], 38.0)[ENGINE] == pytest.approx(0.12 + 0.76 * chance)
    assert told(["never on"], 38.0)[ENGINE] == pytest.approx(0.12 + 0.76 * (1.0 - chance))


def test_the_owners_oil_was_as_hot_as_it_gets() -> None:
    """2.4 % less for each kelvin from the 90 degC read to 105 degC."""
    cooler = valued(question([(IDLE, [OIL])]), np.array([100e3]))
    found = idle_gauge(cooler, OUTSIDE_PA)
    assert found is not None
    assert IDLE.oil_degc == 90.0
    assert found[0] == pytest.approx(100e3 * np.exp(-0.024 * 15.0))


def test_an_unstated_switch_closes_where_makers_have_it() -> None:
    """15 to 55 kPa (published, makes left out): at the ends the lamp is nearly settled."""
    assert told(["on at hot idle"], 10.0, None)[ENGINE] > 0.8
    assert told(["on at hot idle"], 75.0, None)[ENGINE] < 0.16


@pytest.mark.parametrize(
    "words", [[], ["on at speed"], ["dark with the ignition on"], ["never on", "on at hot idle"]]
)
def test_words_that_leave_idle_open_say_nothing(words: list[str]) -> None:
    assert lamp_likelihoods(words, HYPOTHESES, gauge(80.0), OUTSIDE_PA, None) is None


def test_without_a_gauge_at_idle_nothing_is_said() -> None:
    for rows in ([(FAST, [OIL])], [(IDLE, [CRANKCASE])]):
        found = lamp_likelihoods(["never on"], HYPOTHESES, question(rows), OUTSIDE_PA, None)
        assert found is None


def test_the_warmest_idle_as_found_counts() -> None:
    after = replace(IDLE, gone=("oil-changed",), oil_degc=110.0)
    cap = replace(IDLE, did=frozenset({"filler-cap-off"}), oil_degc=105.0)
    rows = question([(COLD, [OIL]), (HOT, [OIL]), (FAST, [OIL]), (after, [OIL]), (cap, [OIL])])
    found = idle_gauge(valued(rows, np.array([400e3, 70e3, 300e3, 120e3, 65e3])), OUTSIDE_PA)
    assert found is not None
    assert found == pytest.approx((70e3, np.hypot(1e3, 14e3)))


def test_an_absolute_gauge_is_brought_to_the_outside_air_and_a_differential_one_left_out() -> None:
    base = valued(question([(HOT, [OIL])]), np.array([171e3]))
    absolute = replace(base, items=(replace(base.items[0], reference="vacuum"),))
    found = idle_gauge(absolute, 101e3)
    assert found is not None
    assert found == pytest.approx((70e3, np.hypot(1e3, 14e3)))
    between = replace(base, items=(replace(base.items[0], reference="crankcase"),))
    assert idle_gauge(between, 101e3) is None
