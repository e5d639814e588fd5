"""What a test showed, noted in the job, counts as its table says and is not proposed again."""

from __future__ import annotations

import numpy as np
import pytest

from gaugewright.causes import tested as showing
from gaugewright.causes import tests as doing
from gaugewright.causes.view import JobView, Observed, view_of
from gaugewright.job.model import Job
from gaugewright.job.reading import job_from_bytes
from gaugewright.job.words import TESTED

JOB = """
format = 1
title = "a cut filter"
[vehicle]
cylinders = 4
cycle = "four-stroke"
[[observation]]
what = "filter-cut"
saw = "bearing metal"
note = "a teaspoon of it"
[[reading]]
condition = "hot idle"
quantity = "oil-pressure"
value = "0.7 bar"
"""
ALONE = [("worn-bearings",), ("oil-thin",), ("worn-bearings", "oil-thin")]


def job() -> Job:
    return job_from_bytes(JOB.encode(), "job.toml")


def test_every_look_without_a_word_of_its_own_has_one_in_the_job_format() -> None:
    looks = {test.name: test for test in doing.every_test() if test.kind == "look"}
    assert set(TESTED) == {name for name, test in looks.items() if test.answers == (name,)}
    for name, words in TESTED.items():
        assert len(set(words)) == len(words) > 1
        assert looks[name].rows is not None
        assert looks[name].rows.usual in words


def test_the_table_of_tests_has_weights_for_these_words_and_no_other() -> None:
    for row in doing._file()["test"]:
        if row["name"] in TESTED:
            words = set(TESTED[row["name"]])
            assert set(row["default"]) == words, row["name"]
            assert all(set(weights) <= words for weights in row["but"].values()), row["name"]


def test_bearing_metal_moves_the_odds_by_its_table() -> None:
    found = showing.tested(view_of(job()), ALONE)
    assert [(one.what, one.saw) for one in found] == [("filter-cut", "bearing metal")]
    worn, thin, both = found[0].log_likelihoods
    # tests.toml: 78 of 100 with worn bearings, 2 of 100 without; 0.4 % of slips in every word
    by_hand = np.log((0.988 * 0.78 + 0.004) / (0.988 * 0.02 + 0.004))
    assert worn - thin == pytest.approx(by_hand)
    assert thin < both <= worn + 0.05


def test_a_test_done_twice_counts_once() -> None:
    def seen(*words: str) -> JobView:
        return JobView(seen=tuple(Observed("first", "filter-cut", word) for word in words))

    (clean,) = showing.tested(seen("clean"), ALONE)
    (metal,) = showing.tested(seen("bearing metal"), ALONE)
    halves = showing.tested(seen("clean", "bearing metal", "clean"), ALONE)
    summed = sum(one.log_likelihoods for one in halves)
    assert summed == pytest.approx(0.5 * (clean.log_likelihoods + metal.log_likelihoods))


def test_what_a_test_showed_at_a_later_visit_says_nothing_of_the_car_as_found() -> None:
    later = JobView(seen=(Observed("repaired", "filter-cut", "bearing metal"),))
    assert showing.tested(later, ALONE) == ()


def test_a_test_whose_outcome_is_noted_is_not_proposed_again() -> None:
    names = {test.name for test in doing.tests_for(view_of(job()))}
    assert "filter-cut" not in names
    assert "staged-blocking" in names
