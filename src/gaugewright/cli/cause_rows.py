"""Causes, leaks and next tests as rows of words and figures for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gaugewright.cli.table import NO_VALUE, Row, Table, grouped
from gaugewright.evidence.results import CauseWeight, Findings, Leak, NextTest, Split
from gaugewright.report import causes, words
from gaugewright.report.display import in_own_units
from gaugewright.report.preferences import Preferences
from gaugewright.report.story import FAILS

TESTS_SHOWN = 3


def causes_table(findings: Findings, preferences: Preferences) -> Table:
    """Each cause with its weight, how bad it would be, and what speaks most for and against.

    The figures read and predicted are left to the work record and the findings file.
    """
    visits = causes.several_visits(findings.causes)
    rows = [_cause_row(w, preferences, visits) for w in causes.shown(findings)]
    failing = any(c.verdict in FAILS for c in findings.limit_checks)
    notes = (causes.rest(findings), words.JUDGED, words.NO_PASS if failing else "")
    return Table(
        words.CAUSES_HEAD,
        words.TERMINAL_CAUSES,
        grouped(("", row) for row in rows),
        frozenset({0}),
        " ".join(filter(None, notes)),
    )


def _cause_row(weight: CauseWeight, preferences: Preferences, visits: bool) -> Row:
    severity = in_own_units(weight.severity.text, preferences) if weight.severity else NO_VALUE
    sides = (_speaks(weight, side, visits) for side in (1, -1))
    return (causes.percent(weight.probability), causes.name(weight.cause), severity, *sides)


def _speaks(weight: CauseWeight, side: int, visits: bool) -> str:
    reading = causes.strongest(weight, side)
    said = [(causes.reading_name(reading, visits), causes.odds(reading.speaks))] if reading else []
    said += [(causes.symptom_says(s), causes.odds(s.speaks)) for s in causes.told(weight, side)]
    return "; ".join(f"{text} ({odds})" for text, odds in said) or NO_VALUE


def pairs_table(findings: Findings) -> Table:
    """One fault or two: every hypothesis that weighs something, where any is two together."""
    rows = [(causes.percent(h.probability), causes.together(h)) for h in causes.pairs(findings)]
    return Table(
        words.PAIRS_HEAD, words.PAIR_HEADS, grouped(("", row) for row in rows), frozenset({0})
    )


def tests_table(findings: Findings, preferences: Preferences) -> Table:
    """The next tests, cautions above each; or the sentence why none is worth its time."""
    rows = [
        pair for test in findings.next_tests[:TESTS_SHOWN] for pair in _test_rows(test, preferences)
    ]
    later = causes.later(findings.next_tests[TESTS_SHOWN:])
    if not rows and findings.stop_rule:
        return Table(words.TESTS_HEAD, ("",), grouped([("", (findings.stop_rule,))]))
    first = ((findings.stop_rule, ()),) if findings.stop_rule else ()
    note = " ".join(filter(None, (later, words.TESTS_NOTE)))
    groups = (*first, *grouped(rows))
    return Table(words.TESTS_HEAD, words.TERMINAL_TESTS, groups, frozenset({0, 2}), note)


def _test_rows(test: NextTest, preferences: Preferences) -> Iterable[tuple[str, Row]]:
    """A test's rows: the first names it, each outcome has its own."""
    heading = in_own_units(_cautions(test), preferences)
    said = [in_own_units(_outcome(split), preferences) for split in test.splits] or [NO_VALUE]
    took = f"{causes.minutes(test)} min"
    yield heading, (took, causes.test_name(test.test), causes.bits(test), said[0])
    for outcome in said[1:]:
        yield heading, ("", "", "", outcome)


def _cautions(test: NextTest) -> str:
    """When it must not be done, then what to mind, in one line."""
    parts = _headed(words.NOT_WHEN, test.not_when) + _headed(words.MIND, test.cautions)
    return " ".join(parts)


def _headed(head: str, texts: Sequence[str]) -> list[str]:
    return [f"{head} {'; '.join(text.rstrip('.') for text in texts)}."] if texts else []


def _outcome(split: Split) -> str:
    said = words.TERMINAL_OUTCOME.format(saw=split.saw, chance=causes.percent(split.chance))
    left = causes.leaves(split)
    return words.TERMINAL_LEAVES.format(outcome=said, leaves=left) if left else said


def leaks_table(leaks: Iterable[Leak]) -> Table:
    """Each leak with its diameter, interval and discharge coefficient."""
    rows = [(k.path, *causes.leak_figures(k), causes.leak_where(k) or NO_VALUE) for k in leaks]
    return Table(
        words.LEAKS_HEAD,
        words.LEAK_HEADS,
        grouped(("", row) for row in rows),
        frozenset({1, 2, 3}),
        words.LEAKS_NOTE,
    )
