"""Which story the owner's page tells, and that no rule lets a bad verdict read as a good one."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report_sample import VARIANTS, check, findings, job, judged, outcome, p, recording

from gaugewright.analysis.outcome import Outcome
from gaugewright.report import blocks, missing, telling, words
from gaugewright.report.handover import handover_page
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import states_of, story_of, sureness

VERDICTS = ("meets", "falls short", "exceeds", "too close to call")


def said_on(page: blocks.Page) -> str:
    """Every word of a page, drawings included."""
    return str(blocks.as_data(page))


def told(made: Outcome) -> str:
    story = story_of(made.job, made.findings)
    return telling.headline(story, made.job, made.findings)


def with_verdicts(gauge: str, bearings: str | None, preferences: Preferences) -> Outcome:
    made = judged(100.0, 100.0)
    chance = {"meets": 0.999, "too close to call": 0.6}
    checks = [check("as found", "gauge", 100.0, gauge, chance.get(gauge, 0.001))]
    if bearings:
        checks.append(check("as found", "bearings", 99.0, bearings, chance.get(bearings, 0.001)))
    del preferences
    return replace(made, findings=replace(made.findings, limit_checks=tuple(checks)))


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(VERDICTS), st.sampled_from((*VERDICTS, None)))
def test_a_failed_gauge_is_never_talked_round(gauge: str, bearings: str | None) -> None:
    made = with_verdicts(gauge, bearings, PREFERENCES)
    head = told(made)
    page = said_on(handover_page(made, PREFERENCES, 0))
    if gauge != "meets":
        assert "meets the maker" not in head
        assert "they get enough" not in head
        assert "meets at the bearings" not in page
    if gauge in ("falls short", "exceeds"):
        assert words.FAILS_BOLD in page
        assert f"{gauge} at the gauge" in page
    if bearings in ("falls short", "exceeds"):
        assert f"{bearings} at the bearings" in page
        assert words.FAILS_BOLD in page
        assert head != words.HEAD_MEETS.format(quantity="oil pressure")


PREFERENCES = Preferences(printed=__import__("datetime").date(2031, 3, 6))


def test_the_worst_limit_is_the_headline() -> None:
    whole = outcome()
    checks = tuple(
        replace(c, verdict="falls short", probability_of_meeting=0.0, value=150.0)
        if c.limit == "at 2000 rpm" and c.visit == "oil changed"
        else c
        for c in whole.findings.limit_checks
    )
    made = replace(whole, findings=replace(whole.findings, limit_checks=checks))
    story = story_of(made.job, made.findings)
    assert story is not None
    assert story.limit is not None
    assert story.limit.name == "at 2000 rpm"
    assert told(made) == "The oil pressure falls short of the maker\u2019s limit."


def test_a_provoked_condition_does_not_stand_for_the_engine() -> None:
    whole = judged(95.0, 94.0)
    provoked = check("as found", "gauge", 60.0, "falls short", 0.0, condition="filler cap off")
    checks = (*whole.findings.limit_checks, provoked)
    made = replace(whole, findings=replace(whole.findings, limit_checks=checks))
    story = story_of(made.job, made.findings)
    assert story is not None
    assert [t.condition for t in story.told] == ["hot idle"]


def test_a_lasting_action_begins_a_new_state() -> None:
    entry = recording("as found")
    entry["condition"] = [
        {"name": "before", "from": p("1 s", 1.0), "to": p("9 s", 9.0)},
        {"name": "after", "from": p("20 s", 20.0), "to": p("30 s", 30.0), "did": "oil-changed"},
        {"name": "later", "from": p("40 s", 40.0), "to": p("50 s", 50.0)},
    ]
    states = states_of(job(visit=[{"name": "as found"}], recording=[entry]))
    assert [state.conditions for state in states] == [("before",), ("after", "later")]
    assert states[1].since == ("oil-changed",)


@pytest.mark.parametrize(
    ("verdict", "chance", "said"),
    [
        ("meets", 0.995, "very sure"),
        ("meets", 0.96, "sure"),
        ("falls short", 0.004, "very sure"),
        ("falls short", 0.04, "sure"),
        ("too close to call", 0.6, None),
    ],
)
def test_how_sure_in_words(verdict: str, chance: float, said: str | None) -> None:
    assert sureness(check("as found", "gauge", 95.0, verdict, chance)) == said


def test_a_range_of_chances_counts_by_its_worse_end() -> None:
    made = check("as found", "gauge", 95.0, "meets", None, probability_low=0.96, probability_high=1)
    assert sureness(made) == "sure"


def test_the_lamp_is_heard() -> None:
    seen = [{"what": "lamp", "saw": "on at hot idle", "visit": "oil changed"}]
    made = replace(outcome(), job=job(observation=seen))
    assert "yet the oil lamp comes on" in told(made)
    before = [{"what": "lamp", "saw": "on at hot idle", "visit": "as found"}]
    made = replace(outcome(), job=job(observation=before))
    assert words.NOT_THE_LAMP in missing.not_tested(made.job, made.findings, None)


def test_what_was_not_tested_follows_from_what_is_missing() -> None:
    made = VARIANTS["hand_only"]()
    said = missing.not_tested(made.job, made.findings, None)
    assert words.NOT_THE_BEARINGS in said
    assert words.NOT_THE_SPEED in said
    assert words.NOT_THE_TEMPERATURE in said
    full = missing.not_tested(job(), findings(), story_of(job(), findings()))
    assert not any("oil pressure" in line for line in full)
