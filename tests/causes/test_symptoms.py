"""What was seen, told and stored, as evidence."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugewright.causes import catalogue, rows, symptoms
from gaugewright.causes.catalogue import NAMES, Hypothesis
from gaugewright.causes.symptoms import chance_of, code_groups, log_likelihoods, signs
from gaugewright.causes.view import JobView, Observed, codes_of, view_of
from gaugewright.job.model import Job
from gaugewright.job.words import OBSERVATIONS

SINGLES: list[Hypothesis] = [(name,) for name in NAMES]
EVERY: list[Hypothesis] = [*SINGLES, *catalogue.pairs()]


def view(*seen: tuple[str, str], codes: tuple[str, ...] = (), **kind: str) -> JobView:
    return JobView(seen=tuple(Observed("first", *one) for one in seen), codes=codes, **kind)


def total(job: JobView, known: bool = False, measured: tuple[str, ...] = ()) -> dict[str, float]:
    told = log_likelihoods(job, SINGLES, known, measured)
    summed = sum((one.log_likelihoods for one in told), np.zeros(len(SINGLES)))
    return dict(zip(NAMES, summed, strict=True))


def test_every_word_of_the_job_format_has_its_chance() -> None:
    assert set(signs()) == set(OBSERVATIONS)
    for what, sign in signs().items():
        assert {*sign.rows.words} == {*OBSERVATIONS[what]} - {"not known"}
        assert set(sign.rows.of_cause) == set(NAMES)


@pytest.mark.parametrize("what", list(OBSERVATIONS))
def test_rows_add_up_and_none_is_zero(what: str) -> None:
    table = rows.table(signs()[what].rows, EVERY)
    assert table.sum(axis=0) == pytest.approx(1.0)
    assert table.min() >= 0.003
    assert 0.0 < signs()[what].exponent <= 1.0


def test_the_table_names_only_what_is_known() -> None:
    stated = symptoms._file()
    assert set(stated) == {"format", "codes", *OBSERVATIONS}
    for what in OBSERVATIONS:
        assert set(stated[what]["but"]) <= set(NAMES)
        for row in [stated[what]["default"], *stated[what]["but"].values()]:
            assert set(row) <= set(OBSERVATIONS[what])
    for group in stated["codes"].values():
        assert set(group["but"]) <= set(NAMES)


@pytest.mark.parametrize(
    ("job", "cause"),
    [
        (view(("oil-level", "not on the dipstick")), "oil-level-low"),
        (view(("oil-foam", "foam"), ("oil-level", "above maximum")), "oil-aerated"),
        (view(("oil-smell", "fuel"), ("oil-level", "rising")), "fuel-in-oil"),
        (view(("done-before", "oil of another grade")), "oil-thin"),
        (view(("lamp", "on in bends or when braking")), "oil-level-low"),
        (view(("lamp", "dark with the ignition on")), "indication-fault"),
        (view(("lamp", "on at every speed"), ("noise", "none")), "indication-fault"),
        (view(("noise", "whistle")), "ventilation-regulator-torn"),
        (view(("noise", "knock under load")), "worn-bearings"),
        (view(("noise", "hiss"), ("began", "after a repair")), "intake-leak"),
        (view(("smoke", "blue when driving"), ("began", "slowly")), "worn-rings"),
        (view(codes=("P0520",)), "indication-fault"),
        (view(codes=("P06DD",)), "pump-control-stuck"),
        (view(codes=("P052E",)), "ventilation-regulator-torn"),
        (view(codes=("P04DB",)), "crankcase-open"),
        (view(codes=("P0011",)), "internal-leak"),
        (view(codes=("P0172",)), "fuel-in-oil"),
    ],
    ids=str,
)
def test_a_sign_speaks_for_the_cause_the_trade_names(job: JobView, cause: str) -> None:
    """Common practice, no source: the trade's table of causes and signatures; SAE J2012 codes."""
    found = total(job)
    assert max(found, key=lambda name: found[name]) == cause


def test_what_was_not_seen_says_nothing() -> None:
    assert log_likelihoods(JobView(), EVERY, False) == ()
    assert log_likelihoods(view(("began", "not known"), codes=("P9999",)), EVERY, False) == ()


def test_a_symptom_enters_once() -> None:
    once = total(view(("noise", "whistle"), codes=("P0171",)))
    assert total(view(("noise", "whistle"), ("noise", "whistle"), codes=("P0171",))) == once
    more = total(view(("noise", "whistle"), codes=("P0171", "P0174", "P2279")))
    assert more == pytest.approx(once)


def test_the_dark_lamp_chose_the_odds_and_says_no_more() -> None:
    assert log_likelihoods(view(("lamp", "never on")), EVERY, False) == ()


def test_beside_measured_pressure_the_lamp_says_only_what_it_does_not_say() -> None:
    lit = view(("lamp", "on at hot idle"))
    assert total(lit, known=True) == pytest.approx(total(view(("lamp", "on at speed")), known=True))
    spread = np.ptp(list(total(lit).values()))
    assert np.ptp(list(total(lit, known=True).values())) < spread
    bends = total(view(("lamp", "on in bends or when braking")), known=True)
    assert bends["oil-level-low"] - bends["oil-thin"] > 1.0


def test_codes_that_repeat_a_reading_count_for_less() -> None:
    job = view(codes=("P0171",), metering="air-mass")
    free, beside = total(job), total(job, measured=("fuel-trim-long",))
    assert np.ptp(list(beside.values())) < 0.5 * np.ptp(list(free.values()))
    otherwise = total(view(codes=("P0171",), metering="manifold-pressure"))
    assert np.ptp(list(otherwise.values())) < np.ptp(list(free.values()))


def test_noisy_or_by_hand() -> None:
    """Without a leak 1 - (1 - 0.5)(1 - 0.4) = 0.7; with one of 0.1: 1 - 0.3 / 0.9."""
    half, less, none, leak = (np.array([x]) for x in (0.5, 0.4, 0.0, 0.1))
    assert rows.either(half, less, none)[0] == pytest.approx(0.7)
    assert rows.either(half, less, leak)[0] == pytest.approx(1.0 - 0.3 / 0.9)
    assert rows.either(half, leak, leak)[0] == pytest.approx(0.5)


def test_of_two_causes_the_one_that_shows_is_seen() -> None:
    sign = signs()["oil-level"].rows
    at = sign.words.index("below minimum")
    single = rows.table(sign, [("oil-level-low",)])[at, 0]
    pair = rows.table(sign, [("ventilation-regulator-torn", "oil-level-low")])[at, 0]
    mean = rows.table(sign, SINGLES)[at].mean()
    assert pair > 0.7 * single > mean


def test_two_causes_store_a_code_as_either_would() -> None:
    group = code_groups()["lean"]
    one, other = group.of_cause["ventilation-regulator-torn"], group.of_cause["oil-thin"]
    pair = chance_of(group, [("oil-thin", "ventilation-regulator-torn")])[0]
    assert other == group.default
    assert pair == pytest.approx(one)


@given(st.sampled_from(EVERY), st.sampled_from(EVERY))
def test_order_and_company_of_hypotheses_make_no_difference(
    one: Hypothesis, other: Hypothesis
) -> None:
    job = view(("oil-level", "falling"), ("noise", "hiss"), codes=("P0300",))
    alone = [told.log_likelihoods[0] for told in log_likelihoods(job, [one], False)]
    both = [told.log_likelihoods[1] for told in log_likelihoods(job, [other, one], False)]
    assert alone == both


def test_a_view_is_of_the_visit_as_found() -> None:
    job = Job.model_validate(
        {
            "format": 1,
            "title": "t",
            "vehicle": {"cylinders": 4, "cycle": "four-stroke", "ventilation": "regulator"},
            "complaint": {"codes": ["p0171 ", "P0171-00", "none"]},
            "visit": [{"name": "first"}, {"name": "second"}],
            "observation": [
                {"visit": "first", "what": "oil-level", "saw": "below minimum"},
                {"visit": "second", "what": "oil-level", "saw": "between the marks"},
            ],
        }
    )
    found = view_of(job)
    assert (found.words("oil-level"), found.codes) == (("below minimum",), ("P0171",))
    assert found.ventilation == "regulator"
    later = view_of(job, "second")
    assert (later.words("oil-level"), later.codes) == (("between the marks",), ())


def test_codes_are_read_as_they_are_noted() -> None:
    assert codes_of(("P2187 (pending)", "u0100", "lean")) == ("P2187", "U0100")
