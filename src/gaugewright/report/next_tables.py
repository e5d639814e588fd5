"""The next tests, as the work record sets them: minutes first, cautions above, outcomes below."""

from __future__ import annotations

from gaugewright.evidence.results import Findings, NextTest, Split
from gaugewright.report import blocks, causes, display, phrases, words
from gaugewright.report.blocks import Block, Cell, Column, Row, Run, cell, soft, strong
from gaugewright.report.carried import carried
from gaugewright.report.keeping import kept
from gaugewright.report.preferences import Preferences

IN_FULL = 3
"""Tests told in full; those after them in one line."""


def next_tests(findings: Findings, preferences: Preferences) -> list[Block]:
    """The tests worth their time, or the sentence why none is; nothing while none was sought."""
    if not findings.causes and not findings.next_tests and not findings.stop_rule:
        return []
    heading = blocks.Heading(words.TESTS_HEAD)
    stop = _stop(findings)
    if not findings.next_tests:
        return kept(heading, *(stop or [blocks.Paragraph((strong(words.NO_TEST),))]))
    note = blocks.Paragraph((soft(f"{words.TESTS_NOTE} {words.JUDGED}"),), "note")
    tests = [_test(test, preferences) for test in findings.next_tests[:IN_FULL]]
    body: list[Block] = [*kept(heading, *stop, note, *tests[0])]
    for test in tests[1:]:
        body += kept(*test)
    later = causes.later(findings.next_tests[IN_FULL:])
    return body + ([blocks.Paragraph((Run(phrases.breakable(later)),))] if later else [])


def _stop(findings: Findings) -> list[Block]:
    """The stop rule; a caution where the engine must not run."""
    if not findings.stop_rule:
        return []
    said = phrases.sentence(carried(findings.stop_rule))
    if causes.engine_off(findings):
        return [blocks.Caution((strong(said, "caution"),), filled=True)]
    return [blocks.Paragraph((strong(said),))]


def _test(test: NextTest, preferences: Preferences) -> list[Block]:
    """One test: cautions directly above what is done, then what each outcome would mean."""
    title = words.TEST_TITLE.format(
        minutes=causes.minutes(test), test=phrases.breakable(causes.test_name(test.test))
    )
    body: list[Block] = [blocks.Heading(title, 3)]
    not_when, mind, how = (_own(texts, preferences) for texts in _texts(test))
    body += _caution(words.NOT_WHEN, not_when, filled=True)
    body += _caution(words.MIND, mind, filled=False)
    how_ = " ".join(phrases.sentence(text) for text in how if text)
    said = phrases.breakable(f"{how_} " if how_ else "")
    body.append(blocks.Paragraph((Run(said), soft(phrases.breakable(_tells(test))))))
    return [*body, _outcomes(test, preferences)] if test.splits else body


def _texts(test: NextTest) -> tuple[tuple[str, ...], ...]:
    return test.not_when, test.cautions, (test.how,)


def _own(texts: tuple[str, ...], preferences: Preferences) -> list[str]:
    """The same sentences on one line each, in the workshop's own units."""
    return [phrases.one_line(display.in_own_units(text, preferences)) for text in texts]


def _caution(head: str, texts: list[str], filled: bool) -> list[Block]:
    """All of one kind behind one triangle; none where there are none."""
    if not texts:
        return []
    said = " ".join(phrases.breakable(phrases.sentence(text)) for text in texts)
    return [blocks.Caution((strong(head, "caution"), Run(f" {said}")), filled)]


def _tells(test: NextTest) -> str:
    parts = [words.TEST_TELLS.format(bits=causes.bits(test))]
    if test.expected_cost is not None:
        saved = display.digits(test.expected_cost, 0)
        parts.append(words.TEST_SAVES.format(minutes=saved))
    if test.effort:
        parts.append(words.TEST_EFFORT.format(effort=words.EFFORT.get(test.effort, test.effort)))
    return phrases.sentence("; ".join(parts))


def _outcomes(test: NextTest, preferences: Preferences) -> blocks.Table:
    columns = tuple(
        Column(cell(soft(head)), share)
        for head, share in zip(words.OUTCOME_HEADS, (0.42, 0.12, 0.46), strict=True)
    )
    return blocks.Table(
        columns, tuple(_outcome(split, preferences) for split in test.splits), stacks=True
    )


def _outcome(split: Split, preferences: Preferences) -> Row:
    saw = display.in_own_units(split.saw, preferences)
    return Row((_said(saw), _said(causes.percent(split.chance)), _said(causes.leaves(split))))


def _said(text: str) -> Cell:
    return cell(Run(phrases.breakable(phrases.one_line(text), 18)))
