"""Holes: found again at the size they were made, and told only where air was read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from made_questions import (
    BUILD,
    CAP_OFF,
    CRANKCASE,
    FAST,
    IDLE,
    MANIFOLD,
    OIL,
    SPEED,
    Floats,
    question,
    race_from,
    read_of,
)

from gaugewright.causes.leaks import LEAST, leaks
from gaugewright.causes.observation import TRIM
from gaugewright.engine.faults import FAULTS
from gaugewright.engine.parameters import value
from gaugewright.engine.sound import sound
from gaugewright.evidence.results import Leak
from gaugewright.physics.gas_flow import SHARP_EDGE

ROWS = [
    (IDLE, [CRANKCASE, MANIFOLD, SPEED, TRIM]),
    (FAST, [CRANKCASE, MANIFOLD, TRIM]),
    (CAP_OFF, [CRANKCASE, TRIM]),
]
AMONG = [("nothing-wrong",), ("intake-leak",), ("ventilation-regulator-torn",),
         ("crankcase-open",), ("breather-blocked",)]  # fmt: skip
HOLES = {
    "intake-leak": ("air.leak_m2", "outside air to manifold"),
    "ventilation-regulator-torn": ("crankcase.tear_m2", "outside air to crankcase"),
    "crankcase-open": ("crankcase.leak_m2", "outside air to crankcase"),
}


def round_mm(area_m2: float) -> float:
    """A sharp-edged hole of this effective area: A = Cd pi d^2 / 4."""
    return float(2e3 * np.sqrt(area_m2 / (0.7 * np.pi)))


def made(cause: str, severity: float, seed: int) -> tuple[float, tuple[Leak, ...]]:
    """The hole that was made, in mm, and the holes that were found."""
    seen = read_of(question(ROWS), {cause: severity}, seed=seed, spread=0.4)
    faulty = FAULTS[cause].applied(BUILD, sound(BUILD), severity)
    area = float(np.asarray(value(faulty, HOLES[cause][0])))
    return round_mm(area), leaks(race_from(seen, among=AMONG))


def test_the_coefficient_is_the_one_the_holes_are_told_for() -> None:
    assert pytest.approx(0.7, abs=0.1) == SHARP_EDGE


def test_a_known_hole_is_found_within_its_interval() -> None:
    true, found = made("intake-leak", 0.5, 4)
    [one] = [leak for leak in found if leak.path == "outside air to manifold"]
    factor = np.sqrt(0.7 / SHARP_EDGE)
    assert one.low < true * factor < one.high
    assert one.diameter.value == pytest.approx(true * factor, rel=0.25)
    assert one.low < one.diameter.value < one.high
    assert one.diameter.unit == "mm"
    assert one.diameter.standard_uncertainty == pytest.approx(
        (one.high - one.diameter.value) / 1.96
    )
    assert one.discharge_coefficient == SHARP_EDGE


def test_a_larger_hole_is_told_larger() -> None:
    _, small = made("intake-leak", 0.2, 4)
    _, large = made("intake-leak", 0.9, 4)
    sizes = [next(x.diameter.value for x in found) for found in (small, large)]
    assert sizes[1] > 1.3 * sizes[0]


@pytest.mark.slow
@pytest.mark.parametrize("cause", HOLES)
def test_most_intervals_hold_the_hole(cause: str) -> None:
    """Twelve engines each: at least nine of the 95 % intervals hold what was made."""
    factor = np.sqrt(0.7 / SHARP_EDGE)
    held, told = 0, 0
    for seed in range(12):
        true, found = made(cause, 0.25 + 0.05 * seed, 20 + seed)
        mine = [x for x in found if x.path == HOLES[cause][1]]
        told += bool(mine)
        held += any(x.low <= true * factor <= x.high for x in mine)
    assert told >= 10
    assert held >= 9


def test_no_hole_where_no_air_was_read() -> None:
    seen = read_of(question([(IDLE, [OIL])]), {"intake-leak": 0.6})
    assert leaks(race_from(seen, among=[("intake-leak",), ("ventilation-regulator-torn",)])) == ()


def test_no_hole_of_a_cause_that_hardly_counts() -> None:
    seen = read_of(question(ROWS), {"breather-blocked": 0.6}, seed=3, spread=0.2)
    race = race_from(seen, among=AMONG)
    sums: Sequence[float] = [p for h, p in race.probability.items() if "intake-leak" in h]
    assert sum(sums) < LEAST
    assert all(one.path != "outside air to manifold" for one in leaks(race))


def test_areas_and_diameters_go_together() -> None:
    """1 mm2 effective at 0.7 is a hole of 1.35 mm."""
    area: Floats = np.array([1e-6])
    assert round_mm(float(area[0])) == pytest.approx(1.3487, abs=1e-3)
