"""What the terminal says of findings, in words and figures."""

from __future__ import annotations

import dataclasses
import datetime as dt
import io

import pytest

from gaugewright.analysis.outcome import Outcome
from gaugewright.cli import printing, rows
from gaugewright.cli.table import Row
from gaugewright.report.preferences import Preferences

HOUSE = Preferences(dt.date(2031, 3, 5))
IMPERIAL = Preferences(dt.date(2031, 3, 5), pressure_unit="psi", vacuum_unit="inHg")


def plain(row: Row) -> Row:
    """A row with ordinary blanks."""
    return tuple(cell.replace("\u00a0", " ") for cell in row)


def test_the_gauge_stands_first_and_the_bearings_below_it(outcome: Outcome) -> None:
    table = rows.limits_table(outcome.findings.limit_checks, HOUSE)
    assert [row[1] for row in table.rows] == ["gauge", "bearings"]
    assert table.rows[0][3] == "meets"
    assert table.rows[1][3] == "falls short"


def test_the_bearings_are_called_an_explanation(outcome: Outcome) -> None:
    checks = outcome.findings.limit_checks
    assert "the maker states this limit for the gauge" in rows.limits_table(checks, HOUSE).note
    gauge_only = [check for check in checks if check.seen_by == "gauge"]
    assert rows.limits_table(gauge_only, HOUSE).note == ""


def test_a_limit_is_shown_with_its_value_state_and_ends(outcome: Outcome) -> None:
    table = rows.limits_table(outcome.findings.limit_checks, HOUSE)
    [(heading, [first, _])] = table.groups
    assert plain((heading,)) == (
        "oil pressure, hot idle: the maker asks for 90 to 350 kPa at 820 rpm, 80 °C",
    )
    assert plain(first) == (
        "as found, hot idle",
        "gauge",
        "95.2 ± 2.7 kPa",
        "meets",
        "over 99.9 %",
    )


def test_units_follow_the_preferences(outcome: Outcome) -> None:
    # 97.8 kPa / 6.894757 = 14.185 psi; 11.1 kPa / 3.386389 = 3.278 inHg (NIST SP 811, B.8)
    table = rows.readings_table(outcome.findings.readings, IMPERIAL)
    shown = [plain(row)[1] for row in table.rows]
    assert shown == ["14.18 ± 0.38 psi", "12.57 ± 0.38 psi", "+3.28 ± 0.77 inHg"]


def test_a_one_sided_reading_says_its_side(outcome: Outcome) -> None:
    first = dataclasses.replace(outcome.findings.readings[0], bound="at least", high=None)
    assert plain(rows.readings_table([first], HOUSE).rows[0])[1] == "at least 97.8 kPa"


def test_what_is_shown_elsewhere_is_left_to_the_file(outcome: Outcome) -> None:
    gauge = outcome.findings.readings[0]
    absolute = dataclasses.replace(gauge, reference="vacuum", value=195.4)
    speed = dataclasses.replace(gauge, quantity="engine-speed", reference=None, unit="rpm")
    alone = dataclasses.replace(absolute, quantity="manifold-pressure")
    table = rows.readings_table([gauge, absolute, speed, alone], HOUSE)
    assert [row[0] for row in table.rows] == [
        "oil pressure, at the gauge",
        "manifold pressure, absolute",
    ]
    assert "2 absolute pressures" in table.note


def test_a_match_says_what_it_compares(outcome: Outcome) -> None:
    [(heading, [row])] = rows.matches_table(outcome.findings.matches, HOUSE).groups
    assert heading == "as found: hot idle, to filler cap off"
    assert plain(row) == ("oil pressure, at the gauge", "834 rpm", "\u221210.6 ± 0.8 kPa")


def test_a_match_across_visits_names_both(outcome: Outcome) -> None:
    across = dataclasses.replace(outcome.findings.matches[0], visit="repaired", to="hot idle")
    across = dataclasses.replace(across, from_visit="as found")
    [(heading, _)] = rows.matches_table([across], HOUSE).groups
    assert heading == "as found: hot idle, to repaired: hot idle"


def test_a_reference_check_says_slope_and_meaning(outcome: Outcome) -> None:
    [row] = rows.checks_table(outcome.findings.reference_checks, HOUSE).rows
    assert row[1] == "1.00 (0.94 to 1.06)"
    assert row[2] == "follows the crankcase"


def test_the_switch_and_the_warnings_are_there(outcome: Outcome) -> None:
    assert rows.switches_table(outcome.findings.switch_checks).groups == (
        ("oil lamp", (("as found, hot idle", "0 % (0 to 0 %)", "no"),)),
    )
    assert rows.warnings_table(outcome.findings).groups == (
        ("crankcase", (("the second logger's clock is good to 20 ms",),)),
    )


def test_words_give_way_before_figures(outcome: Outcome) -> None:
    table = rows.readings_table(outcome.findings.readings, HOUSE)
    natural = printing.column_widths(table, 400)
    tight = printing.column_widths(table, 66)
    assert sum(tight) + printing.GAP * len(tight) <= 66
    assert [tight[place] for place in (1, 2, 3)] == [natural[place] for place in (1, 2, 3)]


@pytest.mark.parametrize("width", [40, 80, 132, 240])
def test_no_line_is_wider_than_the_output(outcome: Outcome, width: int) -> None:
    from rich.console import Console

    out = io.StringIO()
    printing.print_findings(outcome, HOUSE, Console(file=out, width=width, highlight=False))
    text = out.getvalue()
    assert max(len(line) for line in text.splitlines()) <= width
    assert "\u2026" not in text
    if width >= 80:
        for said in ("95.2 ± 2.7 kPa", "84.1 ± 2.7 kPa", "97.8 ± 2.6 kPa", "falls short"):
            assert said in text.replace("\u00a0", " ")
    assert "\x1b" not in text


def test_every_verdict_is_printed(outcome: Outcome, capsys: pytest.CaptureFixture[str]) -> None:
    printing.print_findings(outcome, HOUSE, printing.stdout_console())
    text = capsys.readouterr().out
    for said in ("meets", "falls short", "hunting", "oil lamp", "20 ms", "11.1"):
        assert said in text
