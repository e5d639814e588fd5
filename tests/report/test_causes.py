"""Causes, leaks and next tests on the pages: when each sentence is said, and never to acquit."""

from __future__ import annotations

import dataclasses
import math
import re
from dataclasses import replace

import jsonschema
import pytest
from cause_sample import BREATHER, FUEL, LEAKS, TESTS, WEIGHED, weighed
from hypothesis import given, settings
from hypothesis import strategies as st
from report_rendered import FORBIDDEN, files, handover, record
from report_sample import content, findings, job, judged, outcome, preferences, recording

from gaugewright.analysis.findings_json import as_data
from gaugewright.analysis.findings_schema import schema
from gaugewright.analysis.outcome import Outcome
from gaugewright.causes.tests import KNOCK, every_test
from gaugewright.evidence.results import CauseWeight, Hypothesis, Predicted, Symptom
from gaugewright.report import blocks, causes, display, next_tables, owner_causes, words
from gaugewright.report.cause_tables import which_cause
from gaugewright.report.handover import handover_page
from gaugewright.report.record import record_page

WIDTH = 473.0


def sheet(made: Outcome, level: int = 0) -> str:
    """Every word of the owner's page."""
    return str(blocks.as_data(handover_page(made, preferences(), level)))


def whole(made: Outcome) -> str:
    """Every word of the work record."""
    return str(blocks.as_data(record_page(made, preferences())))


def weight(cause: str, probability: float, word: str = "") -> CauseWeight:
    return CauseWeight(cause, probability, word)


# The owner's page ---------------------------------------------------------------------


def test_the_owner_reads_each_cause_under_its_word() -> None:
    said = handover("weighed")
    assert "Likely: The engine cannot breathe out" in said
    assert "Possible: Fuel has got into the oil" in said
    assert "Not excluded: Piston rings worn, bearings worn and something that these" in said
    assert "unrelated to it, fuel in the oil" in said


def test_what_hardly_can_be_is_not_named_to_the_owner() -> None:
    made = weighed(causes=(weight("worn-pump", 0.9), weight("oil-thin", 0.01, "hardly")))
    assert owner_causes.owner_says("worn-pump") in sheet(made)
    assert causes.name("oil-thin") not in sheet(made)


def test_every_sentence_for_the_owner_keeps_the_house_rule() -> None:
    for cause in words.CAUSE:
        said = owner_causes.owner_says(cause)
        assert said[0].isupper()
        assert said.endswith(".")
        assert "%" not in said
        assert not any(phrase in said.lower() for phrase in FORBIDDEN), said


def test_a_cause_that_is_not_on_the_list_reads_with_blanks() -> None:
    assert owner_causes.owner_says("valve-seat-loose") == "Valve seat loose."


def test_nothing_is_said_of_causes_before_they_are_weighed() -> None:
    assert words.OWNER_CAUSES not in sheet(outcome())
    assert words.NOT_CAUSES in sheet(outcome())
    assert words.NOT_CAUSES not in sheet(weighed())
    assert words.NOT_WEIGHED in whole(outcome())
    assert words.TESTS_HEAD not in whole(outcome())


def quiet(gauge: float, bearings: float) -> Outcome:
    """Nothing wrong leads, whatever the gauge shows."""
    return weighed(
        judged(gauge, bearings),
        causes=(weight("nothing-wrong", 0.97, "likely"), weight("test-fault", 0.2, "possible")),
        hypotheses=(),
        next_tests=(),
    )


def test_a_gauge_that_falls_short_is_not_explained_away() -> None:
    said = sheet(quiet(84.0, 95.0))
    assert words.OWNER_UNEXPLAINED in said
    assert words.OWNER_NOT_SHOWN in said
    assert words.OWNER_QUIET not in said
    assert words.FAILS_BOLD in said
    assert words.ENOUGH_NO_PASS in said
    assert "meets at the bearings" not in said
    assert words.NO_PASS in whole(quiet(84.0, 95.0))


def test_a_quiet_engine_that_meets_its_limit_is_called_quiet_and_no_more() -> None:
    said = sheet(quiet(120.0, 118.0))
    assert words.OWNER_QUIET in said
    assert words.OWNER_UNEXPLAINED not in said
    assert words.OWNER_NOT_SHOWN not in said
    assert words.NO_PASS not in whole(quiet(120.0, 118.0))


def test_a_lamp_that_comes_on_is_believed_until_a_test_shows_it_false() -> None:
    said = sheet(WEIGHED["lamp_on"]())
    assert words.OWNER_NOT_SHOWN in said
    assert words.LAMP_BOLD in said
    assert words.NO_PASS in whole(WEIGHED["lamp_on"]())


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(words.CAUSE)),
    st.sampled_from(["likely", "possible", "not excluded", "hardly", ""]),
    st.floats(0.0, 1.0),
    st.booleans(),
)
def test_no_cause_turns_a_failed_gauge_into_a_pass(
    cause: str, word: str, probability: float, lamp: bool
) -> None:
    made = weighed(
        judged(84.0, 95.0), causes=(weight(cause, probability, word),), hypotheses=(), leaks=()
    )
    seen = [{"what": "lamp", "saw": "on at hot idle", "visit": "as found"}] if lamp else []
    own = {"limit": content()["limit"][:1], "recording": [recording("as found")]}
    made = replace(made, job=job(observation=seen, visit=[{"name": "as found"}], **own))
    said = sheet(made)
    assert words.FAILS_BOLD in said
    assert words.OWNER_QUIET not in said
    assert not any(phrase in said.lower() for phrase in FORBIDDEN)
    assert words.NO_PASS in whole(made)


def test_two_faults_are_told_together_only_where_both_are_named() -> None:
    pair = Hypothesis(("breather-blocked", "fuel-in-oil"), "consequence", 0.9)
    both = weighed(causes=(BREATHER, FUEL), hypotheses=(pair,))
    assert "because of it fuel in the oil" in sheet(both)
    one = weighed(causes=(BREATHER, weight("fuel-in-oil", 0.01, "hardly")), hypotheses=(pair,))
    assert "because of it" not in sheet(one)


def test_the_next_step_is_in_words_with_minutes_and_no_figure_of_chance() -> None:
    made = weighed(judged(95.0, 84.0))
    said = " ".join(re.findall(r"'text': '([^']*)'", sheet(made)))
    assert words.OWNER_NEXT in said
    assert "about 5 minutes" in said
    assert "crankcase breather blocked (as likely as not)" in said
    assert "piston rings worn (unlikely)" in said
    assert "something that these readings cannot weigh (very unlikely)" in said


def test_a_test_that_cannot_change_the_head_says_which_second_cause_it_settles() -> None:
    lead = weight("breather-blocked", 0.99)
    splits = tuple(
        replace(s, leaves=(lead, weight("worn-rings", p)))
        for s, p in zip(TESTS[0].splits, (0.1, 0.7, 0.2), strict=True)
    )
    test = replace(TESTS[0], splits=splits)
    said = sheet(weighed(judged(95.0, 84.0), next_tests=(test,)))
    assert words.OWNER_TELLS.format(cause="piston rings worn") in said
    assert "It would point to" not in said
    flat = tuple(replace(s, leaves=(lead,)) for s in splits)
    said = sheet(weighed(judged(95.0, 84.0), next_tests=(replace(test, splits=flat),)))
    assert "about 5 minutes." in said
    assert "It would" not in said


def test_what_was_behind_it_is_told_as_past_once_the_limit_is_met() -> None:
    assert words.OWNER_CAUSES_WERE in sheet(weighed())
    assert words.OWNER_NEXT not in sheet(weighed())
    assert words.OWNER_CAUSES_WERE not in sheet(weighed(judged(95.0, 84.0)))


def test_a_stop_rule_with_a_percentage_is_told_without_it() -> None:
    said = handover("single")
    assert words.OWNER_STOP in said
    assert "96" not in said
    assert "No test would change what to do: 96 % is reached." in record("single")


def test_an_engine_that_must_not_run_is_a_caution_on_both_pages_and_no_step() -> None:
    made = weighed(judged(84.0, 95.0), stop_rule=KNOCK)
    for page in (
        handover_page(made, preferences(), 0),
        record_page(made, preferences()),
    ):
        cautions = re.findall(r"'kind': 'caution'.*?'filled': (True|False)", str_of(page, KNOCK))
        assert "True" in cautions
    assert words.OWNER_NEXT not in sheet(made)


def str_of(page: blocks.Page, text: str) -> str:
    """The cautions of a page that hold this text, as data."""
    found = [c for c in every_block(page.blocks) if isinstance(c, blocks.Caution)]
    holding = [c for c in found if text in str(c.runs)]
    assert holding
    return str(blocks.as_data(tuple(holding)))


def every_block(parts: tuple[blocks.Block, ...]) -> list[blocks.Block]:
    found: list[blocks.Block] = []
    for part in parts:
        found.append(part)
        for name in ("blocks", "left", "right"):
            found += every_block(getattr(part, name, ()))
    return found


# The work record ----------------------------------------------------------------------


def test_percentages_stand_beside_what_they_rest_on() -> None:
    said = record("weighed")
    head = said.index(words.CAUSES_HEAD)
    note = said.index(words.JUDGED)
    assert head < note < said.index("83 %") < said.index("52 %")
    tests = said.index(words.TESTS_HEAD)
    assert tests < said.index(words.JUDGED, note + 1) < said.index("62 %", tests)


def test_the_record_says_what_speaks_most_and_how_bad_it_would_be() -> None:
    said = record("weighed")
    for part in (
        "+ crankcase pressure, hot idle: +11 kPa read, +10 kPa predicted (odds \u00d7 8.2)",
        "\u2013 fuel trim, short and long, hot idle: \u22123 % read, \u22121 % predicted",
        "+ oil smell: fuel (odds \u00d7 3.7)",
        "if so, the way out narrowed to 1.8 mm",
        "if so, oil thinned to 7.1 cSt at 100 \u00b0C",
        "before: 2 %",
        "Crankcase breather blocked and, unrelated to it, fuel in the oil",
        "Piston rings worn, and because of it fuel in the oil",
        "Bearings worn, alone",
        "Under 1 % each: nothing found by these readings, oil too thin and fault in the test",
    ):
        assert part in said


def test_read_and_predicted_stand_side_by_side_for_each_leading_cause() -> None:
    said = record("weighed")
    for part in (
        "95.0 \u00b1 1.0 kPa 94.0 kPa 90 to 98; 0.5 u above odds \u00d7 1.6 100.0 kPa",
        "odds \u00d7 8.2, most for",
        "odds \u00f7 2.2, most against",
        "odds unmoved",
    ):
        assert part in said
    assert len(re.findall(r"\d, most for", said)) == 3


def test_one_cause_alone_needs_no_table_of_pairs() -> None:
    assert words.PAIRS_HEAD not in whole(WEIGHED["single"]())
    assert "over 99 %" in record("single")
    assert words.PAIRS_HEAD in whole(weighed())


def test_the_leak_is_told_with_interval_and_coefficient() -> None:
    said = record("weighed")
    assert "Outside air to crankcase 3.1 mm 2.6 to 3.8 mm 0.61" in said
    assert words.LEAKS_HEAD not in whole(weighed(leaks=()))
    assert causes.leak_figures(LEAKS[1]) == ("1.2\u00a0mm", "0.4 to 2.1\u00a0mm", "0.61")


def test_a_test_begins_with_its_minutes_and_its_cautions_stand_above_it() -> None:
    said = record("weighed")
    places = [
        said.index(part)
        for part in (
            "5 min: ventilation hose off",
            "Not when: The oil lamp is on with the engine running",
            "Mind: Fans and belts start by themselves",
            "Pull the breather hose off",
            "0.83 bit",
            "crankcase stays above +5 kPa",
            "crankcase breather blocked 95 %, piston rings worn 3 %",
            "45 min: oil and filter",
        )
    ]
    assert places == sorted(places)
    assert "Then: snap the throttle and watch the oil pressure, 4 min." in said


def test_without_a_test_the_stop_rule_or_its_lack_is_said() -> None:
    bare = next_tables.next_tests(replace(findings(), causes=(BREATHER,)), preferences())
    assert words.NO_TEST in str(bare)
    assert next_tables.next_tests(findings(), preferences()) == []


@pytest.mark.parametrize("count", [0, 1, 5, 12])
def test_every_cause_gets_its_line_or_its_name(count: int) -> None:
    names = list(words.CAUSE)[:count]
    rows = tuple(weight(n, 0.5 / (1 + 40 * i)) for i, n in enumerate(names))
    said = str(which_cause(replace(findings(), causes=rows), preferences(), WIDTH))
    for name in names:
        assert causes.name(name) in said.lower()


def test_a_bar_is_as_long_as_its_share() -> None:
    html = files("weighed")["pages.html"].decode("utf-8")
    bars = [float(share) for share in re.findall(r'class="bar"><i style="width:([\d.]+)%', html)]
    assert bars[:3] == [83.0, 52.0, 9.0]
    assert min(bars) == 1.2


def test_tables_of_causes_name_their_columns_where_no_head_is_shown() -> None:
    html = files("weighed")["pages.html"].decode("utf-8")
    for head in (*words.CAUSE_HEADS, *words.OUTCOME_HEADS):
        assert f'data-head="{head}"' in html


def test_units_are_the_workshops_own_in_predictions_and_in_sentences() -> None:
    # NIST SP 811, B.8: 1 psi = 6.894757 kPa, 1 inHg = 3.386389 kPa.
    # 94 kPa = 13.634 psi; 11 kPa = 3.2483 inHg; 5 kPa = 1.4765 inHg
    own = preferences(pressure_unit="psi", vacuum_unit="inHg")
    said = str(blocks.as_data(record_page(weighed(), own))).replace("\\xa0", " ")
    assert "crankcase stays above +1.5 inHg" in said
    assert "crankcase pressure, hot idle: +3.2 inHg read, +3 inHg predicted" in said
    assert "'whole': '13', 'fraction': '.63', 'after': 'psi'" in said
    assert "kPa" not in str(which_cause(weighed().findings, own, WIDTH))


# Small pieces -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "psi_and_inhg"),
    [
        # 10 psi = 68.94757 kPa; 1 inHg = 3.386389 kPa (NIST SP 811, B.8), rounded by hand
        ("oil pressure 68.9 to 137.9 kPa", "oil pressure 9.99 to 20.00\u00a0psi"),
        (
            "crankcase pressure -3.4 to +6.8 kPa",
            "crankcase pressure \u22121.00 to +2.01\u00a0inHg",
        ),
        ("with the crankcase above +3 kPa", "with the crankcase above +0.9\u00a0inHg"),
        ("fuel trims -3 to +2 %", "fuel trims \u22123 to +2 %"),
        ("fuel trims -0 to +10 %", "fuel trims 0 to +10 %"),
        ("hose-off at 80 degC, 2-stage pump", "hose-off at 80\u00a0\u00b0C, 2-stage pump"),
    ],
)
def test_sentences_are_told_in_the_workshops_units(text: str, psi_and_inhg: str) -> None:
    own = preferences(pressure_unit="psi", vacuum_unit="inHg")
    assert display.in_own_units(text, own) == psi_and_inhg


def test_kilopascals_stay_as_they_were_where_they_are_asked_for() -> None:
    text = "oil pressure 68.9 to 137.9\u00a0kPa"
    assert display.in_own_units(text, preferences()) == text


@given(st.floats(0.0, 1.0))
def test_no_percentage_is_ever_nothing_or_certain(share: float) -> None:
    said = causes.percent(share, unit=False)
    assert said not in ("0", "100")
    if said.isdigit():
        assert abs(100.0 * share - float(said)) <= 0.5 + 1e-9


@pytest.mark.parametrize(
    ("speaks", "said"),
    [
        (math.log(2.0), "odds \u00d7 2.0"),
        (-math.log(8.0), "odds \u00f7 8.0"),
        (math.log(40.0), "odds \u00d7 40"),
        (-30.0, "odds \u00f7 over 1000"),
        (0.05, "odds unmoved"),
    ],
)
def test_odds_in_words(speaks: float, said: str) -> None:
    assert causes.odds(speaks).replace("\u00a0", " ") == said


@pytest.mark.parametrize(
    ("chance", "said"),
    [(0.9, "likely"), (0.5, "as likely as not"), (0.2, "unlikely"), (0.05, "very unlikely")],
)
def test_chances_in_words(chance: float, said: str) -> None:
    assert causes.chance_word(chance) == said


@given(st.lists(st.floats(-4.0, 4.0), min_size=1, max_size=9), st.sampled_from([1, -1]))
def test_the_loudest_reading_is_named_if_any_is_loud(speaks: list[float], side: int) -> None:
    first = BREATHER.predicted[0]
    rows = tuple(replace(first, condition=f"c{i}", speaks=s) for i, s in enumerate(speaks))
    best = causes.strongest(replace(BREATHER, predicted=rows), side)
    loudest = max(side * s for s in speaks)
    if loudest < math.log(1.1):
        assert best is None
    else:
        assert best is not None
        assert side * best.speaks == loudest


def test_what_was_told_speaks_on_its_own_side_the_loudest_first() -> None:
    symptoms = (Symptom("a", "x", 0.2), Symptom("b", "x", 1.0), Symptom("c", "x", -0.5))
    lead = replace(BREATHER, symptoms=(*symptoms, Symptom("d", "x", 0.01)))
    assert [s.what for s in causes.told(lead, 1)] == ["b", "a"]
    assert [s.what for s in causes.told(lead, -1)] == ["c"]


def test_readings_of_several_visits_say_which() -> None:
    lead = replace(
        BREATHER,
        predicted=(BREATHER.predicted[0], replace(BREATHER.predicted[1], visit="oil changed")),
    )
    assert causes.several_visits([lead])
    assert causes.reading_name(lead.predicted[1], visits=True).endswith("oil changed, hot idle")
    assert not causes.several_visits([BREATHER])


def test_every_test_of_the_catalogue_has_its_title() -> None:
    for test in every_test():
        said = causes.test_name(test.name)
        assert said[1:] == test.title[1:]
    assert causes.test_name("no-such-test") == "no such test"


def test_what_a_test_would_point_to_adds_up_its_outcomes() -> None:
    splits = tuple(
        replace(s, leaves=(weight("worn-rings", 0.9), weight("oil-thin", 0.1)))
        for s in TESTS[0].splits[:2]
    )
    found = causes.would_point_to(replace(TESTS[0], splits=(*splits, TESTS[0].splits[2])))
    assert [cause for cause, _ in found] == ["worn-rings", "none-of-these"]
    assert found[0][1] == pytest.approx(0.93)


@pytest.mark.parametrize("name", sorted(WEIGHED))
def test_findings_with_causes_are_valid_by_the_schema(name: str) -> None:
    data = as_data(WEIGHED[name]().findings)
    jsonschema.validate(data, schema())
    assert len(data["causes"]) == len(WEIGHED[name]().findings.causes)


def test_predictions_hold_every_field_of_a_reading() -> None:
    shared = {"visit", "condition", "quantity", "reference", "unit"}
    assert shared <= {field.name for field in dataclasses.fields(Predicted)}
