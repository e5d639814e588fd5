"""What the terminal says of causes, leaks and next tests."""

from __future__ import annotations

import dataclasses
import datetime as dt
import io

import pytest

from gaugewright.analysis.outcome import Outcome
from gaugewright.causes.tests import NO_PRESSURE
from gaugewright.cli import cause_rows, printing, rows
from gaugewright.cli.table import Row
from gaugewright.evidence.results import (
    CauseWeight,
    Findings,
    Hypothesis,
    Leak,
    NextTest,
    Predicted,
    Quantified,
    Severity,
    Split,
    Symptom,
)
from gaugewright.report import words
from gaugewright.report.preferences import Preferences

HOUSE = Preferences(dt.date(2031, 3, 5))
IMPERIAL = Preferences(dt.date(2031, 3, 5), pressure_unit="psi", vacuum_unit="inHg")
READING = Predicted(
    "as found",
    "hot idle",
    "crankcase-pressure",
    "atmosphere",
    "kPa",
    11.0,
    10.8,
    11.2,
    10.1,
    7.0,
    13.0,
    0.6,
    2.1,
)
CAUSES = (
    CauseWeight(
        "breather-blocked",
        0.83,
        "likely",
        0.02,
        Severity("a way out of 1.8 mm at +6.8 kPa in the crankcase"),
        (READING,),
        (Symptom("smoke", "blue", -1.7),),
    ),
    CauseWeight("worn-rings", 0.15, "possible"),
    CauseWeight("oil-thin", 0.004, "hardly"),
)
TEST = NextTest(
    "ventilation-hose-off",
    0.834,
    5.0,
    splits=(
        Split("crankcase pressure 5.0 to 9.0 kPa", 0.62, (CauseWeight("breather-blocked", 0.95),)),
        Split("crankcase pressure 0.0 to 1.0 kPa", 0.38),
    ),
    cautions=("exhaust extraction on",),
    not_when=("without oil pressure",),
)
LEAK = Leak("outside air to manifold", Quantified(2.4, "mm", 0.3), 1.84, 2.96, 0.61, "as found")


def weighed(**changes: object) -> Findings:
    made = Findings(1, "Tick at hot idle", causes=CAUSES, next_tests=(TEST,), leaks=(LEAK,))
    return dataclasses.replace(made, **changes)  # type: ignore[arg-type]


def plain(row: Row) -> Row:
    """A row with ordinary blanks."""
    return tuple(cell.replace("\u00a0", " ") for cell in row)


def test_each_cause_has_its_percentage_severity_and_what_speaks() -> None:
    table = cause_rows.causes_table(weighed(), HOUSE)
    assert [plain(row) for row in table.rows] == [
        (
            "83 %",
            "crankcase breather blocked",
            "a way out of 1.8 mm at +6.8 kPa in the crankcase",
            "crankcase pressure, hot idle (odds \u00d7 8.2)",
            "smoke: blue (odds \u00f7 5.5)",
        ),
        ("15 %", "piston rings worn", "\u2013", "\u2013", "\u2013"),
    ]


def test_what_the_percentages_rest_on_stands_below_them() -> None:
    note = cause_rows.causes_table(weighed(), HOUSE).note
    assert words.JUDGED in note
    assert "oil too thin" in note
    assert words.NO_PASS not in note


def test_a_limit_that_fails_is_not_acquitted(outcome: Outcome) -> None:
    checks = outcome.findings.limit_checks
    assert any(check.verdict == "falls short" for check in checks)
    made = weighed(limit_checks=checks)
    assert words.NO_PASS in cause_rows.causes_table(made, HOUSE).note


def test_two_faults_are_named_with_their_link() -> None:
    pair = Hypothesis(("breather-blocked", "oil-level-low"), "consequence", 0.6)
    alone = Hypothesis(("worn-rings",), "single", 0.4)
    table = cause_rows.pairs_table(weighed(hypotheses=(alone, pair)))
    assert [plain(row) for row in table.rows] == [
        ("60 %", "crankcase breather blocked, and because of it oil level too low"),
        ("40 %", "piston rings worn, alone"),
    ]
    assert cause_rows.pairs_table(weighed(hypotheses=(alone,))).rows == ()


def test_a_test_has_minutes_bits_outcomes_and_its_cautions_above() -> None:
    table = cause_rows.tests_table(weighed(), HOUSE)
    [(heading, found)] = table.groups
    assert heading == "Not when: without oil pressure. Mind: exhaust extraction on."
    assert [plain(row) for row in found] == [
        (
            "5 min",
            "ventilation hose off",
            "0.83 bit",
            "crankcase pressure 5.0 to 9.0 kPa (62 %): crankcase breather blocked 95 %",
        ),
        ("", "", "", "crankcase pressure 0.0 to 1.0 kPa (38 %)"),
    ]


def test_tests_beyond_the_third_are_named_below() -> None:
    table = cause_rows.tests_table(weighed(next_tests=(TEST,) * 5), HOUSE)
    assert sum(row[0] == "5 min" for row in table.rows) == 3
    assert table.note.replace("\u00a0", " ").count("ventilation hose off, 5 min") == 2


def test_an_engine_that_must_not_run_is_said_before_any_test() -> None:
    table = cause_rows.tests_table(weighed(stop_rule=NO_PRESSURE), HOUSE)
    assert table.groups[0] == (NO_PRESSURE, ())
    alone = cause_rows.tests_table(
        weighed(stop_rule="none is worth its time", next_tests=()), HOUSE
    )
    assert alone.rows == (("none is worth its time",),)


def test_units_follow_the_preferences_in_sentences() -> None:
    # NIST SP 811, B.8: 1 inHg = 3.386389 kPa: 6.8 kPa = 2.008, 5.0 = 1.4765, 9.0 = 2.6577 inHg
    severity = plain(cause_rows.causes_table(weighed(), IMPERIAL).rows[0])[2]
    assert severity == "a way out of 1.8 mm at +2.01 inHg in the crankcase"
    outcome = plain(cause_rows.tests_table(weighed(), IMPERIAL).rows[0])[3]
    assert outcome.startswith("crankcase pressure 1.48 to 2.66 inHg (62 %)")


def test_a_leak_has_diameter_interval_and_coefficient() -> None:
    [row] = cause_rows.leaks_table([LEAK]).rows
    assert plain(row) == ("outside air to manifold", "2.4 mm", "1.8 to 3.0 mm", "0.61", "as found")


def test_without_causes_nothing_is_said_of_them(outcome: Outcome) -> None:
    titles = [table.title for table in rows.tables(outcome.findings, HOUSE)]
    assert words.CAUSES_HEAD not in titles
    assert words.TESTS_HEAD not in titles
    with_causes = [table.title for table in rows.tables(weighed(), HOUSE)]
    assert with_causes == [words.CAUSES_HEAD, words.LEAKS_HEAD, words.TESTS_HEAD]


@pytest.mark.parametrize("width", [40, 80, 132])
def test_no_line_is_wider_than_the_output(outcome: Outcome, width: int) -> None:
    from rich.console import Console

    made = dataclasses.replace(outcome, findings=weighed(stop_rule=NO_PRESSURE))
    out = io.StringIO()
    printing.print_findings(made, HOUSE, Console(file=out, width=width, highlight=False))
    said = out.getvalue()
    assert max(len(line) for line in said.splitlines()) <= width
    assert "\u2026" not in said
    flat = " ".join(said.split())
    if width >= 80:
        assert flat.index("Engine off") < flat.index("ventilation hose off")
