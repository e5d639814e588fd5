"""Why a cause leads: its severity, what it makes of each reading, and which reading speaks."""

from __future__ import annotations

import numpy as np
import pytest
from made_questions import (
    CRANKCASE,
    FAST,
    IDLE,
    OIL,
    question,
    race_from,
    read_of,
    sums_of,
    weighed_of,
)

from gaugewright.causes.explain import predicted_by, severity_of
from gaugewright.causes.judging import Race, judged, word_of
from gaugewright.causes.observation import MARGIN, TRIM
from gaugewright.causes.stated import Least, with_limits
from gaugewright.causes.symptoms import Told
from gaugewright.causes.weighing import Weighed
from gaugewright.evidence.results import Predicted

AMONG = [("nothing-wrong",), ("breather-blocked",), ("fuel-in-oil",), ("worn-bearings",),
         ("intake-leak",), ("fuel-in-oil", "breather-blocked")]  # fmt: skip
ROWS = [(IDLE, [OIL, CRANKCASE, TRIM]), (FAST, [OIL, CRANKCASE, TRIM])]


@pytest.fixture(scope="module")
def blocked() -> Weighed:
    seen = read_of(question(ROWS), {"breather-blocked": 0.6}, seed=3, spread=0.3)
    return weighed_of(with_limits(seen, [Least(60e3, None, 90.0)], "first"), among=AMONG)


@pytest.fixture(scope="module")
def dilute() -> Race:
    """A race with one symptom that speaks for fuel, whatever else is said."""
    seen = read_of(question(ROWS), {"fuel-in-oil": 0.5}, seed=3, spread=0.3)
    for_fuel = np.array([np.log(5.0) if "fuel-in-oil" in h else 0.0 for h in AMONG])
    return race_from(seen, among=AMONG, told=[Told("oil-smell", "fuel", for_fuel)])


def rows(weighed: Weighed, cause: str) -> dict[tuple[str, str], Predicted]:
    return {(p.condition, p.quantity): p for p in predicted_by(weighed, cause)}


def test_every_reading_has_a_row_and_the_limit_has_none(blocked: Weighed) -> None:
    found = rows(blocked, "breather-blocked")
    assert set(found) == {(h.condition, q) for h, names in ROWS for q in names}
    assert MARGIN in {i.quantity for i in blocked.question.observed.items}


def test_rows_are_in_the_findings_own_units(blocked: Weighed) -> None:
    found = rows(blocked, "breather-blocked")
    seen = {(blocked.question.observed.holds[i.place].condition, i.quantity): i
            for i in blocked.question.observed.items}  # fmt: skip
    for key, row in found.items():
        trim = row.quantity == TRIM
        assert row.unit == ("%" if trim else "kPa")
        assert row.read == pytest.approx(seen[key].value * (1.0 if trim else 1e-3))
        assert row.read_low is not None
        assert row.read_high is not None
        assert row.read_low < row.read < row.read_high
        own = np.sqrt(seen[key].own) * (1.0 if trim else 1e-3)
        assert row.read_high - row.read == pytest.approx(1.96 * own)
        assert row.predicted_low < row.predicted < row.predicted_high


def test_the_crankcase_speaks_most_for_a_blocked_breather(blocked: Weighed) -> None:
    found = rows(blocked, "breather-blocked")
    loudest = max(found.values(), key=lambda row: row.speaks)
    assert loudest.quantity == CRANKCASE
    assert loudest.speaks > 1.0
    assert rows(blocked, "worn-bearings")[loudest.condition, CRANKCASE].speaks < -1.0


def test_a_cause_that_fits_predicts_what_was_read_and_one_that_does_not_does_not(
    blocked: Weighed,
) -> None:
    right, wrong = rows(blocked, "breather-blocked"), rows(blocked, "worn-bearings")
    for row in right.values():
        assert abs(row.pull) < 3.0
    crankcase = wrong[IDLE.condition, CRANKCASE]
    assert crankcase.read > crankcase.predicted_high
    assert crankcase.pull > 2.0


def test_severity_holds_what_was_made(blocked: Weighed) -> None:
    """Severity 0.6 from 8 % to 0.1 % free in equal ratios: 0.08 (0.001/0.08)^0.6 = 0.58 %."""
    lead = next(h for h in blocked.hypotheses if h.causes == ("breather-blocked",))
    found = severity_of(blocked, lead)["breather-blocked"]
    true = 100.0 * 0.08 * (0.001 / 0.08) ** 0.6
    assert true == pytest.approx(0.577, abs=1e-3)
    assert found.low is not None
    assert found.high is not None
    assert found.value is not None
    assert found.low <= true <= found.high
    assert found.low <= found.value <= found.high
    assert found.unit == "%"
    assert "free" in found.text


def test_a_cause_without_a_size_has_no_severity(blocked: Weighed) -> None:
    one = next(h for h in blocked.hypotheses if h.causes == ("nothing-wrong",))
    assert severity_of(blocked, one) == {}


def test_a_cause_outside_the_race_predicts_nothing(blocked: Weighed) -> None:
    assert predicted_by(blocked, "relief-valve-shut") == ()


def test_causes_are_sums_over_hypotheses(dilute: Race) -> None:
    told = judged(dilute)
    hypotheses = dilute.probability
    for one in told.causes:
        whole = sum(p for h, p in hypotheses.items() if one.cause in h)
        assert one.probability == pytest.approx(whole)
        assert one.word == word_of(one.probability)
    assert sum(hypotheses.values()) == pytest.approx(1.0)
    assert sum(h.probability for h in told.hypotheses) == pytest.approx(1.0, abs=0.02)
    assert sums_of(dilute.leading)["fuel-in-oil"] == pytest.approx(
        next(c.probability for c in told.causes if c.cause == "fuel-in-oil")
    )
    ranked = [c.probability for c in told.causes]
    assert ranked == sorted(ranked, reverse=True)


def test_a_symptom_speaks_by_its_ratio(dilute: Race) -> None:
    fuel = next(c for c in judged(dilute).causes if c.cause == "fuel-in-oil")
    [symptom] = fuel.symptoms
    assert (symptom.what, symptom.saw) == ("oil-smell", "fuel")
    assert symptom.speaks == pytest.approx(np.log(5.0))
    assert fuel.before is not None
    assert fuel.probability > 3.0 * fuel.before


def test_words_for_the_owner_have_no_gaps() -> None:
    told = [word_of(p) for p in (0.0, 0.019, 0.02, 0.149, 0.15, 0.59, 0.6, 1.0)]
    assert told == ["hardly", "hardly", "not excluded", "not excluded", "possible", "possible",
                    "likely", "likely"]  # fmt: skip
